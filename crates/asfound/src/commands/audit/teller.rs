//! Tells how far an audit is.

use std::io::Write;
use std::time::{Duration, Instant};

use asfound_core::names::Tag;
use asfound_journal::audit::Progress;

/// Tells how far an audit is, once it takes longer than a moment, on one line that is written over.
pub(super) struct AuditProgress<'w> {
    to: Option<&'w mut dyn Write>,
    next: Instant,
    shown: usize,
}

impl<'w> AuditProgress<'w> {
    const PATIENCE: Duration = Duration::from_secs(1);
    const PACE: Duration = Duration::from_millis(200);

    pub(super) fn new(to: Option<&'w mut dyn Write>) -> Self {
        Self { to, next: Instant::now() + Self::PATIENCE, shown: 0 }
    }

    pub(super) fn tell(&mut self, tag: &Tag, progress: Progress) {
        let now = Instant::now();
        if self.to.is_none() || now < self.next {
            return;
        }
        self.next = now + Self::PACE;
        self.write(&format!("{tag}: {} of {} entries", progress.checked, progress.total));
    }

    pub(super) fn wipe(&mut self) {
        if self.shown > 0 {
            self.write("");
            self.write("\r");
        }
    }

    fn write(&mut self, text: &str) {
        let length = text.chars().count();
        if let Some(to) = &mut self.to {
            // Nobody is left to tell when standard error is gone.
            let _ = write!(to, "\r{text}{}", " ".repeat(self.shown.saturating_sub(length)));
            let _ = to.flush();
        }
        self.shown = length;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn progress_is_told_after_a_second_and_wiped() {
        let mut out = Vec::new();
        let tag: Tag = "wren".parse().unwrap();
        let mut teller = AuditProgress::new(Some(&mut out));
        teller.tell(&tag, Progress { checked: 1, total: 9 });
        teller.next = Instant::now();
        teller.tell(&tag, Progress { checked: 10, total: 12 });
        teller.tell(&tag, Progress { checked: 11, total: 12 });
        teller.next = Instant::now();
        teller.tell(&tag, Progress { checked: 9, total: 9 });
        teller.wipe();
        assert_eq!(
            String::from_utf8(out).unwrap(),
            "\rwren: 10 of 12 entries\rwren: 9 of 9 entries  \r                    \r\r"
        );
    }

    #[test]
    fn nobody_is_told_who_does_not_watch() {
        let mut teller = AuditProgress::new(None);
        teller.next = Instant::now();
        teller.tell(&"wren".parse().unwrap(), Progress { checked: 1, total: 9 });
        assert_eq!(teller.shown, 0);
    }
}

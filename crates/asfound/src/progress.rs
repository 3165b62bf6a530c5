//! Tells how far something is that takes longer than a moment.

use std::io::Write;
use std::time::{Duration, Instant};

/// One line on standard error that is written over, from the second second on; nothing where nobody watches.
pub struct Progress {
    watched: bool,
    next: Instant,
    shown: usize,
}

impl Progress {
    const PATIENCE: Duration = Duration::from_secs(1);
    const PACE: Duration = Duration::from_millis(200);

    /// Begins now.
    pub fn start(watched: bool) -> Self {
        Self { watched, next: Instant::now() + Self::PATIENCE, shown: 0 }
    }

    /// Tells it, if it is time to.
    pub fn tell(&mut self, to: &mut dyn Write, text: impl FnOnce() -> String) {
        let now = Instant::now();
        if self.watched && now >= self.next {
            self.next = now + Self::PACE;
            self.write(to, &text());
        }
    }

    /// Takes the line away again.
    pub fn wipe(&mut self, to: &mut dyn Write) {
        if self.shown > 0 {
            self.write(to, "");
            self.write(to, "\r");
        }
    }

    fn write(&mut self, to: &mut dyn Write, text: &str) {
        let length = text.chars().count();
        // Nobody is left to tell when standard error is gone.
        let _ = write!(to, "\r{text}{}", " ".repeat(self.shown.saturating_sub(length)));
        let _ = to.flush();
        self.shown = length;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn it_is_told_after_a_second_and_wiped_and_only_where_somebody_watches() {
        let mut out = Vec::new();
        let mut progress = Progress::start(true);
        progress.tell(&mut out, || "1 of 9".to_owned());
        assert!(out.is_empty());
        progress.next = Instant::now();
        progress.tell(&mut out, || "10 of 12".to_owned());
        progress.wipe(&mut out);
        assert_eq!(String::from_utf8(out).unwrap(), "\r10 of 12\r        \r\r");
        let mut out = Vec::new();
        let mut progress = Progress::start(false);
        progress.next = Instant::now();
        progress.tell(&mut out, || "1 of 9".to_owned());
        progress.wipe(&mut out);
        assert!(out.is_empty());
    }
}

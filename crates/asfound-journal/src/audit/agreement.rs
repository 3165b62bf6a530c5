//! Holds a commit against the entry in it.

use asfound_core::entry::Entry;
use time::{OffsetDateTime, UtcOffset};

use super::FindingKind;
use super::commit_text::CommitText;
use super::kind::shown;
use crate::store::Author;

/// The field of a commit's head that holds its signature.
const SIGNATURE: &str = "gpgsig";
/// How much of a message's first line is repeated in a finding, in characters.
const SHOWN: usize = 60;

/// What a commit says that does not need its entry to be judged.
pub(super) fn check_head(commit: &CommitText<'_>) -> Vec<FindingKind> {
    let mut findings = Vec::new();
    if commit.parents.len() > 1 {
        findings.push(FindingKind::Parents(commit.parents.len()));
    }
    let strange = commit.others.iter().filter(|name| *name != SIGNATURE);
    findings.extend(strange.map(|name| FindingKind::CommitField(name.clone())));
    findings
}

/// What a commit says of its entry that the entry does not.
pub(super) fn check(commit: &CommitText<'_>, entry: &Entry) -> Vec<FindingKind> {
    let mut findings = Vec::new();
    let (author, committer) = (GitIdentity::of(commit.author), GitIdentity::of(commit.committer));
    let stated = GitIdentity::stated(entry);
    if author.who != stated.who {
        findings.push(FindingKind::Author { stated: stated.who.clone(), found: author.who });
    }
    if committer.who != stated.who {
        findings.push(FindingKind::Committer { stated: stated.who, found: committer.who });
    }
    if let Some(found) = [author.when, committer.when].into_iter().find(|when| *when != stated.when) {
        findings.push(FindingKind::CommitTime { stated: shown(entry.recorded), found: readable(&found) });
    }
    findings.extend(check_message(&String::from_utf8_lossy(commit.message), entry));
    findings
}

/// Who made a commit and when, as git writes it.
struct GitIdentity {
    who: String,
    when: String,
}

impl GitIdentity {
    fn of(field: &[u8]) -> Self {
        let text = String::from_utf8_lossy(field);
        let (who, when) = text.rsplit_once("> ").unwrap_or((&text, ""));
        Self { who: format!("{who}>"), when: when.to_owned() }
    }

    /// As the commit of an entry has it.
    fn stated(entry: &Entry) -> Self {
        let (name, email) = (entry.author.name(), entry.author.email().unwrap_or("not-stated@invalid"));
        let who = Author::new(name, email).map_or_else(|_| format!("{name} <{email}>"), |author| author.to_string());
        let offset = entry.recorded.offset().whole_minutes();
        let (sign, offset) = (if offset < 0 { '-' } else { '+' }, offset.unsigned_abs());
        let seconds = entry.recorded.unix_timestamp();
        Self { who, when: format!("{seconds} {sign}{:02}{:02}", offset / 60, offset % 60) }
    }
}

/// A time as git writes it, as people read it; as it is where it is none.
fn readable(when: &str) -> String {
    let parsed = || {
        let (seconds, offset) = when.split_once(' ')?;
        let offset: i32 = offset.parse().ok()?;
        let offset = UtcOffset::from_whole_seconds((offset / 100 * 60 + offset % 100) * 60).ok()?;
        OffsetDateTime::from_unix_timestamp(seconds.parse().ok()?).ok()?.checked_to_offset(offset)
    };
    parsed().map_or_else(|| when.to_owned(), shown)
}

/// The headline goes on in words that a later version may choose otherwise; number, kind and reason it does not.
fn check_message(message: &str, entry: &Entry) -> Vec<FindingKind> {
    let mut findings = Vec::new();
    let wanted = format!("{} {}", entry.number, entry.body.kind());
    let (head, rest) = message.split_once('\n').unwrap_or((message, ""));
    let goes_on =
        head.strip_prefix(wanted.as_str()).is_some_and(|rest| rest.is_empty() || rest.starts_with([' ', ':']));
    if !goes_on {
        findings.push(FindingKind::MessageHead { wanted, found: head.chars().take(SHOWN).collect() });
    }
    let after = rest.strip_prefix('\n').and_then(|rest| rest.strip_prefix(entry.why.as_str()));
    let ends =
        after.and_then(|rest| rest.strip_prefix('\n')).is_some_and(|rest| rest.is_empty() || rest.starts_with('\n'));
    if !ends {
        findings.push(FindingKind::MessageReason);
    }
    findings
}

#[cfg(test)]
mod tests {
    use asfound_core::entry::{Author as EntryAuthor, Body, Reason};
    use asfound_core::moment::Precision;
    use asfound_core::names::EntryNumber;
    use time::macros::datetime;

    use super::*;

    fn entry() -> Entry {
        let at = datetime!(2026-03-14 09:20:05 -03:30);
        let why = Reason::try_from("horn\nsounds hoarse".to_owned()).unwrap();
        let author = EntryAuthor::new("Edda Brandt, Jr.", None).unwrap();
        Entry {
            number: EntryNumber::new(12).unwrap(),
            recorded: at,
            happened: at,
            precision: Precision::Second,
            author,
            why,
            body: Body::Note(None),
        }
    }

    fn found(author: &str, committer: &str, message: &str) -> Vec<String> {
        let text = format!("tree t\nparent p\nauthor {author}\ncommitter {committer}\n\n{message}");
        check(&CommitText::parse(text.as_bytes()).unwrap(), &entry()).iter().map(ToString::to_string).collect()
    }

    #[test]
    fn a_commit_that_agrees_is_left_alone_and_every_difference_is_named() {
        // 2026-03-14 09:20:05 -03:30 in seconds since 1970, from `date -d … +%s`.
        let person = "Edda Brandt, Jr. <not-stated@invalid> 1773492605 -0330";
        let message = "12 note: horn\n\nhorn\nsounds hoarse\n";
        assert_eq!(found(person, person, message), [""; 0]);
        assert_eq!(found(person, person, &format!("{message}\nbody.horn 1 -> 2\n")), [""; 0]);

        let other = "Rolf Maas <not-stated@invalid> 1773492605 -0330";
        assert_eq!(
            found(other, person, message),
            ["its commit names `Rolf Maas <not-stated@invalid>` as the author, the entry `Edda Brandt, Jr. \
              <not-stated@invalid>`"]
        );
        assert_eq!(found(person, other, message).len(), 1);
        let later = "Edda Brandt, Jr. <not-stated@invalid> 1773492606 -0330";
        assert_eq!(
            found(person, later, message),
            ["its commit is dated 2026-03-14T09:20:06-03:30, the entry 2026-03-14T09:20:05-03:30"]
        );
        assert_eq!(
            found(person, person, "13 note: horn\n\nhorn\nsounds hoarse\n"),
            ["its commit's message begins with `13 note: horn` and not with `12 note`"]
        );
        for message in
            ["12 note\n\nhorn\n", "12 note\n\nhorn\nsounds hoarser\n", "12 note", "12 note\nhorn\nsounds hoarse\n"]
        {
            assert_eq!(found(person, person, message), ["its commit's message gives another reason than the entry"]);
        }
    }
}

//! The commit message of an entry: what `git log` shows to somebody without this program.

use asfound_core::entry::Entry;
use asfound_core::history::History;
use asfound_core::plan::headline;

/// How wide git's readers expect the first line to be at most, in characters.
const HEADLINE: usize = 72;

/// The headline with the entry's number, the reason, and every alteration on a line of its own.
pub(super) fn message(entry: &Entry, history: &History) -> String {
    let mut text = shortened(&format!("{} {}", entry.number, headline(history, entry)));
    text.push_str("\n\n");
    text.push_str(entry.why.as_str());
    text.push('\n');
    let lines = history.alteration_lines(entry.number);
    if !lines.is_empty() {
        text.push('\n');
        for line in lines {
            text.push_str(&format!("{line}\n"));
        }
    }
    text
}

fn shortened(headline: &str) -> String {
    if headline.chars().count() <= HEADLINE {
        return headline.to_owned();
    }
    let mut text: String = headline.chars().take(HEADLINE - 1).collect();
    text.push('…');
    text
}

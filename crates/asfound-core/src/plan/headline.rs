//! An entry in a line, with how much of its plan was carried out.

use crate::entry::Entry;
use crate::history::History;

/// What an entry tells, in one line without its number; of work of which only a part was made, also how much.
pub fn headline(history: &History, entry: &Entry) -> String {
    let part = entry.body.work().and_then(|work| work.part_in_words());
    let line = history.headline(entry);
    part.map_or(line.clone(), |part| format!("{line}; {part}"))
}

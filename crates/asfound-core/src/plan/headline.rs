//! An entry in a line, with how much of its plan was carried out.

use crate::entry::Entry;
use crate::history::{History, Origin};
use crate::names::EntryNumber;

/// What an entry tells, in one line without its number; of work of which only a part was made, also how much.
pub fn headline(history: &History, entry: &Entry) -> String {
    let part = entry.body.work().and_then(|work| work.part_in_words());
    let line = history.headline(entry);
    part.map_or(line.clone(), |part| format!("{line}; {part}"))
}

/// What has to be kept of an entry so that its [`headline`] can be told again: of most work nothing.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct HeadlineParts(Option<Box<str>>);

impl HeadlineParts {
    /// That of an entry; `history` is that of its journal.
    pub fn of(history: &History, entry: &Entry) -> Self {
        let follows = entry.body.work().is_some_and(|work| work.part_in_words().is_none())
            && history.transitions_of(entry.number).any(|(_, step)| step.origin != Origin::FirstKnown);
        Self((!follows).then(|| headline(history, entry).into()))
    }

    /// The headline of the entry with this number, whose gist it is.
    pub fn headline(&self, history: &History, number: EntryNumber) -> String {
        let kept = self.0.as_deref().map(str::to_owned);
        kept.or_else(|| history.work_headline(number)).unwrap_or_default()
    }
}

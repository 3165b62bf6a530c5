//! One line of a journal.

use time::OffsetDateTime;

use super::{Author, Body, Reason};
use crate::names::EntryNumber;

/// One line of a journal; never edited, never removed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its number in the vehicle's journal.
    pub number: EntryNumber,
    /// When it was filed.
    pub recorded: OffsetDateTime,
    /// When what it tells of happened: the reading was taken, the change was made.
    pub happened: OffsetDateTime,
    /// Who filed it.
    pub author: Author,
    /// Why.
    pub why: Reason,
    /// What it holds.
    pub body: Body,
}

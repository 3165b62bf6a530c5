//! What bus logs showed of the work that the journal recorded, and of what another hand did.

use std::collections::BTreeMap;

use super::{Field, History, Origin, Proof};
use crate::definition::DefinitionSet;
use crate::difference::Content;
use crate::entry::{Body, Entry, WireAnswer, WireWrite};
use crate::identity::Identity;
use crate::names::EntryNumber;
use crate::value::HexBytes;

/// A write that a bus log showed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogWrite {
    /// The entry that was made of the log.
    pub entry: EntryNumber,
    /// The write.
    pub write: WireWrite,
}

/// The writes that bus logs showed, by the entry that recorded them, or by the reading in which they show.
#[derive(Debug, Clone, Default)]
pub(super) struct LogWrites(BTreeMap<EntryNumber, Vec<LogWrite>>);

impl LogWrites {
    /// Takes in what an entry says, where it was made of a bus log.
    pub(super) fn push(&mut self, entry: &Entry) {
        let Body::Witness(witness) = &entry.body else { return };
        for write in &witness.writes {
            // What an entry says of later ones is no witness.
            let of = write.entry.or(write.shown_by).filter(|of| *of < entry.number);
            if let Some(of) = of {
                self.0.entry(of).or_default().push(LogWrite { entry: entry.number, write: write.clone() });
            }
        }
    }

    /// The same with the entries to which the writes belong told by other numbers.
    pub(super) fn numbered(&self, number: &impl Fn(EntryNumber) -> EntryNumber) -> Self {
        Self(self.0.iter().map(|(entry, writes)| (number(*entry), writes.clone())).collect())
    }

    /// The last write by which `entry` left that content in a field: one that was read back before one that was not, and of those
    /// one of which the log has everything first.
    pub(super) fn write_of(&self, entry: EntryNumber, holds: &HoldsContent<'_>) -> Option<&LogWrite> {
        let writes = self.0.get(&entry)?;
        let last = |wanted: &dyn Fn(&WireWrite) -> bool| writes.iter().rev().find(|one| wanted(&one.write));
        last(&|write| holds.is_witnessed(write))
            .or_else(|| last(&|write| holds.is_partly_witnessed(write)))
            .or_else(|| last(&|write| holds.is_made(write)))
    }
}

/// Says whether the bytes of a record hold some content of a field.
pub(super) struct HoldsContent<'a> {
    pub(super) field: &'a Field,
    pub(super) content: &'a Content,
    pub(super) definitions: &'a DefinitionSet,
    /// The module as it is known, for settings that are known by value alone.
    pub(super) identity: &'a Identity,
}

impl HoldsContent<'_> {
    /// Whether a log shows the write, the module's positive response and the read-back.
    pub(super) fn is_witnessed(&self, write: &WireWrite) -> bool {
        write.answer == WireAnswer::Accepted
            && write.mended.is_empty()
            && self.shows(write, write.written.as_ref())
            && self.shows(write, write.read_back.as_ref())
    }

    /// Whether a log shows the module's positive response and the read-back, and of the write so much that it speaks for
    /// the same: something in the log had to be mended.
    pub(super) fn is_partly_witnessed(&self, write: &WireWrite) -> bool {
        write.answer == WireAnswer::Accepted
            && !write.mended.is_empty()
            && self.shows(write, write.left())
            && self.shows(write, write.read_back.as_ref())
    }

    /// Whether it is witnessed, as a whole or in part.
    pub(super) fn is_shown(&self, write: &WireWrite) -> bool {
        self.is_witnessed(write) || self.is_partly_witnessed(write)
    }

    /// Whether the write left that: where its bytes are not in the log, what was read back tells it.
    fn is_made(&self, write: &WireWrite) -> bool {
        write.answer != WireAnswer::Refused && self.shows(write, write.written.as_ref().or(write.read_back.as_ref()))
    }

    fn shows(&self, write: &WireWrite, bytes: Option<&HexBytes>) -> bool {
        let Some(bytes) = bytes.filter(|_| *self.field.module() == write.module) else { return false };
        let now = match (self.field, self.content) {
            (Field::Undeclared { record, mask, .. }, _) => {
                (*record == write.record).then(|| Content::bits(mask, bytes))
            }
            (Field::Setting(path), Content::Coded { definition, .. }) => {
                self.definitions.get(definition).and_then(|definition| {
                    let setting = definition.setting(&path.setting).filter(|it| *it.record() == write.record)?;
                    Content::decoded(setting, definition.id(), bytes.as_slice())
                })
            }
            (Field::Setting(path), _) => {
                let definition = self.definitions.fitting(&path.module, self.identity).ok().flatten();
                definition.and_then(|definition| {
                    let setting = definition.setting(&path.setting).filter(|it| *it.record() == write.record)?;
                    Content::decoded(setting, definition.id(), bytes.as_slice())
                })
            }
        };
        now.is_some_and(|now| now.same(self.content))
    }
}

impl History {
    /// The write on the bus that brought a field what it holds since `entry`: of recorded work, or of another hand.
    pub fn on_the_wire(&self, field: &Field, entry: EntryNumber) -> Option<&LogWrite> {
        self.wire.get(field)?.get(&entry)
    }

    /// What a bus log proves that shows the write, the module's positive response and the read-back.
    pub(super) fn witnessed_by(&self, field: &Field, entry: EntryNumber) -> Option<Proof> {
        self.witnessed.get(field)?.get(&entry).copied()
    }

    /// Finds the writes on the bus that belong to the transitions.
    pub(super) fn look_at_the_wire(&mut self, wire: &LogWrites, definitions: &DefinitionSet) {
        if wire.0.is_empty() {
            return;
        }
        for (field, timeline) in &self.timelines {
            let identity = self.state.identity(field.module());
            for step in timeline.transitions() {
                let holds = HoldsContent { field, content: &step.left, definitions, identity: &identity };
                let Some(found) = wire.write_of(step.entry, &holds) else { continue };
                let proof = if holds.is_witnessed(&found.write) {
                    Some(Proof::Witnessed(found.entry))
                } else {
                    holds.is_partly_witnessed(&found.write).then_some(Proof::PartlyWitnessed(found.entry))
                };
                if let Some(proof) = proof.filter(|_| step.origin == Origin::Work) {
                    self.witnessed.entry(field.clone()).or_default().insert(step.entry, proof);
                }
                self.wire.entry(field.clone()).or_default().insert(step.entry, found.clone());
            }
        }
    }
}

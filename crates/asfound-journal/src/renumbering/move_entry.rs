//! What an entry says where other entries come before it.

use std::collections::BTreeSet;

use asfound_core::entry::{
    Body, BusLogBody, Correction, Effects, IdentityEffect, OrderNumber, PutBackOf, ReadingBody, RecordEffect,
    StatedEffect,
};
use asfound_core::identity::Identity;
use asfound_core::names::{EntryNumber, ModuleName};
use asfound_core::state::{ModuleState, State};
use thiserror::Error;
use time::OffsetDateTime;

/// Why an entry cannot stand where it is to stand.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Obstacle {
    /// It enrols the vehicle.
    #[error("it enrols the vehicle, which is enrolled already")]
    Enrolment,
    /// Work was done on content that was another one by then.
    #[error("it found {place} otherwise than entry {by} left it")]
    Altered {
        /// The record, the setting or the module's identity.
        place: String,
        /// The entry that left it otherwise.
        by: EntryNumber,
    },
    /// A reading was taken before something that now comes before it.
    #[error("it read {place} before entry {by}, which left it otherwise")]
    ReadBefore {
        /// The record, the setting or the module's identity.
        place: String,
        /// The entry that left it otherwise.
        by: EntryNumber,
    },
    /// A setting was read by value alone, in bytes that are other ones now.
    #[error("it read {place} by value alone, and the bytes around it are not those that were known then")]
    ByValue {
        /// The module or the record.
        place: String,
    },
    /// It is about an entry that the other line has not.
    #[error("it is about entry {0}, which is not there")]
    About(EntryNumber),
    /// It opens an order where one is open, or was opened under that number.
    #[error("it opens a work order, and entry {by} has opened order {number}")]
    OrderThere {
        /// The other order, or the same.
        number: OrderNumber,
        /// The entry that opened it.
        by: EntryNumber,
    },
    /// It belongs to an order that is not open there.
    #[error(
        "it was filed under order {number}, which {}",
        .by.map_or_else(|| "is not open there".to_owned(), |by| format!("entry {by} has closed"))
    )]
    OrderClosed {
        /// The order.
        number: OrderNumber,
        /// The entry that closed it.
        by: Option<EntryNumber>,
    },
    /// It closes an order over work that was not known when it was closed.
    #[error("it closes order {number} without knowing of entry {by}")]
    ClosedUnseen {
        /// The order.
        number: OrderNumber,
        /// The first entry that it did not know of.
        by: EntryNumber,
    },
}

/// Where an entry stood, and where it is to stand.
pub(crate) struct EntryMove<'a> {
    /// The state before it where it stood.
    pub(crate) was: &'a State,
    /// The state after it where it stood.
    pub(crate) after: &'a State,
    /// The state before it where it is to stand.
    pub(crate) now: &'a State,
    /// When what the entry of a number tells of happened, where it is to stand.
    pub(crate) happened: &'a dyn Fn(EntryNumber) -> Option<OffsetDateTime>,
    /// The number of an entry where this one is to stand, by its number where this one stood.
    pub(crate) number: &'a dyn Fn(EntryNumber) -> Option<EntryNumber>,
}

impl EntryMove<'_> {
    /// What the entry holds where it is to stand.
    ///
    /// Work says what was found and what was left, and that stays as it is: where something else is found now, it cannot
    /// stand there. A reading says what was there, which stays as it is; what in it *differs* follows from what was known
    /// before, and is worked out anew.
    pub(crate) fn carry(&self, body: &Body, happened: OffsetDateTime) -> Result<Body, Obstacle> {
        let number = |old: EntryNumber| (self.number)(old).ok_or(Obstacle::About(old));
        if let (Body::Change(_) | Body::PutBack(..) | Body::Correction(_), Some(effects)) = (body, body.effects()) {
            self.work(effects)?;
        }
        Ok(match body {
            Body::Enrolled(_) => return Err(Obstacle::Enrolment),
            Body::Note(about) => Body::Note(about.map(number).transpose()?),
            Body::Correction(correction) => {
                Body::Correction(Correction { corrects: number(correction.corrects)?, ..correction.clone() })
            }
            Body::PutBack(of, work) => {
                let of = match of {
                    PutBackOf::Entries(entries) => {
                        PutBackOf::Entries(entries.iter().copied().map(number).collect::<Result<_, _>>()?)
                    }
                    PutBackOf::ReturnTo(entry) => PutBackOf::ReturnTo(number(*entry)?),
                };
                Body::PutBack(of, work.clone())
            }
            Body::Reading(reading) => Body::Reading(self.reading(reading, happened)?),
            Body::Witness(witness) => Body::Witness(self.witness(witness)?),
            Body::Change(_) | Body::OrderOpened(_) | Body::OrderExtended(_) | Body::OrderClosed(_) => body.clone(),
        })
    }

    /// What a log showed stays; the entries that it is about have the numbers that they have now.
    fn witness(&self, witness: &BusLogBody) -> Result<BusLogBody, Obstacle> {
        let number = |old: EntryNumber| (self.number)(old).ok_or(Obstacle::About(old));
        let mut carried = witness.clone();
        for filed in &mut carried.filed {
            *filed = number(*filed)?;
        }
        for write in &mut carried.writes {
            write.entry = write.entry.map(number).transpose()?;
            write.shown_by = write.shown_by.map(number).transpose()?;
        }
        Ok(carried)
    }

    /// That everything is found as the work found it.
    fn work(&self, effects: &Effects) -> Result<(), Obstacle> {
        let empty = ModuleState::default();
        let module = |name: &ModuleName| self.now.module(name).unwrap_or(&empty);
        for effect in &effects.identities {
            let now = module(&effect.module);
            if now.identity != effect.found {
                return Err(altered(format!("the identity of {}", effect.module), now.renewed));
            }
        }
        for effect in &effects.records {
            if let Some(known) = module(&effect.module).records.get(&effect.record)
                && Some(&known.bytes) != effect.found.as_ref()
            {
                return Err(altered(format!("{}:{}", effect.module, effect.record), Some(known.since)));
            }
        }
        for effect in &effects.stated {
            if let Some(known) = module(&effect.module).stated.get(&effect.setting)
                && Some(&known.value) != effect.found.as_ref()
            {
                return Err(altered(format!("{}.{}", effect.module, effect.setting), Some(known.since)));
            }
        }
        Ok(())
    }

    fn reading(&self, reading: &ReadingBody, happened: OffsetDateTime) -> Result<ReadingBody, Obstacle> {
        let mut effects = Effects::default();
        let told = &reading.effects;
        let mut modules: BTreeSet<&ModuleName> = reading.covered.keys().collect();
        modules.extend(told.identities.iter().map(|effect| &effect.module));
        modules.extend(told.records.iter().map(|effect| &effect.module));
        modules.extend(told.stated.iter().map(|effect| &effect.module));
        for name in modules {
            self.module(name, reading, happened, &mut effects)?;
        }
        Ok(ReadingBody { effects, ..reading.clone() })
    }

    fn module(
        &self,
        name: &ModuleName,
        reading: &ReadingBody,
        happened: OffsetDateTime,
        effects: &mut Effects,
    ) -> Result<(), Obstacle> {
        let empty = ModuleState::default();
        let of = |state: &'_ State| state.module(name).cloned().unwrap_or_else(|| empty.clone());
        let (was, after, now) = (of(self.was), of(self.after), of(self.now));
        let later = |by: EntryNumber, place: String| match (self.happened)(by) {
            Some(then) if then <= happened => Ok(()),
            _ => Err(Obstacle::ReadBefore { place, by }),
        };

        let told = reading.effects.identities.iter().find(|effect| effect.module == *name);
        let place = || format!("the identity of {name}");
        if let Some(told) = told {
            if now.identity != told.left {
                if now.identity != was.identity
                    && let Some(by) = now.renewed
                {
                    later(by, place())?;
                }
                let (module, found, left) = (name.clone(), now.identity.clone(), told.left.clone());
                effects.identities.push(IdentityEffect { module, found, left });
            }
        } else if now.identity != was.identity && was.identity != Identity::default() {
            // Whether the reading showed the identity is not said by it.
            return Err(Obstacle::ReadBefore { place: place(), by: now.renewed.unwrap_or(EntryNumber::FIRST) });
        }

        let covered = reading.covered.get(name).cloned().unwrap_or_default();
        let mut records = covered.records.clone();
        records.extend(reading.effects.records.iter().filter(|e| e.module == *name).map(|e| e.record.clone()));
        for record in records {
            let Some(read) = after.records.get(&record) else { continue };
            let known = now.records.get(&record);
            let (was, found) = (was.records.get(&record).map(|known| &known.bytes), known.map(|known| &known.bytes));
            if found == Some(&read.bytes) {
                continue;
            }
            let place = || format!("{name}:{record}");
            if found != was {
                if !covered.records.contains(&record) {
                    return Err(Obstacle::ByValue { place: place() });
                }
                known.map_or(Ok(()), |known| later(known.since, place()))?;
            }
            let (found, left) = (found.cloned(), read.bytes.clone());
            effects.records.push(RecordEffect { module: name.clone(), record, found, left });
        }

        let mut settings = covered.settings.clone();
        settings.extend(reading.effects.stated.iter().filter(|e| e.module == *name).map(|e| e.setting.clone()));
        for setting in settings {
            let place = || format!("{name}.{setting}");
            let read = after.stated.get(&setting).map(|known| known.value.clone());
            let known = now.stated.get(&setting);
            let found = known.map(|known| known.value.clone());
            if read.is_none() && covered.settings.contains(&setting) && !same_records(&was, &now) {
                return Err(Obstacle::ByValue { place: place() });
            }
            if found == read {
                continue;
            }
            if found != was.stated.get(&setting).map(|known| known.value.clone()) {
                known.map_or(Ok(()), |known| later(known.since, place()))?;
            }
            effects.stated.push(StatedEffect { module: name.clone(), setting, found, left: read });
        }
        Ok(())
    }
}

fn same_records(one: &ModuleState, other: &ModuleState) -> bool {
    one.records.len() == other.records.len()
        && one.records.iter().all(|(name, known)| other.records.get(name).is_some_and(|now| now.bytes == known.bytes))
}

fn altered(place: String, by: Option<EntryNumber>) -> Obstacle {
    Obstacle::Altered { place, by: by.unwrap_or(EntryNumber::FIRST) }
}

/// The same with everything in one order, so that two can be compared.
pub(crate) fn in_order(mut body: Body) -> Body {
    if let Body::Reading(reading) = &mut body {
        reading.effects.identities.sort_by(|a, b| a.module.cmp(&b.module));
        reading.effects.records.sort_by(|a, b| (&a.module, &a.record).cmp(&(&b.module, &b.record)));
        reading.effects.stated.sort_by(|a, b| (&a.module, &a.setting).cmp(&(&b.module, &b.setting)));
    }
    body
}

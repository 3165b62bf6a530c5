//! What is known of a vehicle at one moment.

use std::collections::{BTreeMap, BTreeSet};

use time::OffsetDateTime;

use crate::entry::{Moment, Vehicle};
use crate::identity::Identity;
use crate::names::{EntryNumber, ModuleName, RecordName, SettingName};
use crate::reading::Address;
use crate::trouble_code::ReportedCode;
use crate::value::HexBytes;

/// A record's last known content.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownRecord {
    /// The content.
    pub bytes: HexBytes,
    /// The entry that brought this content.
    pub since: EntryNumber,
    /// The last reading that gave the record, with the time at which it was taken.
    pub read: Option<(EntryNumber, OffsetDateTime)>,
    /// The latest moment of which an entry says that it held this.
    pub known_at: Moment,
}

/// The last known value of a setting that is known by value alone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownSetting {
    /// The value, as written.
    pub value: String,
    /// The entry that brought this value.
    pub since: EntryNumber,
    /// The last reading that gave the value, with the time at which it was taken.
    pub read: Option<(EntryNumber, OffsetDateTime)>,
    /// The latest moment of which an entry says that it held this.
    pub known_at: Moment,
}

/// The trouble codes of one module as last scanned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ScannedCodes {
    /// The codes; none is an answer too.
    pub codes: Vec<ReportedCode>,
    /// The reading that gave them.
    pub read: EntryNumber,
    /// When that was taken.
    pub known_at: Moment,
}

/// What is known of one module.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ModuleState {
    /// Its diagnostic address.
    pub address: Option<Address>,
    /// Its identity, as far as known.
    pub identity: Identity,
    /// The last entry that shows it as another unit, or with other software, than before.
    pub renewed: Option<EntryNumber>,
    /// When that was seen.
    pub renewed_at: Option<Moment>,
    /// When it was read last, whatever it was asked.
    pub seen_at: Option<Moment>,
    /// Its records.
    pub records: BTreeMap<RecordName, KnownRecord>,
    /// Its settings known by value alone.
    pub stated: BTreeMap<SettingName, KnownSetting>,
    /// Records that it refused when last asked.
    pub refused: BTreeSet<RecordName>,
    /// Its trouble codes as last scanned.
    pub codes: Option<ScannedCodes>,
}

impl ModuleState {
    /// A record's content, unless the module became another unit or got other software after it was last read or written.
    ///
    /// What was read before that stays the last known content, but the definition that fits the module now does not
    /// explain it, and nobody can say that it is still there.
    pub fn current_record(&self, record: &RecordName) -> Option<&KnownRecord> {
        let known = self.records.get(record)?;
        let last = known.read.map_or(known.since, |(read, _)| read.max(known.since));
        self.renewed.is_none_or(|renewed| renewed <= last).then_some(known)
    }
}

/// What is known of a vehicle: the fold of all entries up to one.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct State {
    /// The vehicle, once it is enrolled.
    pub vehicle: Option<Vehicle>,
    /// The last entry.
    pub last: Option<EntryNumber>,
    /// The last odometer reading, in kilometres, and the entry that gave it.
    pub odometer_km: Option<(u32, EntryNumber)>,
    /// When that was read.
    pub odometer_at: Option<Moment>,
    /// Its modules.
    pub modules: BTreeMap<ModuleName, ModuleState>,
}

impl State {
    /// The module of that name.
    pub fn module(&self, name: &ModuleName) -> Option<&ModuleState> {
        self.modules.get(name)
    }

    /// The content of a record.
    pub fn record(&self, module: &ModuleName, record: &RecordName) -> Option<&KnownRecord> {
        self.modules.get(module)?.records.get(record)
    }

    /// The identity of a module; an empty one when nothing is known.
    pub fn identity(&self, module: &ModuleName) -> Identity {
        self.modules.get(module).map(|known| known.identity.clone()).unwrap_or_default()
    }
}

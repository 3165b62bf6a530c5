//! The sheet itself.

use asfound_core::entry::ReadingRole;
use asfound_core::names::{EntryNumber, Tag, Vin};
use asfound_core::safety::SafetyTag;
use asfound_core::value::Decimal;
use serde::Serialize;
use time::OffsetDateTime;

use super::{
    AccountedBy, AcknowledgementShown, Agreement, CodesShown, CorrectionShown, ModuleShown, NotDone, NoteShown,
    SealShown, SheetChange, SignatureShown, Totals, TrialShown, WorkShown,
};

/// Everything that a handover sheet says.
#[derive(Debug, Clone, Serialize)]
pub struct Sheet<'h> {
    /// The sheet's own number, which no other sheet has: it is made from all that the sheet says.
    pub number: String,
    /// When it was printed.
    #[serde(with = "time::serde::rfc3339")]
    pub printed: OffsetDateTime,
    /// The vehicle.
    pub vehicle: VehicleShown,
    /// For whom it was printed.
    pub customer: Option<String>,
    /// By whom.
    pub workshop: Workshop,
    /// What was asked for and agreed, by work order; none where no work order covers what lies between the moments.
    pub agreements: Vec<Agreement>,
    /// The first moment.
    pub found: Conditions,
    /// The second moment.
    pub left: Conditions,
    /// What was done between the two, in its order.
    pub work: Vec<WorkShown<'h>>,
    /// The trials of that work.
    pub trials: Vec<TrialShown>,
    /// The modules, by name.
    pub modules: Vec<ModuleShown>,
    /// Sums over the modules.
    pub totals: Totals,
    /// Everything that differs between the two moments, by module.
    pub changes: Vec<SheetChange>,
    /// The kinds of system that the changes belong to.
    pub systems: Vec<SafetyTag>,
    /// Trouble codes, by module.
    pub codes: Vec<CodesShown>,
    /// Cautions that the definitions give for what was altered.
    pub cautions: Vec<String>,
    /// Acknowledgements of restricted systems.
    pub acknowledgements: Vec<AcknowledgementShown>,
    /// What was noticed: the notes filed between the two moments.
    pub noticed: Vec<NoteShown>,
    /// What was planned or authorised and not done.
    pub undone: Vec<NotDone>,
    /// Corrections of what this sheet shows, beside the original.
    pub amendments: Vec<CorrectionShown>,
    /// What the sheet cannot say.
    pub limits: Vec<SheetLimit>,
    /// Who signed what, in what meaning.
    pub signatures: Vec<SignatureShown>,
    /// The seal of the journal.
    pub seal: SealShown,
}

impl Sheet<'_> {
    /// Whether work orders say of all recorded work whether it was authorised.
    pub fn is_judged_by_orders(&self) -> bool {
        !self.agreements.is_empty() && self.changes.iter().all(|change| change.account != AccountedBy::AsRecorded)
    }
}

/// The vehicle.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct VehicleShown {
    /// Its tag in the garage.
    pub tag: Tag,
    /// Its VIN.
    pub vin: Option<Vin>,
    /// Its description.
    pub about: Option<String>,
}

/// The workshop, as it wants to be named.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Workshop {
    /// Its name.
    pub name: Option<String>,
    /// Its address, line by line.
    pub address: Vec<String>,
    /// Its licence, registration or approval.
    pub licence: Option<String>,
    /// What stands at the foot.
    pub footer: Option<String>,
}

/// The conditions at one moment.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Conditions {
    /// The entry.
    pub entry: EntryNumber,
    /// Why the reading was taken; nothing where the entry is no reading.
    pub role: Option<ReadingRole>,
    /// Whether it was said to cover less than earlier ones.
    pub partial: bool,
    /// When.
    #[serde(with = "time::serde::rfc3339")]
    pub at: OffsetDateTime,
    /// Who took it, or filed it where that is not told.
    pub by: String,
    /// With what.
    pub tool: Option<String>,
    /// The odometer, in kilometres.
    pub odometer_km: Option<u32>,
    /// The supply voltage, in volts.
    pub supply_voltage: Option<Decimal>,
}

/// Something that a sheet cannot say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(tag = "limit", rename_all = "kebab-case")]
pub enum SheetLimit {
    /// The first moment is no reading as found.
    NotReadAsFound,
    /// The second moment is no reading as left.
    NotReadAsLeft,
    /// A reading was partial.
    Partial {
        /// The reading.
        entry: EntryNumber,
    },
    /// Records were not read at both moments.
    RecordsNotRead {
        /// How many.
        records: usize,
    },
    /// Modules refused records.
    RecordsRefused {
        /// How many.
        records: usize,
    },
    /// Trouble codes were not read at both moments.
    CodesNotExamined {
        /// In how many modules.
        modules: usize,
    },
    /// Of steps of walked plans nobody knows whether they were made, and what they wrote to was not read since.
    InDoubt {
        /// How many steps.
        steps: usize,
    },
    /// Work was not read back.
    NotReadBack {
        /// How many changes.
        changes: usize,
    },
    /// Entries were signed with another person's key than their author's.
    SignedForAnother {
        /// How many.
        entries: usize,
    },
    /// Later entries are not part of the sheet.
    LaterEntries {
        /// How many.
        entries: usize,
    },
}

//! Mirrors of the JSON that the program writes, one file a schema.
//!
//! They are strict: a key that a mirror does not have is an error, and a mirror that is written anew must give the
//! same JSON, so that neither side can drop or add anything unseen. What the field comments say of order,
//! [`Answer::check`] holds.

mod book;
mod code_described;
mod comparison;
mod correction_filed;
mod definition_check;
mod definition_exported;
mod definition_layers;
mod definitions;
mod definitions_from;
mod definitions_kept;
mod descriptions;
mod descriptions_loaded;
mod effects;
mod enrolled;
mod entries;
mod entry;
mod explained;
mod failure;
mod found;
mod key_stopped;
mod key_trusted;
mod key_used;
mod keys;
mod life;
mod note_filed;
mod open_step;
mod open_work;
mod order;
mod order_filed;
mod orders;
mod parts;
mod plan;
mod reading_filed;
mod settings;
mod shared;
mod sheet;
mod sheet_parts;
mod suspects;
mod taken_in;
mod tidied;
mod trial;
mod vehicles;
mod wire;
mod witness;
mod work;
mod work_filed;

pub use book::BookWritten;
pub use code_described::{CodeDescribed, Description};
pub use comparison::{CodesCompared, ComparedSetting, Comparison, IdentityDifference, ModuleCompared, RecordCompared};
pub use correction_filed::{CorrectedField, CorrectedWords, CorrectionFiled};
pub use definition_check::{CheckedFile, DefinitionCheck, DefinitionProblem};
pub use definition_exported::DefinitionExported;
pub use definition_layers::{DefinitionLayers, LayerLine};
pub use definitions::{DefinitionLine, Definitions};
pub use definitions_from::{
    DefinitionsFrom, DocumentNote, DocumentPlace, LayerTaken, RecordLeft, ValueAsBytes, ValueWhole,
};
pub use definitions_kept::{DefinitionKept, DefinitionsKept, Reads, ReadsOtherwise};
pub use descriptions::{DescriptionsTable, DescriptionsTables};
pub use descriptions_loaded::DescriptionsLoaded;
pub use effects::{Effects, Identity, IdentityEffect, RecordEffect, StatedEffect};
pub use enrolled::{Enrolled, EnrolledVehicle};
pub use entries::{Entries, EntryLine};
pub use entry::{
    Alteration, AsFiled, Attached, BusPlace, Covered, Entry, EntryInFull, FiledLog, ReadingInFull, StepDone,
    WireAction, WireGap, WireWrite, WitnessInFull,
};
pub use explained::{Explained, ExplainedSetting, RuleInWords};
pub use failure::Failure;
pub use found::{Found, FoundVehicle, Unreadable};
pub use key_stopped::KeyStopped;
pub use key_trusted::KeyTrusted;
pub use key_used::KeyUsed;
pub use keys::{AgentKey, Keys, SigningKey, TrustedKey, UnreadableLine};
pub use life::{Life, LifeStep};
pub use note_filed::NoteFiled;
pub use open_step::OpenStep;
pub use open_work::{OpenOrder, OpenWork, StatedWork, VehicleOpenWork};
pub use order::{OrderInFull, OrderLine, OrderTerms};
pub use order_filed::{Authorised, CorrectedTerm, OrderFiled, TermDoubt, TermSubject};
pub use orders::{OneOrder, Orders};
pub use parts::{
    Acknowledgement, Author, Bits, Content, EntryHead, FreezeFrame, Moving, OnTheWire, Origin, Proof, ReportedCode,
    Signature, StatusChanged, Trial,
};
pub use plan::{
    Blocked, BrokenRule, Intermediate, LastRead, Plan, PlanSheet, Preview, Requests, Step, StepSetting, Write,
};
pub use reading_filed::{
    Circumstance, CommunicationCodes, Difference, IdentityChanged, LeftOut, ModuleCodes, NotRead, ReadBack,
    ReadingEntry, ReadingFiled, ReadingHead,
};
pub use settings::{SettingLine, Settings, SeveralDefinitions, Standing, UnexplainedRecord};
pub use shared::{Renumbered, ShareRefusal, Shared, SharedJournal};
pub use sheet::{
    Acknowledged, Agreement, AlteredOnSheet, Amendment, AuthorisedWork, Conditions, Consent, Limit, LineOfWork,
    Noticed, SealOnSheet, Sheet, SignatureOnSheet, StayedSame, Undone, VehicleOnSheet, WorkshopOnSheet,
};
pub use sheet_parts::{
    Changed, CodeOnSheet, CodesOfModule, ExaminedRecord, Level, ModuleIdentity, ModuleOnSheet, SeenOnSheet, Totals,
    TrialOnSheet,
};
pub use suspects::{Narrowing, Points, Possible, ProposedRound, Round, Suspect, Suspects, Watched};
pub use taken_in::{RefusedReading, TakenIn};
pub use tidied::Tidied;
pub use trial::{NewCode, TrialLine, Trials, Waiting};
pub use vehicles::{LastEntry, VehicleLine, Vehicles};
pub use wire::{Wire, WireBroken, WireMessage, WireModule, WireSender, WireUndecided, WireWrites};
pub use witness::{
    DoneOnBus, DrawnUp, LogClock, ModuleOnBus, SettingOnBus, UnknownModule, Witness, WitnessedLog, WriteOnBus,
};
pub use work::{Asked, Unlike, WalkedStep, Work};
pub use work_filed::WorkFiled;

/// One schema.
pub trait Answer {
    /// What stands under `schema`.
    const SCHEMA: &'static str;

    /// Makes sure of what no type can say: how arrays are sorted.
    fn check(&self) {}
}

/// That a list is sorted by a key, none twice.
#[track_caller]
fn rising<T, K: Ord + std::fmt::Debug>(what: &str, list: &[T], key: impl Fn(&T) -> K) {
    for pair in list.windows(2) {
        let (a, b) = (key(&pair[0]), key(&pair[1]));
        assert!(a < b, "{what} are not sorted: {a:?} before {b:?}");
    }
}

/// The order of fields: settings by module and name, then groups of undeclared bits by module and record.
#[track_caller]
fn fields_rising<T>(what: &str, list: &[T], field: impl Fn(&T) -> &str) {
    rising(what, list, |one| {
        let field = field(one).to_owned();
        (field.contains(':'), field)
    });
}

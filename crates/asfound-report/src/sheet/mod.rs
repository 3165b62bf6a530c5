//! What a handover sheet says, worked out from a journal: a pure value, printed elsewhere.

mod agreement;
mod appendix;
mod builder;
mod changes;
mod codes;
mod front;
mod model;
mod modules;
mod moments;
mod number;
mod shared_text;
mod trials;

pub use agreement::{Agreement, AuthorisedShown, Consent};
pub use appendix::{
    AcknowledgementShown, AlterationShown, CorrectionShown, NotDone, NoteShown, SealShown, SignatureShown,
    SignatureWorth, WorkShown,
};
pub use builder::{SheetBuilder, SheetError, SheetRequest};
pub use changes::{AccountedBy, FieldContent, ProofLevel, SheetChange};
pub use codes::{CodeShown, CodesShown, ScanShown};
pub use front::{FrontPage, NotReadModule, SameCounts};
pub use model::{Conditions, Sheet, SheetLimit, VehicleShown, Workshop};
pub use modules::{IdentityShown, ModuleShown, RecordShown, RecordVerdict, SettingShown, Totals};
pub use moments::{MomentsBuilder, MomentsError, SheetSubject};
pub use shared_text::{SharedText, SharedTexts};
pub use trials::{CodeSince, TrialShown, TrialWord};

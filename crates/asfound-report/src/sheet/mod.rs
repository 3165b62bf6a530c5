//! What a handover sheet says, worked out from a journal: a pure value, printed elsewhere.

mod agreement;
mod changes;
mod codes;
mod draw_up;
mod evidence;
mod modules;
mod moments;
mod number;
mod shared_text;
mod trials;
mod value;

pub use agreement::{Agreement, Authorised, Consent};
pub use changes::{Account, Changed, Held, Level};
pub use codes::{CodeShown, Codes, Seen};
pub use draw_up::{Drawing, SheetError, SheetOrder};
pub use evidence::{Acknowledged, Altered, Amendment, LineOfWork, Noticed, SealShown, Signature, Standing, Undone};
pub use modules::{Examined, IdentityShown, ModuleShown, RecordVerdict, Totals};
pub use moments::{MomentsError, Outline, between, of_order};
pub use shared_text::{SharedText, SharedTexts};
pub use trials::{CodeSince, TrialShown, TrialWord};
pub use value::{Conditions, Limit, Sheet, VehicleShown, Workshop};

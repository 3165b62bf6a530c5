//! What some or all modules said at one moment, and what becomes of it when it is filed.

mod by_value;
mod examine;
mod late;
mod missing;
mod model;
mod older_names;
mod problem;
mod self_description;
mod situation;

pub use examine::{AcceptedReading, ReadingTerms, examine, implausible};
pub use missing::MissingItem;
pub use model::{Address, AddressError, ModuleReading, Reading, VehicleMark};
pub use problem::{ReadingProblem, ReadingRemark};
pub use self_description::{
    VIN_RECORD, alike, identity_by_records, in_known_words, is_identity_record, text_of_record,
};
pub use situation::{Engine, Ignition, Situation, UnknownSituation};

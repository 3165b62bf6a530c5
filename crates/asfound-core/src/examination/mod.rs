//! What becomes of a reading when it is filed: held against what is known, with problems, remarks and what is missing.

mod by_value;
mod examine;
mod late;
mod missing;
mod older_names;
mod problem;
mod self_description;

pub use examine::{AcceptedReading, ReadingTerms, examine, implausible};
pub use missing::MissingItem;
pub use problem::{ReadingProblem, ReadingRemark};
pub use self_description::{
    VIN_RECORD, alike, identity_by_records, in_known_words, is_identity_record, text_of_record,
};

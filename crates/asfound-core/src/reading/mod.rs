//! What some or all modules said at one moment, and what becomes of it when it is filed.

mod examine;
mod problem;
mod said;

pub use examine::{Examined, MissingItem, ReadingTerms, examine};
pub use problem::{ReadingProblem, ReadingRemark};
pub use said::{Address, AddressError, ModuleReading, Reading, VehicleMark};

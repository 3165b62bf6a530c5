//! Text for people: pages of at most the terminal's width that read like a calibration sheet.

mod dates;
mod sheet;
mod table;

pub use dates::{date, date_and_time};
pub use sheet::{NOTHING, Page};
pub use table::Table;

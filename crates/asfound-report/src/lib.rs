//! Printed matter in the project's one look: calm, like a calibration certificate.
//!
//! A [`Page`] is put together piece by piece, from a head over a rule down to its last line; a [`Table`] keeps
//! within the page's width; dates have their month in letters. Nothing here prints: a page becomes text, and
//! what becomes of the text is the caller's affair.

mod dates;
mod page;
mod table;

pub use dates::{date, date_and_time, short_date};
pub use page::{NOTHING, Page, wrapped};
pub use table::Table;

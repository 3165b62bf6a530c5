//! Tables: rows of modules, settings, records, identities and trouble codes.
//!
//! [`parse_table`] turns the bytes of a file into a [`TableReading`], or reports everything that is wrong
//! with it at once as [`TableProblems`]. It knows no definitions: a setting may be named by its label, which
//! the caller matches afterwards.
//!
//! ```
//! use asfound_capture::table::{RowContent, TableOptions, parse_table};
//!
//! let options = TableOptions { columns: Some("module=ECU,record=DID,bytes=Data".parse()?), ..TableOptions::default() };
//! let reading = parse_table(b"ECU;DID;Data\nBody Control;0x0D01;03-0F-85-00\n", &options)?;
//! assert_eq!(reading.rows[0].module.as_str(), "body_control");
//! assert!(matches!(&reading.rows[0].what, RowContent::Record { record, .. } if record.to_string() == "0D01"));
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```

mod cell;
mod cells;
mod column;
mod duplicate;
mod encoding;
mod example;
mod grid;
mod header;
mod identity;
mod lines;
mod mapping;
mod mapping_text;
mod nearest;
mod options;
mod parse;
mod printable;
mod problem;
mod quoting;
mod reading;
mod rows;
mod saved;
mod separator;
mod slug_of;
mod text;

pub use cell::CellFault;
pub(crate) use cells::cells_of;
pub use column::{ColumnKey, ColumnPlace, ColumnPlaceError, UnknownColumnKey};
pub use encoding::{TableEncoding, UnknownEncoding};
pub use header::HeaderFault;
pub use mapping::{ColumnMapping, MappingError};
pub use options::TableOptions;
pub use parse::parse_table;
pub(crate) use printable::printable;
pub use problem::{MOST_PROBLEMS, TableFault, TableProblem, TableProblems};
pub use quoting::QuotingFault;
pub use reading::{RowContent, SettingCell, TableIdentity, TableReading, TableRow};
pub use rows::RowFault;
pub use saved::{SavedColumns, SavedColumnsError};
pub use separator::{Separator, SeparatorFault, UnknownSeparator};
pub use slug_of::{module_name_of, setting_name_of, slug_of};
pub use text::TextFault;

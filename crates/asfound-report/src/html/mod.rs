//! Pages of one file each: no picture, script or letter is fetched from anywhere.
//!
//! A content security policy in the page names the hash of its own style and script, so that nothing else runs or is
//! loaded, whatever a text in the journal says.

mod book;
mod book_lines;
mod page;
mod policy;
mod sheet;
mod style;

pub(crate) use crate::escape::{css_string, escape};
pub use book::{book_page, book_page_for};
pub use sheet::{page as printed_page, page_for as printed_page_for};

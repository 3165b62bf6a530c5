//! Printed matter in the project's one look: calm, like a calibration certificate.
//!
//! On the terminal, a [`Page`] is put together piece by piece, from a head over a rule down to its last line; a [`Table`] keeps
//! within the page's width; dates have their month in letters.
//!
//! For people who are handed something, a [`sheet`] is worked out from a journal as a pure value, put into words of a
//! [`Language`] as something [`Printed`], and written as HTML, PDF or text, which say the same. A [`Book`] is the whole journal on
//! one page, with a life line for everything that ever changed.
//!
//! Nothing here prints, reads a file or asks the clock: everything is handed in, and what becomes of a page is the
//! caller's affair.

mod book;
mod book_facts;
mod dates;
mod escape;
mod html;
mod language;
mod life_line;
mod page;
mod palette;
mod pdf;
mod printed;
mod qr;
pub mod sheet;
mod shown;
mod table;
mod text;

pub use book::{Book, BookBuilder, BookRequest};
pub use dates::{date, date_and_time, date_as_known, short_date};
pub use html::{book_page, book_page_for, printed_page, printed_page_for};
pub use language::{Language, UnknownLanguage};
pub use page::{NOTHING, Page, wrapped};
pub use pdf::{Paper, PdfError, UnknownPaper, pdf};
pub use printed::{ComparedSide, ComparedSides, Logo, LogoKind, Printed, compared, handover};
pub use qr::{QrCode, TooLong};
pub use shown::shown;
pub use table::{Table, TablePieces};
pub use text::{text, text_for};

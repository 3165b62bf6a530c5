//! What is printed, before it is HTML, PDF or text: parts with headings, paragraphs, pairs and tables, in one language.
//!
//! Every text in it is fit for print ([`shown`](crate::shown)); escaping for a format is the format's affair.

mod compared;
mod front;
mod handover;
mod handover_codes;
mod handover_tables;

use std::fmt;
use std::rc::Rc;

use time::OffsetDateTime;

use crate::language::Language;
use crate::qr::QrCode;

pub use compared::{ComparedSide, ComparedSides, compared};
pub(crate) use handover::authority;
pub use handover::handover;

/// A picture for the head: a PNG or JPEG file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Logo {
    /// The file's content.
    pub bytes: Vec<u8>,
    /// Which of the two it is.
    pub kind: LogoKind,
}

/// A kind of picture.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LogoKind {
    /// PNG.
    Png,
    /// JPEG.
    Jpeg,
}

impl LogoKind {
    /// The kind, by the first bytes of the file; nothing for any other.
    pub fn of(bytes: &[u8]) -> Option<Self> {
        match bytes {
            [0x89, b'P', b'N', b'G', 0x0D, 0x0A, 0x1A, 0x0A, ..] => Some(Self::Png),
            [0xFF, 0xD8, 0xFF, ..] => Some(Self::Jpeg),
            _ => None,
        }
    }
}

/// Something printed.
#[derive(Debug, Clone)]
pub struct Printed<'s> {
    pub(crate) language: Language,
    /// When.
    pub(crate) at: OffsetDateTime,
    /// What it is.
    pub(crate) title: String,
    /// What it is about, below the title.
    pub(crate) about: String,
    /// Between which moments it speaks, and by which order; nothing where the pages say so themselves.
    pub(crate) span: Option<String>,
    /// Whose it is: the first line is the name.
    pub(crate) letterhead: Vec<String>,
    pub(crate) logo: Option<Logo>,
    /// The number that stands on every page.
    pub(crate) number: String,
    pub(crate) parts: Vec<PrintedPart<'s>>,
    /// The workshop's own line at the foot.
    pub(crate) footer: Option<String>,
    /// The mark at the end.
    pub(crate) end: String,
}

impl Printed<'_> {
    /// The first page alone.
    #[must_use]
    pub fn first_page(mut self) -> Self {
        self.parts.retain(|part| part.front);
        self
    }
}

/// One part.
#[derive(Debug, Clone)]
pub(crate) struct PrintedPart<'s> {
    /// Whether it stands on the first page, in larger letters and alone.
    pub(crate) front: bool,
    pub(crate) heading: String,
    pub(crate) blocks: Vec<Block<'s>>,
}

impl<'s> PrintedPart<'s> {
    pub(crate) fn new(heading: &str, blocks: Vec<Block<'s>>) -> Self {
        Self { front: false, heading: heading.to_owned(), blocks }
    }

    pub(crate) fn on_front(heading: &str, blocks: Vec<Block<'s>>) -> Self {
        Self { front: true, ..Self::new(heading, blocks) }
    }
}

/// One block of a part.
#[derive(Debug, Clone)]
pub(crate) enum Block<'s> {
    /// A paragraph.
    Line(String),
    /// The sentence that matters, with its mark.
    Claim(Mark, String),
    /// Labels and what belongs to them.
    Pairs(Vec<(String, String)>),
    /// A table.
    Grid(Grid<'s>),
    /// A list.
    List(Vec<String>),
    /// Lines in letters of one width.
    Code(String, String),
    /// A short text to read out and to type, with its label, beside the QR code of its long form, with its caption.
    Seal { label: String, short: String, code: QrCode, caption: String },
    /// Lines to sign on.
    SignHere(Vec<String>),
}

/// A table.
#[derive(Debug, Clone)]
pub(crate) struct Grid<'s> {
    /// What it shows, for those who do not see the heading.
    pub(crate) caption: String,
    pub(crate) heads: Vec<ColumnHead>,
    pub(crate) rows: GridRows<'s>,
}

/// The rows of a table, each made when it is asked for: there may be very many.
#[derive(Clone)]
pub(crate) struct GridRows<'s> {
    count: usize,
    row: Rc<dyn Fn(usize) -> Vec<Cell> + 's>,
}

impl<'s> GridRows<'s> {
    /// So many rows, made by number.
    pub(crate) fn made(count: usize, row: impl Fn(usize) -> Vec<Cell> + 's) -> Self {
        Self { count, row: Rc::new(row) }
    }

    pub(crate) fn len(&self) -> usize {
        self.count
    }

    /// One row.
    pub(crate) fn row(&self, at: usize) -> Vec<Cell> {
        (self.row)(at)
    }

    /// All rows, one after the other.
    pub(crate) fn iter(&self) -> impl Iterator<Item = Vec<Cell>> {
        (0..self.count).map(|at| self.row(at))
    }
}

impl From<Vec<Vec<Cell>>> for GridRows<'_> {
    fn from(rows: Vec<Vec<Cell>>) -> Self {
        Self::made(rows.len(), move |at| rows[at].clone())
    }
}

impl FromIterator<Vec<Cell>> for GridRows<'_> {
    fn from_iter<I: IntoIterator<Item = Vec<Cell>>>(rows: I) -> Self {
        Vec::from_iter(rows).into()
    }
}

impl fmt::Debug for GridRows<'_> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_list().entries(self.iter()).finish()
    }
}

/// The head of a column.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct ColumnHead {
    pub(crate) text: String,
    /// Its share of the width, against the others'.
    pub(crate) share: u16,
    /// Whether it holds figures, which stand flush right.
    pub(crate) figures: bool,
}

/// A cell.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) struct Cell {
    /// One paragraph each.
    pub(crate) lines: Vec<CellLine>,
}

/// A line in a cell, perhaps with a mark before it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct CellLine {
    pub(crate) mark: Option<Mark>,
    pub(crate) text: String,
    /// Whether it says more of the line above, in smaller letters.
    pub(crate) small: bool,
}

/// A mark: a shape beside words that say the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Mark {
    /// A full circle: as it should be, proven.
    Good,
    /// A square: altered as agreed.
    Agreed,
    /// A triangle: look at this.
    Alarm,
    /// An empty circle: not known, not proven.
    Open,
}

impl ColumnHead {
    pub(crate) fn text(text: &str, share: u16) -> Self {
        Self { text: text.to_owned(), share, figures: false }
    }

    pub(crate) fn figures(text: &str, share: u16) -> Self {
        Self { figures: true, ..Self::text(text, share) }
    }
}

impl Cell {
    pub(crate) fn of(text: impl Into<String>) -> Self {
        Self { lines: vec![CellLine { mark: None, text: text.into(), small: false }] }
    }

    pub(crate) fn marked(mark: Mark, text: impl Into<String>) -> Self {
        Self { lines: vec![CellLine { mark: Some(mark), text: text.into(), small: false }] }
    }

    pub(crate) fn and(mut self, text: impl Into<String>) -> Self {
        self.lines.push(CellLine { mark: None, text: text.into(), small: true });
        self
    }
}

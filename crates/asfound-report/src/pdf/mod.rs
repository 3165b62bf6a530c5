//! Something printed, as a PDF made here: no browser, no other program.
//!
//! The file is PDF/A-2a (ISO 19005-2): its letters are embedded, every one of them can be searched and copied, and headings,
//! lists and tables are marked as such for those who have it read to them. A character that the embedded letters lack (anything
//! but Latin, Greek and Cyrillic) is printed by its number, `‹U+1F600›`, so that nothing is dropped.

#![allow(clippy::cast_precision_loss, reason = "lines, columns and squares on a page are few")]

mod draw;
mod faces;
mod flow;
mod lines;
mod parts;
mod row;
mod tags;

use std::str::FromStr;

use thiserror::Error;

use crate::printed::Printed;

/// Why there is no PDF.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum PdfError {
    /// The logo cannot be read.
    #[error("the logo cannot be read: {0}")]
    Logo(String),
    /// The file cannot be put together.
    #[error("the PDF cannot be put together: {0}")]
    Assembly(String),
}

/// A word that is no size of paper.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("unknown paper size `{0}` (expected a4 or letter)")]
pub struct UnknownPaper(String);

/// A size of paper.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub enum Paper {
    /// 210 mm by 297 mm (ISO 216).
    #[default]
    A4,
    /// 8.5 in by 11 in.
    Letter,
}

impl Paper {
    /// Width and height in points, 72 to the inch.
    fn size(self) -> (f32, f32) {
        match self {
            Self::A4 => (595.276, 841.89),
            Self::Letter => (612.0, 792.0),
        }
    }
}

impl FromStr for Paper {
    type Err = UnknownPaper;
    fn from_str(text: &str) -> Result<Self, UnknownPaper> {
        match text {
            "a4" | "A4" => Ok(Self::A4),
            "letter" | "Letter" => Ok(Self::Letter),
            _ => Err(UnknownPaper(text.chars().take(24).collect())),
        }
    }
}

/// The PDF.
///
/// # Errors
/// When the logo cannot be read, or the file cannot be put together.
pub fn pdf(printed: &Printed, paper: Paper) -> Result<Vec<u8>, PdfError> {
    let flow = parts::laid_out(printed, paper)?;
    draw::drawn(printed, paper, flow)
}

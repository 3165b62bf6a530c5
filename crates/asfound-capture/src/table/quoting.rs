//! Quotation marks that make no cell.
//!
//! The CSV reader takes any bytes and makes the best of them; a mark that is never closed would swallow the rest of
//! the table without a word. So the marks are checked first, by the reader's own rules: a mark opens a quoted cell
//! only as its first character, two marks within it stand for one.

use thiserror::Error;

use super::lines::LineCounter;
use super::separator::Separator;

/// How a quotation mark stands wrongly.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum QuotingFault {
    /// The mark that opens a cell is never closed.
    #[error("a quotation mark opens a cell that is never closed")]
    Unclosed,
    /// There is text between the closing mark and the separator.
    #[error("a cell goes on after its closing quotation mark")]
    AfterClose,
}

impl QuotingFault {
    /// What to do about it.
    pub fn hint(&self) -> String {
        "a quotation mark within a quoted cell is written twice".into()
    }
}

/// Where the reader is within a cell.
enum QuoteState {
    Start,
    Plain,
    Quoted {
        from: usize,
    },
    Closed,
    /// White space after the closing mark.
    Padded,
}

/// Every quotation mark that stands wrongly, with its line.
pub(super) fn check(text: &str, separator: Separator) -> Vec<(usize, QuotingFault)> {
    let mut faults = Vec::new();
    let mut lines = LineCounter::new(text);
    let mut place = QuoteState::Start;
    for (at, byte) in text.bytes().enumerate() {
        let ends = byte == separator.byte() || byte == b'\n' || byte == b'\r';
        place = match place {
            QuoteState::Quoted { .. } if byte == b'"' => QuoteState::Closed,
            QuoteState::Quoted { from } => QuoteState::Quoted { from },
            _ if ends => QuoteState::Start,
            QuoteState::Start | QuoteState::Closed if byte == b'"' => QuoteState::Quoted { from: at },
            QuoteState::Start | QuoteState::Plain => QuoteState::Plain,
            QuoteState::Closed | QuoteState::Padded if byte == b' ' || byte == b'\t' => QuoteState::Padded,
            QuoteState::Closed | QuoteState::Padded => {
                faults.push((lines.line_at(at), QuotingFault::AfterClose));
                QuoteState::Plain
            }
        };
    }
    if let QuoteState::Quoted { from } = place {
        faults.push((LineCounter::new(text).line_at(from), QuotingFault::Unclosed));
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_that_make_cells() {
        for text in ["a,b", "\"a\"\"b\",c\n", "\"a\nb\",\"\"", "a\"b,c", "\"a\" ,b", "\"a\""] {
            assert_eq!(check(text, Separator::COMMA), [], "{text:?}");
        }
    }

    #[test]
    fn marks_that_do_not() {
        use QuotingFault::{AfterClose, Unclosed};
        for (text, faults) in [
            ("a\n\"b,c\nd", vec![(2, Unclosed)]),
            ("a\r\"b\"c,d", vec![(2, AfterClose)]),
            ("\"a\" b,\"c\"d", vec![(1, AfterClose), (1, AfterClose)]),
            ("\"a\"b\n\"c\n", vec![(1, AfterClose), (2, Unclosed)]),
        ] {
            assert_eq!(check(text, Separator::COMMA), faults, "{text:?}");
        }
    }
}

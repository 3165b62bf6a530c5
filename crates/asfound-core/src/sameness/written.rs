//! What somebody writes for a value of a known type, in any certain way of writing it.

use super::form::{AnalysedText, Form, unit_of};
use super::letters::clean;
use crate::value::{Decimal, HexBytes};

/// The number that a text writes, with its unit where it has one; nothing where it may be two numbers.
pub(crate) fn written_number(text: &str) -> Option<(Decimal, Option<String>)> {
    match AnalysedText::of(text).form {
        Form::Number(number, unit) => Some((number.only()?, unit)),
        _ => None,
    }
}

/// The bytes that a text writes.
pub(crate) fn written_bytes(text: &str) -> Option<HexBytes> {
    match AnalysedText::of(text).form {
        Form::Bytes(bytes) => Some(HexBytes::from(bytes.bytes)),
        _ => None,
    }
}

/// Whether two units are one, as [`written_number`] gives the first and a definition writes the second.
pub(crate) fn same_unit(written: &str, defined: &str) -> bool {
    written == unit_of(&clean(defined))
}

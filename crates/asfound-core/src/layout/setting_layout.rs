//! The layout of one setting, whole.

use super::{Coded, Coding, Conversion, DecodeError, EncodeError, LayoutError, Placement, ValueKind, ValueTextError};
use crate::value::{BitMask, Value};

/// How one setting's value sits in its record: place, coding, conversion and kind, proven to fit together.
///
/// # Coming back to the same bits
///
/// Decoding and then encoding gives back the same bits for every coded value that has a meaning, with one exception: a
/// text-table entry with a range has one name for several coded values, and its name is written as the entry's `write`.
/// To restore what a record held, take [`Layout::coded`] and [`Layout::put_coded`], which come back exactly always.
/// Nothing else that is decoded is ambiguous: texts keep everything before the trailing pad bytes, and a layout whose rounded
/// numbers could not be told apart is refused by [`Layout::new`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    placement: Placement,
    coding: Coding,
    kind: ValueKind,
    conversion: Conversion,
}

impl Layout {
    /// Puts a layout together; the errors are everything that does not fit, not only the first.
    pub fn new(
        placement: Placement,
        coding: Coding,
        kind: ValueKind,
        conversion: Conversion,
    ) -> Result<Self, Vec<LayoutError>> {
        Ok(Self { placement, coding, kind, conversion })
    }

    /// Where the bits are.
    pub fn placement(&self) -> Placement {
        self.placement
    }

    /// How the bits are coded.
    pub fn coding(&self) -> Coding {
        self.coding
    }

    /// What the value is.
    pub fn kind(&self) -> &ValueKind {
        &self.kind
    }

    /// How the value is converted.
    pub fn conversion(&self) -> &Conversion {
        &self.conversion
    }

    /// The setting's bits in a record of `record_len` bytes; bits behind the record's end are left out.
    pub fn mask(&self, record_len: usize) -> BitMask {
        self.placement.mask(record_len)
    }

    /// The coded bits, whether or not they have a meaning; fails only with [`DecodeError::TooShort`].
    pub fn coded(&self, record: &[u8]) -> Result<Coded, DecodeError> {
        let _ = record;
        unimplemented!()
    }

    /// Puts coded bits into the record and touches no other bit.
    pub fn put_coded(&self, coded: &Coded, record: &mut [u8]) -> Result<(), EncodeError> {
        let _ = (coded, record);
        unimplemented!()
    }

    /// The value that coded bits mean.
    pub fn value_of(&self, coded: &Coded) -> Result<Value, DecodeError> {
        let _ = coded;
        unimplemented!()
    }

    /// The coded bits that are written for a value.
    pub fn coded_for(&self, value: &Value) -> Result<Coded, EncodeError> {
        let _ = value;
        unimplemented!()
    }

    /// The value in a record.
    pub fn decode(&self, record: &[u8]) -> Result<Value, DecodeError> {
        self.value_of(&self.coded(record)?)
    }

    /// Puts a value into a record and touches no other bit; a record that is refused is left as it was.
    pub fn encode(&self, value: &Value, record: &mut [u8]) -> Result<(), EncodeError> {
        self.put_coded(&self.coded_for(value)?, record)
    }

    /// The value that a user's text names: `on`, `3`, `15 km/h` or `15`, a choice's name, a text, hexadecimal.
    ///
    /// It says what the text means; whether that can be stored is said by [`Layout::coded_for`].
    pub fn parse_value(&self, text: &str) -> Result<Value, ValueTextError> {
        let _ = text;
        unimplemented!()
    }

    /// The smallest and the largest value that can be stored; nothing for values that are no numbers.
    pub fn limits(&self) -> Option<(Value, Value)> {
        unimplemented!()
    }

    /// The names to choose from, in the definition's order; `off` and `on` for a switch; none for other kinds.
    pub fn choices(&self) -> Vec<&str> {
        unimplemented!()
    }
}

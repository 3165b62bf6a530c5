//! The layout of one setting, whole.

use super::fit::{CodedMeaning, fit};
use super::lines::ScaleLines;
use super::{
    Coded, Coding, Conversion, DecodeError, EncodeError, LayoutError, NoMeaning, NotStorable, Placement, TextTable,
    ValueKind, ValueTextError, ascii, value_text,
};
use crate::value::{BitMask, Decimal, HexBytes, Value};

/// How one setting's value sits in its record: place, coding, conversion and kind, proven to fit together.
///
/// # Coming back to the same bits
///
/// Decoding and then encoding gives back the same bits for every coded value that has a meaning, with one exception: a
/// text-table entry with a range has one name for several coded values, and its name is written as the entry's `write`.
/// To restore what a record held, take [`Layout::coded`] and [`Layout::put_coded`], which come back exactly always, also
/// where the bits have no meaning. Nothing else that is decoded is ambiguous: a text keeps everything before the pad bytes
/// at its end, and a layout whose rounded numbers could not be told apart is refused by [`Layout::new`].
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Layout {
    placement: Placement,
    coding: Coding,
    kind: ValueKind,
    conversion: Conversion,
    meaning: CodedMeaning,
}

impl Layout {
    /// Puts a layout together; the errors are everything that does not fit, not only the first.
    ///
    /// What builds on something that does not fit is not judged: with a wrong bit length, for example, ranges are not
    /// held against what the bits can hold.
    pub fn new(
        placement: Placement,
        coding: Coding,
        kind: ValueKind,
        conversion: Conversion,
    ) -> Result<Self, Vec<LayoutError>> {
        let meaning = fit(placement, coding, &kind, &conversion)?;
        Ok(Self { placement, coding, kind, conversion, meaning })
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
        if self.coding.is_whole_bytes() {
            Ok(Coded::Bytes(self.placement.whole_bytes(record)?.to_vec()))
        } else {
            Ok(Coded::Number(self.placement.number(record)?))
        }
    }

    /// Puts coded bits into the record, whether or not they have a meaning, and touches no other bit.
    ///
    /// Fails with [`EncodeError::TooShort`] or [`EncodeError::Coded`] and then leaves the record as it was.
    pub fn put_coded(&self, coded: &Coded, record: &mut [u8]) -> Result<(), EncodeError> {
        match coded {
            _ if !self.holds(coded) => Err(EncodeError::Coded { coded: coded.clone(), bits: self.placement.bits() }),
            Coded::Number(number) => self.placement.put_number(*number, record),
            Coded::Bytes(bytes) => self.placement.put_whole_bytes(bytes, record),
        }
    }

    /// The value that coded bits mean; fails only with [`DecodeError::NoMeaning`].
    pub fn value_of(&self, coded: &Coded) -> Result<Value, DecodeError> {
        self.meaning_of(coded).map_err(|why| DecodeError::NoMeaning { coded: coded.clone(), why })
    }

    /// The coded bits that are written for a value; never fails with [`EncodeError::TooShort`].
    pub fn coded_for(&self, value: &Value) -> Result<Coded, EncodeError> {
        match (&self.meaning, &self.kind, value) {
            (CodedMeaning::Numbers(lines), ValueKind::Integer, Value::Integer(number)) => {
                self.coded_number(lines, &Decimal::from(*number), value)
            }
            (
                CodedMeaning::Numbers(lines),
                ValueKind::Quantity { unit, .. },
                Value::Quantity { number, unit: given },
            ) => {
                if unit != given {
                    return Err(EncodeError::Unit { value: value.clone(), unit: unit.clone() });
                }
                self.coded_number(lines, number, value)
            }
            (CodedMeaning::Names(table), ValueKind::Switch, Value::Switch(on)) => {
                self.coded_name(table, if *on { "on" } else { "off" })
            }
            (CodedMeaning::Names(table), ValueKind::Choice, Value::Choice(name)) => self.coded_name(table, name),
            (CodedMeaning::Text, _, Value::Text(text)) => {
                let pad = if let Coding::Ascii { pad } = self.coding { pad } else { None };
                ascii::to_bytes(text, self.placement.bytes(), pad).map(Coded::Bytes)
            }
            (CodedMeaning::Bytes, _, Value::Bytes(bytes)) => {
                let (length, most) = (bytes.len(), self.placement.bytes());
                if length != most {
                    return Err(EncodeError::Length { length, most, exact: true });
                }
                Ok(Coded::Bytes(bytes.as_slice().to_vec()))
            }
            _ => Err(EncodeError::Kind { value: value.clone(), kind: self.kind.clone() }),
        }
    }

    /// The value in a record.
    pub fn decode(&self, record: &[u8]) -> Result<Value, DecodeError> {
        self.value_of(&self.coded(record)?)
    }

    /// Puts a value into a record and touches no other bit; where it fails the record is left as it was.
    pub fn encode(&self, value: &Value, record: &mut [u8]) -> Result<(), EncodeError> {
        self.put_coded(&self.coded_for(value)?, record)
    }

    /// The value that a user's text names: `on`, `3`, `15 km/h` or `15`, a choice's name, a text, hexadecimal.
    ///
    /// It says what the text means; whether that can be stored is said by [`Layout::coded_for`].
    pub fn parse_value(&self, text: &str) -> Result<Value, ValueTextError> {
        value_text::parse(&self.kind, &self.choices(), text)
    }

    /// The smallest and the largest value that can be stored; nothing for values that are no numbers.
    pub fn limits(&self) -> Option<(Value, Value)> {
        let CodedMeaning::Numbers(lines) = &self.meaning else { return None };
        let (least, most) = lines.limits()?;
        Some((self.number_value(least)?, self.number_value(most)?))
    }

    /// The names to choose from, in the definition's order; `off` and `on` for a switch; none for other kinds.
    pub fn choices(&self) -> Vec<&str> {
        match &self.meaning {
            CodedMeaning::Names(table) => table.entries.iter().map(|entry| entry.name.as_str()).collect(),
            CodedMeaning::Numbers(_) | CodedMeaning::Text | CodedMeaning::Bytes => Vec::new(),
        }
    }

    /// Whether coded bits have the form and length that the place takes.
    fn holds(&self, coded: &Coded) -> bool {
        match coded {
            Coded::Number(number) => {
                let bits = u32::from(self.placement.bits());
                !self.coding.is_whole_bytes() && number.checked_shr(bits).unwrap_or(0) == 0
            }
            Coded::Bytes(bytes) => self.coding.is_whole_bytes() && bytes.len() == self.placement.bytes(),
        }
    }

    fn meaning_of(&self, coded: &Coded) -> Result<Value, NoMeaning> {
        let interpreted = match coded {
            _ if !self.holds(coded) => return Err(NoMeaning::Misfit),
            Coded::Bytes(bytes) => {
                return match self.coding {
                    Coding::Ascii { pad } => ascii::to_text(bytes, pad).map(Value::Text),
                    _ => Ok(Value::Bytes(HexBytes::from(bytes.clone()))),
                };
            }
            Coded::Number(number) => self.coding.interpret(*number, self.placement.bits()).ok_or(NoMeaning::Digit)?,
        };
        match &self.meaning {
            CodedMeaning::Numbers(lines) => {
                lines.shown(interpreted).and_then(|number| self.number_value(number)).ok_or(NoMeaning::NoScale)
            }
            CodedMeaning::Names(table) => {
                let entry = table.entries.iter().find(|entry| (entry.from..=entry.to).contains(&interpreted));
                let name = &entry.ok_or(NoMeaning::Unlisted)?.name;
                Ok(match self.kind {
                    ValueKind::Switch => Value::Switch(name == "on"),
                    _ => Value::Choice(name.clone()),
                })
            }
            CodedMeaning::Text | CodedMeaning::Bytes => Err(NoMeaning::Misfit),
        }
    }

    fn coded_number(&self, lines: &ScaleLines, number: &Decimal, value: &Value) -> Result<Coded, EncodeError> {
        let found = lines.find(number);
        let coded = found.exact.and_then(|number| self.coding.represent(number, self.placement.bits()));
        coded.map(Coded::Number).ok_or_else(|| {
            let shown = |units| self.number_value(lines.decimal(units));
            let (below, above) = (found.below.and_then(shown), found.above.and_then(shown));
            EncodeError::Number(Box::new(NotStorable { value: value.clone(), below, above }))
        })
    }

    fn coded_name(&self, table: &TextTable, name: &str) -> Result<Coded, EncodeError> {
        let entry = table.entries.iter().find(|entry| entry.name == name);
        let coded = entry.and_then(|entry| self.coding.represent(entry.write, self.placement.bits()));
        coded.map(Coded::Number).ok_or_else(|| EncodeError::Choice {
            name: name.to_owned(),
            choices: self.choices().into_iter().map(str::to_owned).collect(),
        })
    }

    fn number_value(&self, number: Decimal) -> Option<Value> {
        match &self.kind {
            ValueKind::Quantity { unit, .. } => Some(Value::Quantity { number, unit: unit.clone() }),
            _ => number.to_integer().map(Value::Integer),
        }
    }
}

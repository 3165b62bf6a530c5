//! Why a value stays bytes.

use std::fmt;

/// Why a value stays bytes: the model of settings has no place for what the documents say of it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Reason {
    /// One of several structures, chosen by a key.
    Multiplexer,
    /// Data that depend on a trouble code.
    EnvironmentData,
    /// A structure that is repeated as often as there are bytes.
    EndOfPduField,
    /// A structure that is repeated as often as another value says.
    CountedField,
    /// A structure that is repeated up to a marker.
    MarkedField,
    /// A text or bytes of a length that is not always the same.
    VariableLength,
    /// What a row of a table says, chosen by a key.
    Table,
    /// A number in floating point.
    FloatingPoint,
    /// A text in another coding than single bytes of ASCII.
    Text,
    /// A number in a coding that settings do not have.
    Coding,
    /// More bits than a number has, or a value longer than any setting.
    Wide,
    /// A mask that leaves bits out in the middle of a value.
    Mask,
    /// A calculation by a program.
    Program,
    /// A calculation that is no line and cannot be turned round exactly.
    Calculation,
    /// A value that is rounded on the way.
    Rounded,
    /// A trouble code as a value.
    TroubleCode,
    /// A value that the tester or the system fills in.
    System,
    /// Bits that another value uses, too.
    Overlap,
    /// An object that nothing in the documents is.
    Missing,
    /// Structures within each other, deeper or larger than any record.
    Nested,
    /// A layout that the definition refuses.
    Layout,
    /// The whole record's length is not always the same, for one of the reasons above.
    RecordLength,
}

impl Reason {
    /// In words, for one and for several.
    pub fn words(&self) -> (&'static str, &'static str) {
        match self {
            Self::Multiplexer => ("multiplexer", "multiplexers"),
            Self::EnvironmentData => ("environment data", "environment data"),
            Self::EndOfPduField => ("field to the end of the message", "fields to the end of the message"),
            Self::CountedField => ("counted field", "counted fields"),
            Self::MarkedField => ("field with an end marker", "fields with an end marker"),
            Self::VariableLength => ("value of variable length", "values of variable length"),
            Self::Table => ("table row", "table rows"),
            Self::FloatingPoint => ("floating-point number", "floating-point numbers"),
            Self::Text => ("text beyond ASCII", "texts beyond ASCII"),
            Self::Coding => ("number in another coding", "numbers in another coding"),
            Self::Wide => ("value that is too wide", "values that are too wide"),
            Self::Mask => ("value with a gap in its mask", "values with a gap in their mask"),
            Self::Program => ("calculation by a program", "calculations by a program"),
            Self::Calculation => {
                ("calculation that is not exact both ways", "calculations that are not exact both ways")
            }
            Self::Rounded => ("rounded value", "rounded values"),
            Self::TroubleCode => ("trouble code", "trouble codes"),
            Self::System => ("value of the tester", "values of the tester"),
            Self::Overlap => ("value that shares bits with another", "values that share bits with another"),
            Self::Missing => ("missing object", "missing objects"),
            Self::Nested => ("structure nested too deep", "structures nested too deep"),
            Self::Layout => ("layout that no setting has", "layouts that no setting has"),
            Self::RecordLength => ("value in a record of variable length", "values in records of variable length"),
        }
    }

    /// A short name for programs.
    pub fn code(&self) -> &'static str {
        match self {
            Self::Multiplexer => "multiplexer",
            Self::EnvironmentData => "environment-data",
            Self::EndOfPduField => "end-of-pdu-field",
            Self::CountedField => "counted-field",
            Self::MarkedField => "marked-field",
            Self::VariableLength => "variable-length",
            Self::Table => "table",
            Self::FloatingPoint => "floating-point",
            Self::Text => "text",
            Self::Coding => "coding",
            Self::Wide => "wide",
            Self::Mask => "mask",
            Self::Program => "program",
            Self::Calculation => "calculation",
            Self::Rounded => "rounded",
            Self::TroubleCode => "trouble-code",
            Self::System => "system",
            Self::Overlap => "overlap",
            Self::Missing => "missing",
            Self::Nested => "nested",
            Self::Layout => "layout",
            Self::RecordLength => "record-length",
        }
    }
}

impl fmt::Display for Reason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.words().0)
    }
}

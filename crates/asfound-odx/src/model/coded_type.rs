//! How a value is coded in bytes (`DIAG-CODED-TYPE`).

/// The base types.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum BaseType {
    Int,
    Uint,
    Float32,
    Float64,
    Ascii,
    Utf8,
    Unicode2,
    Bytes,
}

impl BaseType {
    pub(crate) fn named(name: &str) -> Option<Self> {
        Some(match name {
            "A_INT32" => Self::Int,
            "A_UINT32" => Self::Uint,
            "A_FLOAT32" => Self::Float32,
            "A_FLOAT64" => Self::Float64,
            "A_ASCIISTRING" => Self::Ascii,
            "A_UTF8STRING" => Self::Utf8,
            "A_UNICODE2STRING" => Self::Unicode2,
            "A_BYTEFIELD" => Self::Bytes,
            _ => return None,
        })
    }

    pub(crate) fn is_integer(self) -> bool {
        matches!(self, Self::Int | Self::Uint)
    }
}

/// How the base type is put into bits (`BASE-TYPE-ENCODING`).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Encoding {
    None,
    BcdPacked,
    BcdUnpacked,
    OnesComplement,
    TwosComplement,
    SignMagnitude,
    Utf8,
    Ucs2,
    Latin1,
    Other,
}

impl Encoding {
    pub(crate) fn named(name: &str) -> Self {
        match name {
            "NONE" => Self::None,
            "BCD-P" => Self::BcdPacked,
            "BCD-UP" => Self::BcdUnpacked,
            "1C" => Self::OnesComplement,
            "2C" => Self::TwosComplement,
            "SM" => Self::SignMagnitude,
            "UTF-8" => Self::Utf8,
            "UCS-2" => Self::Ucs2,
            "ISO-8859-1" => Self::Latin1,
            _ => Self::Other,
        }
    }
}

/// How long it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Length {
    /// `STANDARD-LENGTH-TYPE`.
    Bits { bits: u32, mask: Option<Vec<u8>>, condensed: bool },
    /// `MIN-MAX-LENGTH-TYPE`.
    MinMax { least: u32, most: Option<u32> },
    /// `LEADING-LENGTH-INFO-TYPE`.
    Leading,
    /// `PARAM-LENGTH-INFO-TYPE`.
    Parameter,
}

/// How a value is coded in bytes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct CodedType {
    pub(crate) base: BaseType,
    pub(crate) encoding: Option<Encoding>,
    pub(crate) big: bool,
    pub(crate) length: Length,
}

impl CodedType {
    /// The number of bits, where it is always the same.
    pub(crate) fn fixed_bits(&self) -> Option<u32> {
        match &self.length {
            Length::Bits { bits, mask: Some(mask), condensed: true } => {
                let ones = mask.iter().map(|byte| byte.count_ones()).sum();
                Some(if ones == 0 { *bits } else { ones })
            }
            Length::Bits { bits, .. } => Some(*bits),
            Length::MinMax { least, most: Some(most) } if least == most => least.checked_mul(8),
            Length::MinMax { .. } | Length::Leading | Length::Parameter => None,
        }
    }
}

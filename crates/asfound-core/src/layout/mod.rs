//! How settings sit in a record's bytes: place, coding, conversion; and the record's checksum.
//!
//! The terms and rules are those of ISO 22901-1 (byte position, bit position, bit length, byte order; identical, linear,
//! scale-linear and text-table conversions). All calculation is exact.

mod ascii;
mod checksum;
mod checksum_error;
mod coded;
mod coding;
mod conversion;
mod crc;
mod fit;
mod fit_lines;
mod fit_table;
mod kind;
mod layout_error;
mod lines;
mod placement;
mod setting_layout;
mod value_error;
mod value_text;

pub use checksum::{Checksum, ChecksumKind};
pub use checksum_error::{ChecksumError, ChecksumTooShort};
pub use coded::Coded;
pub use coding::Coding;
pub use conversion::{Conversion, Linear, Scale, TextEntry, TextTable};
pub use crc::CrcParameters;
pub use kind::ValueKind;
pub use layout_error::{LayoutError, LayoutPart};
pub use placement::{ByteOrder, Placement, PlacementError};
pub use setting_layout::Layout;
pub use value_error::{DecodeError, EncodeError, NoMeaning, NotStorable};
pub use value_text::ValueTextError;

//! Values as people write them, and bytes as records hold them.

mod bit_mask;
mod decimal;
mod hex_bytes;
mod shown;

pub use bit_mask::BitMask;
pub use decimal::{Decimal, DecimalError};
pub use hex_bytes::{HexBytes, HexError};
pub use shown::Value;

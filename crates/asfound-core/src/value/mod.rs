//! Values as people write them, and bytes as records hold them.

mod bit_mask;
mod bit_run;
mod decimal;
mod hex_bytes;
mod typed;

pub use bit_mask::BitMask;
pub use bit_run::BitRun;
pub use decimal::{Decimal, DecimalError};
pub use hex_bytes::{HexBytes, HexError, MOST_RECORD_BYTES};
pub use typed::Value;

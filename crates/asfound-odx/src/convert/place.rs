//! Where a value's bits are and how they stand for a number.

use asfound_core::layout::{ByteOrder, Coding, Placement};

use super::leaf::Leaf;
use crate::model::{BaseType, CodedType, Encoding, Length};
use crate::reason::Reason;

/// The longest text or byte field.
const LONGEST: usize = 255;

/// Place and coding of a number, a text or bytes; `from` is the first byte of the record in its message.
pub(super) fn place(leaf: &Leaf<'_>, coded: &CodedType, from: usize) -> Result<(Placement, Coding), Reason> {
    let byte = leaf.byte.checked_sub(from).ok_or(Reason::Layout)?;
    let coding = coding(coded, leaf.bits)?;
    if coding.is_whole_bytes() {
        if leaf.bit != 0 || !leaf.bits.is_multiple_of(8) {
            return Err(Reason::Layout);
        }
        if leaf.bits > 8 * LONGEST {
            return Err(Reason::Wide);
        }
        if matches!(&coded.length, Length::Bits { mask: Some(_), .. }) {
            return Err(Reason::Mask);
        }
        return placed(byte, 0, leaf.bits, ByteOrder::Big).map(|placement| (placement, coding));
    }
    let order = if coded.big { ByteOrder::Big } else { ByteOrder::Little };
    let Length::Bits { bits, mask, condensed } = &coded.length else { return Err(Reason::Coding) };
    let Some(mask) = mask else {
        return placed(byte, leaf.bit, leaf.bits, order).map(|placement| (placement, coding));
    };
    // A condensed mask is left alone: how its bits lie in the message is told in two ways (docs/odx.md).
    if *condensed || coding != Coding::Unsigned {
        return Err(Reason::Mask);
    }
    let width = masked_width(mask, *bits).ok_or(Reason::Mask)?;
    // With fewer bits a value of big order may lie in fewer bytes, of which the last ones are left.
    let whole = (usize::from(leaf.bit) + *bits as usize).div_ceil(8);
    let left = (usize::from(leaf.bit) + width).div_ceil(8);
    let byte = if coded.big { byte + (whole - left) } else { byte };
    placed(byte, leaf.bit, width, order).map(|placement| (placement, coding))
}

/// The number of lowest bits that a mask leaves, where it leaves those and no other.
fn masked_width(mask: &[u8], bits: u32) -> Option<usize> {
    if mask.is_empty() || mask.len() > 8 {
        return None;
    }
    let number = mask.iter().fold(0_u64, |number, byte| number << 8 | u64::from(*byte));
    let ones = number.trailing_ones();
    (number.count_ones() == ones).then_some(ones.min(bits) as usize)
}

fn placed(byte: usize, bit: u8, bits: usize, order: ByteOrder) -> Result<Placement, Reason> {
    let bits = u16::try_from(bits).map_err(|_| Reason::Wide)?;
    Placement::new(byte, bit, bits, order).map_err(|_| Reason::Layout)
}

/// Place of a value as bytes, where it has whole ones.
pub(super) fn whole_bytes(leaf: &Leaf<'_>, from: usize) -> Option<Placement> {
    let byte = leaf.byte.checked_sub(from)?;
    let fits = leaf.bit == 0 && leaf.bits > 0 && leaf.bits.is_multiple_of(8) && leaf.bits <= 8 * LONGEST;
    if fits { placed(byte, 0, leaf.bits, ByteOrder::Big).ok() } else { None }
}

fn coding(coded: &CodedType, bits: usize) -> Result<Coding, Reason> {
    let encoding = coded.encoding;
    match coded.base {
        BaseType::Float32 | BaseType::Float64 => Err(Reason::FloatingPoint),
        BaseType::Utf8 | BaseType::Unicode2 => Err(Reason::Text),
        BaseType::Ascii => match encoding {
            None | Some(Encoding::Latin1) => Ok(Coding::Ascii { pad: None }),
            Some(_) => Err(Reason::Text),
        },
        BaseType::Bytes => match encoding {
            None | Some(Encoding::None | Encoding::BcdPacked | Encoding::BcdUnpacked) => Ok(Coding::Bytes),
            Some(_) => Err(Reason::Coding),
        },
        BaseType::Uint | BaseType::Int if bits > 64 || bits == 0 => Err(Reason::Wide),
        BaseType::Int => match encoding {
            None | Some(Encoding::TwosComplement) if bits >= 2 => Ok(Coding::TwosComplement),
            _ => Err(Reason::Coding),
        },
        BaseType::Uint => match encoding {
            None | Some(Encoding::None) => Ok(Coding::Unsigned),
            Some(Encoding::BcdPacked) if bits.is_multiple_of(4) => Ok(Coding::Bcd),
            Some(Encoding::BcdUnpacked) if bits.is_multiple_of(8) => Ok(Coding::BcdUnpacked),
            Some(_) => Err(Reason::Coding),
        },
    }
}

/// The least and the largest number that a coding holds in so many bits.
pub(super) fn numbers(coding: Coding, bits: u16) -> (i128, i128) {
    let bits = u32::from(bits.min(64));
    match coding {
        Coding::TwosComplement => (-(1 << (bits - 1)), (1 << (bits - 1)) - 1),
        Coding::Bcd => (0, 10_i128.pow(bits / 4) - 1),
        Coding::BcdUnpacked => (0, 10_i128.pow(bits / 8) - 1),
        _ => (0, (1 << bits) - 1),
    }
}

//! The bytes of constants.

use asfound_core::layout::ValueKind;
use asfound_core::value::Value;

use super::leaf::{Content, Leaf};
use super::number;
use super::shape::shape;
use crate::model::{BaseType, CodedType, Encoding, Length, ObjectKind, Reference};
use crate::reason::Reason;
use crate::view::View;

/// The longest constant that is worked out, in bytes.
const LONGEST: usize = 255;

/// The bytes of a coded constant at a bit position; its length in bits with it.
pub(super) fn coded<'d>(coded: &CodedType, value: &str, bit: u8) -> (Option<usize>, Content<'d>) {
    let Some(bits) = coded.fixed_bits() else { return (None, Content::Variable(Reason::VariableLength)) };
    let bits = bits as usize;
    let opaque = (Some(bits), Content::Opaque(Reason::Coding));
    let Length::Bits { mask: None, .. } = coded.length else { return opaque };
    match coded.base {
        BaseType::Uint | BaseType::Int if bits <= 64 => {
            let Ok(number) = value.parse::<i128>() else { return opaque };
            let number = match coded.encoding {
                None | Some(Encoding::None | Encoding::TwosComplement) => number,
                _ => return opaque,
            };
            let limit = 1_i128 << bits;
            if number >= limit || number < -(limit / 2) {
                return opaque;
            }
            let whole = u128::try_from(number.rem_euclid(limit)).unwrap_or(0) << bit;
            let all = u128::try_from(limit - 1).unwrap_or(0) << bit;
            let count = (usize::from(bit) + bits).div_ceil(8);
            let bytes = |whole: u128| {
                let mut bytes = whole.to_be_bytes()[16 - count..].to_vec();
                if !coded.big {
                    bytes.reverse();
                }
                bytes
            };
            (Some(bits), Content::Constant { bytes: bytes(whole), mask: bytes(all) })
        }
        BaseType::Bytes if bit == 0 && value.len() * 4 == bits && bits.is_multiple_of(8) && value.is_ascii() => {
            let digits: Option<Vec<u8>> =
                (0..value.len() / 2).map(|at| u8::from_str_radix(&value[2 * at..2 * at + 2], 16).ok()).collect();
            match digits {
                Some(bytes) => {
                    let mask = vec![0xFF; bytes.len()];
                    (Some(bits), Content::Constant { bytes, mask })
                }
                None => opaque,
            }
        }
        _ => opaque,
    }
}

/// The bits of a physical value that a data object codes, at a bit position; nothing where that is not exact.
pub(super) fn physical<'d>(
    view: &View<'d>,
    layer: usize,
    reference: &Reference,
    text: &str,
    bit: u8,
) -> Option<Content<'d>> {
    let (at, object) = view.object(layer, reference)?;
    let ObjectKind::Property(property) = &object.kind else { return None };
    let leaf = Leaf {
        path: Vec::new(),
        labels: Vec::new(),
        description: None,
        layer: at,
        line: object.head.line,
        semantic: None,
        byte: 0,
        bit,
        bits: property.coded.fixed_bits()? as usize,
        content: Content::Reserved,
    };
    if leaf.bits > 8 * LONGEST {
        return None;
    }
    let layout = shape(&leaf, property, at, view, 0).ok()?.layout;
    let value = match layout.kind() {
        ValueKind::Integer => Value::Integer(number::decimal(text)?.to_integer()?),
        ValueKind::Quantity { unit, .. } => Value::Quantity { number: number::decimal(text)?, unit: unit.clone() },
        ValueKind::Choice => Value::Choice(text.to_owned()),
        ValueKind::Text => Value::Text(text.to_owned()),
        ValueKind::Bytes => Value::Bytes(text.parse().ok()?),
        ValueKind::Switch => return None,
    };
    let mut bytes = vec![0; leaf.bytes()];
    layout.encode(&value, &mut bytes).ok()?;
    Some(Content::Constant { mask: layout.mask(bytes.len()).as_bytes().to_vec(), bytes })
}

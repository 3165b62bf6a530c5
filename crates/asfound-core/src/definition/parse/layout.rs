//! Reads how a setting sits in its record.

use crate::document::{Node, TableReader, TextPosition};
use crate::layout::{
    ByteOrder, Coding, Conversion, Layout, LayoutError, LayoutPart, Placement, PlacementError, ValueKind,
};

use super::hexadecimal::Hexadecimal;
use super::{Context, Strictness, conversion};
use crate::definition::DefinitionFormat;

pub(super) const BYTE_ORDERS: [(&str, ByteOrder); 2] = [("big", ByteOrder::Big), ("little", ByteOrder::Little)];

#[derive(Clone, Copy, PartialEq, Eq)]
enum Type {
    Switch,
    Choice,
    Integer,
    Quantity,
    Text,
    Bytes,
}

const TYPES: [(&str, Type); 6] = [
    ("switch", Type::Switch),
    ("choice", Type::Choice),
    ("integer", Type::Integer),
    ("quantity", Type::Quantity),
    ("text", Type::Text),
    ("bytes", Type::Bytes),
];

const CODINGS: [(&str, Coding); 6] = [
    ("unsigned", Coding::Unsigned),
    ("twos-complement", Coding::TwosComplement),
    ("bcd", Coding::Bcd),
    ("bcd-unpacked", Coding::BcdUnpacked),
    ("ascii", Coding::Ascii { pad: None }),
    ("bytes", Coding::Bytes),
];

/// Which types a key is for.
const ONLY: [(&str, &[Type], &str); 4] = [
    ("unit", &[Type::Quantity], "the type `quantity`"),
    ("decimals", &[Type::Quantity], "the type `quantity`"),
    ("pad", &[Type::Text], "the type `text`"),
    ("range", &[Type::Integer, Type::Quantity], "the types `integer` and `quantity`"),
];

/// The place and the layout of a setting, as far as they could be read.
pub(super) fn read(setting: &TableReader<'_, '_>, context: &Context<'_>) -> (Option<Placement>, Option<Layout>) {
    let word = setting.required_choice("type", "type", &TYPES);
    if let Some(word) = word {
        for (key, types, names) in ONLY {
            if setting.has(key) && !types.contains(&word) {
                setting.error(key, format!("the key `{key}` is only for {names}"));
            }
        }
    }
    let coding = coding(setting, word);
    let kind = word.and_then(|word| kind(setting, word));
    let conversion = conversion::read(setting);
    let one_bit = conversion.as_ref().is_some_and(|conversion| is_one_bit(word, coding, conversion));
    let placement = placement(setting, one_bit, context);
    let (Some(place), Some(coding), Some(kind), Some(conversion)) = (placement, coding, kind, conversion) else {
        return (placement, None);
    };
    let layout = Layout::new(place, coding, kind, conversion.clone()).map_err(|errors| {
        for error in errors {
            report(&error, &conversion, setting);
        }
    });
    (placement, layout.ok())
}

/// Whether a setting is one that a single bit holds: a switch or a choice of two, for 0 and 1.
fn is_one_bit(word: Option<Type>, coding: Option<Coding>, conversion: &Conversion) -> bool {
    coding == Some(Coding::Unsigned)
        && match (word, conversion) {
            (Some(Type::Switch), Conversion::Identical) => true,
            (Some(Type::Switch | Type::Choice), Conversion::Table(table)) => {
                let mut codes: Vec<i128> =
                    table.entries.iter().flat_map(|entry| [entry.from, entry.to, entry.write]).collect();
                codes.sort_unstable();
                codes.dedup();
                table.entries.len() == 2 && codes == [0, 1]
            }
            _ => false,
        }
}

fn placement(setting: &TableReader<'_, '_>, one_bit: bool, context: &Context<'_>) -> Option<Placement> {
    let byte = setting.required::<u16>("byte");
    let bit = setting.with_default("bit", 0);
    let default = if one_bit && context.format == DefinitionFormat::Two { 1 } else { 8 };
    let bits = setting.with_default("bits", default);
    let order = setting.with_choice("order", "byte order", &BYTE_ORDERS, ByteOrder::Big);
    let placement = Placement::new(usize::from(byte?), bit?, bits?, order?)
        .map_err(|error| {
            let key = match error {
                PlacementError::Bit(_) => "bit",
                PlacementError::NoBits | PlacementError::Bits(_) => "bits",
                PlacementError::Byte(_) => "byte",
            };
            setting.error(key, error.to_string());
        })
        .ok()?;
    let taken_as_before = (context.format, context.strictness) == (DefinitionFormat::One, Strictness::Pinned);
    if !setting.has("bits") && !taken_as_before {
        check_unsaid_bits(setting, placement, one_bit);
    }
    Some(placement)
}

/// Where the number of bits is not said, the bits that are meant must be beyond doubt: a wrong guess is a wrong bit in a car.
fn check_unsaid_bits(setting: &TableReader<'_, '_>, placement: Placement, one_bit: bool) {
    let (byte, bit, bits) = (placement.byte(), placement.bit(), placement.bits());
    let hint = if one_bit { "for one bit write bits = 1" } else { "write how many bits it has, as in bits = 2" };
    let message = if placement.bytes() > 1 {
        format!("{bits} bits from bit {bit} on reach from byte {byte} into byte {}, and `bits` is not said", byte + 1)
    } else if one_bit && bits != 1 && setting.has("bit") {
        format!("in this format {bits} bits are meant, all of byte {byte}, where `bits` is not said")
    } else {
        return;
    };
    setting.collector().error_with_hint(setting.place_of("bit"), &setting.path("bit"), message, hint);
}

fn coding(setting: &TableReader<'_, '_>, word: Option<Type>) -> Option<Coding> {
    let by_type = match word {
        Some(Type::Text) => Coding::Ascii { pad: None },
        Some(Type::Bytes) => Coding::Bytes,
        _ => Coding::Unsigned,
    };
    let coding = setting.with_choice("coding", "coding", &CODINGS, by_type);
    let pad = setting.optional::<Hexadecimal>("pad");
    if setting.has("pad") && word == Some(Type::Text) {
        let pad =
            u8::try_from(pad?.0).map_err(|_| setting.error("pad", "a pad byte has two hexadecimal digits")).ok()?;
        return coding.map(|coding| if coding.is_whole_bytes() { Coding::Ascii { pad: Some(pad) } } else { coding });
    }
    coding
}

fn kind(setting: &TableReader<'_, '_>, word: Type) -> Option<ValueKind> {
    Some(match word {
        Type::Switch => ValueKind::Switch,
        Type::Choice => {
            setting.required::<&Node>("choices")?;
            ValueKind::Choice
        }
        Type::Integer => ValueKind::Integer,
        Type::Quantity => {
            let unit = setting.required("unit");
            let decimals = setting.optional("decimals");
            if setting.has("decimals") && decimals.is_none() {
                return None;
            }
            ValueKind::Quantity { unit: unit?, decimals }
        }
        Type::Text => ValueKind::Text,
        Type::Bytes => ValueKind::Bytes,
    })
}

/// Reports what does not fit at the key that it is about.
fn report(error: &LayoutError, conversion: &Conversion, setting: &TableReader<'_, '_>) {
    let conversion = match conversion {
        Conversion::Identical => "type",
        Conversion::Linear(_) => "scale",
        Conversion::ScaleLinear(_) => "scales",
        Conversion::Table(_) => "choices",
    };
    let key = match error.part() {
        LayoutPart::Bit => "bit",
        LayoutPart::Bits => "bits",
        LayoutPart::Order => "order",
        LayoutPart::Coding => "coding",
        LayoutPart::Unit => "unit",
        LayoutPart::Decimals => "decimals",
        LayoutPart::Scale => "scale",
        LayoutPart::Conversion | LayoutPart::Choices | LayoutPart::Scales => conversion,
        LayoutPart::Choice(name) => {
            let (place, at) = choice(&name, setting);
            return setting.collector().error(place, &at, error.to_string());
        }
        LayoutPart::ScaleOf(index) => {
            let (place, at) = scale(index, setting);
            return setting.collector().error(place, &at, error.to_string());
        }
    };
    setting.error(key, error.to_string());
}

fn choice(name: &str, setting: &TableReader<'_, '_>) -> (TextPosition, String) {
    let place = setting.get("choices").and_then(|choices| choices.get(name)).map(|node| node.place);
    (place.unwrap_or_else(|| setting.place_of("choices")), crate::document::join(&setting.path("choices"), name))
}

fn scale(index: usize, setting: &TableReader<'_, '_>) -> (TextPosition, String) {
    let node = setting.get("scales").and_then(Node::items).and_then(|items| items.get(index));
    let place = node.map_or_else(|| setting.place_of("scales"), |node| node.place);
    (place, crate::document::item(&setting.path("scales"), index))
}

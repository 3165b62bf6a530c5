//! `DIAG-CODED-TYPE`.

use crate::error::shown;
use crate::input::{Element, Fault};
use crate::model::{BaseType, CodedType, Encoding, Length};

pub(super) fn coded_type(element: &Element) -> Result<CodedType, Fault> {
    let name = element.required_attribute("BASE-DATA-TYPE")?;
    let base = BaseType::named(name)
        .ok_or_else(|| element.fault(format!("the base type `{}` is not one of the standard's", shown(name))))?;
    let length = match element.required_attribute("type")? {
        "STANDARD-LENGTH-TYPE" => {
            let mask = element.child("BIT-MASK").map(mask).transpose()?;
            let condensed = element.attribute("CONDENSED").or_else(|| element.attribute("IS-CONDENSED"));
            Length::Bits { bits: element.required_number("BIT-LENGTH")?, mask, condensed: is_true(condensed) }
        }
        "MIN-MAX-LENGTH-TYPE" => {
            Length::MinMax { least: element.required_number("MIN-LENGTH")?, most: element.number("MAX-LENGTH")? }
        }
        "LEADING-LENGTH-INFO-TYPE" => Length::Leading,
        "PARAM-LENGTH-INFO-TYPE" => Length::Parameter,
        other => return Err(element.fault(format!("the coded type `{}` is not one of the standard's", shown(other)))),
    };
    Ok(CodedType {
        base,
        encoding: element.attribute("BASE-TYPE-ENCODING").map(Encoding::named),
        big: element.attribute("IS-HIGHLOW-BYTE-ORDER").is_none_or(|text| is_true(Some(text))),
        length,
    })
}

fn is_true(text: Option<&str>) -> bool {
    matches!(text.map(str::trim), Some("true" | "1"))
}

/// The bytes of a bit mask, without leading zeros; the most significant comes first.
fn mask(element: &Element) -> Result<Vec<u8>, Fault> {
    let text = element.text.trim();
    let digits = if text.len().is_multiple_of(2) { text.to_owned() } else { format!("0{text}") };
    let wrong = || element.fault(format!("the bit mask `{}` is not hexadecimal", shown(text)));
    if !digits.is_ascii() || digits.is_empty() {
        return Err(wrong());
    }
    let bytes = digits.as_bytes().chunks(2).map(|pair| {
        let pair = std::str::from_utf8(pair).map_err(|_| wrong())?;
        u8::from_str_radix(pair, 16).map_err(|_| wrong())
    });
    let bytes: Vec<u8> = bytes.collect::<Result<_, Fault>>()?;
    Ok(bytes.into_iter().skip_while(|byte| *byte == 0).collect())
}

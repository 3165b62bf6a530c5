//! The texts of single values and names.

use std::fmt::{Debug, Display};
use std::str::FromStr;

use asfound_core::entry::Author;
use asfound_core::names::{
    DefinitionId, EntryNumber, ModuleName, RecordName, RuleName, SettingName, SettingPath, Tag, Vin,
};
use asfound_core::reading::Address;
use asfound_core::safety::SafetyTag;
use asfound_core::trouble_code::{CodeStatus, TroubleCode};
use asfound_core::value::{Decimal, HexBytes};
use asfound_journal::garage::ColumnsName;
use asfound_journal::entry_files::Blind;
use asfound_journal::{Digest, FilePath};
use num_bigint::BigInt;
use num_rational::BigRational;

/// One text, tried as every kind of value and name.
pub fn small_texts(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    hex_bytes(text);
    decimal(text);
    vin(text);
    trouble_code(text);
    if let Some(Address(number)) = survives(text) {
        assert_eq!(u32::from_str_radix(text.trim_start_matches("0x"), 16), Ok(number));
    }
    if let Some(CodeStatus(byte)) = survives(text) {
        assert_eq!(u8::from_str_radix(text, 16), Ok(byte));
    }
    survives::<EntryNumber>(text);
    survives::<SafetyTag>(text);
    survives::<SettingPath>(text);
    survives::<RecordName>(text);
    if let Ok(record) = RecordName::written(text) {
        assert_eq!(RecordName::written(&record.to_string()).as_ref(), Ok(&record));
        assert_eq!(record.to_string().parse().as_ref(), Ok(&record));
    }
    // Names are kept as they are written.
    kept::<Tag>(text);
    kept::<ModuleName>(text);
    kept::<SettingName>(text);
    kept::<DefinitionId>(text);
    kept::<RuleName>(text);
    kept::<ColumnsName>(text);
    kept::<FilePath>(text);
    kept::<Digest>(text);
    kept::<Blind>(text);
    author(text);
}

/// The value, which its own text gives again.
fn survives<T: FromStr + Display + PartialEq + Debug>(text: &str) -> Option<T>
where
    T::Err: Debug + Display,
{
    match text.parse::<T>() {
        Ok(value) => {
            let again: T = value.to_string().parse().unwrap_or_else(|error| panic!("{value} is refused: {error}"));
            assert_eq!(again, value);
            Some(value)
        }
        Err(error) => {
            assert!(!error.to_string().is_empty());
            None
        }
    }
}

fn kept<T: FromStr + Display + PartialEq + Debug>(text: &str)
where
    T::Err: Debug + Display,
{
    if let Some(value) = survives::<T>(text) {
        assert_eq!(value.to_string(), text);
    }
}

/// Against the digits, two by two.
fn hex_bytes(text: &str) {
    let bytes: Option<HexBytes> = survives(text);
    let digits: Option<Vec<u32>> = text.chars().filter(|c| !c.is_whitespace()).map(|c| c.to_digit(16)).collect();
    let even = text.split_whitespace().all(|group| group.chars().count() % 2 == 0);
    let expected = digits.filter(|digits| even && digits.len() <= 2 * 4095).map(|digits| {
        digits.chunks(2).map(|pair| u8::try_from(pair[0] * 16 + pair[1]).expect("two digits")).collect::<Vec<u8>>()
    });
    assert_eq!(bytes.map(HexBytes::into_vec), expected);
}

/// Against a fraction of whole numbers.
fn decimal(text: &str) {
    let Some(number) = survives::<Decimal>(text) else { return };
    let places = text.split_once('.').map_or(0, |(_, part)| part.len());
    let digits: BigInt = text.replace('.', "").parse().expect("digits and a sign");
    let power = BigInt::from(10).pow(u32::try_from(places).expect("sixty digits at most"));
    assert_eq!(number.to_ratio(), BigRational::new(digits, power));
    assert_eq!(number.is_zero(), number == Decimal::from(0));
    if let Some(whole) = number.to_integer() {
        assert_eq!(Decimal::from(whole), number);
    }
}

fn vin(text: &str) {
    let Some(vin) = survives::<Vin>(text) else { return };
    assert_eq!(vin.as_str(), text.to_ascii_uppercase());
    assert_eq!(vin.as_str().len(), 17);
    vin.check_digit();
}

/// Against its definition by bits: two for the letter, two for the first digit, twelve for the rest, a byte for the failure.
fn trouble_code(text: &str) {
    let Some(code) = survives::<TroubleCode>(text) else { return };
    let shown = code.to_string();
    // However it is written, it is shown in one way, which reads as the same code.
    assert_eq!(shown.parse().as_ref(), Ok(&code));
    let base = |code: u16| {
        format!("{}{}{:03X}", ["P", "C", "B", "U"][usize::from(code / 0x4000)], code / 0x1000 % 4, code % 0x1000)
    };
    match code {
        TroubleCode::Two(code) => assert_eq!(shown, base(code)),
        TroubleCode::Three(code, failure) => assert_eq!(shown, format!("{}-{failure:02X}", base(code))),
        TroubleCode::Other(_) => assert_eq!(shown, text),
    }
}

fn author(text: &str) {
    let (name, email) = text.split_once('\n').map_or((text, None), |(name, email)| (name, Some(email)));
    let Ok(author) = Author::new(name, email) else { return };
    assert_eq!(Author::new(author.name(), author.email()), Ok(author));
}

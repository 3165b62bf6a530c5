//! The texts by which a module names itself: part number, versions, serial number.

use super::letters::{clean, fold, skeleton};
use super::{Incomparable, Respelling, Sameness};

/// How two part numbers, hardware or software versions or serial numbers stand to each other.
///
/// White space, case and zeros before the first digit are a matter of writing. Other marks, zeros elsewhere, letters that are
/// easily mistaken for digits, and what a spreadsheet makes of long numbers may be.
pub fn compare_identity_texts(a: &str, b: &str) -> Sameness {
    if a == b {
        return Sameness::Same;
    }
    let (first, second) = (clean(a), clean(b));
    let (key, other) = (key(&first), key(&second));
    if key == other {
        return Sameness::SaidDifferently(match () {
            () if first.replace(' ', "") == second.replace(' ', "") => spacing_or_characters(a, b),
            () if fold(&first).replace(' ', "") == fold(&second).replace(' ', "") => Respelling::Case,
            () => Respelling::LeadingZeros,
        });
    }
    match () {
        () if says_nothing(&key) || says_nothing(&other) => Sameness::CannotTell(Incomparable::Absent),
        () if loose(&key) == loose(&other) => Sameness::CannotTell(Incomparable::Letters),
        () if other_base(&key, &other) || other_base(&other, &key) => Sameness::CannotTell(Incomparable::Notation),
        () if is_spreadsheet_number(&key) || is_spreadsheet_number(&other) => {
            Sameness::CannotTell(Incomparable::Notation)
        }
        () => Sameness::Different,
    }
}

fn spacing_or_characters(a: &str, b: &str) -> Respelling {
    let unspaced = |text: &str| text.split_whitespace().collect::<String>();
    if unspaced(a) == unspaced(b) { Respelling::Spacing } else { Respelling::Characters }
}

/// A text without white space and case, each character written in one way.
pub(crate) fn identity_key(text: &str) -> String {
    fold(&clean(text)).replace(' ', "")
}

/// A clean text without white space, case and leading zeros.
fn key(clean: &str) -> String {
    let key = identity_key(clean);
    let significant = key.trim_start_matches('0');
    match significant.chars().next() {
        Some(first) if first.is_ascii_digit() => significant.to_owned(),
        None if !key.is_empty() => "0".to_owned(),
        // `0x1F` keeps its prefix, `0A` its digit.
        _ => key[key.len() - significant.len() - usize::from(significant.len() < key.len())..].to_owned(),
    }
}

/// A key without marks and without zeros before the digits of each part, and with letters that look like digits as these digits.
fn loose(key: &str) -> String {
    let parts = key.split(|c: char| !c.is_alphanumeric());
    let parts = parts.map(skeleton).map(|part| part.trim_start_matches('0').to_owned());
    parts.collect()
}

/// What modules and programs write where there is nothing to say.
fn says_nothing(key: &str) -> bool {
    !key.contains(char::is_alphanumeric) || matches!(key, "n/a" | "unknown" | "none" | "unbekannt")
}

/// Whether `hexadecimal` may be `decimal` in the other base: it has a prefix, or another number of digits.
fn other_base(hexadecimal: &str, decimal: &str) -> bool {
    let prefixed = hexadecimal.strip_prefix("0x").or_else(|| hexadecimal.strip_prefix('$'));
    let digits = prefixed.unwrap_or(hexadecimal);
    if prefixed.is_none() && digits.len() == decimal.len() {
        return false;
    }
    let read =
        |radix: u32, digits: &str| (digits.len() <= 16).then(|| u64::from_str_radix(digits, radix).ok()).flatten();
    let same_digits = prefixed.is_some() && digits.trim_start_matches('0') == decimal.trim_start_matches('0');
    same_digits || read(16, digits).is_some_and(|number| read(10, decimal) == Some(number))
}

/// Whether a spreadsheet has made a rounded number of it: `1.23457e+11`.
fn is_spreadsheet_number(key: &str) -> bool {
    key.split_once("e+").is_some_and(|(number, power)| {
        number.bytes().all(|byte| byte.is_ascii_digit() || matches!(byte, b'.' | b','))
            && number.starts_with(|c: char| c.is_ascii_digit())
            && !power.is_empty()
            && power.bytes().all(|byte| byte.is_ascii_digit())
    })
}

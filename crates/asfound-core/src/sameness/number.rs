//! Numbers as people and programs write them.

use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{Signed, ToPrimitive};

use super::Incomparable;
use crate::value::Decimal;

/// A written number.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Number {
    /// What it may be, each with its decimals: two where a point or comma may part decimals or thousands.
    readings: Vec<(Decimal, u32)>,
    /// As it is written.
    text: String,
}

/// How two numbers of one unit stand to each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Relation {
    Equal,
    Different,
    CannotTell(Incomparable),
}

impl Number {
    /// The number at the beginning of a clean text, and what follows it.
    pub(super) fn at_start(text: &str) -> Option<(Self, &str)> {
        let signed = usize::from(text.starts_with(['-', '+']));
        let behind =
            text[signed..].find(|c: char| !c.is_ascii_digit() && !matches!(c, '.' | ',')).map(|at| at + signed);
        let (number, rest) = text.split_at(behind.unwrap_or(text.len()));
        let readings = readings(&number[signed..])?;
        let negative = number.starts_with('-');
        let signed = |text: &str| if negative { format!("-{text}") } else { text.to_owned() };
        let readings = readings.iter().map(|(text, places)| Some((signed(text).parse().ok()?, *places)));
        Some((Self { readings: readings.collect::<Option<_>>()?, text: number.to_owned() }, rest))
    }

    /// A number with the decimals that it is shown with.
    pub(super) fn shown(number: &Decimal) -> Self {
        let text = number.to_string();
        let places = text.split_once('.').map_or(0, |(_, decimals)| count(decimals));
        Self { readings: vec![(number.clone(), places)], text }
    }

    /// How it stands to another number of the same unit; `bare` where neither has one, so that the digits may be hexadecimal.
    /// Numbers that are [`Relation::Equal`] are equal to the same others.
    pub(super) fn relation(&self, other: &Self, bare: bool) -> Relation {
        if let ([(a, places_a)], [(b, places_b)]) = (self.readings.as_slice(), other.readings.as_slice()) {
            return match () {
                () if a == b => Relation::Equal,
                () if rounded((a, *places_a), (b, *places_b)) => Relation::CannotTell(Incomparable::Rounding),
                () if bare && self.other_notation(other) => Relation::CannotTell(Incomparable::Notation),
                () => Relation::Different,
            };
        }
        if self.text == other.text {
            return Relation::Equal;
        }
        let may_be = |a: &(Decimal, u32), b: &(Decimal, u32)| a.0 == b.0 || rounded((&a.0, a.1), (&b.0, b.1));
        if self.readings.iter().any(|a| other.readings.iter().any(|b| may_be(a, b))) {
            Relation::CannotTell(Incomparable::Separator)
        } else {
            Relation::Different
        }
    }

    /// Whether one may be the other with its digits read as hexadecimal, or as a number without a sign.
    fn other_notation(&self, other: &Self) -> bool {
        let hexadecimal = |written: &Self, value: &Self| {
            let digits = (written.text.len() <= 16).then_some(written.text.as_str());
            let read = digits.and_then(|digits| u64::from_str_radix(digits, 16).ok());
            !written.text.starts_with('+') && read.is_some_and(|read| value.whole() == Some(i128::from(read)))
        };
        let sign = |negative: &Self, positive: &Self| {
            let (Some(negative), Some(positive)) = (negative.whole(), positive.whole()) else { return false };
            negative < 0 && [8, 16, 32].into_iter().any(|bits| positive.checked_sub(negative) == Some(1 << bits))
        };
        hexadecimal(self, other) || hexadecimal(other, self) || sign(self, other) || sign(other, self)
    }

    /// The number, where it can be only one.
    pub(super) fn only(&self) -> Option<Decimal> {
        match self.readings.as_slice() {
            [(number, _)] => Some(number.clone()),
            _ => None,
        }
    }

    fn whole(&self) -> Option<i128> {
        self.readings.first().and_then(|(number, _)| number.to_integer())
    }
}

/// Whether one is the other with fewer decimals, rounded or cut off.
fn rounded((a, places_a): (&Decimal, u32), (b, places_b): (&Decimal, u32)) -> bool {
    if places_a == places_b {
        return false;
    }
    let apart: BigRational = (a.to_ratio() - b.to_ratio()).abs();
    apart < BigRational::new(BigInt::from(1), BigInt::from(10).pow(places_a.min(places_b)))
}

/// What unsigned digits with points and commas may be, with a point, and how many decimals they have then.
fn readings(text: &str) -> Option<Vec<(String, u32)>> {
    if text.len() > 80 {
        return None;
    }
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let marks: Vec<usize> = text.match_indices(['.', ',']).map(|(at, _)| at).collect();
    let decimal = |at: usize| {
        let (whole, behind) = (text[..at].replace(['.', ','], ""), &text[at + 1..]);
        (digits(&whole) && digits(behind)).then(|| (format!("{whole}.{behind}"), count(behind)))
    };
    match marks.as_slice() {
        [] => digits(text).then(|| vec![(text.to_owned(), 0)]),
        [at] => {
            let mut readings = vec![decimal(*at)?];
            if grouped(&text[..*at], &text[*at + 1..]) {
                readings.push((text.replace(['.', ','], ""), 0));
            }
            Some(readings)
        }
        // Thousands, then the other mark, then decimals.
        [thousands @ .., last] => {
            let mark = |at: &usize| text.as_bytes()[*at];
            let one_mark = thousands.iter().all(|at| mark(at) == mark(&thousands[0]) && mark(at) != mark(last));
            let groups: Vec<&str> = text[..*last].split(['.', ',']).collect();
            let regular = grouped(groups[0], groups[1]) && groups[1..].iter().all(|group| group.len() == 3);
            if one_mark && regular { Some(vec![decimal(*last)?]) } else { None }
        }
    }
}

/// Whether a mark between these may part thousands: `1.500`, and neither `0.500` nor `1500.000`.
fn grouped(before: &str, behind: &str) -> bool {
    (1..=3).contains(&before.len()) && !before.starts_with('0') && behind.len() == 3
}

fn count(digits: &str) -> u32 {
    digits.len().to_u32().unwrap_or(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn relation(a: &str, b: &str) -> Relation {
        let number = |text| Number::at_start(text).filter(|(_, rest)| rest.is_empty()).expect("a number").0;
        let (a, b) = (number(a), number(b));
        assert_eq!(a.relation(&b, true), b.relation(&a, true));
        a.relation(&b, true)
    }

    #[test]
    fn points_commas_signs_and_zeros() {
        for (a, b) in
            [("30,0", "30"), ("007", "7"), ("+5", "5"), ("-0", "0"), ("1.234,5", "1,234.50"), ("0,500", "0.5")]
        {
            assert_eq!(relation(a, b), Relation::Equal, "{a} {b}");
        }
        for (a, b) in [("3", "5"), ("-1", "1"), ("1.5", "1.6"), ("1.500", "3"), ("1.500", "2.500"), ("1.234,5", "1234")]
        {
            let rounding = relation(a, b) == Relation::CannotTell(Incomparable::Rounding);
            assert!(relation(a, b) == Relation::Different || (rounding && b == "1234"), "{a} {b}");
        }
        for text in ["1.2.3", ".", "1.", ".5", "1.23,4", "0.123,4"] {
            assert!(Number::at_start(text).is_none(), "{text}");
        }
    }

    #[test]
    fn what_may_be_the_same_is_not_said_to_differ() {
        let cannot = Relation::CannotTell;
        assert_eq!(relation("1.500", "1.5"), cannot(Incomparable::Separator));
        assert_eq!(relation("1.500", "1500"), cannot(Incomparable::Separator));
        assert_eq!(relation("1.500", "1,500"), cannot(Incomparable::Separator));
        assert_eq!(relation("12.5", "12.48"), cannot(Incomparable::Rounding));
        assert_eq!(relation("2", "1.5"), cannot(Incomparable::Rounding));
        assert_eq!(relation("10", "16"), cannot(Incomparable::Notation));
        assert_eq!(relation("-1", "255"), cannot(Incomparable::Notation));
    }
}

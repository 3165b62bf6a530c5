//! Numbers of the documents, exactly.

use asfound_core::value::Decimal;
use num_bigint::BigInt;
use num_rational::BigRational;
use num_traits::{One, Zero};

use crate::model::{Limit, LimitKind};

/// The most digits and the largest exponent that are taken; no car has more.
const MOST: usize = 60;

/// A decimal with or without an exponent (`xsd:double`), as digits and decimal places.
fn scaled(text: &str) -> Option<(BigInt, i64)> {
    let text = text.trim();
    let (mantissa, exponent) = text.split_once(['e', 'E']).unwrap_or((text, "0"));
    let exponent: i64 = exponent.parse().ok().filter(|exponent: &i64| exponent.unsigned_abs() <= MOST as u64)?;
    let (sign, unsigned) = match mantissa.strip_prefix('-') {
        Some(rest) => (-1, rest),
        None => (1, mantissa.strip_prefix('+').unwrap_or(mantissa)),
    };
    let (whole, part) = unsigned.split_once('.').unwrap_or((unsigned, ""));
    let digits = format!("{whole}{part}");
    if digits.is_empty() || digits.len() > MOST || !digits.bytes().all(|byte| byte.is_ascii_digit()) {
        return None;
    }
    let number: BigInt = digits.parse().ok()?;
    Some((number * sign, i64::try_from(part.len()).ok()? - exponent))
}

/// The number in a text, as a fraction.
pub(super) fn ratio(text: &str) -> Option<BigRational> {
    let (digits, places) = scaled(text)?;
    let power = BigInt::from(10).pow(u32::try_from(places.unsigned_abs()).ok()?);
    Some(if places >= 0 { BigRational::new(digits, power) } else { BigRational::from_integer(digits * power) })
}

/// The number in a text, as a decimal.
pub(super) fn decimal(text: &str) -> Option<Decimal> {
    from_ratio(&ratio(text)?)
}

/// A fraction as a decimal, where it ends.
pub(super) fn from_ratio(ratio: &BigRational) -> Option<Decimal> {
    let ten = BigInt::from(10);
    let (mut number, mut places) = (ratio.clone(), 0_u32);
    while !number.denom().is_one() {
        if places as usize >= MOST {
            return None;
        }
        number *= &ten;
        places += 1;
    }
    Some(Decimal::from_scaled(number.to_integer(), places))
}

/// The least whole number that a lower limit allows; the given one where there is no limit.
pub(super) fn at_least(limit: Option<&Limit>, otherwise: i128) -> Option<i128> {
    let Some(limit) = limit.filter(|limit| limit.kind != LimitKind::Infinite) else { return Some(otherwise) };
    let ratio = ratio(&limit.text)?;
    let least = if limit.kind == LimitKind::Open && ratio.is_integer() {
        ratio.to_integer() + BigInt::one()
    } else {
        ratio.ceil().to_integer()
    };
    i128::try_from(least).ok()
}

/// The largest whole number that an upper limit allows; the given one where there is no limit.
pub(super) fn at_most(limit: Option<&Limit>, otherwise: i128) -> Option<i128> {
    let Some(limit) = limit.filter(|limit| limit.kind != LimitKind::Infinite) else { return Some(otherwise) };
    let ratio = ratio(&limit.text)?;
    let most = if limit.kind == LimitKind::Open && ratio.is_integer() {
        ratio.to_integer() - BigInt::one()
    } else {
        ratio.floor().to_integer()
    };
    i128::try_from(most).ok()
}

/// Whether a number is on the right side of a limit.
pub(super) fn allows(limit: &Limit, number: &BigRational, lower: bool) -> bool {
    let Some(bound) = ratio(&limit.text) else { return limit.kind == LimitKind::Infinite };
    match limit.kind {
        LimitKind::Infinite => true,
        LimitKind::Closed if lower => *number >= bound,
        LimitKind::Closed => *number <= bound,
        LimitKind::Open if lower => *number > bound,
        LimitKind::Open => *number < bound,
    }
}

/// A coded number whose value is nearest to the least one that limits leave, by halving; `value` only rises or only falls.
pub(super) fn nearest(
    limits: [Option<&Limit>; 2],
    least: i128,
    most: i128,
    value: &dyn Fn(i128) -> Option<BigRational>,
) -> Option<i128> {
    let bound = |limit: Option<&Limit>| {
        limit.filter(|limit| limit.kind != LimitKind::Infinite).and_then(|limit| ratio(&limit.text))
    };
    let goal = bound(limits[0]).or_else(|| bound(limits[1]))?;
    let rises = value(least)? <= value(most)?;
    let (mut low, mut high) = (least, most);
    while low < high {
        let middle = low + (high - low) / 2;
        let here = value(middle)?;
        if (rises && here < goal) || (!rises && here > goal) {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    let inside = |at: i128| {
        value(at).is_some_and(|here| {
            limits[0].is_none_or(|limit| allows(limit, &here, true))
                && limits[1].is_none_or(|limit| allows(limit, &here, false))
        })
    };
    [low - 1, low, low + 1].into_iter().filter(|number| (least..=most).contains(number)).find(|at| inside(*at))
}

/// Whether a fraction is nothing.
pub(super) fn is_zero(text: &str) -> bool {
    ratio(text).is_some_and(|ratio| ratio.is_zero())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn takes_every_form_of_a_double_exactly() {
        for (text, shown) in
            [("1.0E-2", "0.01"), ("-40", "-40"), ("+.5", "0.5"), ("2e3", "2000"), ("0.1", "0.1"), ("12.50", "12.5")]
        {
            assert_eq!(decimal(text).unwrap().to_string(), shown, "{text}");
        }
        for text in ["", ".", "1e99", "NaN", "INF", "0x10", "1,5", "--1"] {
            assert_eq!(decimal(text), None, "{text}");
        }
    }

    #[test]
    fn open_limits_leave_their_own_number_out() {
        let limit = |text: &str, kind| Limit { text: text.into(), kind };
        assert_eq!(at_least(Some(&limit("3", LimitKind::Open)), 0), Some(4));
        assert_eq!(at_least(Some(&limit("3.5", LimitKind::Open)), 0), Some(4));
        assert_eq!(at_most(Some(&limit("3", LimitKind::Open)), 0), Some(2));
        assert_eq!(at_most(Some(&limit("3.5", LimitKind::Closed)), 0), Some(3));
        assert_eq!(at_most(Some(&limit("", LimitKind::Infinite)), 255), Some(255));
    }
}

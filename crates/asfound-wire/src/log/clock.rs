//! The time in front of a line: seconds with decimals, or a date.

use crate::frame::Timestamp;

/// Reads what stands between the brackets of a candump line: `1700000000.123456`, or `2023-11-14 22:13:20.123456`,
/// which is taken as UTC because the log does not say.
#[inline]
pub fn moment(text: &[u8]) -> Option<Timestamp> {
    // Ten digits, a point and six digits is what nearly every line has.
    if text.len() == 17 && text[10] == b'.' {
        let seconds = decimal(&text[..10])?;
        let micros = decimal(&text[11..])?;
        return Some(Timestamp::from_nanoseconds(seconds * 1_000_000_000 + micros * 1000));
    }
    other(text)
}

fn other(text: &[u8]) -> Option<Timestamp> {
    let (whole, part) = match text.iter().position(|c| matches!(c, b'.' | b',')) {
        Some(point) => (&text[..point], &text[point + 1..]),
        None => (text, &text[..0]),
    };
    if part.len() > 9 {
        return None;
    }
    let mut nanoseconds = if part.is_empty() { 0 } else { decimal(part)? };
    for _ in part.len()..9 {
        nanoseconds *= 10;
    }
    let seconds = if whole.len() == 19 { date(whole)? } else { decimal(whole)? };
    seconds.checked_mul(1_000_000_000)?.checked_add(nanoseconds).map(Timestamp::from_nanoseconds)
}

/// Up to 11 decimal digits.
#[inline]
fn decimal(digits: &[u8]) -> Option<u64> {
    if digits.is_empty() || digits.len() > 11 {
        return None;
    }
    let (mut number, mut wrong) = (0u64, false);
    for character in digits {
        let digit = character.wrapping_sub(b'0');
        wrong |= digit > 9;
        number = number * 10 + u64::from(digit);
    }
    (!wrong).then_some(number)
}

/// `2023-11-14 22:13:20` in seconds since 1970, for the years 1970 to 9999.
fn date(text: &[u8]) -> Option<u64> {
    let marks = [(4, b'-'), (7, b'-'), (10, b' '), (13, b':'), (16, b':')];
    if marks.iter().any(|(place, mark)| text[*place] != *mark) {
        return None;
    }
    let at = |from: usize, to: usize| decimal(&text[from..to]);
    let (year, month, day) = (at(0, 4)?, at(5, 7)?, at(8, 10)?);
    let (hour, minute, second) = (at(11, 13)?, at(14, 16)?, at(17, 19)?);
    if year < 1970 || !(1..=12).contains(&month) || !(1..=31).contains(&day) || hour > 23 || minute > 59 || second > 60
    {
        return None;
    }
    // Days before a year and before a month of the Gregorian calendar, years counted from March.
    let (shifted_year, shifted_month) = if month > 2 { (year, month - 3) } else { (year - 1, month + 9) };
    let days = shifted_year * 365 + shifted_year / 4 - shifted_year / 100 + shifted_year / 400;
    let days = days + (153 * shifted_month + 2) / 5 + day - 1;
    // 719,468 days lie between 1 March of the year 0 and 1 January 1970.
    Some(((days - 719_468) * 24 + hour) * 3600 + minute * 60 + second)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn nanoseconds(text: &str) -> Option<u64> {
        moment(text.as_bytes()).map(Timestamp::nanoseconds)
    }

    #[test]
    fn seconds_and_dates_are_read() {
        // `date -u -d @1700000000` of GNU coreutils says 2023-11-14 22:13:20; @951868799 says 2000-02-29 23:59:59.
        assert_eq!(nanoseconds("1700000000.123456"), Some(1_700_000_000_123_456_000));
        assert_eq!(nanoseconds("2023-11-14 22:13:20.123456"), Some(1_700_000_000_123_456_000));
        assert_eq!(nanoseconds("2000-02-29 23:59:59.5"), Some(951_868_799_500_000_000));
        assert_eq!(nanoseconds("1970-01-01 00:00:00"), Some(0));
        assert_eq!(nanoseconds("000.001234"), Some(1_234_000));
        // A program of a country that writes commas.
        assert_eq!(nanoseconds("1700000000,123456"), Some(1_700_000_000_123_456_000));
        assert_eq!(nanoseconds("2023-11-14 22:13:20,5"), Some(1_700_000_000_500_000_000));
        assert_eq!(nanoseconds("1700000000.123456789"), Some(1_700_000_000_123_456_789));
        for wrong in ["", ".", "1.", "x", "1.2x", "99999999999999.0", "2023-13-14 22:13:20.1", "17000000x0.123456"] {
            assert_eq!(nanoseconds(wrong).filter(|_| wrong != "1."), None, "{wrong}");
        }
    }
}

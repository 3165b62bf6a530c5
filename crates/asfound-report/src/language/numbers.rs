//! Numbers and dates as a language writes them.

use asfound_core::difference::Content;
use asfound_core::value::Value;
use time::{Month, OffsetDateTime};

use super::Language;
use crate::shown::shown;

/// Numbers and dates in a language.
pub(crate) trait Numbers {
    /// A whole number with its thousands apart: `84,310`, `84.310`.
    fn whole(self, number: impl Into<u64>) -> String;
    /// A decimal as it is kept, with this language's sign for the decimal point.
    fn decimal(self, number: &str) -> String;
    /// `14 March 2026`, `14. März 2026`
    fn date(self, at: OffsetDateTime) -> String;
    /// The same with the time and its offset from UTC.
    fn moment(self, at: OffsetDateTime) -> String;
    /// A value as the journal writes it: the words of a switch, and a number with its unit, in this language's writing.
    fn value(self, text: &str) -> String;
    /// What a field holds: switches in words, numbers in this language's writing.
    fn content(self, content: &Content) -> String;
}

impl Numbers for Language {
    fn whole(self, number: impl Into<u64>) -> String {
        let digits = number.into().to_string();
        let apart = match self {
            Self::En => ',',
            Self::De => '.',
        };
        let mut text = String::with_capacity(digits.len() + 4);
        for (at, digit) in digits.chars().enumerate() {
            if at > 0 && (digits.len() - at).is_multiple_of(3) {
                text.push(apart);
            }
            text.push(digit);
        }
        text
    }

    fn decimal(self, number: &str) -> String {
        match self {
            Self::En => number.to_owned(),
            Self::De => number.replace('.', ","),
        }
    }

    fn date(self, at: OffsetDateTime) -> String {
        let (day, month, year) = (at.day(), month(self, at.month()), at.year());
        match self {
            Self::En => format!("{day} {month} {year}"),
            Self::De => format!("{day}. {month} {year}"),
        }
    }

    fn moment(self, at: OffsetDateTime) -> String {
        let (hours, minutes, _) = at.offset().as_hms();
        let sign = if hours < 0 || minutes < 0 { '−' } else { '+' };
        let offset = format!("{sign}{:02}:{:02}", hours.unsigned_abs(), minutes.unsigned_abs());
        format!("{}, {:02}:{:02} {offset}", self.date(at), at.hour(), at.minute())
    }

    fn value(self, text: &str) -> String {
        let words = self.words();
        match text {
            "on" => words.on.to_owned(),
            "off" => words.off.to_owned(),
            _ => {
                let number = text.split(' ').next().unwrap_or_default();
                let decimal = number.contains('.') && number.parse::<asfound_core::value::Decimal>().is_ok();
                let text = if decimal { text.replacen(number, &self.decimal(number), 1) } else { text.to_owned() };
                shown(&text)
            }
        }
    }

    fn content(self, content: &Content) -> String {
        let words = self.words();
        match content.value() {
            Some(Value::Switch(true)) => words.on.to_owned(),
            Some(Value::Switch(false)) => words.off.to_owned(),
            Some(Value::Quantity { number, unit }) => format!("{} {}", self.decimal(&number.to_string()), shown(unit)),
            Some(Value::Text(text)) => self.value(text),
            Some(_) => shown(&content.to_string()),
            None => match content {
                Content::Coded { coded, .. } => format!("{coded} ({})", words.no_meaning),
                other => self.value(&other.to_string()),
            },
        }
    }
}

fn month(language: Language, month: Month) -> &'static str {
    const DE: [&str; 12] = [
        "Januar",
        "Februar",
        "März",
        "April",
        "Mai",
        "Juni",
        "Juli",
        "August",
        "September",
        "Oktober",
        "November",
        "Dezember",
    ];
    const EN: [&str; 12] = [
        "January",
        "February",
        "March",
        "April",
        "May",
        "June",
        "July",
        "August",
        "September",
        "October",
        "November",
        "December",
    ];
    let at = usize::from(u8::from(month)) - 1;
    match language {
        Language::En => EN[at],
        Language::De => DE[at],
    }
}

#[cfg(test)]
mod tests {
    use time::macros::datetime;

    use super::*;

    #[test]
    fn each_language_writes_its_own_way() {
        let at = datetime!(2026-03-04 09:05 -3:30);
        assert_eq!(Language::En.moment(at), "4 March 2026, 09:05 −03:30");
        assert_eq!(Language::De.moment(at), "4. März 2026, 09:05 −03:30");
        assert_eq!(Language::En.whole(1_234_567_u64), "1,234,567");
        assert_eq!(Language::De.whole(84_310_u32), "84.310");
        assert_eq!(Language::De.whole(999_u32), "999");
        assert_eq!(Language::De.decimal("13.6"), "13,6");
    }
}

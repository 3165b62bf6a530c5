//! Patterns with `*` and `?`, as in file names.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

/// Why a text is no pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("an empty pattern fits nothing that a module says; leave the key out to fit everything")]
pub struct PatternError;

/// A pattern over a whole text: `*` stands for any characters or none, `?` for one; every other character for itself.
/// Letter case counts.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pattern(String);

impl Pattern {
    /// The pattern as it is written.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Whether the whole text fits. Takes at most time in proportion to pattern times text.
    pub fn fits(&self, text: &str) -> bool {
        let pattern: Vec<char> = self.0.chars().collect();
        let text: Vec<char> = text.chars().collect();
        let (mut p, mut t) = (0, 0);
        // Behind the last `*`, and how much of the text it has taken so far. Only the last one ever needs to give more.
        let mut star: Option<(usize, usize)> = None;
        while t < text.len() {
            if pattern.get(p) == Some(&'*') {
                p += 1;
                star = Some((p, t));
            } else if pattern.get(p).is_some_and(|c| *c == '?' || *c == text[t]) {
                p += 1;
                t += 1;
            } else if let Some((behind, taken)) = star {
                star = Some((behind, taken + 1));
                (p, t) = (behind, taken + 1);
            } else {
                return false;
            }
        }
        pattern[p..].iter().all(|c| *c == '*')
    }
}

impl FromStr for Pattern {
    type Err = PatternError;
    fn from_str(text: &str) -> Result<Self, PatternError> {
        if text.is_empty() { Err(PatternError) } else { Ok(Self(text.to_owned())) }
    }
}

impl fmt::Display for Pattern {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fits(pattern: &str, text: &str) -> bool {
        pattern.parse::<Pattern>().unwrap().fits(text)
    }

    #[test]
    fn stars_and_question_marks() {
        for (pattern, text) in [
            ("7M0-95*", "7M0-951 A"),
            ("7M0-95*", "7M0-95"),
            ("*", ""),
            ("H1?", "H1é"),
            ("*-95?-*", "7M0-951-A"),
            ("a*b*c", "aXbXbc"),
            ("*a", "aaa"),
            ("[x]", "[x]"),
            ("**", "x"),
        ] {
            assert!(fits(pattern, text), "{pattern} {text}");
        }
        for (pattern, text) in [
            ("7M0-95*", "7m0-951"),
            ("H1?", "H1"),
            ("H1?", "H123"),
            ("a*b", "abc"),
            ("a", ""),
            ("a*b*c", "acb"),
            ("?", ""),
            ("[xy]", "x"),
        ] {
            assert!(!fits(pattern, text), "{pattern} {text}");
        }
        assert_eq!("".parse::<Pattern>(), Err(PatternError));
    }

    #[test]
    fn many_stars_take_no_exponential_time() {
        assert!(!fits(&"*a".repeat(200), &("a".repeat(199) + "b")));
    }

    /// The textbook definition, by recursion, as the oracle.
    fn by_definition(pattern: &[char], text: &[char]) -> bool {
        match pattern.split_first() {
            None => text.is_empty(),
            Some(('*', rest)) => (0..=text.len()).any(|taken| by_definition(rest, &text[taken..])),
            Some((c, rest)) => {
                text.split_first().is_some_and(|(t, behind)| (*c == '?' || c == t) && by_definition(rest, behind))
            }
        }
    }

    proptest::proptest! {
        #[test]
        fn agrees_with_the_definition(pattern in "[ab*?]{1,8}", text in "[ab]{0,10}") {
            let chars = |text: &str| text.chars().collect::<Vec<_>>();
            proptest::prop_assert_eq!(fits(&pattern, &text), by_definition(&chars(&pattern), &chars(&text)));
        }
    }
}

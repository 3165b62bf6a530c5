//! Patterns with `*` and `?`, as in file names.

use std::fmt;
use std::str::FromStr;

use thiserror::Error;

use crate::sameness::{compare_identity_texts, identity_key};

/// What stands in an example for any one character.
const ANY: char = '0';

/// So many zeros in front of a number are tried; no number of a part has more.
const MOST_ZEROS: usize = 32;

/// Why a text is no pattern.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Error)]
#[error("an empty pattern fits nothing that a module says; leave the key out to fit everything")]
pub struct PatternError;

/// A pattern over a whole text: `*` stands for any characters or none, `?` for one; every other character for itself.
/// White space and case are a matter of writing, and so are leading zeros where the pattern has neither `*` nor `?`
/// ([`compare_identity_texts`](crate::sameness::compare_identity_texts)).
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Pattern(String);

impl Pattern {
    /// The pattern as it is written.
    pub fn as_str(&self) -> &str {
        &self.0
    }

    /// Whether the whole text fits, as it is written or as it might be written. Takes at most time in proportion to pattern
    /// times text.
    pub fn fits(&self, text: &str) -> bool {
        if Self::fits_to_the_letter(&self.0, text) {
            return true;
        }
        if self.0.contains(['*', '?']) {
            Self::fits_to_the_letter(&identity_key(&self.0), &identity_key(text))
        } else {
            compare_identity_texts(&self.0, text).is_same()
        }
    }

    fn fits_to_the_letter(pattern: &str, text: &str) -> bool {
        let pattern: Vec<char> = pattern.chars().collect();
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

    fn is_plain(&self) -> bool {
        !self.0.contains(['*', '?'])
    }

    /// A short text that fits.
    pub fn example(&self) -> String {
        self.0.chars().filter(|c| *c != '*').map(|c| if c == '?' { ANY } else { c }).collect()
    }

    /// A text that fits both; nothing where none is found. Takes at most time in proportion to both lengths.
    pub fn common(&self, other: &Self) -> Option<String> {
        let fits_both = |text: &String| self.fits(text) && other.fits(text);
        if self.is_plain() || other.is_plain() {
            let (plain, other) = if self.is_plain() { (self, other) } else { (other, self) };
            // Zeros in front of a plain text are a matter of writing, which a pattern may ask for.
            let key = identity_key(&plain.0);
            let significant = key.trim_start_matches('0');
            let longest = if other.is_plain() { 0 } else { other.0.chars().count().min(MOST_ZEROS) };
            let padded = (0..=longest).map(|zeros| "0".repeat(zeros) + significant);
            return [plain.0.clone(), key.clone()].into_iter().chain(padded).find(fits_both);
        }
        let keys = || Self::common_to_the_letter(&identity_key(&self.0), &identity_key(&other.0));
        Self::common_to_the_letter(&self.0, &other.0).or_else(keys).filter(fits_both)
    }

    /// A shortest text that fits both to the letter.
    fn common_to_the_letter(a: &str, b: &str) -> Option<String> {
        let (a, b): (Vec<char>, Vec<char>) = (a.chars().collect(), b.chars().collect());
        let width = b.len() + 1;
        // For each pair of places in the two patterns the pair before it, and the character that led from there to here.
        let mut before: Vec<Option<(usize, Option<char>)>> = vec![None; (a.len() + 1) * width];
        let (mut now, mut next) = (vec![(0, (0, None))], Vec::new());
        while !now.is_empty() {
            // Ways without a character lead to places of the same length, so they are gone before longer ones.
            while let Some((at, from)) = now.pop() {
                if before[at].is_some() {
                    continue;
                }
                before[at] = Some(from);
                let (c, d) = (a.get(at / width).copied(), b.get(at % width).copied());
                if c == Some('*') {
                    now.push((at + width, (at, None)));
                }
                if d == Some('*') {
                    now.push((at + 1, (at, None)));
                }
                let (Some(c), Some(d)) = (c, d) else { continue };
                let step = |c: char, len: usize| if c == '*' { 0 } else { len };
                let letter = match (c, d) {
                    ('*', '*') => continue,
                    ('*' | '?', '*' | '?') => ANY,
                    ('*' | '?', letter) | (letter, '*' | '?') => letter,
                    (c, d) if c == d => c,
                    _ => continue,
                };
                next.push((at + step(c, width) + step(d, 1), (at, Some(letter))));
            }
            std::mem::swap(&mut now, &mut next);
        }
        let mut at = before.len() - 1;
        let mut text = Vec::new();
        loop {
            let (from, letter) = before[at]?;
            text.extend(letter);
            if at == 0 {
                break;
            }
            at = from;
        }
        Some(text.into_iter().rev().collect())
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
            ("7M0-95*", "7m0-951"),
            ("7M0 95? *", "7m0951A"),
            ("7M0?951", "7M0 951"),
            ("0214", "214"),
        ] {
            assert!(fits(pattern, text), "{pattern} {text}");
        }
        for (pattern, text) in [
            ("0214", "2140"),
            ("021?", "21"),
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

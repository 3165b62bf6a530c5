//! Software versions: their order, and ranges of them.

use std::cmp::Ordering;
use std::fmt;

/// Compares two software versions piece by piece: runs of digits as numbers, other runs as text, a number before a text,
/// and a version before every longer one that begins with it. `0100` and `100` are the same version.
pub fn compare_versions(a: &str, b: &str) -> Ordering {
    let (mut a, mut b) = (pieces(a), pieces(b));
    loop {
        match (a.next(), b.next()) {
            (None, None) => return Ordering::Equal,
            (None, Some(_)) => return Ordering::Less,
            (Some(_), None) => return Ordering::Greater,
            (Some(x), Some(y)) => match compare_pieces(x, y) {
                Ordering::Equal => {}
                other => return other,
            },
        }
    }
}

/// Runs of digits and runs of other characters.
fn pieces(mut rest: &str) -> impl Iterator<Item = &str> {
    std::iter::from_fn(move || {
        let digits = rest.chars().next()?.is_ascii_digit();
        let behind = rest.find(|c: char| c.is_ascii_digit() != digits).unwrap_or(rest.len());
        let (piece, behind) = rest.split_at(behind);
        rest = behind;
        Some(piece)
    })
}

fn compare_pieces(a: &str, b: &str) -> Ordering {
    let number = |piece: &str| piece.starts_with(|c: char| c.is_ascii_digit());
    match (number(a), number(b)) {
        (true, false) => Ordering::Less,
        (false, true) => Ordering::Greater,
        (false, false) => a.cmp(b),
        (true, true) => {
            // Without leading zeros, the longer one is the larger; no number is too long to compare.
            let (a, b) = (a.trim_start_matches('0'), b.trim_start_matches('0'));
            a.len().cmp(&b.len()).then_with(|| a.cmp(b))
        }
    }
}

/// A range of software versions, compared by [`compare_versions`].
#[derive(Debug, Clone, Default, PartialEq, Eq, Hash)]
pub struct SoftwareRange {
    pub(super) from: Option<String>,
    pub(super) below: Option<String>,
    pub(super) up_to: Option<String>,
}

impl SoftwareRange {
    /// The first version in the range.
    pub fn from(&self) -> Option<&str> {
        self.from.as_deref()
    }

    /// The first version that is no longer in the range.
    pub fn below(&self) -> Option<&str> {
        self.below.as_deref()
    }

    /// The last version in the range.
    pub fn up_to(&self) -> Option<&str> {
        self.up_to.as_deref()
    }

    /// Whether a version is in the range.
    pub fn contains(&self, version: &str) -> bool {
        let is = |bound: &Option<String>, accepted: &[Ordering]| {
            bound.as_deref().is_none_or(|bound| accepted.contains(&compare_versions(version, bound)))
        };
        is(&self.from, &[Ordering::Greater, Ordering::Equal])
            && is(&self.below, &[Ordering::Less])
            && is(&self.up_to, &[Ordering::Less, Ordering::Equal])
    }

    /// Whether no version can be in the range because its end lies before its beginning.
    pub(super) fn is_turned(&self) -> bool {
        self.from.as_deref().is_some_and(|from| {
            self.below.as_deref().is_some_and(|below| compare_versions(from, below) != Ordering::Less)
                || self.up_to.as_deref().is_some_and(|up_to| compare_versions(from, up_to) == Ordering::Greater)
        })
    }
}

impl fmt::Display for SoftwareRange {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let bounds = [("from", &self.from), ("below", &self.below), ("up to", &self.up_to)];
        let said: Vec<String> =
            bounds.iter().filter_map(|(word, bound)| bound.as_ref().map(|bound| format!("{word} {bound}"))).collect();
        f.pad(&said.join(" "))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_count_as_numbers_and_the_rest_as_text() {
        let sorted = [
            "1",
            "1-a",
            "1.2",
            "1.2.1",
            "1.10",
            "2",
            "0010",
            "123456789012345678901234567890",
            "A",
            "A1",
            "A2b",
            "A10a",
            "B",
        ];
        for (i, a) in sorted.iter().enumerate() {
            for (j, b) in sorted.iter().enumerate() {
                assert_eq!(compare_versions(a, b), i.cmp(&j), "{a} {b}");
            }
        }
        assert_eq!(compare_versions("0100", "100"), Ordering::Equal);
        assert_eq!(compare_versions("", ""), Ordering::Equal);
        assert_eq!(compare_versions("", "0"), Ordering::Less);
    }

    #[test]
    fn ranges_hold_their_bounds_as_they_say() {
        let some = |text: &str| Some(text.to_owned());
        let range = SoftwareRange { from: some("0100"), below: some("0300"), up_to: None };
        for (version, inside) in [("0099", false), ("100", true), ("0299", true), ("0300", false), ("0299a", true)] {
            assert_eq!(range.contains(version), inside, "{version}");
        }
        let range = SoftwareRange { from: None, below: None, up_to: some("2.9") };
        assert!(range.contains("2.09") && !range.contains("2.10"));
        assert_eq!(range.to_string(), "up to 2.9");
        assert!(SoftwareRange { from: some("3"), below: some("3"), up_to: None }.is_turned());
        assert!(!SoftwareRange { from: some("3"), below: None, up_to: some("3") }.is_turned());
    }
}

//! Whether two definitions can fit the same module.

use std::fmt;

use super::{AppliesTo, Definition, Pattern, SoftwareRange};
use crate::identity::Identity;

/// Which modules two definitions both fit, so that neither of them explains these.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Overlap {
    /// Exactly the same ones.
    Same,
    /// Some, such as one with this identity.
    Some(Identity),
}

impl Definition {
    /// Which modules it fits that another definition fits, too; nothing where there can be none.
    pub fn overlap(&self, other: &Self) -> Option<Overlap> {
        let common = self.applies_to().common(other.applies_to())?;
        Some(if self.applies_to().is_same(other.applies_to()) { Overlap::Same } else { Overlap::Some(common) })
    }
}

impl fmt::Display for Overlap {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self::Some(common) = self else { return f.write_str("fits exactly the same modules") };
        let parts =
            [("part number", &common.part_number), ("hardware", &common.hardware), ("software", &common.software)];
        let said = parts.iter().filter_map(|(what, text)| Some(format!("{what} {}", text.as_deref()?)));
        write!(f, "fits some of the same modules, such as {}", said.collect::<Vec<_>>().join(", "))
    }
}

impl AppliesTo {
    /// An identity that both fit, with nothing in it that neither asks for; nothing where no module can fit both.
    pub fn common(&self, other: &Self) -> Option<Identity> {
        if self.module != other.module {
            return None;
        }
        Some(Identity {
            part_number: common_text(&self.part_number, &other.part_number).ok()?,
            hardware: common_text(&self.hardware, &other.hardware).ok()?,
            software: common_version(self.software.as_ref(), other.software.as_ref()).ok()?,
            serial: None,
        })
    }
}

/// Nothing fits both.
struct Disjoint;

/// A text that fits one of each; nothing where neither asks for any.
fn common_text(a: &[Pattern], b: &[Pattern]) -> Result<Option<String>, Disjoint> {
    let common = match (a, b) {
        ([], []) => return Ok(None),
        ([], some) | (some, []) => some.first().map(Pattern::example),
        (a, b) => a.iter().flat_map(|a| b.iter().map(|b| a.common(b))).find_map(|common| common),
    };
    common.map(Some).ok_or(Disjoint)
}

/// A version in both ranges, likewise.
fn common_version(a: Option<&SoftwareRange>, b: Option<&SoftwareRange>) -> Result<Option<String>, Disjoint> {
    let ranges: Vec<&SoftwareRange> = a.into_iter().chain(b).collect();
    if ranges.is_empty() {
        return Ok(None);
    }
    // Where versions are in all of the ranges, the largest beginning is among them, or without any the least version.
    let bounds = ranges.iter().flat_map(|range| [range.from(), range.up_to()]).flatten();
    let mut candidates = bounds.chain(["0", ""]);
    let found = candidates.find(|version| ranges.iter().all(|range| range.contains(version)));
    found.map(|found| Some(found.to_owned())).ok_or(Disjoint)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::document::TextPosition;

    fn applies(part_number: &[&str], hardware: &[&str], software: Option<SoftwareRange>) -> AppliesTo {
        let patterns = |texts: &[&str]| texts.iter().map(|text| text.parse().unwrap()).collect();
        AppliesTo {
            module: "body".parse().unwrap(),
            part_number: patterns(part_number),
            hardware: patterns(hardware),
            software,
            place: TextPosition::START,
        }
    }

    fn range(from: &str, below: &str, up_to: &str) -> SoftwareRange {
        let bound = |text: &str| Some(text.to_owned()).filter(|text| !text.is_empty());
        SoftwareRange { from: bound(from), below: bound(below), up_to: bound(up_to) }
    }

    #[test]
    fn what_two_definitions_have_in_common() {
        let common = |a: &AppliesTo, b: &AppliesTo| {
            assert_eq!(a.common(b).is_some(), b.common(a).is_some());
            a.common(b).inspect(|identity| {
                assert!(a.fits(a.module(), identity) && b.fits(b.module(), identity), "{identity:?}");
            })
        };
        let exact = applies(&["7M0-951 A"], &[], None);
        assert_eq!(common(&exact, &applies(&["7M0-95*"], &[], None)).unwrap().part_number.unwrap(), "7M0-951 A");
        assert!(common(&exact, &applies(&["7M0-95? B"], &[], None)).is_none());
        // Another writing of the same number keeps nothing apart either.
        assert!(common(&exact, &applies(&["7m0-951a"], &[], None)).is_some());
        assert!(common(&applies(&["7M0 95*"], &[], None), &applies(&["7m0951?"], &[], None)).is_some());
        assert!(common(&applies(&["0214"], &[], None), &applies(&["214"], &[], None)).is_some());
        assert!(common(&applies(&["0214"], &[], None), &applies(&["2?4"], &[], None)).is_some());
        assert!(common(&applies(&["214"], &[], None), &applies(&["00?14"], &[], None)).is_some());
        assert!(common(&applies(&["214"], &[], None), &applies(&["2140"], &[], None)).is_none());
        // A condition that only one of them has keeps nothing apart.
        assert!(common(&exact, &applies(&[], &["H1?"], Some(range("0100", "0300", "")))).is_some());
        assert!(common(&exact, &applies(&[], &[], None)).is_some());
        // Ranges that touch without a common version do not overlap; those with one do.
        let old = applies(&[], &[], Some(range("", "0300", "")));
        assert!(common(&old, &applies(&[], &[], Some(range("300", "", "")))).is_none());
        assert!(common(&old, &applies(&[], &[], Some(range("299", "", "")))).is_some());
        assert!(
            common(&applies(&[], &[], Some(range("", "", "0300"))), &applies(&[], &[], Some(range("300", "", ""))))
                .is_some()
        );
        assert!(common(&old, &applies(&[], &[], Some(range("", "", "0001")))).is_some());
        assert!(
            common(&applies(&[], &[], Some(range("3", "9", ""))), &applies(&[], &[], Some(range("4", "", "5"))))
                .is_some()
        );
        let elsewhere = AppliesTo { module: "cluster".parse().unwrap(), ..applies(&[], &[], None) };
        assert!(common(&elsewhere, &applies(&[], &[], None)).is_none());
    }

    proptest! {
        /// Held against trying every short text.
        #[test]
        fn patterns_have_a_text_in_common_where_a_search_finds_one(a in "[ab*?]{1,5}", b in "[ab*?]{1,5}") {
            let (a, b): (Pattern, Pattern) = (a.parse().unwrap(), b.parse().unwrap());
            // The shortest text that both fit is no longer than both patterns together without their stars.
            let mut texts = vec![String::new()];
            let mut found = false;
            for _ in 0..=10 {
                found = found || texts.iter().any(|text| a.fits(text) && b.fits(text));
                let longer = texts.iter().flat_map(|text| ["a", "b"].map(|letter| format!("{text}{letter}")));
                texts = if found { break } else { longer.collect() };
            }
            let common = a.common(&b);
            prop_assert_eq!(common.is_some(), found, "{} {}", a, b);
            if let Some(text) = common {
                prop_assert!(a.fits(&text) && b.fits(&text), "{} {} {}", a, b, text);
            }
            prop_assert!(a.fits(&a.example()), "{}", a);
        }

        /// Held against trying versions around every bound.
        #[test]
        fn ranges_have_a_version_in_common_where_a_search_finds_one(
            a in (0..6_u8, 0..6_u8, 0..3_u8), b in (0..6_u8, 0..6_u8, 0..3_u8)
        ) {
            let range = |(from, to, kind): (u8, u8, u8)| {
                let bound = |is: bool, number: u8| is.then(|| number.to_string());
                SoftwareRange { from: bound(from > 0, from), below: bound(kind == 1, to), up_to: bound(kind == 2, to) }
            };
            let (a, b) = (range(a), range(b));
            let mut versions = std::iter::once(String::new()).chain((0..8).flat_map(|n| [format!("{n}"), format!("{n}.1")]));
            let found = versions.any(|version| a.contains(&version) && b.contains(&version));
            let common = common_version(Some(&a), Some(&b));
            prop_assert_eq!(common.is_ok(), found, "{} / {}", a, b);
            if let Ok(Some(version)) = common {
                prop_assert!(a.contains(&version) && b.contains(&version));
            }
        }
    }
}

//! The codes of one module before and after.

use std::collections::BTreeMap;

use super::{CodeStatus, ReportedCode, TroubleCode};

/// A code that is there before and after with another status byte.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StatusChange {
    /// The code.
    pub code: TroubleCode,
    /// Its status before, where one was given.
    pub before: Option<CodeStatus>,
    /// Its status after.
    pub after: Option<CodeStatus>,
}

/// The codes of one module in two scans. A code is the same code whatever its status is.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct CodeGroups {
    /// There before and after, as reported after.
    pub there_before: Vec<ReportedCode>,
    /// Only after.
    pub new: Vec<ReportedCode>,
    /// Only before.
    pub gone: Vec<ReportedCode>,
    /// Of those that were there before: the ones with another status now.
    pub status_changed: Vec<StatusChange>,
}

impl CodeGroups {
    /// Whether neither scan had any code.
    pub fn is_empty(&self) -> bool {
        self.there_before.is_empty() && self.new.is_empty() && self.gone.is_empty()
    }
}

/// Compares two scans of one module, each list in the order of its reading.
pub fn compare_codes(before: &[ReportedCode], after: &[ReportedCode]) -> CodeGroups {
    fn by_code(codes: &[ReportedCode]) -> BTreeMap<&TroubleCode, &ReportedCode> {
        codes.iter().map(|reported| (&reported.code, reported)).collect()
    }
    let (earlier, later) = (by_code(before), by_code(after));
    let mut groups = CodeGroups::default();
    for reported in after {
        let Some(found) = earlier.get(&reported.code) else {
            groups.new.push(reported.clone());
            continue;
        };
        groups.there_before.push(reported.clone());
        if found.status != reported.status {
            let (code, before, after) = (reported.code.clone(), found.status, reported.status);
            groups.status_changed.push(StatusChange { code, before, after });
        }
    }
    groups.gone = before.iter().filter(|reported| !later.contains_key(&reported.code)).cloned().collect();
    groups
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use proptest::prelude::*;

    use super::*;

    fn scan() -> impl Strategy<Value = BTreeMap<u16, Option<u8>>> {
        prop::collection::btree_map(0u16..12, prop::option::of(0u8..3), 0..8)
    }

    fn codes(scan: &BTreeMap<u16, Option<u8>>) -> Vec<ReportedCode> {
        let code =
            |(code, status): (&u16, &Option<u8>)| ReportedCode::new(TroubleCode::Two(*code), status.map(CodeStatus));
        scan.iter().map(code).collect()
    }

    fn set(list: &[ReportedCode]) -> BTreeSet<u16> {
        list.iter().filter_map(|reported| reported.code.base()).collect()
    }

    proptest! {
        /// Against a plain model of sets.
        #[test]
        fn the_groups_are_set_differences(before in scan(), after in scan()) {
            let groups = compare_codes(&codes(&before), &codes(&after));
            let (a, b): (BTreeSet<u16>, BTreeSet<u16>) = (before.keys().copied().collect(), after.keys().copied().collect());
            prop_assert_eq!(set(&groups.there_before), &a & &b);
            prop_assert_eq!(set(&groups.new), &b - &a);
            prop_assert_eq!(set(&groups.gone), &a - &b);
            let altered: BTreeSet<u16> = (&a & &b).into_iter().filter(|code| before[code] != after[code]).collect();
            prop_assert_eq!(groups.status_changed.iter().filter_map(|it| it.code.base()).collect::<BTreeSet<_>>(), altered);
            prop_assert_eq!(groups.is_empty(), before.is_empty() && after.is_empty());
        }
    }
}

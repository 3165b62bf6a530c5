//! The audit finds nothing in a history that nobody has touched.

use std::num::NonZero;
use std::sync::LazyLock;

use asfound_core::names::Tag;
use asfound_journal::audit::{AuditOptions, audit};
use asfound_journal::sign::AllowedSigners;
use asfound_journal::store::MemoryStore;
use proptest::prelude::*;

use crate::history::{events, file};

/// One thread, and no keys that are trusted.
pub(crate) fn means() -> AuditOptions<'static> {
    static NONE: LazyLock<AllowedSigners> = LazyLock::new(AllowedSigners::default);
    AuditOptions { allowed: &NONE, threads: NonZero::<usize>::MIN }
}

/// So many histories are played unless `ASFOUND_HISTORIES` says how many.
const HISTORIES: u32 = 300;

#[allow(clippy::disallowed_methods, reason = "how many are played is asked of the test")]
fn config() -> ProptestConfig {
    let asked =
        std::env::var("ASFOUND_HISTORIES").ok().map(|text| text.parse().expect("ASFOUND_HISTORIES is a number"));
    ProptestConfig { cases: asked.unwrap_or(HISTORIES), failure_persistence: None, ..ProptestConfig::default() }
}

proptest! {
    #![proptest_config(config())]

    #[test]
    fn a_history_that_nobody_touched_is_sound(events in events(20)) {
        let (store, tag): (_, Tag) = (MemoryStore::new(), "wren".parse().unwrap());
        let entries = file(&store, &tag, &events);
        let audit = audit(&store, &tag, means(), &mut |_| {}).unwrap();
        let found: Vec<String> = audit.findings.iter().map(ToString::to_string).collect();
        prop_assert_eq!(found, [""; 0]);
        prop_assert_eq!(audit.entries_checked as usize, entries);
    }
}

//! Disclosures.

use asfound_journal::disclosure::Disclosure;
use asfound_journal::seal::{KeptSeal, Seal};

/// The text of a disclosure.
pub fn disclosure(data: &[u8]) {
    let Ok(text) = std::str::from_utf8(data) else { return };
    let disclosure = match Disclosure::parse(text) {
        Ok(disclosure) => disclosure,
        Err(error) => {
            assert!(!error.to_string().is_empty());
            return;
        }
    };
    assert_eq!(Disclosure::parse(&disclosure.to_text()).as_ref(), Ok(&disclosure));
    let seal = *disclosure.seal();
    let findings = disclosure.check(None);
    assert_eq!(disclosure.check(Some(&KeptSeal::from(seal))), findings);
    // Against a seal over one more entry something always speaks.
    let other = Seal { entries: seal.entries ^ 1, root: seal.root };
    assert_eq!(disclosure.check(Some(&KeptSeal::from(other))).len(), findings.len() + 1);
    for entry in disclosure.entries() {
        entry.hidden();
        entry.settings();
    }
}

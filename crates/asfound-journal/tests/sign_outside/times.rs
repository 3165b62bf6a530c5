//! Keys that ended or were replaced.

use asfound_journal::sign::{AllowedSigner, SignatureState, Signer, Stamp, TrustDoubt};
use time::Duration;

use crate::support::{EDDA, NOON, Place, has, open};

#[test]
fn a_replaced_key_keeps_its_old_entries_good() {
    let place = Place::new();
    let (old, new) = (open(&place.seeded(1), None), open(&place.seeded(2), None));
    let change = NOON + Duration::DAY;
    let trust = |signer: &dyn Signer, after, before| {
        let allowed = AllowedSigner::new(&EDDA.parse().unwrap(), signer.public_key().clone());
        place.garage.trust(&AllowedSigner { valid_after: after, valid_before: before, ..allowed }).unwrap();
    };
    trust(&old, None, None);
    let early = place.sign(NOON, &old);
    let last = place.sign(change, &old);
    // From here on the new key; the line of the old one is replaced, not doubled.
    trust(&old, None, Some(Stamp::of(change)));
    trust(&new, Some(Stamp::of(change)), None);
    assert_eq!(place.garage.allowed_signers().unwrap().signers().count(), 2);
    let first = place.sign(change, &new);
    let too_late = place.sign(change + Duration::SECOND, &old);
    let later = place.sign(change + Duration::DAY, &new);

    for commit in [&early, &last, &first, &later] {
        assert!(matches!(place.state(commit), SignatureState::Good { .. }), "{:?}", place.state(commit));
    }
    let state = place.state(&too_late);
    let why = TrustDoubt::OtherTime { principal: EDDA.to_owned() };
    assert!(matches!(&state, SignatureState::Unknown { why: found, .. } if *found == why), "{state:?}");

    if has("ssh-keygen") {
        // git asks ssh-keygen for the time of the commit.
        for commit in [&early, &last, &first, &later] {
            place.git_verifies(commit.as_str()).unwrap();
        }
        let said = place.git_verifies(too_late.as_str()).unwrap_err();
        assert!(said.contains("expired") || said.contains("No principal matched"), "{said}");
    }
}

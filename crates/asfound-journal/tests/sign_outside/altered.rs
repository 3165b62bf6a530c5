//! Commits that were altered after they were signed. Needs no program but git.

use asfound_core::names::EntryNumber;
use asfound_journal::journal::{FiledEntry, Journal, Signing};
use asfound_journal::sign::{
    BadSignature, Meaning, RawSignature, SignError, SignatureState, SignedAs, Signer, signed_commit, verify,
};
use asfound_journal::store::{Store, StoreError};
use asfound_journal::{FailureKind, journal::JournalError};

use crate::support::{NOON, Place, open, tag};

fn filed(place: &Place) -> FiledEntry {
    Journal::new(place.garage.store(), tag()).last().unwrap()
}

#[test]
fn no_byte_can_be_altered() {
    let place = Place::new();
    let signer = open(&place.seeded(1), None);
    place.trust(&signer);
    place.sign(NOON, &signer);
    let allowed = place.garage.allowed_signers().unwrap();
    let filed = filed(&place);
    let commit = place.garage.store().commit_text(&filed.commit).unwrap();
    let state = |bytes: &[u8]| verify(bytes, &allowed).held_against(filed.signed.as_ref());
    assert!(matches!(state(&commit), SignatureState::Good { .. }));
    for place in 0..commit.len() {
        for mask in [0x01, 0x20, 0x80] {
            let mut altered = commit.clone();
            altered[place] ^= mask;
            let found = state(&altered);
            assert!(matches!(found, SignatureState::Bad { .. }), "byte {place}, mask {mask:#x}: {found:?}");
        }
        let mut shorter = commit.clone();
        shorter.remove(place);
        assert!(matches!(state(&shorter), SignatureState::Bad { .. }), "byte {place} removed");
        assert!(matches!(state(&commit[..place]), SignatureState::Bad { .. }), "cut at {place}");
    }
}

#[test]
fn a_signature_that_is_gone_or_by_another_is_bad() {
    let place = Place::new();
    let (first, second) = (open(&place.seeded(1), None), open(&place.seeded(2), None));
    place.trust(&first);
    place.trust(&second);
    place.sign(NOON, &first);
    let filed = filed(&place);
    let allowed = place.garage.allowed_signers().unwrap();
    let commit = String::from_utf8(place.garage.store().commit_text(&filed.commit).unwrap()).unwrap();
    let (head, rest) = commit.split_once("gpgsig ").unwrap();
    let end = "-----END SSH SIGNATURE-----\n";
    let bare = format!("{head}{}", rest.split_once(end).unwrap().1);

    let said = filed.signed.clone().unwrap();
    assert_eq!(said, SignedAs { meaning: Meaning::Stated, key: first.public_key().fingerprint() });
    assert_eq!(verify(bare.as_bytes(), &allowed), SignatureState::Missing);
    let why = BadSignature::Gone(said.key.clone());
    assert_eq!(verify(bare.as_bytes(), &allowed).held_against(Some(&said)), SignatureState::Bad { why });

    // Signed anew by somebody who is trusted too: the entry names the first key.
    let anew = signed_commit(bare.as_bytes(), &second).unwrap();
    assert!(matches!(verify(&anew, &allowed), SignatureState::Good { .. }));
    let why = BadSignature::OtherKey { said: said.key.clone(), found: second.public_key().fingerprint() };
    assert_eq!(verify(&anew, &allowed).held_against(Some(&said)), SignatureState::Bad { why });

    let twice = signed_commit(commit.as_bytes(), &first).unwrap();
    assert_eq!(verify(&twice, &allowed), SignatureState::Bad { why: BadSignature::Several });
    let pgp = commit.replace("SSH SIGNATURE", "PGP SIGNATURE");
    let why = BadSignature::Kind("no SSH signature".to_owned());
    assert_eq!(verify(pgp.as_bytes(), &allowed), SignatureState::Bad { why });
}

#[derive(Debug)]
struct Refuses<S>(S);

impl<S: Signer> Signer for Refuses<S> {
    fn public_key(&self) -> &asfound_journal::sign::PublicKey {
        self.0.public_key()
    }

    fn sign_bytes(&self, _: &[u8]) -> Result<RawSignature, SignError> {
        Err(SignError::NotInAgent { wanted: self.0.public_key().fingerprint() })
    }
}

/// Signs with a key that is not its own.
#[derive(Debug)]
struct Lies<S, T>(S, T);

impl<S: Signer, T: Signer> Signer for Lies<S, T> {
    fn public_key(&self) -> &asfound_journal::sign::PublicKey {
        self.0.public_key()
    }

    fn sign_bytes(&self, bytes: &[u8]) -> Result<RawSignature, SignError> {
        self.1.sign_bytes(bytes)
    }
}

#[test]
fn nothing_is_filed_when_the_key_does_not_sign() {
    let place = Place::new();
    let signer = open(&place.seeded(1), None);
    place.sign(NOON, &signer);
    let lies = Lies(open(&place.seeded(1), None), open(&place.seeded(2), None));
    let refuses = Refuses(signer);
    for signer in [&refuses as &dyn Signer, &lies] {
        let error = place.file(NOON, Some(Signing { signer, meaning: None })).unwrap_err();
        assert!(matches!(error, JournalError::Store(StoreError::Unsigned { .. })), "{error}");
        assert_eq!(error.kind(), FailureKind::Input);
        assert!(error.hint().unwrap().contains("nothing was filed"));
        assert_eq!(filed(&place).entry.number, EntryNumber::FIRST);
    }
    // The journal can be written as before.
    place.file(NOON, None).unwrap();
    place.assert_sound();
}

//! Signatures that were taken away, put in the place of others, or never made.

use asfound_journal::sign::signed_commit;

use crate::keys::{STRANGER, key, made_anew, said, signature, signed_place, trust, unsigned};
use crate::place::git;

#[test]
fn signatures_of_a_trusted_key_are_good() {
    let place = signed_place(|_| 1);
    assert_eq!(said(&place), (vec!["7 checked, sound until 7, lost from none".to_owned()], [7, 0, 0, 0]));
    made_anew(&place, |_, text| text);
    assert_eq!(said(&place).1, [7, 0, 0, 0], "what makes commits anew alters nothing by itself");
}

#[test]
fn without_signatures_nothing_is_amiss() {
    assert_eq!(said(&signed_place(|_| 0)), (vec!["7 checked, sound until 7, lost from none".to_owned()], [0, 0, 0, 7]));
}

#[test]
fn a_signature_that_was_stripped() {
    let place = signed_place(|_| 1);
    made_anew(&place, |entry, text| if entry == 7 { unsigned(&text) } else { text });
    let (lines, counts) = said(&place);
    assert_eq!(
        lines,
        [
            "tampering, entry 7: the entry says that it was signed with EDDA, and the signature is gone",
            "7 checked, sound until 6, lost from 7",
        ]
    );
    assert_eq!(counts, [6, 0, 1, 0]);
}

#[test]
fn a_signature_that_was_stripped_in_the_middle() {
    let place = signed_place(|_| 1);
    made_anew(&place, |entry, text| if entry == 3 { unsigned(&text) } else { text });
    let (lines, counts) = said(&place);
    assert_eq!(
        lines,
        [
            "tampering, entry 3: the entry says that it was signed with EDDA, and the signature is gone",
            // They were made over the id of the commit before.
            "tampering, entry 4: the signature does not fit the entry: one of them was altered",
            "7 checked, sound until 2, lost from 3",
        ]
    );
    assert_eq!(counts, [2, 0, 5, 0]);
}

#[test]
fn a_signature_of_another_entry() {
    let place = signed_place(|_| 1);
    let other = signature(&git(&place.repository(), &["cat-file", "commit", "wren~1"]));
    made_anew(&place, |entry, text| if entry == 7 { text.replace(&signature(&text), &other) } else { text });
    assert_eq!(
        said(&place).0,
        [
            "tampering, entry 7: the signature does not fit the entry: one of them was altered",
            "7 checked, sound until 6, lost from 7",
        ]
    );
}

#[test]
fn a_signature_by_a_stranger_in_the_place_of_the_authors() {
    let place = signed_place(|_| 1);
    let stranger = key(&place, STRANGER);
    made_anew(&place, |entry, text| match entry {
        7 => {
            let text = unsigned(&text);
            String::from_utf8(signed_commit(text.as_bytes(), &stranger).unwrap()).unwrap()
        }
        _ => text,
    });
    let (lines, counts) = said(&place);
    assert_eq!(
        lines,
        [
            "tampering, entry 7: the entry says that it was signed with EDDA, and the signature is by STRANGER",
            "7 checked, sound until 6, lost from 7",
        ]
    );
    assert_eq!(counts, [6, 0, 1, 0]);
}

#[test]
fn an_entry_filed_with_a_strangers_key_and_one_without_any() {
    let (lines, counts) = said(&signed_place(|entry| [1, 1, 1, 1, STRANGER, 0, 1][entry - 1]));
    assert_eq!(
        lines,
        [
            "doubt, entry 5: its signature holds, but the key is not among those that this garage trusts: STRANGER",
            "doubt, entry 6: it is not signed, though entries before it are",
            "7 checked, sound until 7, lost from none",
        ]
    );
    assert_eq!(counts, [5, 1, 0, 1]);
}

#[test]
fn an_entry_that_is_signed_by_somebody_else_than_its_author() {
    let place = signed_place(|entry| if entry == 4 { 2 } else { 1 });
    trust(&place, "rolf@workshop.example", &key(&place, 2));
    let (lines, counts) = said(&place);
    assert_eq!(
        lines,
        [
            "remark, entry 4: it is signed by rolf@workshop.example, who is not its author",
            "7 checked, sound until 7, lost from none",
        ]
    );
    assert_eq!(counts, [7, 0, 0, 0]);
}

/// Of every character of a signature, and of every character of what it is made over, but for those that change nothing.
#[test]
fn an_altered_character_of_a_signature() {
    let place = signed_place(|_| 1);
    let text = git(&place.repository(), &["cat-file", "commit", "wren"]);
    let from = text.find("gpgsig ").unwrap() + "gpgsig -----BEGIN SSH SIGNATURE-----\n ".len();
    let until = text.find("-----END SSH").unwrap();
    let mut tried = 0;
    for at in (from..until).filter(|&at| text.as_bytes()[at].is_ascii_alphanumeric()).step_by(7) {
        let mut altered = text.clone().into_bytes();
        altered[at] = if altered[at] == b'A' { b'B' } else { b'A' };
        let altered = String::from_utf8(altered).unwrap();
        made_anew(&place, |entry, text| if entry == 7 { altered.clone() } else { text });
        assert_eq!(said(&place).1, [6, 0, 1, 0], "at {at}");
        tried += 1;
    }
    assert!(tried > 20, "{tried}");
}

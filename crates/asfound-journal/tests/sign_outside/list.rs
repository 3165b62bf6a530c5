//! Lists of signers, held against `ssh-keygen`: it and this crate must trust the same keys.

use std::fs::File;

use asfound_journal::sign::{SignatureState, Signer, verify};
use asfound_journal::store::Store;

use crate::support::{EDDA, NOON, Place, apart, command, has, list, open};

/// Lines with the keys in place of `KEY` and `OTHER`. The entry is of noon on 14 March 2026, +01:00.
const LINES: [&str; 30] = [
    "edda@workshop.example KEY",
    "edda@workshop.example KEY edda in the workshop",
    "  edda@workshop.example   KEY",
    "edda@workshop.example\tKEY",
    "*@workshop.example KEY",
    "*@workshop.example,!edda@workshop.example KEY",
    "a@b.example,edda@workshop.example KEY",
    "\"edda@workshop.example\" KEY",
    "edda@workshop.example OTHER",
    "edda@workshop.example namespaces=\"git\" KEY",
    "edda@workshop.example namespaces=\"file,git\" KEY",
    "edda@workshop.example namespaces=\"file\" KEY",
    "edda@workshop.example namespaces=\"*,!git\" KEY",
    "edda@workshop.example NameSpaces=\"g?t\" KEY",
    "edda@workshop.example cert-authority KEY",
    "edda@workshop.example valid-after=\"20260314Z\" KEY",
    "edda@workshop.example valid-after=\"20260315Z\" KEY",
    "edda@workshop.example valid-after=\"20260314110000Z\" KEY",
    "edda@workshop.example valid-after=\"20260314110001Z\" KEY",
    "edda@workshop.example valid-before=\"20260314110000Z\" KEY",
    "edda@workshop.example valid-before=\"20260314105959Z\" KEY",
    "edda@workshop.example valid-before=\"202603141100Z\" KEY",
    "edda@workshop.example valid-after=\"20260101Z\",valid-before=\"20261231Z\",namespaces=\"git\" KEY",
    "edda@workshop.example valid-after=\"2026\" KEY",
    "edda@workshop.example namespaces=git KEY",
    "edda@workshop.example unheard-of KEY",
    "edda@workshop.example namespaces=\"git\",namespaces=\"git\" KEY",
    "edda@workshop.example",
    "KEY",
    "# edda@workshop.example KEY",
];

#[test]
fn the_same_keys_are_trusted() {
    if !has("ssh-keygen") {
        return;
    }
    let place = Place::new();
    let (signer, other) = (open(&place.seeded(1), None), open(&place.seeded(2), None));
    let commit = place.garage.store().commit_text(&place.sign(NOON, &signer)).unwrap();
    let (signature, payload) = apart(&commit);
    let [signature_file, payload_file, list_file] = ["signature", "payload", "list"].map(|name| place.at(name));
    std::fs::write(&signature_file, signature).unwrap();
    std::fs::write(&payload_file, payload).unwrap();
    let mut good = 0;
    let keys = [("KEY", signer.public_key().to_line()), ("OTHER", other.public_key().to_line())];
    for line in LINES {
        let line = keys.iter().fold(line.to_owned(), |line, (name, key)| line.replace(name, key));
        std::fs::write(&list_file, format!("# keys\n\n{line}\n")).unwrap();
        let mut keygen = command("ssh-keygen");
        keygen.args(["-Y", "verify", "-n", "git", "-Overify-time=20260314110000Z", "-I", EDDA, "-f"]);
        keygen.arg(&list_file).arg("-s").arg(&signature_file).stdin(File::open(&payload_file).unwrap());
        let theirs = keygen.output().unwrap().status.success();
        let state = verify(&commit, &list(&["# keys".to_owned(), line.clone()]));
        // `ssh-keygen` is asked for one name, so that a name which a line refuses counts as not trusted.
        let ours = matches!(&state, SignatureState::Good { principal, .. } if principal == EDDA);
        assert_eq!(ours, theirs, "{line}: {state:?}");
        good += u32::from(ours);
    }
    assert!(good > 10, "{good}");
}

#[test]
fn lines_that_cannot_be_read_are_named_and_trust_nobody() {
    let place = Place::new();
    let key = open(&place.seeded(1), None).public_key().to_line();
    let list = list(&[format!("a@b.example {key}"), "nonsense".to_owned(), format!("a valid-after=\"x\" {key}")]);
    assert_eq!(list.signers().count(), 1);
    let problems: Vec<_> = list.problems().iter().map(|(line, problem)| format!("{line}: {problem}")).collect();
    assert_eq!(problems, ["2: the key is missing", "3: invalid time `x` for `valid-after`"]);
}

#[test]
fn a_name_with_a_space_is_written_so_that_openssh_reads_it() {
    if !has("ssh-keygen") {
        return;
    }
    let place = Place::new();
    let signer = open(&place.seeded(1), None);
    let commit = place.sign(NOON, &signer);
    let named = "Edda Brandt".parse().unwrap();
    let allowed = asfound_journal::sign::AllowedSigner::new(&named, signer.public_key().clone());
    place.garage.trust(&allowed).unwrap();
    let said = place.git_verifies(commit.as_str()).unwrap();
    assert!(said.contains("Good \"git\" signature for Edda Brandt"), "{said}");
    assert!(matches!(place.state(&commit), SignatureState::Good { principal, .. } if principal == "Edda Brandt"));
    // What a person wrote beside it stays, and the line is read as it was written.
    let file = place.at("garage/allowed_signers");
    let text = format!("# our keys\n{}", std::fs::read_to_string(&file).unwrap());
    std::fs::write(&file, &text).unwrap();
    place.garage.trust(&allowed).unwrap();
    assert_eq!(std::fs::read_to_string(&file).unwrap(), text);
    let read = place.garage.allowed_signers().unwrap();
    assert_eq!(read.signers().collect::<Vec<_>>(), [&allowed]);
}

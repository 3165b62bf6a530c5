//! Keys and signatures as a program sees them. That git and OpenSSH accept them is held in the journal's own tests.

use std::process::{Command, Stdio};

use asfound_tests::Workshop;
use asfound_tests::json::{Entries, Entry, KeyStopped, KeyTrusted, KeyUsed, Keys, Sheet};

/// Makes a key in the workshop's folder; says so where `ssh-keygen` is missing.
fn key(shop: &Workshop, name: &str) -> bool {
    let mut keygen = Command::new("ssh-keygen");
    keygen.args(["-q", "-t", "ed25519", "-N", "", "-C", "edda in the workshop", "-f"]);
    let made = keygen.arg(shop.folder().join(name)).stdin(Stdio::null()).status();
    if made.is_err() {
        #[allow(clippy::print_stderr, reason = "whoever runs the tests has to know that this one checked nothing")]
        {
            eprintln!("NOT CHECKED: this test needs ssh-keygen, which is not there");
        }
    }
    made.is_ok_and(|status| status.success())
}

#[test]
fn keys_are_told_in_json() {
    let mut shop = Workshop::with_wren();
    if !key(&shop, "own") || !key(&shop, "other") {
        return;
    }
    assert_eq!(shop.json::<Keys>("key list").signing, None);
    let used = shop.json::<KeyUsed>("key use ./own");
    assert_eq!((used.kind.as_str(), used.principals.as_str()), ("Ed25519", "edda@workshop.example"));
    assert_eq!(used.replaced, None);
    assert_eq!(shop.run("note wren 'horn sounds hoarse'").exit, 0);
    assert_eq!(shop.run("note wren 'looked at it' --on 3 --released").exit, 0);
    let trust = "key trust ./other.pub --name ole@workshop.example --from 2026-01-01 --until 2026-06-30";
    let trusted = shop.json::<KeyTrusted>(trust).key;
    assert_eq!(trusted.from.as_deref(), Some("2025-12-31T23:00:00Z"));
    assert_eq!(trusted.until.as_deref(), Some("2026-06-30T22:59:59Z"));
    assert_eq!(trusted.comment, "edda in the workshop");
    let list = shop.garage().join("allowed_signers");
    std::fs::write(&list, std::fs::read_to_string(&list).unwrap() + "nonsense\n").unwrap();
    let keys = shop.json::<Keys>("key list");
    assert_eq!(keys.signing.unwrap().key, used.key);
    assert_eq!((keys.trusted.len(), keys.trusted[1].clone(), keys.problems[0].line), (2, trusted, 3));
    assert!(shop.run("key list").done().out.contains("line 3"));

    let signed = shop.json::<Entry>("entry wren 4").entry.signature;
    assert_eq!((signed.state.as_str(), signed.meaning.as_deref()), ("good", Some("released")));
    assert_eq!((signed.key.as_deref(), signed.by_author), (Some(used.key.as_str()), true));
    let states: Vec<String> =
        shop.json::<Entries>("entries wren").entries.into_iter().map(|entry| entry.signature.state).collect();
    assert_eq!(states, ["missing", "missing", "good", "good"]);

    let again = shop.json::<KeyUsed>("key use ./other");
    assert_eq!(again.replaced.as_ref(), Some(&used.key));
    assert_eq!(shop.json::<KeyStopped>("key stop").was.as_ref(), Some(&again.key));
    assert_eq!(shop.json::<KeyStopped>("key stop").was, None);
}

/// The text without its line breaks.
fn flowed(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// Three people at one bench, each with a key of their own: nobody signs as somebody else without saying so.
#[test]
fn each_signs_with_their_own_key() {
    let mut shop = Workshop::with_wren();
    if !key(&shop, "edda") || !key(&shop, "ole") {
        return;
    }
    let ole = "--author 'Ole Quist <ole@workshop.example>'";
    // One key for a whole garage signs nobody else's entries.
    let _ = shop.run("key use ./edda").done();
    assert_eq!(shop.run("note wren 'by the one whose key it is'").exit, 0);
    let refused = shop.run(&format!("{ole} note wren 'by another'"));
    assert_eq!(refused.exit, 3, "{}", refused.err);
    assert!(flowed(&refused.err).contains("the key that would sign it is edda@workshop.example's"), "{}", refused.err);
    assert_eq!(shop.run(&format!("{ole} --as-said note wren 'for another'")).exit, 0);
    let entry = shop.json::<Entry>("entry wren 4").entry;
    assert_eq!((entry.signature.state.as_str(), entry.signature.by_author), ("good", false));
    // The sheet does not say of it that its author signed.
    let sheet = shop.run("handover wren --from 2 --to 4").done().out;
    assert!(flowed(&sheet).contains("signed with another person's key"), "{sheet}");
    let sheet = shop.json::<Sheet>("handover wren --from 2 --to 4");
    let last = sheet.signatures.last().unwrap();
    assert_eq!((last.standing.as_str(), last.signer.as_deref()), ("for-another", Some("edda@workshop.example")));
    assert!(sheet.limits.iter().any(|limit| limit.limit == "signed-for-another"), "{:?}", sheet.limits);

    // Each with their own.
    let _ = shop.run("key use ./edda --own").done();
    let _ = shop.run(&format!("{ole} --as-said key use ./ole --own")).done();
    let filed = shop.run(&format!("{ole} note wren 'by Ole'"));
    assert!(flowed(&filed.out).contains("By Ole Quist <ole@workshop.example>, signed with SHA256:"), "{filed}");
    assert_eq!(shop.run("--author quist note wren 'by Ole, in short'").exit, 0);
    for number in [5, 6] {
        let entry = shop.json::<Entry>(&format!("entry wren {number}")).entry;
        assert_eq!((entry.author.name.as_str(), entry.signature.by_author), ("Ole Quist", true), "{number}");
    }
    let keys = shop.json::<Keys>("key list");
    assert_eq!(keys.people.len(), 2);
    // A name that nobody here has is asked about, and nothing is filed.
    let stranger = shop.run("--author Olle note wren 'a slip'");
    assert_eq!(stranger.exit, 3, "{}", stranger.err);
    assert!(flowed(&stranger.err).contains("is none of the people that this garage knows"), "{}", stranger.err);
    // A part is the beginning of a word, and nobody becomes somebody else by letters in the middle.
    assert_eq!(shop.run("--author uis note wren x").exit, 3);
    // So is one that two of them may be.
    assert!(flowed(&shop.run("--author workshop.example note wren x").err).contains("may be several of the people"));
    assert_eq!(shop.json::<Entries>("entries wren").entries.len(), 6);
    let _ = shop.run("audit wren").done();
}

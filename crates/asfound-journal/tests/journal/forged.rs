//! Objects that are sound as git goes, but that no program of ours would write.

use std::io::Write;
use std::process::Stdio;

use asfound_journal::store::{Commit, CommitId, Store, StoreError};

use crate::support::{Place, append_until_filed, git_command, tag};

/// Writes an object, whatever is in it.
fn forge(place: &Place, kind: &str, bytes: &[u8]) -> String {
    let mut child = git_command(&place.repository())
        .args(["hash-object", "-t", kind, "-w", "--literally", "--stdin"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(bytes).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout).unwrap().trim().to_owned()
}

fn read(place: &Place, id: &str) -> Result<Commit, StoreError> {
    place.reopened().commit(&id.parse().unwrap())
}

/// A place with one entry, and the ids of its tree and of a blob.
fn one_entry() -> (Place, String, String) {
    let place = Place::new();
    append_until_filed(place.garage.store(), &tag("wren"), "enrolled");
    let id = |name: &str| place.git_text(&["rev-parse", name]).trim().to_owned();
    let (tree, blob) = (id("wren^{tree}"), id("wren:entry.toml"));
    (place, tree, blob)
}

#[test]
fn odd_commits_are_read_or_reported() {
    let (place, tree, _) = one_entry();
    let person = "A B <a@b.example> 1000 +0100";
    let head = format!("tree {tree}\nauthor {person}\ncommitter {person}\n");

    // Without a message; with an empty one; with headers that are unknown here.
    for (rest, message) in [("\n", ""), ("\nm", "m"), ("encoding x\nzzz y\n z\n\nm\n", "m\n")] {
        let commit = read(&place, &forge(&place, "commit", format!("{head}{rest}").as_bytes())).unwrap();
        assert_eq!((commit.message.as_str(), commit.author.name()), (message, "A B"));
    }
    let mut bytes = head.clone().into_bytes();
    bytes.extend_from_slice(b"\n\xFF\xFE m");
    assert_eq!(read(&place, &forge(&place, "commit", &bytes)).unwrap().message, "\u{FFFD}\u{FFFD} m");

    let people = [
        "",
        " ",
        "<>",
        " <> ",
        "A",
        "A <",
        "A <a",
        "A <a>",
        "A <a> ",
        "A <a> x",
        "A <a> -1 +0000",
        "A <a> 1 +9999",
        "A <a> 1 -99999999",
        "A <a> 99999999999 +0000",
        "A <a> 99999999999999999999999 +0000",
        "A <a> 1 0",
        "A <a> 1 +",
        "> <",
        "A\u{FFFD} <a> 1 +0000",
        "A <a> 9223372036854775807 +0000",
    ];
    let mut answers = [0, 0];
    for person in people {
        for text in [
            format!("tree {tree}\nauthor {person}\ncommitter {person}\n\nm\n"),
            format!("tree {tree}\nauthor A B <a@b.example> 1000 +0100\ncommitter {person}\n\nm\n"),
        ] {
            let id = forge(&place, "commit", text.as_bytes());
            match read(&place, &id) {
                Ok(commit) => {
                    answers[0] += 1;
                    assert_eq!(commit.message, "m\n");
                }
                Err(StoreError::Damaged { object, .. }) => {
                    answers[1] += 1;
                    assert_eq!(object, format!("commit {id}"));
                }
                Err(error) => panic!("{person:?}: {error:?}"),
            }
        }
    }
    assert!(answers[0] > 0 && answers[1] > 0, "{answers:?}");

    for text in
        ["", "x", "tree", &format!("tree {tree}"), &format!("tree {tree}\n"), &format!("tree {tree}\nparent x\n")]
    {
        let id = forge(&place, "commit", text.as_bytes());
        let error = read(&place, &id).unwrap_err();
        assert!(
            matches!(&error, StoreError::Damaged { object, .. } if *object == format!("commit {id}")),
            "{text:?}: {error:?}"
        );
    }
}

#[test]
fn of_several_parents_the_first_counts() {
    let (place, tree, _) = one_entry();
    let other = append_until_filed(place.garage.store(), &tag("rook"), "another");
    let first = place.garage.store().tip(&tag("wren")).unwrap().unwrap();
    let person = "A B <a@b.example> 1000 +0100";
    let people = format!("author {person}\ncommitter {person}\n\nmerge\n");
    let merge = forge(&place, "commit", format!("tree {tree}\nparent {first}\nparent {other}\n{people}").as_bytes());
    place.git_text(&["update-ref", "refs/heads/wren", &merge]);
    let line = place.garage.store().line(&tag("wren")).unwrap();
    assert_eq!(line.iter().map(CommitId::as_str).collect::<Vec<_>>(), [first.as_str(), &merge]);
    assert_eq!(read(&place, &merge).unwrap().parent, Some(first));

    // A parent that is not there, or is no commit.
    let none = "0123456789abcdef0123456789abcdef01234567";
    for parent in [none, &tree] {
        let child = forge(&place, "commit", format!("tree {tree}\nparent {parent}\n{people}").as_bytes());
        std::fs::write(place.repository().join("refs/heads/wren"), format!("{child}\n")).unwrap();
        let error = place.reopened().line(&tag("wren")).unwrap_err();
        assert!(error.to_string().starts_with(&format!("commit {parent} is ")), "{error}");
    }
}

/// What becomes of a folder's listing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum As {
    Readable,
    /// Whole, and not as this program or git would write it: somebody made it so.
    Odd,
    Damaged,
}

#[test]
fn odd_listings_are_read_or_reported() {
    let (place, tree, blob) = one_entry();
    let raw = |id: &str| (0..20).map(|n| u8::from_str_radix(&id[2 * n..2 * n + 2], 16).unwrap()).collect::<Vec<u8>>();
    let line = |mode: &str, name: &[u8], id: &str| [mode.as_bytes(), b" ", name, b"\0", &raw(id)].concat();
    let commit = |tree: &str| {
        let person = "A B <a@b.example> 1000 +0100";
        forge(&place, "commit", format!("tree {tree}\nauthor {person}\ncommitter {person}\n\nm\n").as_bytes())
    };
    let none = "0123456789abcdef0123456789abcdef01234567";
    let zero = "0".repeat(40);
    let listings: Vec<(&str, Vec<u8>, As)> = vec![
        ("empty", vec![], As::Readable),
        ("one file", line("100644", b"a", &blob), As::Readable),
        (
            "odd but readable names",
            [line("100644", b"..", &blob), line("100644", b".git", &blob)].concat(),
            As::Readable,
        ),
        ("a file twice", [line("100644", b"a", &blob), line("100644", b"a", &blob)].concat(), As::Odd),
        ("a name that is not UTF-8", line("100644", b"\xFF", &blob), As::Odd),
        ("a program", line("100755", b"a", &blob), As::Odd),
        ("a link", line("120000", b"a", &blob), As::Odd),
        ("another repository", line("160000", b"a", &blob), As::Odd),
        ("an odd mode", line("100664", b"a", &blob), As::Odd),
        ("a folder as a file", line("40000", b"a", &blob), As::Damaged),
        ("a folder that is not there", line("40000", b"a", none), As::Damaged),
        ("a folder of no id", line("40000", b"a", &zero), As::Damaged),
        ("no name", line("100644", b"", &blob), As::Damaged),
        ("no mode", line("", b"a", &blob), As::Damaged),
        ("cut short", line("100644", b"a", &blob)[..20].to_vec(), As::Damaged),
        ("nonsense", b"nonsense".to_vec(), As::Damaged),
    ];
    for (what, bytes, expected) in listings {
        let tree = forge(&place, "tree", &bytes);
        let (found, object) = match read(&place, &commit(&tree)) {
            Ok(_) => (As::Readable, tree.clone()),
            Err(StoreError::OddTree { object, .. }) => (As::Odd, object),
            Err(StoreError::Damaged { object, .. } | StoreError::Missing { object }) => (As::Damaged, object),
            Err(error) => panic!("{what}: {error:?}"),
        };
        assert_eq!(found, expected, "{what}");
        assert!([tree.as_str(), none, &blob, &zero].iter().any(|id| object.ends_with(id)), "{what}: {object}");
    }
    // Folders within folders, beyond any use.
    let mut deep = tree;
    for _ in 0..70 {
        deep = forge(&place, "tree", &line("40000", b"d", &deep));
    }
    let error = read(&place, &commit(&deep)).unwrap_err();
    assert!(matches!(&error, StoreError::OddTree { detail, .. } if detail.contains("64 folders")), "{error:?}");
}

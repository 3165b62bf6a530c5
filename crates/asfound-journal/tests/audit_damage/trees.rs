//! Trees that no program that keeps to the format writes: whole objects, and not what the format has. That is tampering and
//! not damage, to the audit and to `tests/oracles/verify.py`.

use std::io::Write;
use std::process::{Command, Stdio};

use crate::place::{Place, git};
use crate::sheets::{audit_of, lines};

/// A tree, line by line: mode, name, the 20 bytes of the id.
pub(crate) type Lines = Vec<(String, String, Vec<u8>)>;

/// A way to alter the root tree of the newest entry, and a part of what the audit says of it.
type Odd = (&'static str, fn(&mut Lines), &'static str);

pub(crate) const ODD: [Odd; 8] = [
    ("a symbolic link", |lines| mode(lines, "120000"), "`blind` is neither a plain file nor a folder (mode 120000)"),
    ("another repository", |lines| mode(lines, "160000"), "`blind` is neither a plain file nor a folder (mode 160000)"),
    ("an executable file", |lines| mode(lines, "100755"), "`blind` is neither a plain file nor a folder (mode 100755)"),
    (
        "a file of the group",
        |lines| mode(lines, "100664"),
        "`blind` is neither a plain file nor a folder (mode 100664)",
    ),
    ("a name twice", |lines| lines.insert(1, lines[0].clone()), "`blind` is out of order or there twice"),
    ("names out of order", |lines| lines.reverse(), "is out of order or there twice"),
    ("a name that leads elsewhere", |lines| "a/blind".clone_into(&mut lines[0].1), "invalid file name `a/blind`"),
    (
        "names that differ in case only",
        |lines| {
            let mut other = lines[0].clone();
            "BLIND".clone_into(&mut other.1);
            lines.insert(0, other);
        },
        "`BLIND` and `blind` differ only in the case of letters",
    ),
];

fn mode(lines: &mut Lines, mode: &str) {
    mode.clone_into(&mut lines[0].0);
}

fn write(place: &Place, kind: &str, content: &[u8]) -> String {
    let mut child = Command::new("git")
        .arg("--git-dir")
        .arg(place.repository())
        .args(["hash-object", "-t", kind, "-w", "--stdin", "--literally"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(content).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    String::from_utf8(output.stdout).unwrap().trim().to_owned()
}

fn lines_of(place: &Place, tree: &str) -> Lines {
    let listed = git(&place.repository(), &["ls-tree", tree]);
    let line = |line: &str| {
        let (head, name) = line.split_once('\t').unwrap();
        let parts: Vec<&str> = head.split(' ').collect();
        let id = (0..40).step_by(2).map(|at| u8::from_str_radix(&parts[2][at..at + 2], 16).unwrap()).collect();
        (parts[0].trim_start_matches('0').to_owned(), name.to_owned(), id)
    };
    listed.lines().map(line).collect()
}

/// Puts an entry with an altered root tree in the place of the newest.
pub(crate) fn with_tree(alter: fn(&mut Lines)) -> Place {
    let place = Place::told();
    let mut lines = lines_of(&place, "wren^{tree}");
    assert_eq!(lines[0].1, "blind");
    alter(&mut lines);
    let content: Vec<u8> = lines
        .iter()
        .flat_map(|(mode, name, id)| [mode.as_bytes(), b" ", name.as_bytes(), b"\0", id.as_slice()].concat())
        .collect();
    let (old, new) = (place.id("wren^{tree}"), write(&place, "tree", &content));
    let commit = git(&place.repository(), &["cat-file", "commit", "wren"]).replace(&old, &new);
    let commit = write(&place, "commit", commit.as_bytes());
    git(&place.repository(), &["update-ref", "refs/heads/wren", &commit]);
    place
}

#[test]
fn an_odd_tree_is_tampering() {
    for (what, alter, says) in ODD {
        let place = with_tree(alter);
        let found = lines(&audit_of(place.garage.store(), "wren"));
        assert!(found.iter().all(|line| !line.starts_with("unreadable")), "{what}: {found:?}");
        let named = found.iter().filter(|line| line.starts_with("tampering, entry 7: ") && line.contains(says));
        assert_eq!(named.count(), 1, "{what}: {found:?}");
        assert_eq!(found.last().unwrap(), "7 checked, sound until 6, lost from 7", "{what}");
    }
}

/// It is said once, and no entry is blamed for what it has not.
#[test]
fn the_entry_after_an_odd_tree_is_looked_at_by_itself() {
    let place = with_tree(ODD[0].1);
    let commit = place.id("wren");
    let sound = place.id("wren~1^{tree}");
    let text = git(&place.repository(), &["cat-file", "commit", "wren"]);
    let text = text.replace(&place.id("wren^{tree}"), &sound).replace(&place.id("wren~1"), &commit);
    let next = write(&place, "commit", text.as_bytes());
    git(&place.repository(), &["update-ref", "refs/heads/wren", &next]);
    let found = lines(&audit_of(place.garage.store(), "wren"));
    assert_eq!(found.iter().filter(|line| line.contains("mode 120000")).count(), 1, "{found:?}");
    assert!(!found.iter().any(|line| line.starts_with("unreadable")), "{found:?}");
}

//! Commits that do not agree with the entries in them.

use std::io::Write;
use std::process::{Command, Stdio};

use asfound_journal::store::Author;

use crate::place::{Place, git};
use crate::sheets::{audit_of, audited, lines, told};

#[test]
fn another_author_and_another_time() {
    let mut sheets = told();
    sheets[6].author = Author::new("Rolf Maas", "edda@workshop.example").unwrap();
    sheets[5].when += time::Duration::minutes(1);
    let edda = "Edda Brandt <edda@workshop.example>";
    let rolf = "Rolf Maas <edda@workshop.example>";
    assert_eq!(
        lines(&audited(&sheets)),
        [
            "tampering, entry 6: its commit is dated 2026-03-14T14:21:00+01:00, the entry 2026-03-14T14:20:00+01:00",
            &format!("tampering, entry 7: its commit names `{rolf}` as the author, the entry `{edda}`"),
            &format!(
                "tampering, entry 7: its commit was made by `{rolf}`, the entry by `{edda}`: another program has \
                 rewritten the commit"
            ),
            "7 checked, sound until 5, lost from 6",
        ]
    );
}

#[test]
fn another_message() {
    let mut sheets = told();
    sheets[2].message = "3 change of nothing\n\nthe owner wants six\n".to_owned();
    sheets[3].message = "all is well\n".to_owned();
    assert_eq!(
        lines(&audited(&sheets)),
        [
            "doubt, entry 3: its commit's message gives another reason than the entry",
            // Nor does it give the reason; but that goes on from entry 3.
            "doubt, entry 4: its commit's message begins with `all is well` and not with `4 note`",
            "7 checked, sound until 7, lost from none",
        ]
    );
}

/// Puts a commit in the place of the newest: its text with one text for another.
fn rewritten(from: &str, to: &str) -> Vec<String> {
    let place = Place::told();
    let text = git(&place.repository(), &["cat-file", "commit", "wren"]);
    assert!(text.contains(from), "{text}");
    let mut child = Command::new("git")
        .arg("--git-dir")
        .arg(place.repository())
        .args(["hash-object", "-t", "commit", "-w", "--stdin"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(text.replacen(from, to, 1).as_bytes()).unwrap();
    let output = child.wait_with_output().unwrap();
    assert!(output.status.success());
    let id = String::from_utf8(output.stdout).unwrap();
    git(&place.repository(), &["update-ref", "refs/heads/wren", id.trim()]);
    lines(&audit_of(place.garage.store(), "wren"))
}

#[test]
fn a_second_parent() {
    let place = Place::told();
    let first = place.id("wren~6");
    assert_eq!(
        rewritten("\nauthor", &format!("\nparent {first}\nauthor")),
        [
            "tampering, entry 7: its commit has 2 parents; an entry follows one other",
            "7 checked, sound until 6, lost from 7",
        ]
    );
}

#[test]
fn a_committer_of_its_own() {
    let edda = "Edda Brandt <edda@workshop.example>";
    assert_eq!(
        rewritten("committer Edda Brandt", "committer Rolf Maas"),
        [
            &format!(
                "tampering, entry 7: its commit was made by `Rolf Maas <edda@workshop.example>`, the entry by `{edda}`: \
                 another program has rewritten the commit"
            ),
            "7 checked, sound until 6, lost from 7",
        ]
    );
}

#[test]
fn a_field_that_commits_of_entries_have_not() {
    assert_eq!(
        rewritten("\n\n", "\nencoding latin-1\n\n"),
        [
            "doubt, entry 7: its commit has the field `encoding`, which commits of entries have not",
            "7 checked, sound until 7, lost from none",
        ]
    );
}

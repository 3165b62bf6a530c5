//! Files of one entry that were altered.

use asfound_journal::manifest::MANIFEST_PATH;

use crate::sheets::{Sheet, audited, lines, told};

/// Alters entry `at` (counted from 1), its manifest left as it was or made anew, and expects the findings.
fn altered(at: usize, listed: bool, change: impl FnOnce(&mut Sheet), wanted: &[&str]) {
    let mut sheets = told();
    change(&mut sheets[at - 1]);
    if listed {
        sheets[at - 1].list();
    }
    assert_eq!(lines(&audited(&sheets)), wanted);
}

const LOST_AT_3: &str = "7 checked, sound until 2, lost from 3";
const CHAIN: &str = "tampering, entry 4: it was filed after another entry 3 than the one that stands before it";

#[test]
fn a_module_with_the_manifest_made_anew() {
    altered(
        3,
        true,
        |sheet| sheet.replace("modules/body.toml", "05 10", "06 10"),
        &["tampering, entry 3: `modules/body.toml` does not say what the entries give", CHAIN, LOST_AT_3],
    );
}

#[test]
fn a_decoded_value_with_the_manifest_made_anew() {
    altered(
        3,
        true,
        |sheet| sheet.replace("modules/body.toml", "lane_change_flashes = \"5\"", "lane_change_flashes = \"4\""),
        &["tampering, entry 3: `modules/body.toml` does not say what the entries give", CHAIN, LOST_AT_3],
    );
}

#[test]
fn words_with_the_manifest_made_anew() {
    altered(
        3,
        true,
        |sheet| sheet.replace("entry.toml", "the owner wants five", "the owner wants four"),
        &["doubt, entry 3: its commit's message gives another reason than the entry", CHAIN, LOST_AT_3],
    );
}

#[test]
fn what_was_found_with_the_manifest_made_anew() {
    altered(
        3,
        true,
        |sheet| sheet.replace("entry.toml", "found = \"03 10\"", "found = \"04 10\""),
        &[
            "tampering, entry 3: what it says was found in body 0D01 is not what the entries before it give",
            CHAIN,
            LOST_AT_3,
        ],
    );
}

#[test]
fn evidence_that_was_replaced() {
    altered(
        3,
        false,
        |sheet| sheet.put("evidence/3/paper.txt", "no order\n"),
        &[
            // SHA-256 by `printf 'no order\n' | sha256sum`.
            "tampering, entry 3: `evidence/3/paper.txt` is not what the manifest says: its SHA-256 is \
             0c9c710a24be5cebe372cd720f7d3b6406a7cd3ddfef649481b6343a39d96588",
            LOST_AT_3,
        ],
    );
    altered(3, true, |sheet| sheet.put("evidence/3/paper.txt", "no order\n"), &[CHAIN, LOST_AT_3]);
}

#[test]
fn files_that_are_there_or_not_there_against_the_manifest() {
    altered(
        3,
        false,
        |sheet| {
            sheet.files.remove("evidence/3/paper.txt");
            sheet.put("evidence/3/paper-2.txt", "no order\n");
        },
        &[
            "tampering, entry 3: `evidence/3/paper.txt` is in the manifest and not among the files",
            "tampering, entry 3: `evidence/3/paper-2.txt` is not in the manifest",
            LOST_AT_3,
        ],
    );
}

#[test]
fn files_that_no_entry_has() {
    altered(
        7,
        true,
        |sheet| {
            sheet.put("notes.txt", "x");
            sheet.put("modules/Body.toml", "x");
            sheet.put("modules/chimes.toml", "x");
            sheet.put("evidence/2/paper.txt", "battery at 12.6 V\n");
        },
        &[
            "tampering, entry 7: `evidence/2/paper.txt` is evidence of another entry",
            "tampering, entry 7: `modules/Body.toml` and `modules/body.toml` differ only in the case of letters",
            "doubt, entry 7: unexpected file `notes.txt`: entries have no such file",
            "doubt, entry 7: unexpected file `modules/Body.toml`: entries have no such file",
            "tampering, entry 7: `modules/chimes.toml` is about a module that no entry mentions",
            "7 checked, sound until 6, lost from 7",
        ],
    );
}

#[test]
fn files_that_every_entry_has() {
    for path in ["blind", "entry.toml", "vehicle.toml"] {
        altered(
            7,
            true,
            |sheet| drop(sheet.files.remove(path)),
            &[&format!("tampering, entry 7: it has no file `{path}`"), "7 checked, sound until 6, lost from 7"],
        );
    }
    altered(
        7,
        false,
        |sheet| drop(sheet.files.remove(MANIFEST_PATH)),
        &["tampering, entry 7: it has no file `manifest`", "7 checked, sound until 6, lost from 7"],
    );
}

#[test]
fn files_that_the_entries_give() {
    altered(
        7,
        true,
        |sheet| {
            sheet.files.remove("modules/doors.toml");
            sheet.files.remove("trouble-codes.toml");
            sheet.files.remove("definitions/invented-body.toml");
        },
        &[
            "tampering, entry 7: `definitions/invented-body.toml`, which the entry before had, is gone",
            "tampering, entry 7: `modules/body.toml` names the definition `invented-body`, which does not lie beside it",
            "tampering, entry 7: `modules/doors.toml` is not there, though the entries tell of the module",
            "tampering, entry 7: `trouble-codes.toml` is not there, though modules were scanned",
            "7 checked, sound until 6, lost from 7",
        ],
    );
    altered(
        7,
        true,
        |sheet| sheet.replace("trouble-codes.toml", "B1234", "B1235"),
        &[
            "tampering, entry 7: `trouble-codes.toml` does not say what the entries give",
            "7 checked, sound until 6, lost from 7",
        ],
    );
    altered(
        7,
        true,
        |sheet| sheet.replace("vehicle.toml", "enrolled = \"2026", "enrolled = \"2025"),
        &[
            "tampering, entry 7: `vehicle.toml` was altered after the enrolment",
            "7 checked, sound until 6, lost from 7",
        ],
    );
}

#[test]
fn a_definition_that_was_altered() {
    let path = "definitions/invented-body.toml";
    altered(
        7,
        true,
        |sheet| sheet.replace(path, "bits = 3", "bits = 1"),
        &[
            "tampering, entry 7: `modules/body.toml` does not say what the entries give",
            "7 checked, sound until 6, lost from 7",
        ],
    );
    altered(
        7,
        true,
        |sheet| sheet.replace(path, "module = \"body\"", "module = \"doors\""),
        &[
            "tampering, entry 7: `modules/body.toml` names the definition `invented-body`, which is not for this module",
            "7 checked, sound until 6, lost from 7",
        ],
    );
    altered(
        7,
        true,
        |sheet| sheet.replace(path, "id = \"invented-body\"", "id = \"other\""),
        &[
            "tampering, entry 7: `definitions/invented-body.toml` holds the definition `other`",
            "7 checked, sound until 6, lost from 7",
        ],
    );
    altered(
        7,
        true,
        |sheet| sheet.replace(path, "length = 2", "length = 0"),
        &[
            "tampering, entry 7: `definitions/invented-body.toml` is not a definition: line 9, column 10: records.0D01.length: \
             a record has 1 to 4095 bytes, not 0",
            "7 checked, sound until 6, lost from 7",
        ],
    );
}

#[test]
fn what_a_newer_version_wrote_is_unreadable_and_not_tampering() {
    for (path, format) in [
        ("entry.toml", "asfound-entry/"),
        ("vehicle.toml", "asfound-vehicle/"),
        ("definitions/invented-body.toml", "asfound-definition/"),
    ] {
        altered(
            7,
            true,
            |sheet| sheet.replace(path, &format!("{format}1"), &format!("{format}9")),
            &[
                &format!("unreadable, entry 7: `{path}` has the format `{format}9`, which this version does not know"),
                "7 checked, sound until 6, lost from 7",
            ],
        );
    }
}

#[test]
fn files_that_are_not_of_their_form() {
    altered(
        7,
        true,
        |sheet| sheet.replace("blind", "\n", ""),
        &[
            "tampering, entry 7: the file `blind` does not hold 64 lower-case hexadecimal digits and a line end",
            "7 checked, sound until 6, lost from 7",
        ],
    );
    altered(
        7,
        false,
        |sheet| {
            let text = sheet.text(MANIFEST_PATH);
            let (first, rest) = text.split_once('\n').unwrap();
            sheet.put(MANIFEST_PATH, &format!("{rest}{first}\n"));
        },
        &[
            "tampering, entry 7: line 7 of the manifest: `blind` is out of order: lines are sorted by path, each path once",
            "7 checked, sound until 6, lost from 7",
        ],
    );
    altered(
        7,
        true,
        |sheet| sheet.replace("entry.toml", "kind = \"reading\"", "kind = \"note\""),
        &[
            "tampering, entry 7: entry.toml: an entry of kind `note` needs its own section and no other",
            "7 checked, sound until 6, lost from 7",
        ],
    );
}

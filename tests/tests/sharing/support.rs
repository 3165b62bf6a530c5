//! Two benches that share journals.

use std::path::Path;

use asfound_tests::json::{Entries, Shared, SharedJournal};
use asfound_tests::{Workshop, plain_git};

/// The program as a process.
pub(crate) const BINARY: &str = env!("CARGO_BIN_EXE_asfound-under-test");

/// A workshop whose garage has shared its one journal, `wren` with two entries, with `./cars.git`; and a second garage,
/// `./two`, that has taken it over from there, with the same definitions.
pub(crate) fn two_benches() -> Workshop {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("share ./cars.git --new").done();
    let _ =
        shop.run("--garage ./two definition keep ./body-1.toml ./body-2.toml ./brakes-1.toml ./cluster-1.toml").done();
    let _ = shop.run("--garage ./two share ./cars.git").done();
    shop
}

/// What sharing the one journal there is came to.
#[track_caller]
pub(crate) fn share(shop: &mut Workshop, garage: &str, place: &str) -> SharedJournal {
    let shared: Shared = shop.json(&format!("--garage ./{garage} share {place}"));
    assert_eq!(shared.journals.len(), 1, "{shared:?}");
    shared.journals.into_iter().next().expect("there is one")
}

/// The kinds and reasons of a journal's entries.
pub(crate) fn reasons(shop: &mut Workshop, garage: &str) -> Vec<String> {
    let entries: Entries = shop.json(&format!("--garage ./{garage} entries wren"));
    entries.entries.into_iter().map(|entry| format!("{} {}: {}", entry.number, entry.kind, entry.why)).collect()
}

/// That a repository is in order for plain git.
#[track_caller]
pub(crate) fn assert_sound(repository: &Path) {
    let output = plain_git::git(repository, &["fsck", "--strict", "--no-dangling"]);
    let said = String::from_utf8_lossy(&output.stderr).into_owned() + &String::from_utf8_lossy(&output.stdout);
    // That the repository's own head is no journal's is worth a notice to git.
    let wrong: Vec<&str> = said.lines().filter(|line| !line.starts_with("notice: ")).collect();
    assert!(output.status.success() && wrong.is_empty(), "{said}");
}

/// Says that something was left out, and why.
#[expect(clippy::print_stderr, reason = "whoever runs the tests has to know what they did not show")]
pub(crate) fn told_to_skip(what: &str) {
    eprintln!("{what}");
}

/// Why the one journal is refused.
pub(crate) fn refusal(shop: &mut Workshop, garage: &str, place: &str) -> (String, String) {
    let ran = shop.run(&format!("--garage ./{garage} share {place} --json"));
    assert_eq!(ran.exit, 3, "{ran}");
    let shared: Shared = serde_json::from_str(&ran.out).expect("it is JSON");
    let refusal = shared.journals.into_iter().find_map(|journal| journal.refusal).expect("one is refused");
    (refusal.kind, refusal.message)
}

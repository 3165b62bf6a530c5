//! What is not shared, and is named.

use asfound_tests::plain_git;
use insta::assert_snapshot;

use crate::support::{reasons, refusal, share, two_benches};

#[test]
fn work_on_what_the_other_has_altered_is_named_and_can_be_set_aside() {
    let mut shop = two_benches();
    let _ = shop.run("--garage ./two change wren body.lane_change_flashes=5 --why 'bench two: five'").done();
    let _ = shop.run("note wren 'bench one: before'").done();
    let _ = shop.run("change wren body.lock_by_horn=on --why 'bench one: horn'").done();
    let _ = share(&mut shop, "two", "./cars.git");
    let before = plain_git::tip(&shop.repository(), "wren");
    let ran = shop.run("share ./cars.git");
    assert_snapshot!(ran, @"
    $ asfound share ./cars.git
    shared with · ./cars.git
    ════════════════════════════════════════════════════════════════════════════════
    VEHICLE   OUTCOME   FROM THERE   FROM HERE
    ──────────────────────────────────────────
    wren      refused            –           –

    note well: entry 4 of `wren` cannot stand behind the entries that were filed
               there meanwhile: it found body:0D01 otherwise than entry 3 left it
    Next: look at both, then `--set-aside wren` takes theirs, keeps yours legible
    beside it, and you file anew what still holds
    --- exit code 3
    ");
    assert_eq!(plain_git::tip(&shop.repository(), "wren"), before, "the journal is as it was");
    let (kind, message) = refusal(&mut shop, "garage", "./cars.git");
    assert_eq!(kind, "does-not-follow");
    assert!(message.starts_with("entry 4 of `wren` "), "{message}");

    let ran = shop.run("share ./cars.git --set-aside wren").done();
    assert_snapshot!(ran, @"
    $ asfound share ./cars.git --set-aside wren
    shared with · ./cars.git
    ════════════════════════════════════════════════════════════════════════════════
    VEHICLE   OUTCOME     FROM THERE   FROM HERE
    ────────────────────────────────────────────
    wren      set aside            1           –
    caution: wren: entries 3 to 4 of this garage were set aside; they are legible
             below refs/kept/wren/
    --- exit code 0
    ");
    assert_eq!(reasons(&mut shop, "garage"), reasons(&mut shop, "two"));
    let kept = plain_git::text(&shop.repository(), &["for-each-ref", "--format=%(objectname)", "refs/kept/wren/"]);
    assert_eq!(Some(kept.trim().to_owned()), before);
    let audit = shop.run("audit wren").done();
    assert!(audit.out.contains("entries 3 to 4 of a line that is kept beside the journal"), "{audit}");
    let _ = shop.run("change wren body.lock_by_horn=on --why 'bench one: horn'").done();
    assert_eq!(share(&mut shop, "garage", "./cars.git").sent, 1);
}

#[test]
fn a_reading_from_before_the_others_work_is_named() {
    let mut shop = two_benches();
    shop.rewrite("as-found.toml", "again.toml", &[]);
    let _ = shop.run("read wren ./again.toml --why 'bench one: checked'").done();
    let _ = shop.run("--garage ./two change wren body.lane_change_flashes=5 --why 'bench two: five'").done();
    let _ = share(&mut shop, "two", "./cars.git");
    let (kind, message) = refusal(&mut shop, "garage", "./cars.git");
    assert_eq!(kind, "does-not-follow");
    assert!(message.contains("it read body:0D01 before entry 3, which left it otherwise"), "{message}");
}

#[test]
fn a_journal_that_was_rewritten_there_is_named() {
    let mut shop = two_benches();
    let _ = shop.run("note wren 'a first note'").done();
    let _ = shop.run("note wren 'a second note'").done();
    let _ = share(&mut shop, "garage", "./cars.git");
    let _ = share(&mut shop, "two", "./cars.git");
    let there = shop.folder().join("cars.git");
    let before = plain_git::tip(&shop.repository(), "wren");

    // The last entry is gone; then another one stands in its place; then the whole journal is gone.
    let _ = plain_git::text(&there, &["update-ref", "refs/heads/wren", "wren~1"]);
    let (kind, message) = refusal(&mut shop, "garage", "./cars.git");
    assert_eq!(kind, "rewritten");
    assert!(message.contains("its entry 4 is not the one"), "{message}");

    let _ = shop.run("--garage ./three share ./cars.git").done();
    let _ = shop.run("--garage ./three note wren 'another second note'").done();
    let _ = share(&mut shop, "three", "./cars.git");
    assert_snapshot!(shop.run("share ./cars.git"), @"
    $ asfound share ./cars.git
    shared with · ./cars.git
    ════════════════════════════════════════════════════════════════════════════════
    VEHICLE   OUTCOME   FROM THERE   FROM HERE
    ──────────────────────────────────────────
    wren      refused            –           –

    note well: the journal of `wren` was rewritten there: its entry 4 is not the one
               that it had when it was last shared
    Next: find out who rewrote it and bring it back from a copy; `asfound audit wren
    --seal SEAL` tells which line a seal is of
    --- exit code 3
    ");
    assert_eq!(refusal(&mut shop, "two", "./cars.git").0, "rewritten");
    assert_eq!(plain_git::tip(&shop.repository(), "wren"), before);

    let _ = plain_git::text(&there, &["update-ref", "-d", "refs/heads/wren"]);
    assert_eq!(refusal(&mut shop, "garage", "./cars.git").0, "gone");
    assert_eq!(plain_git::tip(&shop.repository(), "wren"), before);
    // Somebody who knows why it is gone can have it sent again.
    let ran = shop.run("share ./cars.git --anew wren").done();
    assert!(ran.out.contains("sent"), "{ran}");
    assert_eq!(plain_git::tip(&there, "wren"), before);
}

#[test]
fn a_journal_that_is_not_sound_there_is_not_taken_over() {
    let mut shop = two_benches();
    let there = shop.folder().join("cars.git");
    // A commit by plain git: no entry.
    let tree = plain_git::text(&there, &["rev-parse", "wren^{tree}"]);
    let commit =
        ["-c", "user.name=X", "-c", "user.email=x@x.example", "commit-tree", "-p", "wren", "-m", "3 note", tree.trim()];
    let commit = plain_git::text(&there, &commit);
    let _ = plain_git::text(&there, &["update-ref", "refs/heads/wren", commit.trim()]);
    let before = plain_git::tip(&shop.repository(), "wren");
    assert_eq!(refusal(&mut shop, "garage", "./cars.git").0, "unsound");
    assert_eq!(plain_git::tip(&shop.repository(), "wren"), before);
    // A garage that has nothing of it yet takes nothing over either.
    let ran = shop.run("--garage ./four share ./cars.git");
    assert_eq!(ran.exit, 3, "{ran}");
    assert_eq!(plain_git::tip(&shop.folder().join("four/journals.git"), "wren"), None);
}

#[test]
fn two_cars_with_one_tag_and_places_that_are_none() {
    let mut shop = two_benches();
    let _ = shop.run("--garage ./other enrol wren").done();
    let (kind, _) = refusal(&mut shop, "other", "./cars.git");
    assert_eq!(kind, "started-apart");
    assert_eq!(shop.run("share ./nowhere.git").exit, 2);
    assert_eq!(shop.run("share --new -- -x").exit, 2);
    let ran = shop.run("share git://127.0.0.1:9/none.git");
    assert_eq!(ran.exit, 4, "{ran}");
    assert!(ran.err.contains("cannot be shared with") && ran.err.contains("hint:"), "{ran}");
    // A garage of a later version is left alone.
    shop.write("later/garage.toml", "format = \"asfound-garage/9\"\n");
    let ran = shop.run("share ./later --new");
    assert_eq!(ran.exit, 4, "{ran}");
    assert!(ran.err.contains("newer than this program reads"), "{ran}");
}

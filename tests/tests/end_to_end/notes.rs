//! Notes, and files attached to entries.

use std::fs;

use asfound_tests::Workshop;
use asfound_tests::json::Entry;
use insta::assert_snapshot;

#[test]
fn a_note_alters_nothing() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.run("note wren 'horn sounds hoarse'"), @"
    $ asfound note wren 'horn sounds hoarse'
    wren · entry 3 · note · 14 March 2026, 09:35
    ════════════════════════════════════════════════════════════════════════════════
    horn sounds hoarse

    Filed as entry 3.
    --- exit code 0
    ");
    assert_snapshot!(shop.run("note wren 'owner agreed by phone' --on 3"), @"
    $ asfound note wren 'owner agreed by phone' --on 3
    wren · entry 4 · note · 14 March 2026, 09:45
    ════════════════════════════════════════════════════════════════════════════════
    owner agreed by phone

    Filed as entry 4.
    --- exit code 0
    ");
    assert_eq!(shop.run("compare wren 2 4 --expect-same").exit, 0);
    assert_snapshot!(shop.refused("note wren ''"), @r#"
    $ asfound note wren ''
    --- standard error
    asfound: a note needs its text
    hint: write it behind the tag, as in: asfound note wren "horn sounds hoarse"
    --- exit code 2
    "#);
    assert_eq!(
        shop.refused("note wren 'the bell\u{7} rang'").err,
        "asfound: the text holds the control character U+0007, which no entry may hold\n"
    );
    assert_snapshot!(shop.refused("note wren text --on 9"), @"
    $ asfound note wren text --on 9
    --- standard error
    asfound: the journal of `wren` has no entry 9: its last is 4
    hint: `asfound entries wren` lists them
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("note wren text --attach ./nothing.jpg"), @"
    $ asfound note wren text --attach ./nothing.jpg
    --- standard error
    asfound: ./nothing.jpg: No such file or directory (os error 2)
    hint: check the name of the file
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("note wren text --attach ./garage"), @"
    $ asfound note wren text --attach ./garage
    --- standard error
    asfound: ./garage: Is a directory (os error 21)
    --- exit code 2
    ");
}

#[test]
fn what_was_attached_is_what_is_written_out() {
    let mut shop = Workshop::with_wren();
    let every_byte: Vec<u8> = (0..=255).cycle().take(70_000).collect();
    shop.write("photos/Left door.jpg", &every_byte);
    shop.write("empty.log", "");
    let _ = shop.run("note wren 'see the pictures' --attach './photos/Left door.jpg' --attach ./empty.log").done();
    let _ = shop.run("note wren 'and nothing else'").done();
    assert_snapshot!(shop.run("entry wren 3 --evidence-to ./out"), @"
    $ asfound entry wren 3 --evidence-to ./out
    wren · entry 3 · note · 14 March 2026, 09:35
    ════════════════════════════════════════════════════════════════════════════════
    why             see the pictures
    by              Edda Brandt
    filed           14 March 2026, 09:35
    about           –

    Attached
      · Left_door.jpg, 70000 bytes, SHA-256
        0c6c96cc20d3f906e54f1f1296e8878c1ac39262fb587cd56235c3aa9103d837
      · empty.log, 0 bytes, SHA-256
        e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855

    commit          <commit>
    --- standard error
    2 files written to ./out
    --- exit code 0
    ");
    assert_eq!(fs::read(shop.folder().join("out/Left_door.jpg")).unwrap(), every_byte);
    assert_eq!(fs::read(shop.folder().join("out/empty.log")).unwrap(), b"");
    assert_eq!(fs::read_dir(shop.folder().join("out")).unwrap().count(), 2);
    // Nothing is written over.
    assert_snapshot!(shop.refused("entry wren 3 --evidence-to ./out"), @"
    $ asfound entry wren 3 --evidence-to ./out
    --- standard error
    asfound: ./out/Left_door.jpg is there already
    hint: name an empty folder
    --- exit code 2
    ");
    let later: Entry = shop.json("entry wren 4");
    assert!(later.evidence.is_empty(), "attached files belong to their own entry");
}

#[test]
fn two_files_of_one_name_are_both_kept() {
    let mut shop = Workshop::with_wren();
    shop.write("a/photo.jpg", "front");
    shop.write("b/photo.jpg", "rear");
    shop.write("c/photo?jpg", "side");
    shop.write("d/photo_jpg", "top");
    let attach = "--attach ./a/photo.jpg --attach ./b/photo.jpg --attach ./c/photo?jpg --attach ./d/photo_jpg";
    let _ = shop.run(&format!("note wren 'four pictures' {attach}")).done();
    let ran = shop.run("entry wren 3 --evidence-to ./out");
    assert_eq!(ran.exit, 0, "{ran}");
    let text = |name: &str| shop.text(&format!("out/{name}"));
    assert_eq!(
        [text("photo.jpg"), text("2_photo.jpg"), text("photo_jpg"), text("2_photo_jpg")],
        ["front", "rear", "side", "top"]
    );
}

#[test]
fn names_that_no_folder_should_see() {
    let mut shop = Workshop::with_wren();
    shop.write(".hidden", "1");
    shop.write("größe.txt", "2");
    let long = format!("{}.txt", "x".repeat(240));
    shop.write(&long, "3");
    let _ =
        shop.run(&format!("note wren 'odd names' --attach ./.hidden --attach ./größe.txt --attach ./{long}")).done();
    let entry: Entry = shop.json("entry wren 3");
    let names: Vec<&str> = entry.evidence.iter().map(|file| file.name.as_str()).collect();
    assert_eq!(names, ["_hidden", "gr__e.txt", &"x".repeat(200)]);
}

#[test]
fn any_entry_of_work_or_reading_takes_files() {
    let mut shop = Workshop::with_wren();
    shop.write("order.txt", "order 12");
    let _ = shop.run("read wren --value body.lock_by_horn=off --partial --attach ./order.txt").done();
    let _ = shop.run("change wren body.lock_by_horn=on --why louder --attach ./order.txt").done();
    let _ = shop.run("put-back wren 4 --done --sheet CODE --why quieter --attach ./order.txt").done();
    for number in 3..=5 {
        let entry: Entry = shop.json(&format!("entry wren {number}"));
        assert_eq!(entry.evidence.len(), 1, "{number}");
    }
}

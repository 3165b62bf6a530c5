//! The real git reads what the store writes.

use asfound_journal::store::{FileContent, Store, StoreError};
use time::macros::datetime;

use crate::support::{Place, append_until_filed, git, kept, messages, new_commit, path, tag};

#[test]
fn a_new_garage_is_sound() {
    let place = Place::new();
    place.assert_sound();
    assert_eq!(place.git_text(&["symbolic-ref", "HEAD"]), "refs/heads/no_vehicle\n");
    for (key, value) in [("core.bare", "true"), ("core.logAllRefUpdates", "false"), ("gc.auto", "0")] {
        assert_eq!(place.git_text(&["config", "--local", key]).trim(), value, "{key}");
    }
    let folders = std::fs::read_dir(place.repository().join("objects")).unwrap();
    let named = folders.filter(|entry| entry.as_ref().unwrap().file_name().len() == 2).count();
    assert_eq!(named, 256);
}

#[test]
fn git_shows_the_entries_and_finds_nothing_wrong() {
    let place = Place::new();
    let store = place.garage.store();
    let wren = tag("wren");
    // Names that sort otherwise as folders than as files.
    let files = [
        ("entry.toml", "number = 1\n"),
        ("modules/body.toml", "records = 1\n"),
        ("modules-old", "x\n"),
        ("modules.toml", "y\n"),
        ("evidence/Bus-1/a.log", "z\n"),
        ("manifest", "m\n"),
    ];
    let first = store.append(&wren, None, &new_commit("enrolled: as found\n", &files)).unwrap();
    let mut second = new_commit("change: lane-change flashes\n\nowner asked for five\n", &[]);
    second.files = kept(&store.commit(&first).unwrap());
    second.files.insert(path("entry.toml"), FileContent::New(b"number = 2\n".to_vec()));
    second.when = datetime!(2026-03-15 10:00:00 -03:30);
    let second = store.append(&wren, Some(&first), &second).unwrap();
    append_until_filed(store, &tag("rook"), "enrolled");
    place.assert_sound();

    assert_eq!(
        place.git_text(&["log", "--format=%H %P|%an <%ae>|%ad|%cd|%s|%b", "--date=iso-strict", "wren"]),
        format!(
            "{second} {first}|Edda Brandt <edda@workshop.example>|2026-03-15T10:00:00-03:30|2026-03-15T10:00:00-03:30\
             |change: lane-change flashes|owner asked for five\n\n\
             {first} |Edda Brandt <edda@workshop.example>|2026-03-14T09:20:05+01:00|2026-03-14T09:20:05+01:00\
             |enrolled: as found|\n"
        )
    );
    let shown = place.git_text(&["show", "wren"]);
    assert!(shown.contains("\n-number = 1\n+number = 2\n"), "{shown}");
    assert_eq!(shown.matches("diff --git").count(), 1, "{shown}");
    let listed = place.git_text(&["ls-tree", "-r", "wren"]);
    let files = store.commit(&second).unwrap().files;
    let mut ours: Vec<String> = files.iter().map(|(name, blob)| format!("100644 blob {blob}\t{name}")).collect();
    let mut theirs: Vec<&str> = listed.lines().collect();
    ours.sort();
    theirs.sort_unstable();
    assert_eq!(ours, theirs);
    assert_eq!(place.git_text(&["show", "wren:evidence/Bus-1/a.log"]), "z\n");
    assert_eq!(place.git_text(&["for-each-ref", "--format=%(refname)"]), "refs/heads/rook\nrefs/heads/wren\n");
}

/// An entry that changes one module writes five objects: one file each for the entry, the
/// manifest and the module count as blobs here; the rest is kept.
#[test]
fn what_is_kept_is_not_written_again() {
    let place = Place::new();
    let store = place.garage.store();
    let wren = tag("wren");
    let modules: Vec<(String, String)> =
        (0..30).map(|n| (format!("modules/m{n}.toml"), format!("module {n}"))).collect();
    let mut files: Vec<(&str, &str)> = modules.iter().map(|(name, text)| (name.as_str(), text.as_str())).collect();
    files.extend([("entry.toml", "1"), ("definitions/d.toml", "d"), ("evidence/deep/e", "e")]);
    let first = store.append(&wren, None, &new_commit("1", &files)).unwrap();
    let count = || {
        let text = place.git_text(&["count-objects"]);
        text.split(' ').next().unwrap().parse::<u32>().unwrap()
    };
    // 33 blobs; the root, modules, definitions, evidence and evidence/deep; the commit.
    assert_eq!(count(), 33 + 5 + 1);

    let mut second = new_commit("2", &[]);
    second.files = kept(&store.commit(&first).unwrap());
    second.files.insert(path("entry.toml"), FileContent::New(b"2".to_vec()));
    second.files.insert(path("modules/m7.toml"), FileContent::New(b"changed".to_vec()));
    let second = store.append(&wren, Some(&first), &second).unwrap();
    // Two blobs, the root, modules, the commit.
    assert_eq!(count(), 33 + 5 + 1 + 5);

    let mut third = new_commit("3", &[]);
    third.files = kept(&store.commit(&second).unwrap());
    store.append(&wren, Some(&second), &third).unwrap();
    assert_eq!(count(), 33 + 5 + 1 + 5 + 1);
}

#[test]
fn packing_by_git_between_entries_does_no_harm() {
    let place = Place::new();
    let wren = tag("wren");
    let open_all_along = place.garage.store();
    for round in 0..4 {
        append_until_filed(open_all_along, &wren, &format!("entry {round}a"));
        place.git_text(&["gc", "--quiet"]);
        append_until_filed(open_all_along, &wren, &format!("entry {round}b"));
        place.git_text(&["pack-refs", "--all"]);
        append_until_filed(&place.reopened(), &wren, &format!("entry {round}c"));
    }
    assert_eq!(messages(&place.reopened(), &wren).len(), 12);
    place.assert_sound();
}

#[test]
fn branches_and_entries_that_git_made_are_told_apart() {
    let place = Place::new();
    let store = place.garage.store();
    let wren = tag("wren");
    let first = append_until_filed(store, &wren, "first");
    // Another program rewrites the tip: seen at the next append.
    let tree = place.git_text(&["rev-parse", "wren^{tree}"]);
    let identity = ["-c", "user.name=A Stranger", "-c", "user.email=s@x.example"];
    let foreign = git(
        &place.repository(),
        &[&identity[..], &["commit-tree", "-m", "by hand", "-p", first.as_str(), tree.trim()]].concat(),
    );
    let foreign = String::from_utf8(foreign.stdout).unwrap().trim().to_owned();
    place.git_text(&["update-ref", "refs/heads/wren", &foreign]);
    let error = store.append(&wren, Some(&first), &new_commit("second", &[("a", "2")])).unwrap_err();
    assert!(matches!(&error, StoreError::Moved { found: Some(found), .. } if found.as_str() == foreign), "{error}");
    let read = store.commit(&foreign.parse().unwrap()).unwrap();
    assert_eq!((read.author.name(), read.message.as_str()), ("A Stranger", "by hand\n"));

    // A branch whose name is no tag, and a folder of branches, are no journals.
    place.git_text(&["update-ref", "refs/heads/Not_A_Tag", &foreign]);
    place.git_text(&["update-ref", "refs/heads/folder/finch", &foreign]);
    assert_eq!(store.tags().unwrap(), [wren]);
}

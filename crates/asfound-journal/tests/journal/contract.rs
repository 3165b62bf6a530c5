//! What every store promises, run over the git store and over its twin in memory.

use std::collections::BTreeMap;

use asfound_journal::FailureKind;
use asfound_journal::store::{CommitId, FileContent, MemoryStore, Store, StoreError, TreeId, UnfitCommit};
use proptest::prelude::*;
use time::macros::datetime;

use crate::support::{Place, append_until_filed, author, kept, messages, new_commit, path, tag};

/// Runs each test over both stores.
macro_rules! over_both {
    ($($name:ident),* $(,)?) => {
        mod in_git {
            $(#[test] fn $name() { super::$name(super::Place::new().garage.store()); })*
        }
        mod in_memory {
            $(#[test] fn $name() { super::$name(&super::MemoryStore::new()); })*
        }
    };
}

over_both!(
    an_empty_store_has_nothing,
    a_commit_is_read_back_as_it_was_handed_in,
    commits_form_a_line,
    several_are_appended_or_none,
    journals_are_apart,
    a_commit_for_another_tip_is_refused,
    files_can_be_kept_replaced_moved_and_left_out,
    only_what_the_commit_before_had_can_be_kept,
    unfit_commits_are_refused,
    what_is_not_there_is_named,
    texts_are_kept_to_the_letter,
    times_keep_their_second_and_offset,
    the_same_contents_are_one_blob,
    a_reader_tells_what_each_commit_has_otherwise,
    any_series_of_listings_is_read_back,
);

fn an_empty_store_has_nothing(store: &dyn Store) {
    assert_eq!(store.tags().unwrap(), []);
    assert_eq!(store.tip(&tag("wren")).unwrap(), None);
    assert_eq!(store.line(&tag("wren")).unwrap(), []);
}

fn a_commit_is_read_back_as_it_was_handed_in(store: &dyn Store) {
    let wren = tag("wren");
    let files = [("entry.toml", "number = 1\n"), ("modules/body.toml", "a"), ("evidence/bus/a.log", "")];
    let new = new_commit("enrolled: first look\n\nbecause\n", &files);
    let id = store.append(&wren, None, &new).unwrap();
    let commit = store.commit(&id).unwrap();
    assert_eq!(commit.id, id);
    assert_eq!(commit.parent, None);
    assert_eq!(commit.author, author());
    assert_eq!(commit.committed, datetime!(2026-03-14 09:20:05 +01:00));
    assert_eq!(commit.committed.offset(), new.when.offset());
    assert_eq!(commit.message, new.message);
    let paths: Vec<_> = commit.files.keys().map(String::as_str).collect();
    assert_eq!(paths, ["entry.toml", "evidence/bus/a.log", "modules/body.toml"]);
    for (name, text) in files {
        assert_eq!(store.file(&id, name).unwrap(), text.as_bytes());
        assert_eq!(store.read(&commit.files[name]).unwrap(), text.as_bytes());
    }
    assert_eq!(store.tip(&wren).unwrap(), Some(id));
}

fn commits_form_a_line(store: &dyn Store) {
    let wren = tag("wren");
    let ids: Vec<CommitId> = (1..=5).map(|n| append_until_filed(store, &wren, &format!("entry {n}"))).collect();
    assert_eq!(store.line(&wren).unwrap(), ids);
    assert_eq!(messages(store, &wren), ["entry 1", "entry 2", "entry 3", "entry 4", "entry 5"]);
    for pair in ids.windows(2) {
        assert_eq!(store.commit(&pair[1]).unwrap().parent.as_ref(), Some(&pair[0]));
    }
}

fn several_are_appended_or_none(store: &dyn Store) {
    let wren = tag("wren");
    let first = append_until_filed(store, &wren, "entry 1");
    let old = store.commit(&first).unwrap();
    let mut new: Vec<_> = (2..=4).map(|n| new_commit(&format!("entry {n}"), &[("fresh", "x")])).collect();
    // What was there before can be kept in every one of them.
    new.iter_mut().for_each(|new| new.files.extend(kept(&old)));
    let ids = store.append_all(&wren, Some(&first), &new, None).unwrap();
    assert_eq!(store.line(&wren).unwrap(), [std::slice::from_ref(&first), ids.as_slice()].concat());
    assert_eq!(messages(store, &wren), ["entry 1", "entry 2", "entry 3", "entry 4"]);
    assert_eq!(store.commit(&ids[2]).unwrap().parent.as_ref(), Some(&ids[1]));
    assert_eq!(store.file(&ids[2], "entry.toml").unwrap(), b"entry 1");
    // None of them, when they are made for another tip or one of them is unfit.
    let moved = store.append_all(&wren, Some(&first), &new, None);
    assert!(matches!(moved, Err(StoreError::Moved { .. })), "{moved:?}");
    let tip = ids.last();
    for unfit in [new_commit(" ", &[("a", "a")]), new_commit("no files", &[])] {
        let refused = store.append_all(&wren, tip, &[new[0].clone(), unfit], None);
        assert!(matches!(refused, Err(StoreError::Unfit { .. })), "{refused:?}");
    }
    assert_eq!(store.append_all(&wren, tip, &[], None).unwrap(), []);
    assert_eq!(store.tip(&wren).unwrap().as_ref(), tip);
}

fn journals_are_apart(store: &dyn Store) {
    for name in ["wren", "rook", "w", "wren-2"] {
        append_until_filed(store, &tag(name), &format!("enrolled {name}"));
    }
    assert_eq!(store.tags().unwrap(), ["rook", "w", "wren", "wren-2"].map(tag));
    append_until_filed(store, &tag("w"), "second");
    assert_eq!(messages(store, &tag("w")), ["enrolled w", "second"]);
    assert_eq!(messages(store, &tag("wren")), ["enrolled wren"]);
}

fn a_reader_tells_what_each_commit_has_otherwise(store: &dyn Store) {
    let wren = tag("wren");
    let first = [("entry.toml", "1"), ("modules/a", "a"), ("modules/a.b/c", "c"), ("modules/d", "d"), ("z", "z")];
    let first = store.append(&wren, None, &new_commit("1", &first)).unwrap();
    // A file becomes a folder, a folder a file; one goes, one comes, one stays.
    let second = [("entry.toml", "2"), ("modules/a/x", "x"), ("modules/a.b", "b"), ("y/y", "y"), ("z", "z")];
    let second = store.append(&wren, Some(&first), &new_commit("2", &second)).unwrap();
    let files = |id| store.commit(id).unwrap().files;
    let (before, after) = (files(&first), files(&second));
    let reader = store.reader().unwrap();
    // The texts of the commits name their listings.
    let text = |id| String::from_utf8(reader.commit_text(id).unwrap()).unwrap();
    let tree = |id| text(id).lines().next().unwrap().strip_prefix("tree ").unwrap().parse::<TreeId>().unwrap();
    let (old, new) = (tree(&first), tree(&second));

    let whole: BTreeMap<_, _> = after.clone().into_iter().map(|(path, blob)| (path, Some(blob))).collect();
    assert_eq!(reader.changes(None, &new).unwrap(), whole);
    let changes = reader.changes(Some(&old), &new).unwrap();
    let gone = before.keys().filter(|path| !after.contains_key(*path)).map(|path| (path.clone(), None));
    let other = after.iter().filter(|(path, blob)| before.get(*path) != Some(*blob));
    let wanted: BTreeMap<_, _> = gone.chain(other.map(|(path, blob)| (path.clone(), Some(blob.clone())))).collect();
    assert_eq!(changes, wanted);
    let paths: Vec<_> = changes.keys().map(String::as_str).collect();
    assert_eq!(paths, ["entry.toml", "modules/a", "modules/a.b", "modules/a.b/c", "modules/a/x", "modules/d", "y/y"]);
    assert_eq!(reader.changes(Some(&new), &new).unwrap(), BTreeMap::new());
    for blob in after.values() {
        assert_eq!(reader.read(blob).unwrap(), store.read(blob).unwrap());
    }
    let wanted = format!(
        "\nparent {first}\nauthor Edda Brandt <edda@workshop.example> 1773476405 +0100\n\
         committer Edda Brandt <edda@workshop.example> 1773476405 +0100\n\n2"
    );
    assert_eq!(text(&second), format!("tree {new}{wanted}"));
    let none = "0123456789abcdef0123456789abcdef01234567";
    assert!(matches!(reader.commit_text(&none.parse().unwrap()), Err(StoreError::Missing { .. })));
    assert!(matches!(reader.changes(None, &none.parse().unwrap()), Err(StoreError::Missing { .. })));
}

fn a_commit_for_another_tip_is_refused(store: &dyn Store) {
    let wren = tag("wren");
    let first = append_until_filed(store, &wren, "first");
    let second = append_until_filed(store, &wren, "second");
    let elsewhere = append_until_filed(store, &tag("rook"), "elsewhere");
    let new = new_commit("third", &[("entry.toml", "3")]);
    for stale in [None, Some(&first), Some(&elsewhere)] {
        let error = store.append(&wren, stale, &new).unwrap_err();
        assert_eq!(error.kind(), FailureKind::Conflict);
        let StoreError::Moved { tag: of, expected, found } = error else { panic!("{error}") };
        assert_eq!((of, expected.as_ref(), found.as_ref()), (wren.clone(), stale, Some(&second)));
    }
    // And a journal that is not there yet has no tip to be expected.
    let error = store.append(&tag("finch"), Some(&second), &new).unwrap_err();
    assert!(matches!(error, StoreError::Moved { found: None, .. }), "{error}");
    assert_eq!(store.tags().unwrap(), ["rook", "wren"].map(tag));
    assert_eq!(store.line(&wren).unwrap(), [first, second]);
}

fn files_can_be_kept_replaced_moved_and_left_out(store: &dyn Store) {
    let wren = tag("wren");
    let files = [("entry.toml", "1"), ("modules/body.toml", "b"), ("modules/brakes.toml", "k"), ("evidence/x", "e")];
    let first = store.append(&wren, None, &new_commit("1", &files)).unwrap();
    let before = store.commit(&first).unwrap();

    let mut second = new_commit("2", &[("entry.toml", "2"), ("modules/body.toml", "B")]);
    second.files.insert(path("modules/brakes.toml"), FileContent::Kept(before.files["modules/brakes.toml"].clone()));
    second.files.insert(path("moved/deep/x"), FileContent::Kept(before.files["evidence/x"].clone()));
    let id = store.append(&wren, Some(&first), &second).unwrap();
    let after = store.commit(&id).unwrap();
    let contents: BTreeMap<&str, Vec<u8>> =
        after.files.iter().map(|(name, blob)| (name.as_str(), store.read(blob).unwrap())).collect();
    let wanted = [("entry.toml", "2"), ("modules/body.toml", "B"), ("modules/brakes.toml", "k"), ("moved/deep/x", "e")];
    assert_eq!(contents, wanted.map(|(name, text)| (name, text.as_bytes().to_vec())).into());
    // The first is as it was.
    assert_eq!(store.commit(&first).unwrap(), before);

    // A listing that is kept whole is a commit too, with the same files.
    let mut third = new_commit("3", &[]);
    third.files = kept(&after);
    let id = store.append(&wren, Some(&id), &third).unwrap();
    assert_eq!(store.commit(&id).unwrap().files, after.files);
}

fn only_what_the_commit_before_had_can_be_kept(store: &dyn Store) {
    let wren = tag("wren");
    let first = store.append(&wren, None, &new_commit("1", &[("a", "old")])).unwrap();
    let old = store.commit(&first).unwrap().files["a"].clone();
    let second = store.append(&wren, Some(&first), &new_commit("2", &[("a", "new")])).unwrap();
    let mut third = new_commit("3", &[("a", "x")]);
    third.files.insert(path("b"), FileContent::Kept(old.clone()));
    let error = store.append(&wren, Some(&second), &third).unwrap_err();
    assert_eq!(error.kind(), FailureKind::Input);
    let StoreError::Unfit { source, .. } = error else { panic!("{error}") };
    assert_eq!(source, UnfitCommit::NotKept { path: path("b"), blob: old });
    assert_eq!(store.tip(&wren).unwrap(), Some(second));
    assert!(store.append(&tag("rook"), None, &third).is_err());
    assert_eq!(store.tip(&tag("rook")).unwrap(), None);
}

fn unfit_commits_are_refused(store: &dyn Store) {
    let good = new_commit("why", &[("a", "1")]);
    let clash = |files| new_commit("why", files).files;
    let cases = [
        (good.clone().tap(|new| new.message = " \n".into()), UnfitCommit::BlankMessage),
        (good.clone().tap(|new| new.message = "a\0b".into()), UnfitCommit::NulInMessage),
        (
            good.clone().tap(|new| new.when = datetime!(1969-12-31 23:59:59 UTC)),
            UnfitCommit::Date(datetime!(1969-12-31 23:59:59 UTC)),
        ),
        (
            good.clone().tap(|new| new.when = datetime!(2106-02-07 06:28:16 UTC)),
            UnfitCommit::Date(datetime!(2106-02-07 06:28:16 UTC)),
        ),
        (
            good.clone().tap(|new| new.when = datetime!(2026-01-01 0:00 +15)),
            UnfitCommit::Offset(datetime!(2026-01-01 0:00 +15).offset()),
        ),
        (good.clone().tap(|new| new.files.clear()), UnfitCommit::NoFiles),
        (
            good.clone().tap(|new| new.files = clash(&[("a", ""), ("a-b", ""), ("a/b", "")])),
            UnfitCommit::Clash { file: path("a"), below: path("a/b") },
        ),
        (
            good.clone().tap(|new| new.files = clash(&[("a/b", ""), ("a/b/c/d", "")])),
            UnfitCommit::Clash { file: path("a/b"), below: path("a/b/c/d") },
        ),
    ];
    for (new, why) in cases {
        let error = store.append(&tag("wren"), None, &new).unwrap_err();
        let StoreError::Unfit { source, .. } = error else { panic!("{error}") };
        assert_eq!(source, why);
    }
    assert_eq!(store.tags().unwrap(), []);
    store.append(&tag("wren"), None, &good).unwrap();
}

fn what_is_not_there_is_named(store: &dyn Store) {
    let wren = tag("wren");
    let id = store.append(&wren, None, &new_commit("1", &[("modules/body.toml", "b")])).unwrap();
    for absent in ["entry.toml", "modules", "modules/", "modules/body.toml/x", "", "/", "../x"] {
        let error = store.file(&id, absent).unwrap_err();
        assert_eq!(error.kind(), FailureKind::NotFound, "{absent:?}: {error}");
        assert!(matches!(&error, StoreError::NoSuchFile { commit, path } if *commit == id && path == absent));
    }
    let none = "0123456789abcdef0123456789abcdef01234567";
    let errors = [
        store.commit(&none.parse().unwrap()).unwrap_err(),
        store.file(&none.parse().unwrap(), "a").unwrap_err(),
        store.read(&none.parse().unwrap()).unwrap_err(),
    ];
    for error in errors {
        assert_eq!(error.kind(), FailureKind::Damaged);
        assert!(matches!(&error, StoreError::Missing { object } if object.contains(none)), "{error}");
    }
}

fn texts_are_kept_to_the_letter(store: &dyn Store) {
    let wren = tag("wren");
    let mut tip = None;
    let messages = [
        "one line",
        "\n\nleading lines",
        "trailing \n\n\n",
        "tabs\tand\r\nreturns",
        "żółw 🚗 \u{202E}",
        "tree x\nparent y\n\nz",
    ];
    for message in messages {
        let id = store.append(&wren, tip.as_ref(), &new_commit(message, &[("a", message)])).unwrap();
        assert_eq!(store.commit(&id).unwrap().message, message);
        tip = Some(id);
    }
    for name in ["Edda Brandt, Jr.", "O'Neill", "Łucja \"Lu\" Żak-Nowak", "J. R. Öz."] {
        let author = asfound_journal::store::Author::new(name, "x+y@workshop.example").unwrap();
        let new = new_commit("why", &[("a", name)]).tap(|new| new.author = author.clone());
        let id = store.append(&wren, tip.as_ref(), &new).unwrap();
        assert_eq!(store.commit(&id).unwrap().author, author);
        assert_eq!(author.name(), name);
        tip = Some(id);
    }
    let bytes: Vec<u8> = (0..=u8::MAX).cycle().take(100_000).collect();
    let mut new = new_commit("why", &[]);
    new.files.insert(path("evidence/all"), FileContent::New(bytes.clone()));
    let id = store.append(&wren, tip.as_ref(), &new).unwrap();
    assert_eq!(store.file(&id, "evidence/all").unwrap(), bytes);
}

fn times_keep_their_second_and_offset(store: &dyn Store) {
    let cases = [
        (datetime!(1970-01-01 0:00 UTC), datetime!(1970-01-01 0:00 UTC)),
        (datetime!(2026-03-14 09:20:05.987654321 -09:30), datetime!(2026-03-14 09:20:05 -09:30)),
        (datetime!(2026-03-14 23:59:59 +14), datetime!(2026-03-14 23:59:59 +14)),
        (datetime!(2026-03-14 12:00 -00:45), datetime!(2026-03-14 12:00 -00:45)),
        // Offsets of old local times had seconds; the moment is kept.
        (datetime!(2026-03-14 12:00 +00:53:28), datetime!(2026-03-14 11:59:32 +00:53)),
        (datetime!(2106-02-07 06:28:15 UTC), datetime!(2106-02-07 06:28:15 UTC)),
    ];
    let mut tip = None;
    for (given, stored) in cases {
        let new = new_commit("why", &[("a", "1")]).tap(|new| new.when = given);
        let id = store.append(&tag("wren"), tip.as_ref(), &new).unwrap();
        let read = store.commit(&id).unwrap().committed;
        assert_eq!((read, read.offset()), (stored, stored.offset()));
        tip = Some(id);
    }
}

fn the_same_contents_are_one_blob(store: &dyn Store) {
    let wren = tag("wren");
    let id = store.append(&wren, None, &new_commit("1", &[("a", "same"), ("b/c", "same"), ("d", "other")])).unwrap();
    let files = store.commit(&id).unwrap().files;
    assert_eq!(files["a"], files["b/c"]);
    assert_ne!(files["a"], files["d"]);
    // Handed in anew rather than kept, it is still the same blob; also in another journal.
    let second = store.append(&wren, Some(&id), &new_commit("2", &[("x", "same")])).unwrap();
    let rook = store.append(&tag("rook"), None, &new_commit("1", &[("y", "same")])).unwrap();
    assert_eq!(store.commit(&second).unwrap().files["x"], files["a"]);
    assert_eq!(store.commit(&rook).unwrap().files["y"], files["a"]);
}

/// Any listing follows any other: folders come, go, and turn into files.
fn any_series_of_listings_is_read_back(store: &dyn Store) {
    let listing = prop::collection::btree_map("[ab](-|\\.)?(/[ab][-.]?){0,2}", "[xy]{0,2}", 1..8);
    let mut runner = proptest::test_runner::TestRunner::new(ProptestConfig::with_cases(8));
    let wren = tag("wren");
    runner
        .run(&prop::collection::vec(listing, 1..4), |series| {
            for listing in series {
                let paths: Vec<String> = listing.keys().cloned().collect();
                let fits = |name: &String| !paths.iter().any(|other| other.starts_with(&format!("{name}/")));
                let wanted: BTreeMap<_, _> = listing.into_iter().filter(|(name, _)| fits(name)).collect();
                let tip = store.tip(&wren).unwrap();
                let before = tip.as_ref().map(|id| store.commit(id).unwrap().files).unwrap_or_default();
                let mut new = new_commit("why", &[]);
                for (name, text) in &wanted {
                    let same = before.get(name).filter(|blob| store.read(blob).unwrap() == text.as_bytes());
                    let content = same.cloned().map_or(FileContent::New(text.clone().into_bytes()), FileContent::Kept);
                    new.files.insert(path(name), content);
                }
                let id = store.append(&wren, tip.as_ref(), &new).unwrap();
                let files = store.commit(&id).unwrap().files;
                let read: BTreeMap<_, _> = files
                    .into_iter()
                    .map(|(name, blob)| (name, String::from_utf8(store.read(&blob).unwrap()).unwrap()))
                    .collect();
                prop_assert_eq!(read, wanted);
            }
            Ok(())
        })
        .unwrap();
}

/// Changes a value in passing.
trait Tap: Sized {
    fn tap(mut self, change: impl FnOnce(&mut Self)) -> Self {
        change(&mut self);
        self
    }
}

impl<T> Tap for T {}

//! Damaged repositories give errors that name what is damaged, and never a panic.

use std::fs;

use asfound_journal::FailureKind;
use asfound_journal::garage::{Garage, GarageError};
use asfound_journal::store::{CommitId, GitStore, Store, StoreError};

use crate::support::{PATIENCE, Place, append_until_filed, new_commit, tag};

/// A garage with two entries, and the ids of everything in the second.
pub(crate) fn two_entries() -> (Place, CommitId, CommitId) {
    let place = Place::new();
    let store = place.garage.store();
    let wren = tag("wren");
    let first = store.append(&wren, None, &new_commit("1", &[("a", "1"), ("modules/body.toml", "b1")])).unwrap();
    let files = [("a", "2"), ("modules/body.toml", "a longer text, so that cutting it short cuts into it")];
    let second = store.append(&wren, Some(&first), &new_commit("2", &files)).unwrap();
    (place, first, second)
}

/// Does everything that reads, and appends, and hands back the first error.
fn everything(store: &dyn Store) -> Result<(), StoreError> {
    for tag in store.tags()? {
        for id in store.line(&tag)? {
            let commit = store.commit(&id)?;
            for (path, blob) in &commit.files {
                store.file(&id, path)?;
                store.read(blob)?;
            }
        }
    }
    Ok(())
}

fn id_of(place: &Place, name: &str) -> String {
    place.git_text(&["rev-parse", name]).trim().to_owned()
}

type Damage = fn(&[u8]) -> Vec<u8>;

#[test]
fn a_damaged_object_is_named_whatever_it_is_and_however_it_is_damaged() {
    let damages: [(&str, Damage); 5] = [
        ("emptied", |_| Vec::new()),
        ("cut short", |bytes| bytes[..bytes.len() / 2].to_vec()),
        ("cut at the start", |bytes| bytes[..1].to_vec()),
        ("overwritten", |bytes| vec![b'x'; bytes.len()]),
        ("flipped", |bytes| {
            bytes.iter().enumerate().map(|(n, b)| if n == bytes.len() / 2 { b ^ 0x20 } else { *b }).collect()
        }),
    ];
    let objects = [
        ("commit", "wren"),
        ("commit", "wren~1"),
        ("tree", "wren^{tree}"),
        ("tree", "wren:modules"),
        ("blob", "wren:a"),
        ("blob", "wren:modules/body.toml"),
    ];
    let (place, _, _) = two_entries();
    everything(&place.reopened()).unwrap();
    for (kind, name) in objects {
        let id = id_of(&place, name);
        let file = place.object_file(&id);
        let sound = fs::read(&file).unwrap();
        let check = |how: &str, error: &StoreError| {
            assert!(error.to_string().contains(&format!("{kind} {id}")), "{kind} {how}: {error}");
            assert_eq!(error.kind(), FailureKind::Damaged, "{kind} {how}: {error:?}");
            assert!(error.hint().is_some());
        };
        for (how, damage) in damages {
            // Objects are read-only files.
            fs::remove_file(&file).unwrap();
            fs::write(&file, damage(&sound)).unwrap();
            let error = everything(&place.reopened()).expect_err(how);
            assert!(matches!(error, StoreError::Damaged { .. }), "{kind} {how}: {error:?}");
            check(how, &error);
        }
        fs::remove_file(&file).unwrap();
        let error = everything(&place.reopened()).expect_err("missing");
        assert!(matches!(error, StoreError::Missing { .. }), "{kind}: {error:?}");
        check("missing", &error);
        fs::write(&file, sound).unwrap();
    }
    everything(&place.reopened()).unwrap();
}

#[test]
fn nothing_is_appended_to_a_damaged_tip() {
    for name in ["wren", "wren^{tree}", "wren:modules"] {
        let (place, _, second) = two_entries();
        let id = id_of(&place, name);
        fs::remove_file(place.object_file(&id)).unwrap();
        fs::write(place.object_file(&id), b"").unwrap();
        let error = place.reopened().append(&tag("wren"), Some(&second), &new_commit("3", &[("a", "3")])).unwrap_err();
        assert!(matches!(error, StoreError::Damaged { .. }), "{error:?}");
        assert!(error.to_string().contains(&id), "{error}");
        assert_eq!(place.reopened().tip(&tag("wren")).unwrap(), Some(second));
    }
}

/// The library takes any file of the right name for an object that is there: an entry must not
/// be filed on top of one that is empty.
#[test]
fn contents_whose_object_lies_there_damaged_are_not_filed() {
    let (place, first, second) = two_entries();
    let id = id_of(&place, &format!("{first}:modules/body.toml"));
    fs::remove_file(place.object_file(&id)).unwrap();
    fs::write(place.object_file(&id), b"").unwrap();
    let back = new_commit("back to b1", &[("a", "3"), ("modules/body.toml", "b1")]);
    let error = place.reopened().append(&tag("wren"), Some(&second), &back).unwrap_err();
    assert!(matches!(&error, StoreError::Damaged { object, .. } if *object == format!("blob {id}")), "{error:?}");
    assert_eq!(place.reopened().tip(&tag("wren")).unwrap(), Some(second));
}

#[test]
fn an_object_of_another_kind_is_damage() {
    let (place, _, second) = two_entries();
    let store = place.garage.store();
    let tree = id_of(&place, "wren^{tree}");
    let blob = id_of(&place, "wren:a");
    let errors = [
        store.commit(&tree.parse().unwrap()).unwrap_err(),
        store.commit(&blob.parse().unwrap()).unwrap_err(),
        store.read(&second.as_str().parse().unwrap()).unwrap_err(),
        store.file(&tree.parse().unwrap(), "a").unwrap_err(),
    ];
    for error in errors {
        assert!(matches!(error, StoreError::Damaged { .. }), "{error:?}");
    }
}

#[test]
fn a_damaged_branch_is_named() {
    let (place, first, _) = two_entries();
    append_until_filed(place.garage.store(), &tag("rook"), "enrolled");
    let file = place.repository().join("refs/heads/wren");
    for content in ["", "nonsense", "ref: refs/heads/rook\n", "0123"] {
        fs::write(&file, content).unwrap();
        let store = place.reopened();
        let error = store.tip(&tag("wren")).unwrap_err();
        assert!(
            matches!(&error, StoreError::Damaged { object, .. } if object == "refs/heads/wren"),
            "{content:?}: {error:?}"
        );
        let error = store.append(&tag("wren"), Some(&first), &new_commit("x", &[("a", "x")])).unwrap_err();
        assert_eq!(error.kind(), FailureKind::Damaged, "{error:?}");
        assert_eq!(fs::read_to_string(&file).unwrap(), content);
        // It is still listed, and the other journals are not affected.
        assert_eq!(store.tags().unwrap(), ["rook", "wren"].map(tag));
        assert_eq!(store.line(&tag("rook")).unwrap().len(), 1);
    }
    // A branch that names a commit which is not there.
    let none = "0123456789abcdef0123456789abcdef01234567";
    fs::write(&file, format!("{none}\n")).unwrap();
    let error = place.reopened().tip(&tag("wren")).unwrap_err();
    assert!(matches!(&error, StoreError::Missing { object } if object.contains(none)), "{error:?}");
    fs::remove_file(&file).unwrap();
    fs::write(place.repository().join("packed-refs"), "nonsense\n").unwrap();
    let error = everything(&place.reopened()).unwrap_err();
    assert_eq!(error.kind(), FailureKind::Damaged, "{error:?}");
}

#[test]
fn a_pack_that_was_cut_short_is_reported() {
    let (place, ..) = two_entries();
    place.git_text(&["gc", "--quiet"]);
    let packs = fs::read_dir(place.repository().join("objects/pack")).unwrap();
    for file in packs.map(|entry| entry.unwrap().path()) {
        let sound = fs::read(&file).unwrap();
        if file.extension().is_some_and(|extension| extension == "pack" || extension == "idx") {
            for length in [0, 10, sound.len() / 2, sound.len() - 21] {
                fs::remove_file(&file).unwrap();
                fs::write(&file, &sound[..length]).unwrap();
                let opened = GitStore::open(&place.repository(), &place.path().join("locks"), PATIENCE);
                let error = opened.and_then(|store| everything(&store)).unwrap_err();
                assert_eq!(error.kind(), FailureKind::Damaged, "{} to {length}: {error:?}", file.display());
            }
            fs::write(&file, &sound).unwrap();
        }
    }
    everything(&place.reopened()).unwrap();
}

#[test]
fn a_repository_that_is_none_is_reported_when_the_garage_is_opened() {
    let open = |place: &Place| match Garage::open_with(&place.path(), PATIENCE) {
        Err(GarageError::Store(error)) => error,
        other => panic!("{other:?}"),
    };
    let place = Place::new();
    fs::remove_file(place.repository().join("HEAD")).unwrap();
    assert!(matches!(open(&place), StoreError::Damaged { .. }), "{:?}", open(&place));

    let place = Place::new();
    fs::write(place.repository().join("config"), "[core\n").unwrap();
    assert!(matches!(open(&place), StoreError::Damaged { .. }), "{:?}", open(&place));

    let place = Place::new();
    fs::remove_dir_all(place.repository()).unwrap();
    assert!(matches!(open(&place), StoreError::Missing { .. }), "{:?}", open(&place));
}

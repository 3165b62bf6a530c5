//! Making and opening a garage, and the files that are kept in it.

use std::fs;
use std::path::Path;

use asfound_journal::FailureKind;
use asfound_journal::garage::{AuthorSettings, Garage, GarageError, KeptFile};
use asfound_journal::store::Store;

use crate::support::{Place, append_until_filed, tag};

#[test]
fn a_garage_is_made_opened_and_not_made_twice() {
    let place = Place::new();
    for name in ["garage.toml", "definitions", "columns", "locks", "journals.git"] {
        assert!(place.path().join(name).exists(), "{name}");
    }
    assert_eq!(place.garage.settings().author, AuthorSettings::default());
    append_until_filed(place.garage.store(), &tag("wren"), "enrolled");
    let again = Garage::create(&place.path()).unwrap_err();
    assert!(matches!(again, GarageError::Exists { .. }), "{again:?}");
    assert_eq!(again.kind(), FailureKind::Conflict);
    let opened = Garage::open(&place.path()).unwrap();
    assert_eq!(opened.path(), place.path());
    assert_eq!(opened.store().tags().unwrap(), [tag("wren")]);
}

#[test]
fn missing_directories_above_are_made() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("a/b/c");
    Garage::create(&path).unwrap();
    Garage::open(&path).unwrap();
}

#[test]
fn a_garage_is_not_made_among_other_files() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("holiday.jpg"), "").unwrap();
    fs::write(folder.path().join("zebra"), "").unwrap();
    let error = Garage::create(folder.path()).unwrap_err();
    assert!(matches!(&error, GarageError::Occupied { found, .. } if found == "holiday.jpg"), "{error:?}");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2);

    let file = folder.path().join("zebra");
    assert!(matches!(Garage::create(&file), Err(GarageError::NotAGarage { .. })));
    assert!(matches!(
        Garage::create(&file.join("below")),
        Err(GarageError::NotAGarage { .. } | GarageError::Disk { .. })
    ));
}

/// Wherever making a garage was cut off, making it again finishes it.
#[test]
fn a_garage_that_was_cut_off_in_the_making_is_finished() {
    type Cut = fn(&Path);
    let cuts: [(&str, Cut); 5] = [
        ("before the settings", |path| fs::remove_file(path.join("garage.toml")).unwrap()),
        ("while the settings were written", |path| {
            fs::rename(path.join("garage.toml"), path.join(".garage.toml.1-0.part")).unwrap();
        }),
        ("before the repository had its name", |path| {
            fs::remove_file(path.join("garage.toml")).unwrap();
            fs::rename(path.join("journals.git"), path.join("journals.git.new")).unwrap();
        }),
        ("in the middle of the repository", |path| {
            fs::remove_file(path.join("garage.toml")).unwrap();
            fs::rename(path.join("journals.git"), path.join("journals.git.new")).unwrap();
            fs::remove_file(path.join("journals.git.new/HEAD")).unwrap();
            fs::write(path.join("journals.git.new/config.lock"), "").unwrap();
        }),
        ("after the first folder", |path| {
            fs::remove_dir_all(path).unwrap();
            fs::create_dir_all(path.join("definitions")).unwrap();
        }),
    ];
    for (when, cut) in cuts {
        let place = Place::new();
        cut(&place.path());
        assert!(matches!(Garage::open(&place.path()), Err(GarageError::NotAGarage { .. })), "{when}");
        let garage = Garage::create(&place.path()).unwrap_or_else(|error| panic!("{when}: {error}"));
        append_until_filed(garage.store(), &tag("wren"), "enrolled");
        place.assert_sound();
        assert!(!place.path().join("journals.git.new").exists(), "{when}");
    }
}

/// Even if somebody takes `garage.toml` away from a garage in use.
#[test]
fn finishing_a_garage_keeps_its_journals() {
    let place = Place::new();
    let id = append_until_filed(place.garage.store(), &tag("wren"), "enrolled");
    fs::remove_file(place.path().join("garage.toml")).unwrap();
    let garage = Garage::create(&place.path()).unwrap();
    assert_eq!(garage.store().line(&tag("wren")).unwrap(), [id]);
}

#[test]
fn what_is_no_garage_is_refused_with_its_reason_and_a_hint() {
    let folder = tempfile::tempdir().unwrap();
    let missing = Garage::open(&folder.path().join("none")).unwrap_err();
    assert!(matches!(missing, GarageError::Missing { .. }), "{missing:?}");
    assert_eq!(missing.kind(), FailureKind::NotFound);
    assert!(missing.hint().unwrap().contains("enrol"));

    let empty = Garage::open(folder.path()).unwrap_err();
    assert!(matches!(empty, GarageError::NotAGarage { .. }), "{empty:?}");
    fs::write(folder.path().join("file"), "").unwrap();
    let file = Garage::open(&folder.path().join("file")).unwrap_err();
    assert!(matches!(file, GarageError::NotAGarage { .. }), "{file:?}");
}

#[test]
fn bad_settings_are_placed() {
    let place = Place::new();
    let file = place.path().join("garage.toml");
    let open = |content: &str| {
        fs::write(&file, content).unwrap();
        Garage::open(&place.path())
    };
    let newer = open("format = \"asfound-garage/12\"\n").unwrap_err();
    assert!(matches!(&newer, GarageError::Newer { found, .. } if found == "asfound-garage/12"), "{newer:?}");
    let error = open("format = \"asfound-garage/1\"\n\n[author]\nnmae = \"x\"\n").unwrap_err();
    assert!(matches!(error, GarageError::Settings { line: 4, column: 1, .. }), "{error:?}");
    let said = error.to_string();
    assert!(said.contains("garage.toml, line 4, column 1: ") && said.contains("nmae"), "{said}");
    assert!(matches!(open("").unwrap_err(), GarageError::Settings { line: 1, column: 1, .. }));
    let good = open("format = \"asfound-garage/1\"\n[author]\nname = \"Edda Brandt\"\n").unwrap();
    assert_eq!(good.settings().author.name.as_deref(), Some("Edda Brandt"));
}

#[test]
fn definitions_and_columns_are_kept_by_name() {
    let place = Place::new();
    let garage = &place.garage;
    assert_eq!(garage.definitions().unwrap(), []);
    let body = garage.keep_definition(&"merl-body-2".parse().unwrap(), "one\n").unwrap();
    assert_eq!(body, place.path().join("definitions/merl-body-2.toml"));
    garage.keep_definition(&"merl-body-2".parse().unwrap(), "two\n").unwrap();
    let alpha = garage.keep_definition(&"alpha".parse().unwrap(), "a").unwrap();
    // Not definitions: another kind of file, what an editor left, a folder.
    fs::write(place.path().join("definitions/notes.txt"), "").unwrap();
    fs::write(place.path().join("definitions/.hidden.toml"), "").unwrap();
    fs::create_dir(place.path().join("definitions/folder.toml")).unwrap();
    let wanted = [KeptFile { path: alpha, bytes: b"a".into() }, KeptFile { path: body, bytes: b"two\n".into() }];
    assert_eq!(garage.definitions().unwrap(), wanted);

    garage.keep_columns(&"bench-two".parse().unwrap(), "c").unwrap();
    assert_eq!(garage.columns().unwrap()[0].path, place.path().join("columns/bench-two.toml"));
    fs::remove_dir_all(place.path().join("columns")).unwrap();
    assert_eq!(garage.columns().unwrap(), []);
    garage.keep_columns(&"again".parse().unwrap(), "c").unwrap();
    assert_eq!(garage.columns().unwrap().len(), 1);
}

/// `/sys` takes no directories from anybody, whoever runs the tests.
#[cfg(target_os = "linux")]
#[test]
fn a_directory_that_may_not_be_made_is_named() {
    let path = Path::new("/sys/asfound-garage");
    let error = Garage::create(path).unwrap_err();
    assert!(matches!(&error, GarageError::Disk { path: named, .. } if named == path), "{error:?}");
    assert_eq!(error.kind(), FailureKind::Io);
    assert!(error.hint().is_some(), "{error}");
}

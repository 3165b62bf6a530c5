//! Many vehicles: readings taken in at once, and the packing of what they leave.

use std::collections::BTreeMap;
use std::fs::{self, File};
use std::path::{Path, PathBuf};
#[cfg(unix)]
use std::process::Command;

use asfound_tests::json::{Entries, TakenIn, Tidied, Vehicles};
use asfound_tests::{Workshop, plain_git};
use insta::assert_snapshot;

/// A thin copy of the program that this package builds.
const BINARY: &str = env!("CARGO_BIN_EXE_asfound-under-test");

/// Readings of three vehicles, of which one is enrolled, in the ways in which a reading says whose it is.
fn fleet() -> Workshop {
    let shop = Workshop::with_wren();
    let reading = |shop: &Workshop, to: &str, head: &str| {
        let text = shop.text("as-left.toml");
        let kept: Vec<&str> =
            text.lines().filter(|line| !line.starts_with("vehicle") && !line.starts_with("vin")).collect();
        let (first, rest) = kept.split_first().expect("it has lines");
        shop.write(to, format!("{first}\n{head}\n{}\n", rest.join("\n")));
    };
    reading(&shop, "in/by-tag.toml", "vehicle = \"rook\"");
    reading(&shop, "in/by-vin.toml", "vin = \"ZZ9WRENA9T2000017\"");
    reading(&shop, "in/plover/second.toml", "vehicle = \"plover\"");
    shop.write("in/broken.toml", "format = \"asfound-reading/1\"\nmodules = 5\n");
    shop.write("in/whose.toml", "format = \"asfound-reading/1\"\n[modules.body]\nsettings = { a = \"1\" }\n");
    shop
}

#[test]
fn one_bad_file_does_not_stop_the_others_and_a_second_run_files_nothing_twice() {
    let mut shop = fleet();
    let ran = shop.run("import ./in --enrol");
    assert_snapshot!(ran, @"
    $ asfound import ./in --enrol
    taken in from · ./in
    ════════════════════════════════════════════════════════════════════════════════
    filed           3 readings
    filed before    0 readings
    refused         2 readings
    enrolled        2 vehicles

    note well: broken.toml: line 2, column 11: modules: expected a table, found a
               whole number
    note well: whose.toml: neither the reading nor its name or folder says which
               vehicle it is of
    Next: put these right and take in the same again; what is filed is passed over.
    --- exit code 2
    ");
    let again: TakenIn = shop.json_of("import ./in --enrol");
    assert_eq!((again.filed, again.filed_before, again.refused.len()), (0, 3, 2));
    let vehicles: Vehicles = shop.json("vehicles");
    let counts: Vec<_> = vehicles.vehicles.iter().map(|line| (line.tag.as_str(), line.entries)).collect();
    assert_eq!(counts, [("plover", 2), ("rook", 2), ("wren", 3)]);
    let entries: Entries = shop.json("entries wren");
    assert_eq!(entries.entries[2].why, "from by-vin.toml");
    let _ = shop.run("audit").done();
    assert!(plain_git::git(&shop.repository(), &["fsck", "--strict"]).status.success());
}

trait JsonOf {
    fn json_of(&mut self, line: &str) -> TakenIn;
}

impl JsonOf for Workshop {
    /// Also where some readings are refused, which is no success.
    fn json_of(&mut self, line: &str) -> TakenIn {
        let ran = self.run(&format!("{line} --json"));
        serde_json::from_str(&ran.out).unwrap_or_else(|error| panic!("{error}: {ran}"))
    }
}

#[test]
fn each_line_of_a_stream_is_a_reading_and_says_for_itself_what_is_wrong_with_it() {
    let mut shop = Workshop::with_wren();
    let reading = |tag: &str, head: &str| {
        format!(
            r#"{{"format":"asfound-reading/{head}","vehicle":"{tag}","modules":{{"body":{{"settings":{{"a":"1"}}}}}}}}"#
        )
    };
    let lines = [
        reading("rook", "1"),
        String::new(),
        "modules = 5".to_owned(),
        reading("plover", "1").replace("\"modules\":", ""),
        reading("plover", "2"),
        reading("../plover", "1"),
        reading("rook", "1"),
        reading("plover", "1"),
    ];
    shop.write("stream", lines.join("\n"));
    let stream = File::open(shop.folder().join("stream")).unwrap();
    let output = shop.process(BINARY, "import - --enrol --partial").stdin(stream).output().unwrap();
    assert_snapshot!(String::from_utf8(output.stdout).unwrap(), @"
    taken in from · standard input
    ════════════════════════════════════════════════════════════════════════════════
    filed           2 readings
    filed before    1 reading
    refused         4 readings
    enrolled        2 vehicles

    note well: line 3: this is no JSON: each line of a stream is one reading,
               written as JSON
    note well: line 4: line 1, column 50: not well-formed JSON: unexpected token in
               object
    note well: line 5: line 1, column 11: format: the format `asfound-reading/2` is
               of another version, this program reads `asfound-reading/1`
    note well: line 6: line 1, column 41: vehicle: `../plover` cannot be a tag: it
               must start with a letter from a to z
    Next: put these right and take in the same again; what is filed is passed over.
    ");
    assert_eq!((output.status.code(), output.stderr), (Some(2), Vec::new()));
    let entries = |shop: &mut Workshop, tag: &str| shop.json::<Entries>(&format!("entries {tag}")).entries.len();
    assert_eq!((entries(&mut shop, "rook"), entries(&mut shop, "plover")), (2, 2));
}

/// Some systems let a program have no more than 256 files open, and that of a morning is a reading of each of many cars.
#[test]
#[cfg(unix)]
fn many_vehicles_need_no_more_open_files_than_few() {
    let mut shop = Workshop::with_wren();
    let line = |n: u32| {
        format!(
            r#"{{"format":"asfound-reading/1","vehicle":"car-{n}","modules":{{"body":{{"settings":{{"a":"1"}}}}}}}}"#
        )
    };
    shop.write("stream", (0..300).map(line).collect::<Vec<_>>().join("\n"));
    let stream = File::open(shop.folder().join("stream")).unwrap();
    let given = shop.process(BINARY, "import - --enrol --partial");
    let mut limited = Command::new("sh");
    limited.args(["-c", "ulimit -n 128 && exec \"$0\" \"$@\""]).arg(given.get_program()).args(given.get_args());
    limited.env_clear().envs(given.get_envs().filter_map(|(name, value)| Some((name, value?))));
    let output = limited.current_dir(shop.folder()).stdin(stream).output().unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    assert_eq!(shop.json::<Vehicles>("vehicles").vehicles.len(), 301);
}

#[test]
fn without_enrol_vehicles_without_a_journal_are_refused() {
    let mut shop = fleet();
    let taken: TakenIn = shop.json_of("import ./in");
    assert_eq!((taken.filed, taken.enrolled, taken.refused.len()), (1, 0, 4));
    let why = |name: &str| taken.refused.iter().find(|refused| refused.name == name).expect("it is named").why.clone();
    assert!(why("by-tag.toml").contains("`--enrol`"));
    assert!(why("whose.toml").contains("which vehicle it is of"));
    assert!(why("broken.toml").contains("modules"), "{}", why("broken.toml"));
    assert_eq!(plain_git::tip(&shop.repository(), "rook"), None);
    let missing = shop.refused("import ./nowhere");
    assert_eq!(missing.exit, 2);
}

#[test]
fn a_garage_is_tidied_and_reads_as_before() {
    let mut shop = fleet();
    let _ = shop.run("import ./in --enrol");
    let before = shop.run("entries wren").done();
    let tidied: Tidied = shop.json("pack");
    assert!(tidied.objects > 0 && tidied.references == 3 && tidied.damaged == 0, "{tidied:?}");
    assert!(tidied.bytes_after < tidied.bytes_before, "{tidied:?}");
    assert_eq!(shop.run("entries wren").done().out, before.out);
    assert_snapshot!(shop.run("pack").done(), @"
    $ asfound pack
    There was nothing to pack.
    --- exit code 0
    ");
    let _ = shop.run("note wren 'after tidying'").done();
    let _ = shop.run("audit").done();
    assert!(plain_git::git(&shop.repository(), &["fsck", "--strict"]).status.success());
}

/// Every file below a folder, with its content.
fn contents(folder: &Path, found: &mut BTreeMap<PathBuf, Vec<u8>>) {
    for entry in fs::read_dir(folder).expect("the folder can be listed") {
        let path = entry.expect("the folder can be listed").path();
        if path.is_dir() {
            contents(&path, found);
        } else {
            found.insert(path.clone(), fs::read(&path).expect("the file can be read"));
        }
    }
}

#[test]
fn a_garage_of_a_later_version_is_never_changed() {
    let mut shop = fleet();
    let _ = shop.run("share ./cars.git --new").done();
    let text = shop.text("garage/garage.toml").replace("asfound-garage/1", "asfound-garage/2");
    shop.write("garage/garage.toml", text + "\n[something_new]\nkey = 1\n");
    let mut before = BTreeMap::new();
    contents(&shop.garage(), &mut before);
    for line in [
        "enrol plover",
        "read wren ./as-left.toml",
        "change wren body.lane_change_flashes=5 --why five",
        "note wren hello",
        "correct wren 2 --words x --why y",
        "put-back wren 2 --done --sheet CODE --why x",
        "return-to wren 1 --done --sheet CODE --why x",
        "definition keep ./body-1.toml",
        "import ./in --enrol",
        "pack",
        "share ./cars.git",
        "share ./new.git --new",
        "--garage ./two share ./garage",
        "vehicles",
        "entries wren",
        "audit",
        "seal wren",
    ] {
        let ran = shop.run(line);
        assert_eq!(ran.exit, 4, "{ran}");
        assert!(ran.err.contains("newer than this program reads"), "{ran}");
    }
    let mut after = BTreeMap::new();
    contents(&shop.garage(), &mut after);
    assert!(before == after, "something was changed");
}

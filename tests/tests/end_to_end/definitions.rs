//! Definitions that are kept: what would read otherwise, and that none of them locks a vehicle out.

use asfound_tests::Workshop;
use asfound_tests::json::{Comparison, DefinitionsKept, Settings};
use insta::assert_snapshot;

/// The cluster's definition with other conditions, under another name.
fn second(shop: &Workshop, id: &str, conditions: &str) {
    let text = shop.text("cluster-1.toml").replace("aviary-cluster-1", id);
    shop.write(
        &format!("{id}.toml"),
        text.replace("module = \"cluster\"\n", &format!("module = \"cluster\"\n{conditions}\n")),
    );
}

fn values(settings: &Settings, module: &str) -> Vec<(String, String)> {
    let of_module = settings.settings.iter().filter(|line| line.setting.starts_with(module));
    of_module.map(|line| (line.setting.clone(), line.content.text.clone())).collect()
}

#[test]
fn a_definition_that_overlaps_is_found_and_kept_only_when_it_is_meant() {
    let mut shop = Workshop::with_wren();
    second(&shop, "overlapping", "part_number = [\"7H0-920*\"]");
    assert_snapshot!(shop.run("definition check ./overlapping.toml"), @"
    $ asfound definition check ./overlapping.toml
    ./overlapping.toml: warning: line 6, column 1: applies_to: the definition
    `aviary-cluster-1` fits some of the same modules, such as part number 7H0-920
      · hint: where both fit, neither explains the module: narrow one of them

    1 file: 0 errors, 1 warning.
    --- exit code 0
    ");
    let refused = shop.refused("definition keep ./overlapping.toml");
    assert!(refused.exit == 3 && refused.flat().contains("1 setting of 1 vehicle reads otherwise"), "{refused}");
    assert!(refused.flat().contains("wren cluster.needle_sweep: no name, was off"), "{refused}");
    assert!(!shop.garage().join("definitions/overlapping.toml").exists());
    let kept = shop.run("definition keep ./overlapping.toml --yes").done();
    assert!(kept.flat().contains("fits some of the same modules, such as part number 7H0-920"), "{kept}");
    assert!(kept.flat().contains("wren cluster.needle_sweep: no name, was off"), "{kept}");
    // Kept again, nothing reads otherwise.
    let again: DefinitionsKept = shop.json("definition keep ./overlapping.toml");
    assert!(again.read_otherwise.is_empty() && again.overlaps.len() == 1, "{again:?}");
}

#[test]
fn a_vehicle_that_two_definitions_fit_is_shown_whole() {
    let mut shop = Workshop::after_work();
    let before: Settings = shop.json("settings wren");
    second(&shop, "overlapping", "part_number = [\"7H0-920*\"]");
    let _ = shop.run("definition keep ./overlapping.toml --yes").done();

    let shown = shop.run("settings wren").done();
    assert!(shown.flat().contains("Several definitions fit cluster (aviary-cluster-1, overlapping)"), "{shown}");
    let after: Settings = shop.json("settings wren");
    assert_eq!(values(&after, "body."), values(&before, "body."));
    assert_eq!(after.several_definitions.len(), 1);
    assert_eq!(after.several_definitions[0].definitions, ["aviary-cluster-1", "overlapping"]);
    assert!(
        after
            .records_unexplained
            .iter()
            .any(|record| (record.module.as_str(), record.bytes.as_str()) == ("cluster", "00"))
    );

    for command in [
        "vehicles",
        "entries wren",
        "entry wren 2",
        "compare wren 2 6",
        "trial wren",
        "handover wren",
        "audit",
        "explain cluster.needle_sweep",
        "logbook wren --out ./book.html",
    ] {
        let ran = shop.run(command);
        assert_eq!(ran.exit, 0, "{ran}");
    }
    assert_snapshot!(shop.run("entries wren cluster.needle_sweep"), @"
    $ asfound entries wren cluster.needle_sweep
    --- standard error
    asfound: more than one definition fits the module `cluster`: aviary-cluster-1,
             overlapping
    hint: `asfound settings wren` lists what it knows, and the bytes of its records
    --- exit code 2
    ");
    let compared: Comparison = shop.json("compare wren 2 6");
    assert_eq!(compared.several_definitions.len(), 1);
    // Bytes can still be read and worked on; what needs a name is refused with the reason.
    let refused = shop.refused("change wren cluster.needle_sweep=on --why x");
    assert!(
        refused.flat().contains("more than one definition fits the module `cluster`: aviary-cluster-1, overlapping"),
        "{refused}"
    );
    let _ = shop.run("change wren cluster:0C01=01 --why 'by its bytes'").done();
    let read = shop.run("read wren ./weeks-later.toml");
    assert_eq!(read.exit, 0, "{read}");
    assert!(read.flat().contains("several definitions fit cluster (aviary-cluster-1, overlapping)"), "{read}");
    let compared: Comparison = shop.json("compare wren 6 8");
    let cluster = compared.modules.iter().find(|module| module.module == "cluster").unwrap();
    assert_eq!((cluster.records[0].found.as_deref(), cluster.records[0].left.as_deref()), (Some("00"), Some("01")));
    let _ = shop.run("audit").done();

    // Taken out again, everything has its name as before.
    std::fs::remove_file(shop.garage().join("definitions/overlapping.toml")).unwrap();
    let last: Settings = shop.json("settings wren");
    assert_eq!(values(&last, "cluster."), [("cluster.needle_sweep".to_owned(), "on".to_owned())]);
}

#[test]
fn what_reads_otherwise_is_said_before_a_definition_takes_anothers_place() {
    let mut shop = Workshop::with_wren();
    // Another label and the bits turned round.
    shop.rewrite(
        "body-1.toml",
        "better.toml",
        &[
            ("label = \"Horn tone on locking\"", "label = \"Horn when locked\""),
            (
                "factory = \"on\"\ntags = [\"locking\"]",
                "choices = { off = 1, on = 0 }\nfactory = \"on\"\ntags = [\"locking\"]",
            ),
        ],
    );
    assert_snapshot!(shop.refused("definition keep ./better.toml"), @r#"
    $ asfound definition keep ./better.toml
    --- standard error
    2 settings of 1 vehicle read otherwise than before:
      wren body.lock_by_horn: off, "Horn tone on locking" is called "Horn when locked"
      wren body.unlock_on_key_out: off, was on
    asfound: nothing was kept
    hint: say `--yes` if they are meant to read so
    --- exit code 3
    "#);
    assert_eq!(shop.text("garage/definitions/aviary-body-1.toml"), shop.text("body-1.toml"));
    let kept: DefinitionsKept = shop.json("definition keep ./better.toml --yes");
    assert_eq!(kept.read_otherwise.len(), 2, "{kept:?}");
    // A name for what had none takes nothing away: nobody is asked.
    shop.rewrite("cluster-1.toml", "more.toml", &[("tags = [\"display\"]", "tags = [\"display\"]\n[settings.chime]\nlabel = \"Chime\"\nrecord = \"0C01\"\nbyte = 0\nbit = 1\nbits = 1\ntype = \"switch\"\ntags = [\"audible\"]")]);
    let kept = shop.run("definition keep ./more.toml").done();
    assert!(kept.flat().contains("1 setting has a name that had none until now"), "{kept}");
}

#[test]
fn a_switch_has_one_bit() {
    let mut shop = Workshop::equipped();
    let switch = "[settings.chime]\nlabel = \"Chime\"\nrecord = \"0C01\"\nbyte = 0\nbit = 2\ntype = \"switch\"\ntags = [\"audible\"]\n";
    shop.write("old.toml", format!("{}{switch}", shop.text("cluster-1.toml")));
    let refused = shop.refused("definition keep ./old.toml");
    assert!(
        refused.flat().contains("8 bits from bit 2 on reach from byte 0 into byte 1, and `bits` is not said"),
        "{refused}"
    );
    shop.rewrite("old.toml", "new.toml", &[("asfound-definition/1", "asfound-definition/2")]);
    let _ = shop.run("definition keep ./new.toml").done();
    let _ = shop.run("enrol wren").done();
    let _ = shop.run("read wren --value cluster:0C01=FA --as found").done();
    let _ = shop.run("change wren cluster.chime=on --why 'wants to hear it'").done();
    let settings: Settings = shop.json("settings wren");
    assert_eq!(values(&settings, "cluster.")[0].1, "on");
    let text = shop.run("entry wren 3").done();
    assert!(text.out.contains("FE"), "{text}");
    let _ = shop.run("audit").done();
}

#[test]
fn a_pinned_definition_explains_a_module_without_identity() {
    let mut shop = Workshop::equipped();
    let _ = shop.run("enrol wren").done();
    let _ = shop.run("read wren --value cluster:0C01=01 --as found").done();
    let before: Settings = shop.json("settings wren");
    assert_eq!(values(&before, "cluster."), [("cluster.needle_sweep".to_owned(), "on".to_owned())]);
    std::fs::remove_dir_all(shop.garage().join("definitions")).unwrap();
    let after: Settings = shop.json("settings wren");
    assert_eq!(values(&after, "cluster."), values(&before, "cluster."));
    let _ = shop.run("change wren cluster.needle_sweep=off --why 'by the pinned one'").done();
    assert!(shop.run("entries wren cluster.needle_sweep").done().out.contains("off"));
    assert!(shop.run("find cluster.needle_sweep").done().out.contains("wren"));
    // The garage's own comes first again, where it has one.
    shop.rewrite("cluster-1.toml", "own.toml", &[("aviary-cluster-1", "own"), ("bit = 0", "bit = 1")]);
    let _ = shop.run("definition keep ./own.toml --yes").done();
    let own: Settings = shop.json("settings wren");
    assert_eq!(own.several_definitions, []);
    let _ = shop.run("audit").done();
}

#[test]
fn a_setting_that_no_definition_names_is_altered_like_any_other() {
    let mut shop = Workshop::with_wren();
    // The definition fits and does not name it.
    let _ = shop.run("read wren --value cluster.night_dimming=3 --partial").done();
    let _ = shop.run("change wren cluster.night_dimming=4 --why 'too bright'").done();
    let value = |shop: &mut Workshop| {
        let settings: Settings = shop.json("settings wren");
        settings
            .settings
            .iter()
            .find(|line| line.setting == "cluster.night_dimming")
            .map(|line| line.content.text.clone())
    };
    assert_eq!(value(&mut shop).as_deref(), Some("4"));
    let _ = shop.run("correct wren 4 cluster.night_dimming=5 --why 'a slip'").done();
    assert_eq!(value(&mut shop).as_deref(), Some("5"));
    let _ = shop.run("put-back wren 4 --done --sheet CODE --why 'as it was'").done();
    assert_eq!(value(&mut shop).as_deref(), Some("3"));
    // One that nobody has told of yet, with its value as found.
    let _ = shop.run("change wren cluster.tank_size=60 --was 50 --why 'larger tank'").done();
    let _ = shop.run("correct wren 7 --was cluster.tank_size=55 --why 'was another one'").done();
    // A slip of the pen is still one.
    assert_snapshot!(shop.refused("change wren cluster.needle_swep=on --was off --why x"), @"
    $ asfound change wren cluster.needle_swep=on --was off --why x
    --- standard error
    asfound: aviary-cluster-1 has no setting `needle_swep`
    hint: did you mean `cluster.needle_sweep`?
    --- exit code 2
    ");
    let _ = shop.run("audit").done();
}

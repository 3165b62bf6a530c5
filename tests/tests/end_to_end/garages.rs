//! Garages that are missing, of another kind, of a newer version, damaged, or out of reach.

use std::fs;

use asfound_tests::Workshop;
use insta::assert_snapshot;

#[test]
fn a_garage_that_is_missing() {
    let mut shop = Workshop::new();
    assert_snapshot!(shop.refused("entries wren"), @"
    $ asfound entries wren
    --- standard error
    asfound: there is no garage at ./garage
    hint: enrolling the first vehicle makes one: `asfound enrol TAG`
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("vehicles"), @"
    $ asfound vehicles
    --- standard error
    asfound: there is no garage at ./garage
    hint: enrolling the first vehicle makes one: `asfound enrol TAG`
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("--garage ./elsewhere settings wren"), @"
    $ asfound --garage ./elsewhere settings wren
    --- standard error
    asfound: there is no garage at ./elsewhere
    hint: enrolling the first vehicle makes one: `asfound enrol TAG`
    --- exit code 2
    ");
    assert!(!shop.folder().join("elsewhere").exists());
}

#[test]
fn an_empty_garage() {
    let mut shop = Workshop::equipped();
    assert_snapshot!(shop.run("vehicles"), @"
    $ asfound vehicles
    No vehicle is enrolled in ./garage.
    Next: asfound enrol TAG
    --- exit code 0
    ");
    assert_snapshot!(shop.refused("entries wren"), @"
    $ asfound entries wren
    --- standard error
    asfound: there is no vehicle `wren` in this garage
    hint: `asfound vehicles` lists them; `asfound enrol wren` starts a journal
    --- exit code 2
    ");
    let _ = shop.run("enrol wren").done();
    assert_snapshot!(shop.run("entries wren"), @"
    $ asfound entries wren
    wren
    ════════════════════════════════════════════════════════════════════════════════
    ENTRY   DATE          WHAT                               PROVEN
    ───────────────────────────────────────────────────────────────
        1   14 Mar 2026   enrolled: wren (journal started)   –
    --- exit code 0
    ");
    assert_snapshot!(shop.run("settings wren"), @"
    $ asfound settings wren
    wren · settings after entry 1 · 14 March 2026
    ════════════════════════════════════════════════════════════════════════════════
    No setting is known yet.
    --- exit code 0
    ");
    assert_snapshot!(shop.refused("put-back wren 1"), @"
    $ asfound put-back wren 1
    --- standard error
    asfound: entry 1 altered nothing that could be put back
    --- exit code 2
    ");
}

#[test]
fn a_folder_that_is_no_garage() {
    let mut shop = Workshop::new();
    shop.write("garage/shopping-list.txt", "bread");
    assert_snapshot!(shop.refused("vehicles"), @"
    $ asfound vehicles
    --- standard error
    asfound: ./garage is not a garage: garage.toml is missing in it
    hint: give the directory in which garage.toml lies, or one that is new or empty
          to make a garage there
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("enrol wren"), @"
    $ asfound enrol wren
    --- standard error
    asfound: ./garage is not a garage: garage.toml is missing in it
    hint: give the directory in which garage.toml lies, or one that is new or empty
          to make a garage there
    --- exit code 2
    ");
    shop.write("file", "text");
    assert_snapshot!(shop.refused("--garage ./file enrol wren"), @"
    $ asfound --garage ./file enrol wren
    --- standard error
    asfound: ./file is not a garage: it is not a directory
    hint: give the directory in which garage.toml lies, or one that is new or empty
          to make a garage there
    --- exit code 2
    ");
}

#[test]
fn a_garage_from_a_newer_version() {
    let mut shop = Workshop::with_wren();
    shop.write("garage/garage.toml", "format = \"asfound-garage/2\"\nhouse = \"blue\"\n");
    assert_snapshot!(shop.refused("note wren 'is it there?'"), @"
    $ asfound note wren 'is it there?'
    --- standard error
    asfound: ./garage/garage.toml has the format `asfound-garage/2`, which is
             newer than this program reads (`asfound-garage/1`)
    hint: use the newer version of this program; this one would not understand what
          it reads
    --- exit code 4
    ");
    assert_snapshot!(shop.refused("entries wren"), @"
    $ asfound entries wren
    --- standard error
    asfound: ./garage/garage.toml has the format `asfound-garage/2`, which is
             newer than this program reads (`asfound-garage/1`)
    hint: use the newer version of this program; this one would not understand what
          it reads
    --- exit code 4
    ");
    assert_snapshot!(shop.refused("definition keep ./body-1.toml"), @"
    $ asfound definition keep ./body-1.toml
    --- standard error
    asfound: ./garage/garage.toml has the format `asfound-garage/2`, which is
             newer than this program reads (`asfound-garage/1`)
    hint: use the newer version of this program; this one would not understand what
          it reads
    --- exit code 4
    ");
}

#[test]
fn a_garage_whose_settings_are_wrong() {
    let mut shop = Workshop::with_wren();
    shop.write("garage/garage.toml", "format = \"asfound-garage/1\"\n[author]\nnam = \"Edda\"\n");
    assert_snapshot!(shop.refused("note wren 'is it there?'"), @"
    $ asfound note wren 'is it there?'
    --- standard error
    asfound: ./garage/garage.toml, line 3, column 1: unknown field `nam`,
             expected `name` or `email`
    hint: put that line right; the journals themselves are not affected
    --- exit code 2
    ");
}

#[test]
fn a_definition_in_the_garage_that_cannot_be_used() {
    let mut shop = Workshop::with_wren();
    shop.rewrite("cluster-1.toml", "garage/definitions/aviary-cluster-1.toml", &[("bits = 1", "bits = 0")]);
    assert_snapshot!(shop.refused("note wren 'is it there?'"), @"
    $ asfound note wren 'is it there?'
    --- standard error
    asfound: ./garage/definitions/aviary-cluster-1.toml: line 18, column 8:
             settings.needle_sweep.bits: a value of 0 bits holds nothing
    hint: mend the file, or take a sound one in with `asfound definition keep FILE`
    --- exit code 2
    ");
    // The mended file takes its place.
    let _ = shop.run("definition keep ./cluster-1.toml").done();
    let _ = shop.run("note wren 'it is there'").done();
}

#[test]
fn a_tag_that_exists_and_one_that_cannot() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.refused("enrol wren --about 'another wren'"), @"
    $ asfound enrol wren --about 'another wren'
    --- standard error
    asfound: `wren` is enrolled already
    hint: choose another tag, or look at it with `asfound entries wren`
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("enrol Wren"), @"
    $ asfound enrol Wren
    --- standard error
    error: invalid value 'Wren' for '<TAG>': `Wren` cannot be a tag: it must start with a letter from a to z

    For more information, try '--help'.
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("enrol wren/2"), @"
    $ asfound enrol wren/2
    --- standard error
    error: invalid value 'wren/2' for '<TAG>': `wren/2` cannot be a tag: `/` is not allowed, only a to z, 0 to 9 and `-` between them

    For more information, try '--help'.
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("entries wrem"), @"
    $ asfound entries wrem
    --- standard error
    asfound: there is no vehicle `wrem` in this garage
    hint: did you mean `wren`?
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("compare wren plover"), @"
    $ asfound compare wren plover
    --- standard error
    asfound: there is no vehicle `plover` in this garage
    hint: `asfound vehicles` lists them; `asfound enrol plover` starts a journal
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("enrol lark --vin 1M8GDM9AXKP04278O"), @"
    $ asfound enrol lark --vin 1M8GDM9AXKP04278O
    --- standard error
    error: invalid value '1M8GDM9AXKP04278O' for '--vin <VIN>': character 17 of the VIN is `O`: the letters I, O and Q are not used (perhaps 0)

    For more information, try '--help'.
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("enrol lark --vin IM8GDM9AXKP042788"), @"
    $ asfound enrol lark --vin IM8GDM9AXKP042788
    --- standard error
    error: invalid value 'IM8GDM9AXKP042788' for '--vin <VIN>': character 1 of the VIN is `I`: the letters I, O and Q are not used (perhaps 1)

    For more information, try '--help'.
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("enrol lark --vin 1M8GDM9AXKP04278"), @"
    $ asfound enrol lark --vin 1M8GDM9AXKP04278
    --- standard error
    error: invalid value '1M8GDM9AXKP04278' for '--vin <VIN>': a VIN has 17 characters, this one has 16

    For more information, try '--help'.
    --- exit code 2
    ");
    // VIN and its wrong check digit: a remark, never an error (49 CFR 565 holds in North America only).
    assert_snapshot!(shop.run("enrol lark --vin ZZ9PLVRA5T2000024"), @"
    $ asfound enrol lark --vin ZZ9PLVRA5T2000024
    lark · entry 1 · enrolled · 14 March 2026, 10:55
    ════════════════════════════════════════════════════════════════════════════════
    VIN             ZZ9PLVRA5T2000024
    about           –
    garage          ./garage
    remark: the ninth character of the VIN is 5; by the check-digit rule of 49 CFR
            565 it would be 6. Outside North America it need not follow the rule;
            else look at the VIN again.

    Next: read the modules and file what they say as found: asfound read lark FILE
    --as found
    --- exit code 0
    ");
}

#[test]
fn locks_that_cannot_be_taken() {
    let mut shop = Workshop::with_wren();
    fs::remove_dir_all(shop.garage().join("locks")).unwrap();
    shop.write("garage/locks", "not a folder");
    assert_snapshot!(shop.refused("note wren 'is it there?'"), @"
    $ asfound note wren 'is it there?'
    --- standard error
    asfound: cannot make the folder ./garage/locks: ./garage/locks is no
             folder
    hint: nothing was written; no garage made by this program has that in it, so
          find out where it comes from
    --- exit code 4
    ");
    // Reading needs no lock.
    let _ = shop.run("entries wren").done();
}

#[test]
fn a_journal_that_is_damaged() {
    let mut shop = Workshop::after_work();
    let head = shop.repository().join("refs/heads/wren");
    let tip = fs::read_to_string(&head).unwrap();
    fs::write(&head, "0123456789012345678901234567890123456789\n").unwrap();
    assert_snapshot!(shop.run("entries wren"), @"
    $ asfound entries wren
    --- standard error
    asfound: commit <commit>, the tip of `wren`, is
             missing
    hint: stop writing to this garage and bring journals.git back from a copy; `git
          fsck` in it lists all damage
    --- exit code 4
    ");
    fs::write(&head, tip.trim()).unwrap();
    let object = shop.repository().join("objects").join(&tip[..2]).join(tip[2..].trim());
    fs::remove_file(object).unwrap();
    assert_snapshot!(shop.run("note wren 'is it there?'"), @"
    $ asfound note wren 'is it there?'
    --- standard error
    asfound: commit <commit>, the tip of `wren`, is
             missing
    hint: stop writing to this garage and bring journals.git back from a copy; `git
          fsck` in it lists all damage
    --- exit code 4
    ");
    fs::remove_dir_all(shop.repository()).unwrap();
    assert_snapshot!(shop.run("entries wren"), @"
    $ asfound entries wren
    --- standard error
    asfound: the repository ./garage/journals.git is missing
    hint: stop writing to this garage and bring journals.git back from a copy; `git
          fsck` in it lists all damage
    --- exit code 4
    ");
}

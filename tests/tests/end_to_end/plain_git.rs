//! The garage to somebody who has git and sha256sum and not this program.

use std::fs;
use std::process::Command;

use asfound_tests::plain_git::{git, line, text};
use asfound_tests::{Workshop, merkle};
use insta::assert_snapshot;
use sha2::{Digest, Sha256};

/// The whole story with everything that leaves other files: evidence, trouble codes, a correction, a second vehicle.
fn all_of_it() -> Workshop {
    let mut shop = Workshop::after_put_back();
    shop.write("consent.txt", "yes\n");
    for command in [
        "note wren 'owner agreed by phone' --on 4 --attach ./consent.txt",
        "correct wren 8 body.lock_by_horn=on --why 'it did not take'",
        "return-to wren 2 --done --sheet CODE --why sold",
        "enrol plover --about 'small van'",
        "note plover 'nothing known yet'",
    ] {
        let _ = shop.run(command).done();
    }
    shop
}

#[test]
fn git_finds_nothing_wrong() {
    let shop = all_of_it();
    let checked = git(&shop.repository(), &["fsck", "--strict", "--full", "--no-dangling"]);
    let said = String::from_utf8_lossy(&checked.stdout).into_owned() + &String::from_utf8_lossy(&checked.stderr);
    assert!(checked.status.success(), "{said}");
    let complaints: Vec<&str> =
        said.lines().filter(|line| !line.starts_with("notice: HEAD points to an unborn")).collect();
    assert!(complaints.is_empty(), "{complaints:?}");
}

#[test]
fn the_log_tells_the_story() {
    let shop = all_of_it();
    assert_snapshot!(text(&shop.repository(), &["log", "--reverse", "--format=%an, %ad: %s", "--date=iso-strict", "wren"]), @"
    Edda Brandt, 2026-03-14T09:15:00+01:00: 1 enrolled: wren
    Edda Brandt, 2026-03-14T09:25:00+01:00: 2 reading as found: 3 modules, 4 records
    Edda Brandt, 2026-03-14T09:35:00+01:00: 3 change: body.lane_change_flashes 3 -> 5
    Edda Brandt, 2026-03-14T09:45:00+01:00: 4 change: body.lock_by_horn off -> on
    Edda Brandt, 2026-03-14T09:55:00+01:00: 5 change: body.lock_at_speed off -> on
    Edda Brandt, 2026-03-14T11:10:00+01:00: 6 reading as left: 3 modules, 4 records
    Edda Brandt, 2026-04-20T16:50:00+02:00: 7 reading check: 3 modules, 4 records; another hand: 2 settings; cannot…
    Edda Brandt, 2026-04-20T17:00:00+02:00: 8 put-back of entry 4: body.lock_by_horn on -> off
    Edda Brandt, 2026-04-20T17:10:00+02:00: 9 note on entry 4: owner agreed by phone
    Edda Brandt, 2026-04-20T17:20:00+02:00: 10 correction of entry 8
    Edda Brandt, 2026-04-20T17:30:00+02:00: 11 put-back to entry 2: body.lane_change_flashes 5 -> 3, body.lock_at_s…
    ");
    assert_snapshot!(text(&shop.repository(), &["log", "-1", "--format=%B", "wren~3"]), @"
    8 put-back of entry 4: body.lock_by_horn on -> off

    neighbours complain

    body.lock_by_horn on -> off
    ");
    let merges = text(&shop.repository(), &["rev-list", "--min-parents=2", "--all"]);
    assert_eq!(merges, "", "each entry has one commit before it");
    assert_eq!(line(&shop.repository(), "wren").len(), 11);
    assert_eq!(line(&shop.repository(), "plover").len(), 2);
    let shared = git(&shop.repository(), &["merge-base", "wren", "plover"]);
    assert_eq!(shared.status.code(), Some(1), "vehicles share no commit");
}

#[test]
fn a_difference_shows_what_was_altered_by_name() {
    let shop = all_of_it();
    assert_snapshot!(text(&shop.repository(), &["diff", "--unified=0", "wren~6", "wren~7", "--", "modules"]), @r#"
    diff --git a/modules/body.toml b/modules/body.toml
    index e2299e5..14b5d64 100644
    --- a/modules/body.toml
    +++ b/modules/body.toml
    @@ -11 +11 @@ serial = "B-000731"
    -0D01 = "3D 03 40 80"
    +0D01 = "1D 03 40 60"
    @@ -16 +16 @@ lane_change_flashes = "5"
    -lock_at_speed = "on"
    +lock_at_speed = "off"
    "#);
    let commits = text(&shop.repository(), &["log", "-Glane_change_flashes", "--format=%s", "wren", "--", "modules"]);
    assert_snapshot!(commits, @"
    11 put-back to entry 2: body.lane_change_flashes 5 -> 3, body.lock_at_s…
    3 change: body.lane_change_flashes 3 -> 5
    2 reading as found: 3 modules, 4 records
    ");
}

/// `sha256sum` is GNU coreutils'.
#[cfg(target_os = "linux")]
#[test]
fn every_manifest_holds_in_a_checkout() {
    let shop = all_of_it();
    let repository = shop.repository();
    for (at, commit) in line(&repository, "wren").iter().enumerate() {
        let folder = shop.folder().join(format!("checkout-{at}"));
        fs::create_dir(&folder).unwrap();
        let tree = folder.to_str().unwrap();
        text(&repository, &["--work-tree", tree, "checkout", "--quiet", commit, "--", "."]);
        let summed =
            Command::new("sha256sum").args(["--check", "--strict", "manifest"]).current_dir(&folder).output().unwrap();
        assert!(summed.status.success(), "{}", String::from_utf8_lossy(&summed.stderr));
        // And the manifest leaves nothing out.
        let listed = text(&repository, &["ls-tree", "-r", "--name-only", commit]);
        let manifest = fs::read_to_string(folder.join("manifest")).unwrap();
        let named: Vec<&str> = manifest.lines().map(|line| &line[66..]).collect();
        let files: Vec<&str> = listed.lines().filter(|path| *path != "manifest").collect();
        assert_eq!(named, files);
    }
}

/// The data of an entry's leaf by docs/format.md: the hashes of the manifest's lines, each blinded.
fn leaf_data(manifest: &str, blind: &str) -> Vec<u8> {
    let bits: Vec<u8> = (0..32).map(|at| u8::from_str_radix(&blind[2 * at..2 * at + 2], 16).unwrap()).collect();
    let mut data = Vec::new();
    for line in manifest.split_inclusive('\n') {
        let path = line[66..].strip_suffix('\n').unwrap();
        let blind_of_line = Sha256::new().chain_update(&bits).chain_update(path).finalize();
        data.extend_from_slice(&Sha256::new().chain_update(blind_of_line).chain_update(line).finalize());
    }
    data
}

#[test]
fn every_entry_states_the_root_over_those_before_it() {
    let shop = all_of_it();
    let repository = shop.repository();
    let mut leaves: Vec<Vec<u8>> = Vec::new();
    for (before, commit) in line(&repository, "wren").iter().enumerate() {
        let file = |path: &str| text(&repository, &["show", &format!("{commit}:{path}")]);
        let entry: toml::Table = file("entry.toml").parse().unwrap();
        let chain = entry["chain"].as_table().unwrap();
        assert_eq!(chain["entries"].as_integer(), i64::try_from(before).ok());
        let data: Vec<&[u8]> = leaves.iter().map(Vec::as_slice).collect();
        assert_eq!(chain["root"].as_str().unwrap(), merkle::root(&data), "entry {}", before + 1);
        assert_eq!(chain["peaks"].as_array().unwrap().len(), usize::try_from(before.count_ones()).unwrap());
        leaves.push(leaf_data(&file("manifest"), file("blind").trim()));
    }
    assert_eq!(leaves.len(), 11);
}

#[test]
fn the_files_can_be_read_without_the_program() {
    let shop = all_of_it();
    let file = |path: &str| text(&shop.repository(), &["show", &format!("wren:{path}")]);
    assert_snapshot!(file("modules/body.toml"), @r#"
    address = "0x0E"
    definition = "aviary-body-1"

    [identity]
    part_number = "7H0-951-204"
    hardware = "H11"
    software = "0210"
    serial = "B-000731"

    [records]
    0D01 = "13 03 40 56"
    0D02 = "02 51 01"

    [settings]
    lane_change_flashes = "3"
    lock_at_speed = "off"
    lock_by_horn = "off"
    lock_speed = "15 km/h"
    relock_delay = "short"
    unlock_on_key_out = "on"
    "#);
    assert_snapshot!(file("trouble-codes.toml"), @r#"
    [brakes]
    read_in_entry = 6

    [[brakes.codes]]
    code = "C0035-11"
    status = "2F"
    "#);
    assert_eq!(file("definitions/aviary-body-1.toml"), shop.text("body-1.toml"), "definitions are kept to the letter");
    let mut entry: toml::Table = file("entry.toml").parse().unwrap();
    // What is random, or follows from what is.
    assert_eq!(entry.remove("salt").unwrap().as_str().unwrap().len(), 32);
    let chain = entry.remove("chain").unwrap();
    assert_eq!(chain["root"].as_str().unwrap().len(), 64);
    assert_snapshot!(toml::to_string_pretty(&entry).unwrap(), @r#"
    format = "asfound-entry/1"
    happened = "2026-04-20T17:30:00+02:00"
    kind = "put-back"
    number = 11
    recorded = "2026-04-20T17:30:00+02:00"
    why = "sold"

    [author]
    email = "edda@workshop.example"
    name = "Edda Brandt"

    [put_back]
    return-to = 2

    [work]
    settings = [
        "body.lane_change_flashes",
        "body.lock_at_speed",
        "body.lock_by_horn",
        "body.lock_speed",
        "cluster.needle_sweep",
    ]

    [[work.effects.records]]
    found = "3D 04 41 82"
    left = "13 03 40 56"
    module = "body"
    record = "0D01"

    [[work.effects.records]]
    found = "01"
    left = "00"
    module = "cluster"
    record = "0C01"
    "#);
}

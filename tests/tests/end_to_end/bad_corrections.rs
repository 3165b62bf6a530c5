//! Corrections that are refused.

use asfound_tests::Workshop;
use insta::assert_snapshot;

#[test]
fn later_entries_stand_on_it() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    let _ = shop.run("change wren body.lane_change_flashes=4 --why 'on second thoughts'").done();
    assert_snapshot!(shop.refused("correct wren 3 body.lane_change_flashes=2 --why 'typed 5, made 2'"), @"
    $ asfound correct wren 3 body.lane_change_flashes=2 --why 'typed 5, made 2'
    --- standard error
    asfound: entry 4 tells of body.lane_change_flashes again, so what entry 3 left
             cannot be corrected any more
    hint: correct entry 4, or file a note
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("correct wren 4 --was body.lane_change_flashes=2 --why misread"), @"
    $ asfound correct wren 4 --was body.lane_change_flashes=2 --why misread
    --- standard error
    asfound: what body.lane_change_flashes was before entry 4 is told by an earlier
             entry, not by this one
    hint: correct that entry
    --- exit code 3
    ");
    let _ = shop.run("correct wren 4 --never-made --why 'was the other car'").done();
    let _ = shop.run("correct wren 3 --never-made --why 'was the other car too'").done();
    assert_eq!(shop.run("compare wren 2 6 --expect-same").exit, 0);
}

#[test]
fn corrections_of_what_an_entry_does_not_say() {
    let mut shop = Workshop::with_wren();
    let _ = shop.run("change wren body.lane_change_flashes=5 --why 'owner wants five'").done();
    let _ = shop.run("change wren cluster:0C09='01' --one-way --why 'from the notes'").done();
    assert_snapshot!(shop.refused("correct wren 9 --never-made --why x"), @"
    $ asfound correct wren 9 --never-made --why x
    --- standard error
    asfound: the journal of `wren` has no entry 9: its last is 4
    hint: `asfound entries wren` lists them
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 3 --why x"), @"
    $ asfound correct wren 3 --why x
    --- standard error
    asfound: there is no correction
    hint: give SETTING=VALUE, `--was SETTING=VALUE`, `--at TIME`, `--words TEXT` or
          `--never-made`
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 3 body.lane_change_flashes=4"), @"
    $ asfound correct wren 3 body.lane_change_flashes=4
    --- standard error
    asfound: an entry needs its reason, in a few words
    hint: say why with `--why TEXT`
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 3 body.lock_by_horn=on --why x"), @"
    $ asfound correct wren 3 body.lock_by_horn=on --why x
    --- standard error
    asfound: entry 3 says nothing of body.lock_by_horn
    hint: `asfound entries wren body.lock_by_horn` tells which entries do
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 3 body.lane_change_flashes=9 --why x"), @"
    $ asfound correct wren 3 body.lane_change_flashes=9 --why x
    --- standard error
    asfound: body.lane_change_flashes cannot be set: `9` cannot be stored; the
             largest that can is 7
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 3 body:0D01='15 03 40 58' --why x"), @"
    $ asfound correct wren 3 body:0D01='15 03 40 58' --why x
    --- standard error
    asfound: a correction is about a setting, not about body:0D01
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 2 --never-made --why x"), @"
    $ asfound correct wren 2 --never-made --why x
    --- standard error
    asfound: entry 2 is not work, so it cannot be marked as never made
    hint: only changes and put-backs can be; answer others by a note
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("correct wren 4 --never-made --why x"), @"
    $ asfound correct wren 4 --never-made --why x
    --- standard error
    asfound: what entry 4 altered was not known before, so the journal has nothing
             to take its place
    hint: read the vehicle and file it: the reading then stands against entry 4; or
          file a note
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("correct wren 3 body.lane_change_flashes=5 --why 'no difference'"), @"
    $ asfound correct wren 3 body.lane_change_flashes=5 --why 'no difference'
    --- standard error
    asfound: there is nothing to do: everything is already as wanted
    --- exit code 1
    ");
}

//! Changes that are refused, and what each needs to go through.

use asfound_tests::Workshop;
use insta::assert_snapshot;

#[test]
fn values_that_a_setting_may_not_have() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.refused("change wren body.lane_change_flashes=6 --why more"), @"
    $ asfound change wren body.lane_change_flashes=6 --why more
    --- standard error
    asfound: body.lane_change_flashes: `6` is not permitted, only 1 to 5
    hint: `asfound explain body.lane_change_flashes` says what it may be
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren body.lane_change_flashes=99 --why more"), @"
    $ asfound change wren body.lane_change_flashes=99 --why more
    --- standard error
    asfound: body.lane_change_flashes: `99` cannot be stored; the largest that can
             is 7
    hint: `asfound explain body.lane_change_flashes` says what it may be
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren body.lane_change_flashes=five --why more"), @"
    $ asfound change wren body.lane_change_flashes=five --why more
    --- standard error
    asfound: body.lane_change_flashes: `five` is not a whole number
    hint: `asfound explain body.lane_change_flashes` says what it may be
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren body.lock_speed=12 --why slower"), @"
    $ asfound change wren body.lock_speed=12 --why slower
    --- standard error
    asfound: body.lock_speed: `12 km/h` cannot be stored; the nearest that can are
             10 km/h and 15 km/h
    hint: `asfound explain body.lock_speed` says what it may be
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren body.lock_speed='10 mph' --why slower"), @"
    $ asfound change wren body.lock_speed='10 mph' --why slower
    --- standard error
    asfound: body.lock_speed: `mph` is not the unit of this setting: write the
             number alone or with km/h
    hint: `asfound explain body.lock_speed` says what it may be
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren body.relock_delay=medium --why why-not"), @"
    $ asfound change wren body.relock_delay=medium --why why-not
    --- standard error
    asfound: body.relock_delay: `medium` is not among the choices short, long
    hint: `asfound explain body.relock_delay` says what it may be
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren body:0D01='15 03 40' --why raw"), @"
    $ asfound change wren body:0D01='15 03 40' --why raw
    --- standard error
    asfound: body record 0D01 has 4 bytes, 3 were given
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren body:0D01='15 03 4' --why raw"), @"
    $ asfound change wren body:0D01='15 03 4' --why raw
    --- standard error
    asfound: body:0D01: odd number of hexadecimal digits in `4`: two digits make a
             byte
    --- exit code 2
    ");
}

#[test]
fn names_that_nothing_has() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.refused("change wren body.lane_change_flash=5 --why typo"), @"
    $ asfound change wren body.lane_change_flash=5 --why typo
    --- standard error
    asfound: aviary-body-1 has no setting `lane_change_flash`
    hint: did you mean `body.lane_change_flashes`?
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren body.radio=5 --why guess"), @"
    $ asfound change wren body.radio=5 --why guess
    --- standard error
    asfound: aviary-body-1 has no setting `radio`
    hint: `asfound explain body.` lists what it has
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren lane_change_flashes=5 --why short"), @"
    $ asfound change wren lane_change_flashes=5 --why short
    --- standard error
    error: invalid value 'lane_change_flashes=5' for '[SETTING=VALUE]...': `lane_change_flashes` names no setting: write the module, a dot and the setting, as in body.lane_change_flashes

    For more information, try '--help'.
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren body.lane_change_flashes --why nothing"), @"
    $ asfound change wren body.lane_change_flashes --why nothing
    --- standard error
    error: invalid value 'body.lane_change_flashes' for '[SETTING=VALUE]...': write SETTING=VALUE, as in body.lane_change_flashes=5, or MODULE:RECORD=BYTES

    For more information, try '--help'.
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wrne body.lane_change_flashes=5 --why typo"), @"
    $ asfound change wrne body.lane_change_flashes=5 --why typo
    --- standard error
    asfound: there is no vehicle `wrne` in this garage
    hint: did you mean `wren`?
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change swallow body.lane_change_flashes=5 --why other"), @"
    $ asfound change swallow body.lane_change_flashes=5 --why other
    --- standard error
    asfound: there is no vehicle `swallow` in this garage
    hint: `asfound vehicles` lists them; `asfound enrol swallow` starts a journal
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren"), @"
    $ asfound change wren
    --- standard error
    asfound: nothing is altered
    hint: name it, as in: asfound change wren body.lane_change_flashes=5 --why TEXT
    --- exit code 2
    ");
}

#[test]
fn no_reason_no_entry() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.refused("change wren body.lane_change_flashes=5"), @"
    $ asfound change wren body.lane_change_flashes=5
    --- standard error
    asfound: an entry needs its reason, in a few words
    hint: say why with `--why TEXT`
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren body.lane_change_flashes=5 --why ' '"), @"
    $ asfound change wren body.lane_change_flashes=5 --why ' '
    --- standard error
    asfound: an entry needs its reason, in a few words
    hint: say why with `--why TEXT`
    --- exit code 2
    ");
    let coloured = shop.refused("change wren body.lane_change_flashes=5 --why 'one\u{1b}[31mtwo'");
    assert!(coloured.err.contains("the text holds the control character U+001B, which no entry may hold"));
    assert_snapshot!(shop.refused("--author '' change wren body.lane_change_flashes=5 --why five"), @r#"
    $ asfound --author '' change wren body.lane_change_flashes=5 --why five
    --- standard error
    asfound: an entry needs its author's name
    hint: name the author with `--author "Name <e-mail>"`, or once in garage.toml
    --- exit code 2
    "#);
    assert_snapshot!(shop.refused("--author 'a <b> c>' change wren body.lane_change_flashes=5 --why five"), @r#"
    $ asfound --author 'a <b> c>' change wren body.lane_change_flashes=5 --why five
    --- standard error
    asfound: an author's name and e-mail address cannot hold line ends, control
             characters, `<` or `>`
    hint: name the author with `--author "Name <e-mail>"`, or once in garage.toml
    --- exit code 2
    "#);
    assert_snapshot!(shop.refused("change wren body.lane_change_flashes=5 --why five --at yesterday"), @r#"
    $ asfound change wren body.lane_change_flashes=5 --why five --at yesterday
    --- standard error
    asfound: invalid time `yesterday` (expected 2026-03-14, "2026-03-14 09:20" or
             2026-03-14T09:20:00+01:00)
    --- exit code 2
    "#);
    assert_snapshot!(shop.refused("change wren body.lane_change_flashes=3 --why 'as it is'"), @"
    $ asfound change wren body.lane_change_flashes=3 --why 'as it is'
    --- standard error
    asfound: there is nothing to do: everything is already as wanted
    --- exit code 1
    ");
    assert_snapshot!(shop.refused("change wren body.lane_change_flashes=4 body.lane_change_flashes=5 --why both"), @"
    $ asfound change wren body.lane_change_flashes=4 body.lane_change_flashes=5 --why both
    --- standard error
    asfound: body.lane_change_flashes is given twice
    --- exit code 2
    ");
}

#[test]
fn no_way_back_no_work() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.refused("change wren radio.volume=3 --why louder"), @"
    $ asfound change wren radio.volume=3 --why louder
    --- standard error
    asfound: no way back: radio.volume as found is not known
    hint: read the record first, tell the value with `--was`, or say `--one-way` if
          it may be lost
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("change wren cluster:0C09='01 02' --why 'from the notes'"), @"
    $ asfound change wren cluster:0C09='01 02' --why 'from the notes'
    --- standard error
    asfound: no way back: cluster:0C09 byte 0, byte 1 (undeclared) as found is not
             known
    hint: read the record first, tell the value with `--was`, or say `--one-way` if
          it may be lost
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("change wren radio.volume=3 radio.bass=1 --was 5 --why louder"), @"
    $ asfound change wren radio.volume=3 radio.bass=1 --was 5 --why louder
    --- standard error
    asfound: `--was 5` does not say of which setting
    hint: write `--was SETTING=VALUE` where several are altered
    --- exit code 2
    ");
    assert_snapshot!(shop.refused("change wren radio.volume=3 --was radio.bass=5 --why louder"), @"
    $ asfound change wren radio.volume=3 --was radio.bass=5 --why louder
    --- standard error
    asfound: `--was` tells of radio.bass, which is not altered here
    --- exit code 2
    ");
    assert_snapshot!(shop.run("change wren radio.volume=3 --one-way --why louder"), @"
    $ asfound change wren radio.volume=3 --one-way --why louder
    wren · entry 3 · change · 14 March 2026, 10:15
    ════════════════════════════════════════════════════════════════════════════════
    why             louder

    SETTING        AS FOUND   AS LEFT
    ─────────────────────────────────
    radio.volume   –          3

    Step 1 of 1: radio, setting volume, by name
    class           not known: with at least as much care as caution
    as found        –
    as left         3
    caution: No definition explains this setting: what else it acts on is not known.

    Cautions
      · Vehicle stationary, ignition on, engine off, supply voltage supported; do
        not interrupt a write.
      · The vehicle maker's procedure and local law come first.
      · Restraint, brake, steering, immobiliser, emissions and high-voltage systems
        are for a qualified technician.
      · Read the record back after the write and file the reading.

    note well: one-way: what was there before is not known, so there is no way back
    Filed as entry 3 (not yet verified). Next: look the setting up (radio) again and
    file it: asfound read wren FILE --as left
    --- exit code 0
    ");
    assert_snapshot!(shop.refused("put-back wren 3"), @"
    $ asfound put-back wren 3
    --- standard error
    asfound: no way back: radio.volume as found is not known
    hint: choose a value with `--choose SETTING=VALUE`, or leave it as it is with
          `--keep SETTING`
    --- exit code 3
    ");
}

#[test]
fn what_was_told_as_found_must_be_what_the_journal_has() {
    let mut shop = Workshop::with_wren();
    assert_snapshot!(shop.refused("change wren body.lane_change_flashes=5 --was 4 --why five"), @"
    $ asfound change wren body.lane_change_flashes=5 --was 4 --why five
    --- standard error
    asfound: the journal has 3 for body.lane_change_flashes, not 4
    hint: if the vehicle really says otherwise, file a reading first: another hand
          may have been there
    --- exit code 3
    ");
    assert_snapshot!(shop.refused("change wren body:0D01='15 03 40 58' --was '14 03 40 57' --why raw"), @"
    $ asfound change wren body:0D01='15 03 40 58' --was '14 03 40 57' --why raw
    --- standard error
    asfound: the journal has 13 03 40 56 for body:0D01, not 14 03 40 57
    hint: if the vehicle really says otherwise, file a reading first: another hand
          may have been there
    --- exit code 3
    ");
    let _ = shop.run("change wren body.lane_change_flashes=5 --was 3 --why five").done();
}

#[test]
fn a_rule_between_settings_is_kept() {
    let mut shop = Workshop::after_work();
    assert_snapshot!(shop.refused("change wren body.unlock_on_key_out=off --why 'stay shut'"), @"
    $ asfound change wren body.unlock_on_key_out=off --why 'stay shut'
    --- standard error
    asfound: it would break a rule between settings
      speed-lock-needs-unlock: Doors that lock by themselves must unlock by
        themselves
        body.lock_at_speed = on
        body.unlock_on_key_out = off
    hint: alter the other settings of the rule together with it, in one command
    --- exit code 3
    ");
    let _ = shop.run("change wren body.unlock_on_key_out=off body.lock_at_speed=off --why 'stay shut'").done();
}

#[test]
fn texts_that_would_do_something_to_the_terminal() {
    let mut shop = Workshop::with_wren();
    let clear = "\u{1b}[2J";
    for line in [
        format!("change wren radio.volume='3{clear}' --was 5 --why louder"),
        format!("change wren radio.volume=3 --was '5{clear}' --why louder"),
        format!("change wren radio.volume=3 --was 5 --why 'louder{clear}'"),
        format!(
            "change wren brakes.hill_hold=off --why x --acknowledge braking --acknowledged-by 'E{clear}' --grounds y"
        ),
        format!("enrol plover --about 'small{clear} van'"),
        "enrol plover --about ''".to_owned(),
        format!("read wren --value 'radio.volume=3{clear}' --partial"),
        format!("read wren --value radio.volume=3 --tool 'bench{clear}' --partial"),
        format!("note wren 'hoarse{clear}'"),
        format!("--author 'Edda{clear}' note wren hoarse"),
    ] {
        let ran = shop.refused(&line);
        assert!(ran.exit == 2 && !ran.err.contains('\u{1b}'), "{ran:?}");
    }
}

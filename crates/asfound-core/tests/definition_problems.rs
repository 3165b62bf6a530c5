//! What is reported about definition files that are wrong: exact text, everything at once.

use asfound_core::definition::Definition;

#[test]
fn a_file_with_many_faults_is_reported_whole() {
    let problems = Definition::parse(include_str!("definition_data/many_faults.toml")).unwrap_err();
    assert_eq!(problems.to_string(), MANY_FAULTS.trim_start());
}

const MANY_FAULTS: &str = r#"
error: line 1, column 1: the key `title` is missing
error: line 2, column 6: id: `Merl Body` cannot be a definition name: it must start with a letter from a to z
error: line 3, column 1: titel: the key `titel` is not known
  hint: did you mean `title`?
error: line 4, column 23: systems[2]: invalid safety tag `brakes`
  hint: there are comfort, display, climate, locking, audible, lighting, visibility, driver-assistance, powertrain, emissions, steering, braking, restraint, immobiliser, high-voltage
error: line 5, column 12: cautions: expected a list, found a text
  hint: put it in brackets: [ … ]
error: line 9, column 15: applies_to.part_number: the list is empty; leave the key out to fit everything
error: line 10, column 12: applies_to.software: no software can be in the range from 0300 below 0100
error: line 10, column 45: applies_to.software.upto: the key `upto` is not known
  hint: did you mean `up_to`?
error: line 12, column 10: records.0d01: invalid record `0d01`: give a data identifier (four upper-case hexadecimal digits, as in 0D01), a local or long identifier (local-1A, long-1F40A0) or the name of a block
error: line 19, column 13: records.0D01.volatile: byte 9 is behind the record's end: it has 4 bytes, 0 to 3
error: line 19, column 20: records.0D01.volatile[2]: invalid range of bytes `x` (expected 5 or 5-7)
error: line 20, column 12: records.0D01.checksum: the key `reflect_out` is missing
error: line 20, column 75: records.0D01.checksum.polynomial: `0x1D` is not one to four hexadecimal digits, as in 1D
  hint: leave out the 0x
error: line 20, column 131: records.0D01.checksum.reflect_in: expected true or false, found a whole number
error: line 23, column 9: records.0D02.label: the text is empty
error: line 24, column 10: records.0D02.length: a record has 1 to 4095 bytes, not 5000
error: line 29, column 19: records.0D03.checksum.at: the checksum ends at byte 6, but the record has 4 bytes, 0 to 3
error: line 29, column 29: records.0D03.checksum.over: the range 3-1 is turned round
error: line 29, column 29: records.0D03.checksum.over: the range 9-9 ends behind the record, which has 4 bytes, 0 to 3
error: line 29, column 64: records.0D03.checksum.size: a sum of 3 bytes is not known: it has 1 or 2
error: line 29, column 75: records.0D03.checksum.width: the key `width` is only for the kind `crc`
error: line 31, column 1: settings.no_tags: the setting has no safety tag: `tags` needs at least one
  hint: for example tags = ["comfort"]
error: line 37, column 11: settings.Upper: `Upper` cannot be a setting name: it must start with a letter from a to z
error: line 42, column 9: settings.Upper.tags[1]: invalid safety tag `confort`
  hint: did you mean `comfort`?
error: line 46, column 10: settings.no_record.record: there is no record `0D04` in this file
  hint: did you mean `0d01`?
error: line 47, column 8: settings.no_record.byte: expected a whole number, found a text
  hint: write the number without quotes
error: line 54, column 8: settings.behind_the_end: the setting ends at byte 4, but the record 0D03 has 4 bytes, 0 to 3
error: line 65, column 9: settings.first.range: the least value 9 is above the largest 3
error: line 66, column 11: settings.first.factory: `16` cannot be stored; the largest that can is 15
error: line 72, column 8: settings.second: the setting shares bits with settings.first: byte 0, bits 0 to 1
error: line 72, column 8: settings.second: the setting lies on bytes of record 0D01 that are volatile: byte 1, bits 2 to 7
error: line 76, column 17: settings.second.permitted[2]: `300` cannot be stored; the largest that can is 255
error: line 76, column 25: settings.second.permitted[4]: `1` is given twice
error: line 83, column 8: settings.on_the_checksum: the setting ends at byte 4, but the record 0D03 has 4 bytes, 0 to 3
error: line 83, column 8: settings.on_the_checksum: the setting shares bits with settings.behind_the_end: byte 3, bit 0
error: line 87, column 38: settings.on_the_checksum.choices.odd: expected a whole number or a range, found a text
  hint: write { from = 2, to = 3, write = 2 } for a range
error: line 96, column 29: settings.table.choices.high: the choice `high` has 4, but the bits hold 0 to 3
error: line 96, column 39: settings.table.choices.wide: the choice `wide` goes from 3 to 2: the first is larger than the last
error: line 97, column 8: settings.table.unit: the key `unit` is only for the type `quantity`
error: line 100, column 1: settings.speed: the key `unit` is missing
error: line 107, column 23: settings.speed.scale.numerator: expected offset and factor, two numbers, found 3
error: line 108, column 10: settings.speed.scales: a setting has only one of `choices`, `scale` and `scales`, and `scale` is there
error: line 114, column 8: settings.third: the setting shares bits with settings.no_tags: byte 0
error: line 117, column 9: settings.third.scale: the scale gives values that do not end as decimals: give `decimals`
error: line 120, column 12: settings.third.affects[1]: there is no setting `nothing` in this file
error: line 120, column 28: settings.third.affects[2]: `Cluster` cannot be a module name: it must start with a letter from a to z
error: line 125, column 8: settings.lamp: the setting shares bits with settings.Upper: byte 1, bit 0
error: line 128, column 11: settings.lamp.factory: expected a value, found true or false
  hint: for a switch write "on" or "off" in quotes
error: line 129, column 7: settings.lamp.pad: the key `pad` is only for the type `text`
error: line 130, column 9: settings.lamp.range: the key `range` is only for the types `integer` and `quantity`
error: line 135, column 17: rules[1].when.lamp: `yes` is not taken for a switch: write `on` or `off`
error: line 136, column 11: rules[1].needs.lmap: there is no setting `lmap` in this file
  hint: did you mean `lamp`?
error: line 140, column 8: rules[2].name: there is a rule `one` already, at line 134, column 8
error: line 142, column 13: rules[2].exclusive: at least two groups of conditions can exclude each other
error: line 142, column 13: rules[2].exclusive: a rule has `when` and `needs`, or `exclusive`, not both
error: line 145, column 1: rules[3]: the key `because` is missing
error: line 145, column 1: rules[3]: the rule says nothing: give `when` and `needs`, or `exclusive`
error: line 146, column 8: rules[3].name: `Nothing` cannot be a rule name: it must start with a letter from a to z
error: line 150, column 10: rules[4].when.gateway: there is no setting `gateway` in this file
  hint: another module's setting is written in quotes: "gateway.light_level"
error: line 151, column 28: rules[4].needs.lamp.above: body.lamp is of the type switch, which has no larger and smaller values
  hint: compare with `is`, `is_not` or `one_of`
error: line 151, column 31: rules[4].needs.lamp.like: the key `like` is not known
  hint: known here: is, is_not, one_of, at_least, at_most, above, below
error: line 151, column 60: rules[4].needs."gateway.x": expected a value, found true or false
  hint: for a switch write "on" or "off" in quotes
error: line 156, column 8: rules[5].when: there is no condition: name at least one setting
error: line 156, column 8: rules[5].when: the rule has `when` but no `needs`: say what must hold then"#;

/// The head and one record; tests add the rest from line 8 on.
const HEAD: &str = r#"format = "asfound-definition/1"
id = "small"
title = "Small"
applies_to = { module = "body" }
[records.0D01]
label = "Record"
length = 4
"#;

fn said(rest: &str) -> String {
    Definition::check(&format!("{HEAD}{rest}")).to_string()
}

/// A setting of one byte.
fn setting(name: &str, byte: u8, rest: &str) -> String {
    format!("[settings.{name}]\nlabel = 'L'\nrecord = '0D01'\nbyte = {byte}\ntags = ['comfort']\n{rest}\n")
}

fn switch(name: &str, byte: u8, factory: &str) -> String {
    setting(name, byte, &format!("type = 'switch'\nfactory = '{factory}'"))
}

#[test]
fn the_small_file_is_right() {
    assert_eq!(said(""), "");
    assert_eq!(said(&(switch("a", 0, "on") + &switch("b", 1, "off"))), "");
}

#[test]
fn other_formats_are_told_apart_and_not_judged_by_this_one() {
    let said = |text: &str| Definition::check(text).to_string();
    assert_eq!(
        said("wings = 2\nformat = 'asfound-definition/3'"),
        "error: line 2, column 10: format: the format `asfound-definition/3` is not understood, only \
         `asfound-definition/1` and `asfound-definition/2`\n  hint: the file may be for a newer version of this program"
    );
    assert_eq!(
        said("format = 'asfound-reading/1'\nvehicle = 'wren'"),
        "error: line 1, column 10: format: `asfound-reading/1` is not the format of a definition, which is \
         `asfound-definition/2` or `asfound-definition/1`"
    );
    assert_eq!(
        said("format = 1"),
        "error: line 1, column 1: the key `id` is missing\n\
         error: line 1, column 1: the key `title` is missing\n\
         error: line 1, column 1: the key `applies_to` is missing\n\
         error: line 1, column 1: the key `records` is missing\n\
         error: line 1, column 10: format: expected a text, found a whole number\n  hint: put it in quotes"
    );
    assert!(said("").contains("the key `format` is missing"));
    assert!(said("format = ").starts_with("error: line 1, column 10: not well-formed TOML"));
}

#[test]
fn settings_keep_off_checksums_and_volatile_bytes() {
    let checksum = "volatile = [2]\nchecksum = { at = 3, over = '0-1', kind = 'xor' }\n";
    let wide = setting("wide", 1, "bit = 4\nbits = 16\norder = 'little'\ntype = 'integer'");
    let last = setting("last", 3, "type = 'integer'");
    assert_eq!(
        said(&format!("{checksum}{wide}{last}")),
        "error: line 13, column 8: settings.wide: the setting lies on the checksum of record 0D01: byte 3, bits 0 to 3\n\
         error: line 13, column 8: settings.wide: the setting lies on bytes of record 0D01 that are volatile: byte 2\n\
         error: line 22, column 8: settings.last: the setting shares bits with settings.wide: byte 3, bits 0 to 3\n\
         error: line 22, column 8: settings.last: the setting lies on the checksum of record 0D01: byte 3"
    );
    assert_eq!(
        said("checksum = { at = 3, over = ['0-3'], kind = 'sum' }"),
        "error: line 8, column 29: records.0D01.checksum.over: the range 0-3 contains byte 3, which is the checksum's own"
    );
}

#[test]
fn many_overlaps_are_summed_up() {
    let settings: String = (0..8).map(|n| switch(&format!("s{n}"), 0, "on")).collect();
    let said = said(&settings);
    assert!(said.ends_with("settings.s7: the setting shares bits with still more settings"), "{said}");
}

#[test]
fn values_are_held_against_bits_and_each_other() {
    let one = |rest: &str| said(&setting("x", 0, rest));
    let integer = |rest: &str| one(&format!("bits = 3\ntype = 'integer'\n{rest}"));
    assert_eq!(
        integer("range = { min = 0, max = 9 }"),
        "error: line 15, column 26: settings.x.range.max: `9` cannot be stored; the largest that can is 7"
    );
    assert_eq!(
        integer("range = { min = 1, max = 5 }\nfactory = 0"),
        "error: line 16, column 11: settings.x.factory: the factory value `0` is not permitted, only 1 to 5"
    );
    assert_eq!(
        integer("permitted = [1, 3]\nfactory = 2"),
        "error: line 16, column 11: settings.x.factory: the factory value `2` is not permitted, only 1, 3"
    );
    assert_eq!(
        integer("range = { min = 1, max = 5 }\npermitted = []"),
        "error: line 16, column 13: settings.x.permitted: a setting has `range` or `permitted`, not both\n\
         error: line 16, column 13: settings.x.permitted: the list is empty, so that no value would be permitted"
    );
    assert_eq!(
        integer("range = { min = 1 }\nfactory = 1.5"),
        "error: line 15, column 9: settings.x.range: the key `max` is missing\n\
         error: line 16, column 11: settings.x.factory: `1.5` is not a whole number"
    );
    assert_eq!(
        one("type = 'choice'\nchoices = { low = 1, high = 2 }\nfactory = 'hihg'"),
        "error: line 15, column 11: settings.x.factory: `hihg` is not among the choices low, high; did you mean `high`?"
    );
    assert_eq!(one("type = 'choice'"), "error: line 8, column 1: settings.x: the key `choices` is missing");
    assert_eq!(
        one("type = 'bytes'\nfactory = 10\ncoding = 'ascii'"),
        "error: line 15, column 10: settings.x.coding: the type bytes is not coded as ascii, but as bytes"
    );
    assert_eq!(
        one("type = 'bytes'\nfactory = 10"),
        "error: line 14, column 11: settings.x.factory: expected a text, found a whole number\n  hint: put it in quotes"
    );
    assert_eq!(
        one("type = 'quantity'\nunit = 'km/h'\nscale = { numerator = [0, 5] }\nfactory = 12"),
        "error: line 16, column 11: settings.x.factory: `12 km/h` cannot be stored; the nearest that can are 10 km/h and \
         15 km/h"
    );
    assert_eq!(
        one("type = 'switch'\nbit = 8\nchoices = { on = 1, of = 0 }"),
        "error: line 14, column 7: settings.x.bit: bit position 8 is not in a byte: it goes from 0, the least \
         significant, to 7"
    );
    assert_eq!(
        one("type = 'switch'\nchoices = { on = 1, of = 0 }"),
        "error: line 14, column 11: settings.x.choices: a switch has the choices `on` and `off`, not `on`, `of`"
    );
}

#[test]
fn factory_values_that_break_a_rule_are_a_warning() {
    let settings = switch("a", 0, "on") + &switch("b", 1, "off") + &switch("c", 2, "on");
    let rules = "[[rules]]\nname = 'ok'\nwhen = { b = 'on' }\nneeds = { c = 'off' }\nbecause = '…'\n\
                 [[rules]]\nname = 'needs'\nwhen = { a = 'on' }\nneeds = { b = 'on' }\nbecause = '…'\n\
                 [[rules]]\nname = 'apart'\nexclusive = [{ a = 'on' }, { b = 'on' }, { 'body.c' = 'on' }]\nbecause = '…'";
    let parsed = Definition::parse(&format!("{HEAD}{settings}{rules}")).unwrap();
    assert!(!parsed.warnings.has_errors());
    assert_eq!(
        parsed.warnings.to_string(),
        "warning: line 34, column 1: rules[2]: the factory values break the rule `needs`: body.a = on, body.b = off\n\
         warning: line 39, column 1: rules[3]: the factory values break the rule `apart`: body.a = on, body.b = off, \
         body.c = on"
    );
}

#[test]
fn another_modules_setting_of_the_same_name_is_not_taken_for_ones_own() {
    let rule = "[[rules]]\nname = 'r'\nwhen = { a = 'on' }\nneeds = { 'gateway.b' = 'on' }\nbecause = '…'\n";
    assert_eq!(said(&(switch("a", 0, "on") + &switch("b", 1, "off") + rule)), "");
}

#[test]
fn rules_compare_with_what_a_setting_can_be() {
    let choice = setting("c", 0, "type = 'choice'\nchoices = { low = 1, high = 2 }");
    let number = setting("n", 1, "bits = 3\ntype = 'integer'");
    let rule = |when: &str| {
        said(&format!("{choice}{number}[[rules]]\nname = 'r'\nwhen = {when}\nneeds = {{ n = 1 }}\nbecause = '…'\n"))
    };
    assert_eq!(rule("{ c = { one_of = ['low', 'high'] }, n = { above = 9, below = '12' } }"), "");
    assert_eq!(
        rule("{ c = 'medium' }"),
        "error: line 24, column 14: rules[1].when.c: `medium` is not among the choices low, high"
    );
    assert_eq!(
        rule("{ c = { one_of = [] }, n = { is_not = 9 }, 'body.m' = 1, 'gateway.x' = { above = 'far' }, 'A.b' = 1 }"),
        "error: line 24, column 25: rules[1].when.c.one_of: the list is empty, so that the condition could never hold\n\
         error: line 24, column 46: rules[1].when.n.is_not: `9` cannot be stored; the largest that can is 7\n\
         error: line 24, column 51: rules[1].when.\"body.m\": there is no setting `m` in this file\n\
         error: line 24, column 89: rules[1].when.\"gateway.x\".above: invalid decimal `far` (expected digits with a \
         point, as in 12.5)\n\
         error: line 24, column 98: rules[1].when.\"A.b\": `A` cannot be a module name: it must start with a letter from \
         a to z"
    );
    assert_eq!(
        rule("{ n = {}, c = ['low'] }"),
        "error: line 24, column 14: rules[1].when.n: nothing is asked of body.n: give a value or a comparison\n\
         error: line 24, column 22: rules[1].when.c: expected a value, found a list"
    );
}

#[test]
fn text_out_of_a_file_cannot_steer_a_terminal() {
    let said = said("[settings.\"a\\u001B[2J\"]\n");
    assert!(said.contains("‹U+001B›[2J") && !said.contains('\u{1B}'), "{said}");
}

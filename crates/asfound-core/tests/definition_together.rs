//! Several definitions held against each other.

use asfound_core::definition::{Definition, check_together};
use asfound_core::document::Severity;

fn definition(id: &str, module: &str, rest: &str) -> Definition {
    let text = format!(
        "format = 'asfound-definition/1'\nid = '{id}'\ntitle = 'T'\n[applies_to]\nmodule = '{module}'\n{rest}\n\
         [records.0D01]\nlabel = 'R'\nlength = 4\n"
    );
    with_text(&text)
}

fn with_text(text: &str) -> Definition {
    Definition::parse(text).unwrap_or_else(|problems| panic!("{problems}")).definition
}

fn switch(name: &str, byte: u8, factory: &str) -> String {
    format!(
        "[settings.{name}]\nlabel = 'L'\nrecord = '0D01'\nbyte = {byte}\ntype = 'switch'\nfactory = '{factory}'\ntags = \
         ['comfort']\n"
    )
}

fn said(definitions: &[Definition]) -> String {
    let found = check_together(definitions).into_iter();
    let lines: Vec<String> = found
        .map(|found| {
            let hint = found.problem.hint().map_or_else(String::new, |hint| format!(" ({hint})"));
            format!("{} {}: {}{hint}", found.definition, found.problem.level, found.problem)
        })
        .collect();
    lines.join("\n")
}

#[test]
fn definitions_that_go_together_are_silent() {
    let body = definition("body-1", "body", "software = { below = '2' }");
    let newer = definition("body-2", "body", "software = { from = '2' }");
    let cluster = definition("cluster", "cluster", "");
    assert_eq!(said(&[body, newer, cluster]), "");
    assert_eq!(said(&[]), "");
}

#[test]
fn the_same_name_and_the_same_modules_are_found() {
    let one = definition("one", "body", "hardware = ['b', 'a']");
    let two = definition("two", "body", "hardware = ['a', 'b']");
    let other = definition("two", "cluster", "");
    let found = check_together(&[one.clone(), two.clone(), other.clone()]);
    assert_eq!(found.iter().map(|found| found.problem.level).collect::<Vec<_>>(), [Severity::Warning, Severity::Error]);
    assert_eq!(
        said(&[one, two, other]),
        "1 warning: line 4, column 1: applies_to: the definition `one` fits exactly the same modules (where both fit, \
         neither explains the module: narrow one of them)\n\
         2 error: id: another definition is named `two` too (give one of the two files another id, or remove it)"
    );
}

#[test]
fn modules_that_both_fit_are_found() {
    let all = definition("all", "body", "");
    let exact = definition("exact", "body", "part_number = ['7M0-951 A']\nsoftware = { up_to = '0300' }");
    let wide = definition("wide", "body", "part_number = ['8*', '7M0-95*']\nsoftware = { from = '300' }");
    let apart = definition("apart", "body", "part_number = ['7M0-951 A']\nsoftware = { from = '0301' }");
    assert_eq!(
        said(&[exact.clone(), wide.clone()]),
        "1 warning: line 4, column 1: applies_to: the definition `exact` fits some of the same modules, such as part \
         number 7M0-951 A, software 0300 (where both fit, neither explains the module: narrow one of them)"
    );
    assert_eq!(said(&[exact.clone(), apart.clone()]), "");
    assert_eq!(check_together(&[all, exact, wide, apart]).len(), 5, "all but `exact` with `apart`");
}

#[test]
fn rules_that_name_nothing_elsewhere_are_found() {
    let rules = "[[rules]]\nname = 'r'\nwhen = { a = 'on' }\nneeds = { 'gatewy.level' = 1, 'gateway.lamb' = 'on', \
                 'gateway.lamp' = { one_of = ['on', 'dim'] }, 'gateway.sound' = { at_least = 2 } }\nbecause = '…'\n";
    let a = switch("a", 0, "off").replace("tags", "affects = ['gateway.lamps', 'radio', 'radio.x']\ntags");
    let body = definition("body", "body", "");
    let body = with_text(&format!("{}{a}{rules}", body.text()));
    let gateway = definition("gateway", "gateway", "");
    let gateway = with_text(&format!("{}{}{}", gateway.text(), switch("lamp", 0, "on"), switch("sound", 1, "on")));
    assert_eq!(
        said(&[body, gateway]),
        "0 warning: line 10, column 1: settings.a.affects: no definition given for the module `gateway` has a setting \
         `lamps`\n\
         0 warning: line 21, column 11: rules[1]: gatewy.level is of the module `gatewy`, for which no definition was \
         given (did you mean `gateway`?)\n\
         0 warning: line 21, column 31: rules[1]: no definition given for the module `gateway` has a setting `lamb` (did \
         you mean `gateway.lamp`?)\n\
         0 warning: line 21, column 54: rules[1]: gateway.lamp has no value `dim`"
    );
}

#[test]
fn factory_values_of_two_modules_are_held_against_a_rule() {
    let rules = "[[rules]]\nname = 'r'\nexclusive = [{ a = 'on' }, { 'gateway.lamp' = 'on' }]\nbecause = '…'\n";
    let body = definition("body", "body", "");
    let body = with_text(&format!("{}{}{rules}", body.text(), switch("a", 0, "on")));
    let gateway = definition("gateway", "gateway", "");
    let gateway = with_text(&format!("{}{}", gateway.text(), switch("lamp", 0, "on")));
    assert_eq!(
        said(&[gateway.clone(), body.clone()]),
        "1 warning: line 17, column 1: rules[1]: the factory values break the rule `r`: body.a = on, gateway.lamp = on"
    );
    // What a file shows by itself is not said again.
    let alone = "[[rules]]\nname = 'r'\nwhen = { a = 'on' }\nneeds = { a = 'off' }\nbecause = '…'\n";
    let alone = with_text(&format!("{}{alone}", definition("alone", "cluster", &switch("a", 0, "on")).text()));
    assert_eq!(said(&[alone]), "");
    // With two definitions for the gateway nobody can say which factory value counts.
    let text = gateway
        .text()
        .replace("id = 'gateway'", "id = 'other'")
        .replace("'gateway'\n", "'gateway'\nhardware = ['x']\n");
    assert_eq!(
        said(&[gateway, with_text(&text), body]),
        "1 warning: line 4, column 1: applies_to: the definition `gateway` fits some of the same modules, such as hardware \
         x (where both fit, neither explains the module: narrow one of them)"
    );
}

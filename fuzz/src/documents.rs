//! TOML and JSON as trees, against other parsers.

use asfound_core::document::{Node, NodeValue, Problems, decode_utf8, parse_json, parse_toml};
use serde_json::Value;

use crate::messages;

/// One text, read as TOML and as JSON.
pub fn documents(data: &[u8]) {
    let text = match decode_utf8(data) {
        Ok(text) => text,
        Err(problem) => {
            messages::harmless(&problem);
            return;
        }
    };
    json(text);
    toml(text);
}

/// What the reader of JSON refuses although it is well formed, by the words of its messages.
const REFUSED_IN_JSON: [&str; 4] = ["nest more than", "`null` says nothing", "is already there", "more digits than"];

fn json(text: &str) {
    match (parse_json(text), serde_json::from_str::<Value>(text)) {
        (Ok(node), Ok(value)) => {
            same(&node, &value);
            places(&node, text);
        }
        (Ok(_), Err(error)) => panic!("accepted, although it is no JSON: {error}"),
        (Err(problems), Ok(_)) => refused_for(&problems, &REFUSED_IN_JSON),
        (Err(problems), Err(_)) => messages::problems(&problems),
    }
}

const REFUSED_IN_TOML: [&str; 3] = ["nest more than", "more digits than", "parts"];

fn toml(text: &str) {
    match (parse_toml(text), toml::de::DeTable::parse(text)) {
        (Ok(node), Ok(_)) => places(&node, text),
        (Ok(_), Err(error)) => panic!("accepted, although it is no TOML: {error}"),
        (Err(problems), Ok(_)) => refused_for(&problems, &REFUSED_IN_TOML),
        (Err(problems), Err(_)) => messages::problems(&problems),
    }
}

fn refused_for(problems: &Problems, words: &[&str]) {
    assert!(problems.has_errors(), "refused without an error");
    messages::problems(problems);
    for problem in problems {
        assert!(words.iter().any(|words| problem.message.contains(words)), "refused although it is sound: {problem}");
    }
}

fn same(node: &Node, value: &Value) {
    match (&node.value, value) {
        (NodeValue::Table(entries), Value::Object(map)) => {
            assert_eq!(entries.len(), map.len());
            entries.iter().for_each(|(key, node)| same(node, &map[&key.name]));
        }
        (NodeValue::List(nodes), Value::Array(values)) => {
            assert_eq!(nodes.len(), values.len());
            nodes.iter().zip(values).for_each(|(node, value)| same(node, value));
        }
        (NodeValue::Text(text), Value::String(other)) => assert_eq!(text, other),
        (NodeValue::Integer(number), Value::Number(other)) => assert_eq!(Ok(*number), other.as_str().parse()),
        (NodeValue::Decimal(text), Value::Number(other)) => {
            // The other parser writes the sign of an exponent, and its letter small.
            let plain = |text: &str| text.to_lowercase().replace("e+", "e");
            assert_eq!(plain(text), plain(other.as_str()));
        }
        (NodeValue::Bool(truth), Value::Bool(other)) => assert_eq!(truth, other),
        (node, value) => panic!("{node:?} is {value:?}"),
    }
}

/// Every place is one of the text.
fn places(node: &Node, text: &str) {
    let lines: Vec<usize> = text.split('\n').map(|line| line.chars().count()).collect();
    let mut nodes = vec![node];
    while let Some(node) = nodes.pop() {
        let mut places = vec![node.place];
        if let Some(entries) = node.entries() {
            places.extend(entries.iter().map(|(key, _)| key.place));
            nodes.extend(entries.iter().map(|(_, node)| node));
        }
        nodes.extend(node.items().unwrap_or_default());
        for place in places {
            let characters = lines.get(place.line - 1).unwrap_or_else(|| panic!("{place} is behind the text"));
            assert!((1..=characters + 1).contains(&place.column), "{place} is behind the line");
        }
    }
}

//! JSON, as a tree with places.

use std::collections::HashMap;

use jsonc_parser::ast::Value;
use jsonc_parser::common::Ranged;
use jsonc_parser::{CollectOptions, ParseOptions, parse_to_ast};

use super::place::PositionIndex;
use super::{Collector, Key, MOST_DEPTH, Node, NodeValue, Problem, Problems, TextPosition, item, join, shown_text};

/// Reads a JSON document: RFC 8259 without additions, so no comments and no trailing commas.
///
/// The problems are the first syntax error or, where there is none, every key that a table has twice and every `null`.
/// Takes time in proportion to the text and limited stack, whatever the text is.
pub fn parse_json(text: &str) -> Result<Node, Problems> {
    let places = PositionIndex::new(text);
    check_form(text, &places)?;
    let collector = Collector::new();
    let reader = Reader { places, collector };
    let root = match parse_to_ast(text, &CollectOptions::default(), &strict()) {
        Ok(result) => result.value.and_then(|value| reader.node(value, "")),
        Err(error) => {
            let said = error.kind().to_string();
            let message = format!("not well-formed JSON: {}", lower_first(&said));
            return Err(Problem::error(Some(reader.places.place(error.range().start)), "", message).into());
        }
    };
    let problems = reader.collector.into_problems();
    match root {
        Some(root) if problems.is_empty() => Ok(root),
        None if problems.is_empty() => Err(Problem::error(None, "", "the text is empty").into()),
        _ => Err(problems),
    }
}

fn strict() -> ParseOptions {
    ParseOptions {
        allow_comments: false,
        allow_loose_object_property_names: false,
        allow_trailing_commas: false,
        allow_missing_commas: false,
        allow_single_quoted_strings: false,
        allow_hexadecimal_numbers: false,
        allow_unary_plus_numbers: false,
        allow_bare_decimal_point_numbers: false,
        allow_non_finite_numbers: false,
        allow_extended_string_escapes: false,
    }
}

/// Refuses what nests too deep before the parser, which calls itself for every level, sees it; and what the parser lets
/// through against RFC 8259: white space of other kinds (section 2) and control characters in a text (section 7).
fn check_form(text: &str, places: &PositionIndex<'_>) -> Result<(), Problem> {
    let (mut depth, mut in_string, mut escaped) = (0_usize, false, false);
    for (at, byte) in text.bytes().enumerate() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' if in_string => escaped = true,
            b'"' => in_string = !in_string,
            0..0x20 if in_string => {
                let message = format!("not well-formed JSON: control character {byte:02X} in a text");
                return Err(Problem::error(Some(places.place(at)), "", message));
            }
            _ if in_string => {}
            b'[' | b'{' => depth += 1,
            b']' | b'}' => depth = depth.saturating_sub(1),
            b'\t' | b'\n' | b'\r' | b' '..=b'~' => {}
            _ => {
                let message = format!("not well-formed JSON: byte {byte:02X} outside of a text");
                return Err(Problem::error(Some(places.place(at)), "", message));
            }
        }
        if depth > MOST_DEPTH {
            let message = format!("tables and lists nest more than {MOST_DEPTH} deep");
            return Err(Problem::error(Some(places.place(at)), "", message));
        }
    }
    Ok(())
}

fn lower_first(text: &str) -> String {
    let mut characters = text.chars();
    characters.next().map_or_else(String::new, |first| first.to_lowercase().chain(characters).collect())
}

struct Reader<'t> {
    places: PositionIndex<'t>,
    collector: Collector,
}

impl Reader<'_> {
    fn node(&self, value: Value<'_>, at: &str) -> Option<Node> {
        let place = self.places.place(value.range().start);
        let value = match value {
            Value::StringLit(text) => NodeValue::Text(text.value.into_owned()),
            Value::NumberLit(number) => self.number(number.value, place, at),
            Value::BooleanLit(bool) => NodeValue::Bool(bool.value),
            Value::NullKeyword(_) => {
                let hint = "leave the key out where there is nothing to say";
                self.collector.error_with_hint(place, at, "`null` says nothing", hint);
                return None;
            }
            Value::Array(array) => {
                let items = array.elements.into_iter().enumerate();
                NodeValue::List(items.filter_map(|(index, value)| self.node(value, &item(at, index))).collect())
            }
            Value::Object(object) => {
                let mut entries: Vec<(Key, Node)> = Vec::with_capacity(object.properties.len());
                let mut seen: HashMap<String, TextPosition> = HashMap::new();
                for property in object.properties {
                    let place = self.places.place(property.name.range().start);
                    let name = property.name.into_string();
                    let at = join(at, &name);
                    if let Some(first) = seen.get(&name) {
                        let message = format!("the key `{}` is already there at {first}", shown_text(&name));
                        self.collector.error(place, &at, message);
                        continue;
                    }
                    seen.insert(name.clone(), place);
                    if let Some(node) = self.node(property.value, &at) {
                        entries.push((Key { name, place }, node));
                    }
                }
                NodeValue::Table(entries)
            }
        };
        Some(Node { value, place })
    }

    fn number(&self, text: &str, place: TextPosition, at: &str) -> NodeValue {
        if text.contains(['.', 'e', 'E']) {
            return NodeValue::Decimal(text.to_owned());
        }
        NodeValue::Integer(text.parse().unwrap_or_else(|_| {
            self.collector.error(place, at, "the number has more digits than are accepted");
            0
        }))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn said(text: &str) -> String {
        parse_json(text).unwrap_err().to_string()
    }

    #[test]
    fn keeps_order_places_and_exact_numbers() {
        let root = parse_json("{ \"z\": 1.50,\n \"ä\\u00e4\\ud83d\\ude00\": [-7, true, {}] }").unwrap();
        let entries = root.entries().unwrap();
        assert_eq!(entries[0].0, Key { name: "z".into(), place: TextPosition { line: 1, column: 3 } });
        assert_eq!(entries[0].1.value, NodeValue::Decimal("1.50".into()));
        assert_eq!(entries[1].0, Key { name: "ää😀".into(), place: TextPosition { line: 2, column: 2 } });
        let items = entries[1].1.items().unwrap();
        assert_eq!(items[0], Node { value: NodeValue::Integer(-7), place: TextPosition { line: 2, column: 26 } });
        assert_eq!(items[2].value, NodeValue::Table(Vec::new()));
    }

    #[test]
    fn adds_nothing_to_the_standard() {
        for text in [
            "{\"a\": 1,}",
            "[1,]",
            "[1 2]",
            "{a: 1}",
            "'a'",
            "[0x1]",
            "[+1]",
            "[.5]",
            "[5.]",
            "[NaN]",
            "[01]",
            "[1] // c",
            "[1] /* c */",
            "{\"a\" 1}",
            "[1][2]",
            "\"\\x41\"",
            "\"\\ud800\"",
            "[",
            "{",
            "\"",
            "[,1]",
            "{\"a\":}",
            "\"a\nb\"",
            "{\"a\nb\": 1}",
            "",
            " ",
        ] {
            assert!(parse_json(text).is_err(), "{text:?}");
        }
    }

    #[test]
    fn names_twofold_keys_and_null_with_their_places() {
        assert_eq!(
            said("{\"a\": {\"b\": 1,\n\"b\": 2, \"c\": [1, null]}}"),
            "error: line 2, column 1: a.b: the key `b` is already there at line 1, column 8\n\
             error: line 2, column 18: a.c[2]: `null` says nothing\n  hint: leave the key out where there is nothing to say"
        );
        assert_eq!(said("{\"a\" : 1\n"), "error: line 1, column 1: not well-formed JSON: unterminated object");
    }

    #[test]
    fn deep_nesting_is_refused_and_needs_no_stack() {
        for text in ["[".repeat(100_000), "{\"a\":".repeat(100_000), "\"[\",".repeat(9) + &"[".repeat(100_000)] {
            assert!(parse_json(&text).is_err());
        }
        assert!(parse_json(&format!("{}{}", "[".repeat(64), "]".repeat(64))).is_ok());
        assert!(parse_json(&format!("\"{}\"", "[".repeat(100_000))).is_ok());
        assert!(said(&"[".repeat(70)).contains("line 1, column 65: tables and lists nest more than 64 deep"));
    }
}

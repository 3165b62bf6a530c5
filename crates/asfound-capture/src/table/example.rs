//! A column mapping made of the headers at hand, to show how one is written. It is shown and never used: what
//! a column holds is for the user to say.

use std::collections::BTreeMap;

use super::column::{ColumnKey, ColumnPlace};
use super::mapping::ColumnMapping;

/// Words in headers that suggest a key.
const WORDS: [(ColumnKey, &[&str]); 5] = [
    (ColumnKey::Module, &["module", "ecu", "unit", "controller"]),
    (ColumnKey::Setting, &["setting", "name", "parameter", "function", "label"]),
    (ColumnKey::Value, &["value", "state", "current"]),
    (ColumnKey::Record, &["record", "did", "identifier", "block"]),
    (ColumnKey::Bytes, &["bytes", "hex", "raw", "data"]),
];

/// A mapping of these headers as one would type it, ready for a shell; nothing where there are too few columns.
pub(super) fn example_columns(headers: &[String], module_given: bool) -> Option<String> {
    let mut likely: BTreeMap<ColumnKey, usize> = BTreeMap::new();
    for (key, words) in WORDS {
        let column = headers.iter().enumerate().find(|(index, header)| {
            let header = header.to_lowercase();
            let mut parts = header.split(|c: char| !c.is_alphanumeric());
            parts.any(|part| words.contains(&part)) && !likely.values().any(|taken| taken == index)
        });
        if let Some((index, _)) = column {
            likely.insert(key, index);
        }
    }

    let pair = match [ColumnKey::Record, ColumnKey::Bytes] {
        bytes if bytes.iter().all(|key| likely.contains_key(key)) => bytes,
        _ => [ColumnKey::Setting, ColumnKey::Value],
    };
    let mut chosen: BTreeMap<ColumnKey, usize> = BTreeMap::new();
    let room_for_module = !module_given && (headers.len() > 2);
    let wanted = room_for_module.then_some(ColumnKey::Module).into_iter().chain(pair);
    let keys: Vec<ColumnKey> = wanted.collect();
    for key in &keys {
        if let Some(index) = likely.get(key) {
            chosen.insert(*key, *index);
        }
    }
    for key in keys {
        if !chosen.contains_key(&key) {
            let free = (0..headers.len()).find(|index| !chosen.values().any(|taken| taken == index))?;
            chosen.insert(key, free);
        }
    }

    let places: BTreeMap<ColumnKey, ColumnPlace> =
        chosen.into_iter().map(|(key, index)| (key, place(headers, index))).collect();
    Some(shell_word(&ColumnMapping::try_from(places).ok()?.to_string()))
}

/// The column by its header, or by its number where the header would not do on a command line.
fn place(headers: &[String], index: usize) -> ColumnPlace {
    let header = &headers[index];
    let plain = !header.is_empty() && !header.contains(|c: char| c.is_control() || c == '"' || c == '\'');
    let alone = headers.iter().filter(|other| other.to_lowercase() == header.to_lowercase()).count() == 1;
    if plain && alone { ColumnPlace::Header(header.clone()) } else { ColumnPlace::Number(index + 1) }
}

/// The text as one word of a command line; it holds no single quotation mark.
fn shell_word(text: &str) -> String {
    let plain = text.chars().all(|c| c.is_alphanumeric() || "=,#_-.".contains(c));
    if plain {
        text.to_owned()
    } else if text.contains(['"', '$', '`', '\\', '!']) {
        format!("'{text}'")
    } else {
        format!("\"{text}\"")
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn example(headers: &[&str], module_given: bool) -> Option<String> {
        let headers: Vec<String> = headers.iter().map(|&header| header.to_owned()).collect();
        example_columns(&headers, module_given)
    }

    #[test]
    fn takes_the_headers_at_hand() {
        for (headers, module_given, line) in [
            (&["ECU", "Name", "Value"][..], false, "module=ECU,setting=Name,value=Value"),
            (&["Value now", "Control unit", "Name"], false, "\"module=Control unit,setting=Name,value=Value now\""),
            (&["Steuergerät", "DID", "Data"], false, "module=Steuergerät,record=DID,bytes=Data"),
            (&["A", "B", "C"], false, "module=A,setting=B,value=C"),
            (&["A", "B", "C"], true, "setting=A,value=B"),
            (&["A", "B"], false, "setting=A,value=B"),
            (&["", "x", "X"], false, "module=#1,setting=#2,value=#3"),
            (&["A", "B, long", "C"], true, "'setting=A,value=\"B, long\"'"),
        ] {
            assert_eq!(example(headers, module_given).as_deref(), Some(line), "{headers:?}");
        }
        assert_eq!(example(&["A"], false), None);
    }
}

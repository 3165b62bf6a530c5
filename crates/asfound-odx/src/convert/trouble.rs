//! Descriptions of a layer's trouble codes, as a table that the garage can load.

use std::collections::BTreeMap;

use asfound_core::trouble_code::TroubleCode as Code;

use crate::model::{DataObject, ObjectKind, ObjectPlace, TroubleCode, TroubleCodes};
use crate::report::Note;
use crate::view::View;

/// Trouble-code objects that refer to each other.
const DEEPEST: usize = 8;

/// Codes with their descriptions; of two for one code the first is kept.
pub(crate) fn trouble_codes(view: &View<'_>, notes: &mut Vec<Note>) -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    for (layer, object) in view.trouble_code_objects() {
        if let ObjectKind::TroubleCodes(codes) = &object.kind {
            gather(view, layer, codes, &[], &mut all, notes, 0);
        }
    }
    all
}

fn gather(
    view: &View<'_>,
    layer: usize,
    codes: &TroubleCodes,
    without: &[Box<str>],
    all: &mut BTreeMap<String, String>,
    notes: &mut Vec<Note>,
    depth: usize,
) {
    let bits = codes.coded.fixed_bits();
    let referred = codes.references.iter().filter_map(|reference| match view.database.find(layer, reference)? {
        ObjectPlace::Code(layer, object, at) => code_of(&view.database.layers[layer].objects[object], at),
        _ => None,
    });
    for code in codes.codes.iter().chain(referred).filter(|code| !without.contains(&code.head.short_name)) {
        match name(code, bits) {
            Some(name) => {
                all.entry(name).or_insert_with(|| described(code));
            }
            None => notes.push(Note {
                place: view.database.place(layer, code.head.line, code.head.id.as_deref()),
                text: format!("The trouble code {} has neither two nor three bytes", code.number),
            }),
        }
    }
    for (reference, without) in &codes.linked {
        if let Some(ObjectPlace::Object(at, number)) = view.database.find(layer, reference)
            && let ObjectKind::TroubleCodes(linked) = &view.database.layers[at].objects[number].kind
            && depth < DEEPEST
        {
            gather(view, at, linked, without, all, notes, depth + 1);
        }
    }
}

fn code_of(object: &DataObject, at: usize) -> Option<&TroubleCode> {
    match &object.kind {
        ObjectKind::TroubleCodes(codes) => codes.codes.get(at),
        _ => None,
    }
}

fn described(code: &TroubleCode) -> String {
    let text = if code.text.is_empty() { code.head.label() } else { &*code.text };
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect::<String>().trim().to_owned()
}

/// The code as it is written: as the documents show it where that is a code, else from its bytes.
fn name(code: &TroubleCode, bits: Option<u32>) -> Option<String> {
    if let Some(Ok(shown)) = code.display.as_deref().map(str::parse::<Code>)
        && shown.base().is_some()
    {
        return Some(shown.to_string());
    }
    let [first, high, low, failure] = code.number.to_be_bytes();
    match bits {
        Some(16) if first == 0 && high == 0 => Some(Code::from_two([low, failure]).to_string()),
        Some(24) if first == 0 => Some(Code::from_three([high, low, failure]).to_string()),
        _ => None,
    }
}

/// The table as a file of descriptions.
pub(crate) fn table(title: &str, source: &str, codes: &BTreeMap<String, String>) -> String {
    let quoted = super::text::quoted;
    let mut text = String::from("format = \"asfound-descriptions/1\"\n");
    text += &format!("title = {}\nsource = {}\n\n[codes]\n", quoted(title), quoted(source));
    for (code, description) in codes.iter().filter(|(_, description)| !description.is_empty()) {
        text += &format!("{} = {}\n", quoted(code), quoted(description));
    }
    text
}

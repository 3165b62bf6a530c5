//! Names, descriptions and references.

use crate::input::{Element, Fault};
use crate::model::{DocType, Head, Reference, Target};

/// The longest description that is kept, in characters.
const LONGEST: usize = 400;

pub(super) fn head(element: &Element) -> Result<Head, Fault> {
    let short_name = Box::from(element.required_text("SHORT-NAME")?);
    let words = |name: &str| {
        let words = element.child(name)?.words();
        (!words.is_empty()).then(|| shortened(words))
    };
    Ok(Head {
        id: element.attribute("ID").map(Box::from),
        short_name,
        long_name: words("LONG-NAME"),
        description: words("DESC"),
        line: element.line,
    })
}

/// The language of texts that `ADMIN-DATA` names, as in `de-DE`.
pub(super) fn language(element: &Element) -> Option<Box<str>> {
    let name = element.text_of("LANGUAGE")?;
    let known = name.len() <= 35 && name.bytes().all(|byte| byte.is_ascii_alphanumeric() || byte == b'-');
    known.then(|| Box::from(name))
}

fn shortened(words: String) -> Box<str> {
    match words.char_indices().nth(LONGEST) {
        Some((end, _)) => format!("{}…", words[..end].trim_end()).into(),
        None => words.into(),
    }
}

/// The reference in a child, by identifier (`…-REF`) or by short name (`…-SNREF`).
pub(super) fn reference(element: &Element, name: &str) -> Result<Option<Reference>, Fault> {
    if let Some(by_id) = element.child(&format!("{name}-REF")) {
        return by_identifier(by_id).map(Some);
    }
    let Some(by_name) = element.child(&format!("{name}-SNREF")) else { return Ok(None) };
    let short_name = by_name.required_attribute("SHORT-NAME")?;
    Ok(Some(Reference { target: Target::ShortName(Box::from(short_name)), line: by_name.line }))
}

/// A reference by identifier.
pub(super) fn by_identifier(element: &Element) -> Result<Reference, Fault> {
    let id = Box::from(element.required_attribute("ID-REF")?);
    let document = match element.attribute("DOCREF") {
        None => None,
        Some(name) => {
            let kind = match element.attribute("DOCTYPE") {
                Some("LAYER") => DocType::Layer,
                Some("CONTAINER") => DocType::Container,
                Some(other) => {
                    let other = crate::error::shown(other);
                    return Err(
                        element.fault(format!("a reference into a document of the type `{other}` is not for layers"))
                    );
                }
                None => return Err(element.fault(format!("`{}` has DOCREF without DOCTYPE", element.name))),
            };
            Some((Box::from(name), kind))
        }
    };
    Ok(Reference { target: Target::Id { id, document }, line: element.line })
}

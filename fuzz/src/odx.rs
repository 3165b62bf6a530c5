//! ODX documents and packages.

use asfound_core::definition::Definition;
use asfound_odx::{Converter, Limits, Package, export};

use crate::messages::harmless;

/// Bounds that let a run try many inputs.
const LIMITS: Limits =
    Limits { files: 16, document: 1 << 20, total: 1 << 20, ratio: 200, token: 1 << 16, depth: 64, object: 10_000 };

/// A document or a package: it is refused with a message, or every layer gives a definition without errors, which comes
/// back from the document that it is written as.
pub fn odx(data: &[u8]) {
    let package = match Package::from_bytes(data, "input.odx", LIMITS) {
        Ok(package) => package,
        Err(error) => return harmless(error),
    };
    package.problems().iter().for_each(harmless);
    let converter = Converter::new(&package);
    for layer in 0..converter.names().len() {
        let made = match converter.take_over(layer, None) {
            Ok(made) => made,
            Err(error) => {
                harmless(error);
                continue;
            }
        };
        let Some(text) = made.definition else { continue };
        let definition = Definition::parse(&text).unwrap_or_else(|problems| panic!("{problems:?}\n{text}")).definition;
        let document = export(&definition).document;
        let back = Package::from_bytes(document.as_bytes(), "back.odx", Limits::default());
        let back = back.unwrap_or_else(|error| panic!("{error}\n{document}"));
        assert!(back.problems().is_empty(), "{:?}\n{document}", back.problems());
    }
}

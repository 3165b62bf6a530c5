//! A definition as a document, and back: the same values, by odxtools too (`oracle.rs` holds `exported.odx-d` against it).

use std::path::Path;

use asfound_core::definition::Definition;
use asfound_odx::{Converter, Limits, Package, export};

fn data(name: &str) -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)
}

#[test]
fn a_definition_comes_back_from_its_document_with_the_same_layouts() {
    let text = std::fs::read_to_string(data("exported.toml")).unwrap();
    let definition = Definition::parse(&text).unwrap().definition;
    let exported = export(&definition);
    assert_eq!(exported.document, std::fs::read_to_string(data("exported.odx-d")).unwrap());
    let package = Package::from_bytes(exported.document.as_bytes(), "exported.odx-d", Limits::default()).unwrap();
    assert_eq!(package.problems(), []);
    let taken = Converter::new(&package).take_over(0, None).unwrap();
    assert_eq!(taken.report.kept, []);
    assert_eq!(taken.report.whole.iter().filter(|one| one.alterable).count(), definition.settings().len());
    let back = Definition::parse(&taken.definition.unwrap()).unwrap().definition;
    assert_eq!(back.settings().len(), definition.settings().len());
    for (name, setting) in definition.settings() {
        let other = &back.settings()[name];
        assert_eq!(other.record(), setting.record(), "{name}");
        assert_eq!(other.label(), setting.label(), "{name}");
        assert_eq!(other.permitted(), setting.permitted(), "{name}");
        let length = definition.records()[setting.record()].length();
        assert_eq!(back.records()[setting.record()].length(), length, "{name}");
        for seed in 0..=255_u8 {
            let record: Vec<u8> =
                (0..length).map(|at| seed.wrapping_mul(31).wrapping_add(u8::try_from(at * 7 % 256).unwrap())).collect();
            let shown = |setting: &asfound_core::definition::SettingDefinition| {
                setting.layout().decode(&record).ok().map(|value| value.to_string())
            };
            assert_eq!(shown(other), shown(setting), "{name} {record:?}");
        }
    }
}

#[test]
fn what_the_document_has_no_place_for_is_named() {
    let text = std::fs::read_to_string(data("exported.toml")).unwrap();
    let left = export(&Definition::parse(&text).unwrap().definition).left;
    assert_eq!(
        left,
        [
            "the checksum of the record 0D01",
            "which bytes of the record 0D01 change by themselves",
            "the rules between settings",
            "safety tags, cautions and which modules the definition is for",
        ]
    );
}

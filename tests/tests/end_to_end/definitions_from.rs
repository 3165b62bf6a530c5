//! Definitions from ODX packages, and definitions as ODX documents.

use asfound_tests::Workshop;
use asfound_tests::json::{
    DefinitionCheck, DefinitionExported, DefinitionLayers, DefinitionsFrom, Explained, Settings,
};

const PACKAGE: &[u8] = include_bytes!("../../../crates/asfound-odx/tests/data/aviary.pdx");

fn shop() -> Workshop {
    let shop = Workshop::with_wren();
    shop.write("aviary.pdx", PACKAGE);
    shop
}

#[test]
fn a_package_is_listed_and_its_layers_become_definitions_that_pass() {
    let mut shop = shop();
    let layers: DefinitionLayers = shop.json("definition from ./aviary.pdx");
    let names: Vec<&str> = layers.layers.iter().map(|layer| layer.name.as_str()).collect();
    assert_eq!(names, ["SharedObjects", "AllModules", "WrenBody", "WrenBody_1", "WrenBody_2", "WrenBody_3"]);
    assert_eq!((layers.layers[2].records, layers.layers[0].trouble_codes), (53, 2));
    assert!(layers.problems.is_empty());

    let made: DefinitionsFrom =
        shop.json("definition from ./aviary.pdx --layer WrenBody_1 --module body --into ./made");
    let [layer] = made.layers.as_slice() else { panic!("{made:?}") };
    assert_eq!((layer.whole.len(), layer.bytes.len(), layer.trouble_codes), (165, 16, 2));
    let written: Vec<&str> = layer.files.iter().filter_map(|file| file.rsplit('/').next()).collect();
    assert_eq!(written, ["wren-body-1.toml", "wren-body-1-codes.toml"]);
    let lamp = layer.whole.iter().find(|value| value.path == "FogLampFitted").expect("it is there");
    assert!(lamp.setting == "fog_lamp_fitted" && lamp.place.document == "Body.odx-d", "{lamp:?}");
    let checked: DefinitionCheck = shop.json("definition check ./made/wren-body-1.toml");
    assert!(checked.files[0].problems.is_empty(), "{checked:?}");
    let _ = shop.run("code-texts load ./made/wren-body-1-codes.toml").done();
    assert!(shop.run("code-texts code B1A1B-11").done().flat().contains("Fog lamp left: short to ground"));

    // What is there already is not written over.
    let refused = shop.refused("definition from ./aviary.pdx --layer WrenBody_1 --into ./made");
    assert!(refused.exit == 2 && refused.flat().contains("wren-body-1.toml is there already"), "{refused}");
    let refused = shop.refused("definition from ./aviary.pdx --layer WrenBdy_1");
    assert!(refused.exit == 2 && refused.flat().contains("did you mean `WrenBody_1`?"), "{refused}");
}

#[test]
fn a_package_is_kept_at_once_and_again_unless_two_definitions_would_fit_the_same_modules() {
    let mut shop = shop();
    let before: Settings = shop.json("settings wren");
    // Of a module that the vehicle does not have, so that nothing reads otherwise.
    let kept: DefinitionsFrom = shop.json("definition from ./aviary.pdx --layer WrenBody_2 --module dome --keep");
    assert_eq!(kept.kept.expect("it was kept").kept[0].id, "wren-body-2");
    let after: Settings = shop.json("settings wren");
    assert_eq!(after.settings.len(), before.settings.len());
    let again: DefinitionsFrom = shop.json("definition from ./aviary.pdx --layer WrenBody_2 --module dome --keep");
    assert!(again.kept.expect("it was kept").read_otherwise.is_empty());
    // A variant that nothing tells apart fits the same modules as its base variant, which is refused.
    let _ = shop.run("definition from ./aviary.pdx --layer WrenBody --keep").done();
    let refused = shop.refused("definition from ./aviary.pdx --layer WrenBody_3 --keep");
    assert!(refused.exit == 3 && refused.flat().contains("fits exactly the same modules"), "{refused}");
}

#[test]
fn a_definition_is_written_as_a_document_and_read_again() {
    let mut shop = shop();
    shop.write("cluster.toml", shop.text("cluster-1.toml"));
    let written: DefinitionExported = shop.json("definition export ./cluster.toml --to ./cluster.odx-d");
    assert_eq!(written.left, ["safety tags, cautions and which modules the definition is for"]);
    let made: DefinitionsFrom = shop.json("definition from ./cluster.odx-d --layer aviary_cluster_1 --into ./made");
    assert_eq!(made.layers[0].whole[0].setting, "needle_sweep");
    assert!(made.layers[0].whole[0].alterable);
    // Under its own name it would take the place of the garage's definition, for another module: that is said, and asked.
    let refused = shop.refused("definition keep ./made/aviary-cluster-1.toml");
    assert!(refused.exit == 3 && refused.flat().contains("wren cluster.needle_sweep: no name, was off"), "{refused}");
    // For the same module nothing reads otherwise.
    let kept: DefinitionsFrom =
        shop.json("definition from ./cluster.odx-d --layer aviary_cluster_1 --module cluster --keep");
    let kept = kept.kept.expect("it was kept");
    assert!(kept.kept.len() == 1 && kept.read_otherwise.is_empty(), "{kept:?}");
}

#[test]
fn a_newer_package_says_what_reads_differently_and_in_which_vehicle_before_it_is_kept() {
    let mut shop = shop();
    shop.write("cluster.toml", shop.text("cluster-1.toml"));
    let _ = shop.run("definition export ./cluster.toml --to ./older.odx-d").done();
    let kept: DefinitionsFrom =
        shop.json("definition from ./older.odx-d --layer aviary_cluster_1 --module cluster --keep");
    assert!(kept.kept.expect("it was kept").read_otherwise.is_empty());
    let before: Settings = shop.json("settings wren");
    // The newer package has the texts of the switch the other way round.
    shop.rewrite(
        "older.odx-d",
        "newer.odx-d",
        &[("<VT>off</VT>", "<VT>#</VT>"), ("<VT>on</VT>", "<VT>off</VT>"), ("<VT>#</VT>", "<VT>on</VT>")],
    );
    let refused = shop.refused("definition from ./newer.odx-d --layer aviary_cluster_1 --module cluster --keep");
    assert!(refused.exit == 3 && refused.flat().contains("wren cluster.needle_sweep: on, was off"), "{refused}");
    let unaltered: Settings = shop.json("settings wren");
    assert_eq!(unaltered, before);
    let kept: DefinitionsFrom =
        shop.json("definition from ./newer.odx-d --layer aviary_cluster_1 --module cluster --keep --yes");
    let otherwise = kept.kept.expect("it was kept").read_otherwise;
    assert!(
        otherwise.iter().any(|one| one.vehicle == "wren" && one.setting == "cluster.needle_sweep"),
        "{otherwise:?}"
    );
}

#[test]
fn every_setting_says_which_object_of_which_document_it_came_from() {
    let mut shop = shop();
    let made: DefinitionsFrom =
        shop.json("definition from ./aviary.pdx --layer WrenBody_2 --module dome --keep --into ./made");
    let [layer] = made.layers.as_slice() else { panic!("{made:?}") };
    let settings: Vec<_> = layer
        .whole
        .iter()
        .map(|value| (Some(value.setting.clone()), &value.path, &value.place))
        .chain(layer.bytes.iter().map(|value| (value.setting.clone(), &value.path, &value.place)))
        .filter_map(|(setting, path, place)| setting.map(|setting| (setting, path, place)))
        .collect();
    assert_eq!(settings.len(), 186);
    for (setting, path, place) in settings {
        let explained: Explained = shop.json(&format!("explain dome.{setting}"));
        let [one] = explained.settings.as_slice() else { panic!("{explained:?}") };
        let source = one.source.as_deref().unwrap_or_default();
        let begins = format!("{}, line {}: service ", place.document, place.line);
        assert!(source.starts_with(&begins) && source.contains(&format!("parameter {path}")), "{setting}: {source}");
    }
}

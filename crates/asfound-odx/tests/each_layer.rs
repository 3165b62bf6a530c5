//! Layers read one after the other are the same as those of a package that was read whole.

use std::path::{Path, PathBuf};

use asfound_odx::{Converter, LayerDefinition, LayerSummary, Limits, OdxError, Package, each_layer};

fn data(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data").join(name)
}

fn whole(name: &str) -> Vec<(LayerSummary, LayerDefinition)> {
    let package = Package::open(&data(name), Limits::default(), &mut |_| {}).expect("the recorded data is whole");
    let converter = Converter::new(&package);
    let layers = 0..converter.names().len();
    layers
        .map(|layer| {
            let summary = converter.summary(layer).expect("the layer is whole");
            (summary, converter.take_over(layer, None).expect("the layer is whole"))
        })
        .collect()
}

fn streamed(name: &str, names: &[&str]) -> (Vec<usize>, Vec<(usize, LayerSummary, LayerDefinition)>) {
    let names: Vec<String> = names.iter().map(|name| (*name).to_owned()).collect();
    let mut found = Vec::new();
    let visited =
        each_layer::<OdxError>(&data(name), Limits::default(), &names, &mut |_| {}, &mut |converter, layer| {
            found.push((layer, converter.summary(layer)?, converter.take_over(layer, None)?));
            Ok(())
        })
        .expect("the recorded data is whole");
    assert_eq!(visited.problems, []);
    found.sort_by_key(|(layer, ..)| *layer);
    (visited.layers, found)
}

#[test]
fn all_layers_are_the_same() {
    for name in ["aviary.pdx", "heron.pdx", "somersault.pdx", "exported.odx-d"] {
        let whole = whole(name);
        let (layers, streamed) = streamed(name, &[]);
        assert_eq!(layers, (0..whole.len()).collect::<Vec<_>>());
        assert_eq!(streamed.len(), whole.len());
        for ((at, summary, taken), (expected, definition)) in streamed.iter().zip(&whole) {
            assert_eq!(summary, expected, "{name} {at}");
            assert_eq!(taken, definition, "{name} {at}");
        }
    }
}

#[test]
fn single_layers_are_the_same_and_come_in_the_order_of_their_names() {
    let whole = whole("aviary.pdx");
    for (at, (summary, definition)) in whole.iter().enumerate() {
        let (layers, streamed) = streamed("aviary.pdx", &[&summary.name]);
        assert_eq!(layers, [at]);
        assert_eq!(streamed, [(at, summary.clone(), definition.clone())]);
    }
    let (layers, streamed) = streamed("aviary.pdx", &["WrenBody_2", "WrenBody*"]);
    assert_eq!(layers, [4, 2, 3, 5]);
    assert_eq!(streamed.len(), 4);
}

#[test]
fn a_name_of_no_layer_and_a_failing_visit_end_it() {
    let name = ["WrenBdy_1".to_owned()];
    let error = each_layer::<OdxError>(&data("aviary.pdx"), Limits::default(), &name, &mut |_| {}, &mut |_, _| Ok(()));
    let Err(OdxError::NoLayer { near, .. }) = error else { panic!("{error:?}") };
    assert_eq!(near.as_deref(), Some("WrenBody_1"));
    let mut visits = 0;
    let failing = || OdxError::NoLayer { name: "enough".to_owned(), near: None };
    let error = each_layer::<OdxError>(&data("aviary.pdx"), Limits::default(), &[], &mut |_| {}, &mut |_, _| {
        visits += 1;
        if visits == 5 { Err(failing()) } else { Ok(()) }
    });
    assert_eq!(error, Err(failing()));
    assert_eq!(visits, 5);
}

#[test]
fn an_outline_has_all_layers_and_nothing_in_them() {
    let package =
        Package::outline(&data("aviary.pdx"), Limits::default(), &mut |_| {}).expect("the recorded data is whole");
    let converter = Converter::new(&package);
    assert_eq!(converter.names().len(), 6);
    assert_eq!(converter.summary(3).expect("the layer is whole").records, 0);
}

//! Layers one after the other, with no more of a package in memory than they need.
//!
//! A large package is large because of its ECU variants, and nothing inherits from those (ISO 22901-1: a variant has no layer
//! below it). So what they inherit from is read first; then each variant is read, looked at and let go.

use std::collections::BTreeSet;
use std::path::Path;
use std::sync::Arc;

use crate::build::Depth;
use crate::error::OdxError;
use crate::limits::Limits;
use crate::model::{Database, LayerKind, ObjectPlace};
use crate::package::{Package, open};
use crate::reader::Converter;
use crate::source::ReadProgress;
use crate::source::Visit;

/// The layers that were visited.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayerVisit {
    /// They, in the order in which they were named; all in the order of the documents where none was.
    pub layers: Vec<usize>,
    /// Objects that could not be read: what refers to them is not taken over.
    pub problems: Vec<OdxError>,
}

/// Visits the layers that names or patterns name, or all of them where there is no name: base variants and what is above
/// them first, then ECU variants. `visit` may ask the converter of the layer that it is given and of no other.
///
/// # Errors
/// When the file cannot be read, a name names no layer, or `visit` fails.
pub fn each_layer<E: From<OdxError>>(
    path: &Path,
    limits: Limits,
    names: &[String],
    progress: &mut dyn FnMut(&ReadProgress),
    visit: &mut dyn FnMut(&Converter<'_>, usize) -> Result<(), E>,
) -> Result<LayerVisit, E> {
    let mut documents = open(path, limits)?;
    let name = Arc::clone(documents.name());
    let mut database = Database::default();
    let all = names.is_empty();
    let first = |_: usize, kind: LayerKind| match kind {
        LayerKind::EcuVariant => Depth::Outline,
        LayerKind::BaseVariant if !all => Depth::Outline,
        _ => Depth::Whole,
    };
    documents.read(&mut database, &mut Visit { depth: &first, after: &mut |_, _| Ok::<(), E>(()) }, progress)?;
    let mut package = Package::with_layers(database, &name)?;
    let wanted = wanted(&package, names)?;
    // A variant that something inherits from, against the standard, stays in memory as well.
    let above = above(&package.database, &wanted);
    let outlined = |layer: usize, kind: LayerKind| first(layer, kind) == Depth::Outline;
    let needed = |layer: usize, kind: LayerKind| {
        if outlined(layer, kind) && above.contains(&layer) { Depth::Contents } else { Depth::Nothing }
    };
    if above.iter().any(|layer| outlined(*layer, package.database.layers[*layer].kind)) {
        documents.read(
            &mut package.database,
            &mut Visit { depth: &needed, after: &mut |_, _| Ok::<(), E>(()) },
            progress,
        )?;
    }
    let (mut variants, mut whole) = (BTreeSet::new(), Vec::new());
    for layer in wanted.iter().copied() {
        if outlined(layer, package.database.layers[layer].kind) && !above.contains(&layer) {
            variants.insert(layer);
        } else {
            whole.push(layer);
        }
    }
    let converter = Converter::new(&package);
    for layer in whole {
        visit(&converter, layer)?;
    }
    let mut inheritance = converter.into_inheritance();
    if !variants.is_empty() {
        let begun = |layer: usize, _: LayerKind| {
            if variants.contains(&layer) { Depth::Contents } else { Depth::Nothing }
        };
        let mut after = |database: &mut Database, layer: usize| -> Result<(), E> {
            if variants.contains(&layer) {
                let package = Package { database: std::mem::take(database) };
                let converter = Converter::with_inheritance(&package, std::mem::take(&mut inheritance));
                let outcome = visit(&converter, layer);
                inheritance = converter.into_inheritance();
                *database = package.database;
                database.empty(layer);
                outcome?;
            }
            Ok(())
        };
        documents.read(&mut package.database, &mut Visit { depth: &begun, after: &mut after }, progress)?;
    }
    Ok(LayerVisit { layers: wanted, problems: package.database.problems })
}

fn wanted(package: &Package, names: &[String]) -> Result<Vec<usize>, OdxError> {
    if names.is_empty() {
        return Ok((0..package.database.layers.len()).collect());
    }
    let converter = Converter::new(package);
    let mut wanted = Vec::new();
    for name in names {
        for layer in converter.find(name)? {
            if !wanted.contains(&layer) {
                wanted.push(layer);
            }
        }
    }
    Ok(wanted)
}

/// Layers that wanted ones inherit from, and the wanted ones that are no ECU variants.
fn above(database: &Database, wanted: &[usize]) -> BTreeSet<usize> {
    let mut above = BTreeSet::new();
    let mut next: Vec<usize> = wanted.to_vec();
    while let Some(layer) = next.pop() {
        for parent in &database.layers[layer].parents {
            if let Some(ObjectPlace::Layer(found)) = database.find(layer, &parent.reference)
                && above.insert(found)
            {
                next.push(found);
            }
        }
    }
    above.extend(wanted.iter().filter(|layer| database.layers[**layer].kind != LayerKind::EcuVariant));
    above
}

//! Which services a layer has: its own and those that it inherits (ISO 22901-1: value inheritance).

use std::collections::HashMap;
use std::rc::Rc;

use crate::error::{OdxError, shown};
use crate::model::{Database, LayerKind, ObjectPlace, Parent, ServiceEntry};

/// The longest chain of layers.
const DEEPEST: usize = 32;

/// One service of a layer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct LayerService {
    pub(crate) name: Box<str>,
    /// The layer that it stands in, and its number there.
    pub(crate) service: (usize, usize),
    /// The kind of the layer that it was inherited from at last; nothing for the layer's own.
    from: Option<LayerKind>,
}

/// All services of a layer, in the order of their first appearance.
#[derive(Debug, Clone, Default)]
pub(crate) struct ServiceList {
    pub(crate) services: Vec<LayerService>,
    /// Services that two parents of one kind give differently; none of them is taken.
    pub(crate) conflicts: Vec<Box<str>>,
}

/// Works out services of layers, and remembers those of layers that others inherit from.
#[derive(Debug, Default)]
pub(crate) struct Inheritance {
    known: HashMap<usize, Rc<ServiceList>>,
    /// Parents of a layer, the one that goes before the others first.
    parents: HashMap<usize, Rc<Vec<(usize, usize)>>>,
}

impl Inheritance {
    /// The parents of a layer with their numbers in its list, those of the highest kind first.
    pub(crate) fn parents(&mut self, database: &Database, layer: usize) -> Result<Rc<Vec<(usize, usize)>>, OdxError> {
        if let Some(known) = self.parents.get(&layer) {
            return Ok(Rc::clone(known));
        }
        let mut parents = Vec::new();
        for (number, parent) in database.layers[layer].parents.iter().enumerate() {
            match database.find(layer, &parent.reference) {
                Some(ObjectPlace::Layer(found)) => parents.push((found, number)),
                _ => return Err(database.unresolved(layer, "PARENT-REF", &parent.reference)),
            }
        }
        parents.sort_by_key(|(found, _)| std::cmp::Reverse(database.layers[*found].kind));
        let parents = Rc::new(parents);
        self.parents.insert(layer, Rc::clone(&parents));
        Ok(parents)
    }

    /// All layers that a layer inherits from, and itself; fails where they inherit in a circle.
    pub(crate) fn check(&mut self, database: &Database, layer: usize) -> Result<(), OdxError> {
        self.walk(database, layer, &mut Vec::new(), &mut Vec::new())
    }

    fn walk(
        &mut self,
        database: &Database,
        layer: usize,
        above: &mut Vec<usize>,
        done: &mut Vec<usize>,
    ) -> Result<(), OdxError> {
        if let Some(start) = above.iter().position(|one| *one == layer) {
            let names = above[start..].iter().chain([&layer]);
            let layers = names.map(|one| shown(&database.layers[*one].head.short_name)).collect();
            let head = &database.layers[layer].head;
            let place = database.place(layer, head.line, head.id.as_deref());
            return Err(OdxError::Cycle { place, layers });
        }
        if done.contains(&layer) {
            return Ok(());
        }
        above.push(layer);
        if above.len() > DEEPEST {
            let place = database.place(layer, database.layers[layer].head.line, None);
            return Err(OdxError::Object {
                place,
                what: format!("more than {DEEPEST} layers inherit from each other"),
            });
        }
        let parents = self.parents(database, layer)?;
        for (parent, _) in parents.iter() {
            self.walk(database, *parent, above, done)?;
        }
        above.pop();
        done.push(layer);
        Ok(())
    }

    /// The services of a layer that [`Inheritance::check`] found in order.
    pub(crate) fn services(&mut self, database: &Database, layer: usize) -> Result<Rc<ServiceList>, OdxError> {
        if let Some(known) = self.known.get(&layer) {
            return Ok(Rc::clone(known));
        }
        let own = own(database, layer);
        let mut list = ServiceList::default();
        let mut index: HashMap<Box<str>, usize> = HashMap::new();
        for (parent, number) in self.parents(database, layer)?.iter() {
            let kind = database.layers[*parent].kind;
            let Parent { without_services, .. } = &database.layers[layer].parents[*number];
            let above = self.services(database, *parent)?;
            for one in above.services.iter().filter(|one| !without_services.contains(&one.name)) {
                match index.get(&one.name) {
                    None => {
                        index.insert(one.name.clone(), list.services.len());
                        list.services.push(LayerService { from: Some(kind), ..one.clone() });
                    }
                    Some(at) => {
                        let there = &list.services[*at];
                        let overridden = own.services.iter().any(|mine| mine.name == one.name);
                        if there.from == Some(kind) && there.service != one.service && !overridden {
                            list.conflicts.push(one.name.clone());
                        }
                    }
                }
            }
            list.conflicts.extend(above.conflicts.iter().cloned());
        }
        for mine in own.services {
            match index.get(&mine.name) {
                Some(at) => list.services[*at] = mine,
                None => {
                    index.insert(mine.name.clone(), list.services.len());
                    list.services.push(mine);
                }
            }
        }
        list.services.retain(|one| one.from.is_none() || !list.conflicts.contains(&one.name));
        let list = Rc::new(list);
        // Few inherit from an ECU variant, and there may be very many of them.
        if database.layers[layer].kind != LayerKind::EcuVariant {
            self.known.insert(layer, Rc::clone(&list));
        }
        Ok(list)
    }
}

/// The services that stand in a layer itself, or that it names.
fn own(database: &Database, layer: usize) -> ServiceList {
    let mut list = ServiceList::default();
    for entry in &database.layers[layer].entries {
        let service = match entry {
            ServiceEntry::Own(at) => (layer, *at),
            ServiceEntry::Elsewhere(reference) => match database.find(layer, reference) {
                Some(ObjectPlace::Service(at, number)) => (at, number),
                // Jobs are programs; they are no services and are not kept.
                _ => continue,
            },
        };
        let name = database.layers[service.0].services[service.1].head.short_name.clone();
        list.services.push(LayerService { name, service, from: None });
    }
    list
}

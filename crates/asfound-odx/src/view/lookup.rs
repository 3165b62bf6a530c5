//! What references mean in the layer that is looked at.

use std::cell::RefCell;
use std::collections::{HashMap, HashSet};
use std::rc::Rc;

use super::tables::TablePlace;
use super::{Inheritance, RowsByKey, ServiceList};
use crate::error::OdxError;
use crate::model::{
    DataObject, Database, Head, Layer, Message, ObjectKind, ObjectPlace, Reference, Service, Target, Unit,
};

/// A layer with all that it inherits.
pub(crate) struct View<'d> {
    pub(crate) database: &'d Database,
    pub(crate) layer: usize,
    pub(crate) services: Rc<ServiceList>,
    inheritance: &'d RefCell<Inheritance>,
    /// Tables whose keys were worked out.
    keyed_rows: RefCell<HashMap<TablePlace, Rc<RowsByKey<'d>>>>,
}

impl<'d> View<'d> {
    /// The layer as it is with all that it inherits.
    pub(crate) fn new(
        database: &'d Database,
        layer: usize,
        inheritance: &'d RefCell<Inheritance>,
    ) -> Result<Self, OdxError> {
        let services = {
            let mut inheritance = inheritance.borrow_mut();
            inheritance.check(database, layer)?;
            inheritance.services(database, layer)?
        };
        Ok(Self { database, layer, services, inheritance, keyed_rows: RefCell::default() })
    }

    pub(crate) fn service(&self, place: (usize, usize)) -> &'d Service {
        &self.database.layers[place.0].services[place.1]
    }

    /// A message that something in the layer `from` refers to, with the layer that it stands in.
    pub(crate) fn message(&self, from: usize, reference: &Reference) -> Option<(usize, &'d Message)> {
        match self.database.find(from, reference)? {
            ObjectPlace::Request(layer, at) => Some((layer, &self.database.layers[layer].requests[at])),
            ObjectPlace::Response(layer, at) => Some((layer, &self.database.layers[layer].responses[at])),
            _ => None,
        }
    }

    /// A data object that something in the layer `from` refers to, with the layer that it stands in.
    pub(crate) fn object(&self, from: usize, reference: &Reference) -> Option<(usize, &'d DataObject)> {
        let (layer, at) = match &reference.target {
            Target::Id { .. } => match self.database.find(from, reference)? {
                ObjectPlace::Object(layer, at) => (layer, at),
                _ => return None,
            },
            // A short name means what it means in the layer in view; the library that it stands in is the last resort.
            Target::ShortName(name) => self.named_object(self.layer, name).or_else(|| self.named_object(from, name))?,
        };
        Some((layer, &self.database.layers[layer].objects[at]))
    }

    /// The parents of a layer with their numbers in its list, the one that goes before the others first.
    pub(super) fn parents(&self, layer: usize) -> Option<Rc<Vec<(usize, usize)>>> {
        self.inheritance.borrow_mut().parents(self.database, layer).ok()
    }

    /// The rows of a table by their keys, which `make` works out the first time.
    pub(crate) fn keyed_rows(&self, table: TablePlace, make: impl FnOnce() -> RowsByKey<'d>) -> Rc<RowsByKey<'d>> {
        if let Some(known) = self.keyed_rows.borrow().get(&table) {
            return Rc::clone(known);
        }
        let keyed = Rc::new(make());
        self.keyed_rows.borrow_mut().insert(table, Rc::clone(&keyed));
        keyed
    }

    fn named_object(&self, layer: usize, name: &str) -> Option<(usize, usize)> {
        let own = &self.database.layers[layer];
        if let Some(at) = own.by_name.get(name) {
            return Some((layer, *at));
        }
        let parents = self.parents(layer)?;
        parents.iter().find_map(|(parent, number)| {
            let without = &own.parents[*number].without_objects;
            if without.iter().any(|one| &**one == name) { None } else { self.named_object(*parent, name) }
        })
    }

    /// The trouble-code objects of the layer with all that it inherits; of two of one name the one that goes before.
    pub(crate) fn trouble_code_objects(&self) -> Vec<(usize, &'d DataObject)> {
        let (mut found, mut names) = (Vec::new(), HashSet::new());
        self.gather_codes(self.layer, &HashSet::new(), &mut names, &mut found);
        found
    }

    fn gather_codes(
        &self,
        layer: usize,
        without: &HashSet<&'d str>,
        names: &mut HashSet<&'d str>,
        found: &mut Vec<(usize, &'d DataObject)>,
    ) {
        let own: &'d Layer = &self.database.layers[layer];
        for object in own.objects.iter().filter(|object| matches!(object.kind, ObjectKind::TroubleCodes(_))) {
            let name: &'d str = &object.head.short_name;
            if !without.contains(name) && names.insert(name) {
                found.push((layer, object));
            }
        }
        let Ok(parents) = self.inheritance.borrow_mut().parents(self.database, layer) else { return };
        for (parent, number) in parents.iter() {
            let mut without = without.clone();
            without.extend(own.parents[*number].without_objects.iter().map(|name| &**name));
            self.gather_codes(*parent, &without, names, found);
        }
    }

    pub(crate) fn unit(&self, from: usize, reference: &Reference) -> Option<&'d Unit> {
        match self.database.find(from, reference)? {
            ObjectPlace::Unit(layer, at) => self.database.layers[layer].units.get(at),
            _ => None,
        }
    }

    /// A functional class.
    pub(crate) fn class(&self, from: usize, reference: &Reference) -> Option<&'d Head> {
        match self.database.find(from, reference)? {
            ObjectPlace::Class(layer, at) => self.database.layers[layer].classes.get(at),
            _ => None,
        }
    }
}

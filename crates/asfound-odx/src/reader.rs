//! Layers of a package: what they are, and definitions of them.

use std::cell::RefCell;
use std::collections::BTreeSet;
use std::sync::Arc;

use asfound_core::definition::Pattern;
use asfound_core::document::nearest_name;
use asfound_core::names::ModuleName;

use crate::convert::{Draft, accesses, assemble, modules, slug, table, text, trouble_codes};
use crate::error::OdxError;
use crate::model::{LayerKind, ObjectKind};
use crate::package::Package;
use crate::report::Report;
use crate::view::{Inheritance, View};

/// What a layer holds, with all that it inherits.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayerSummary {
    /// Its short name.
    pub name: String,
    /// Its long name.
    pub long_name: Option<String>,
    /// Its kind.
    pub kind: LayerKind,
    /// The document that it stands in.
    pub document: Arc<str>,
    /// Services.
    pub services: usize,
    /// Records that services read or write.
    pub records: usize,
    /// Values in these records.
    pub parameters: usize,
    /// Trouble codes of the layer itself.
    pub trouble_codes: usize,
}

/// A definition of a layer, and what was taken over.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LayerDefinition {
    /// The layer's short name.
    pub layer: String,
    /// The definition's name.
    pub id: String,
    /// The text of the definition file; nothing where the layer has no record.
    pub definition: Option<String>,
    /// How many trouble codes have a description.
    pub trouble_codes: usize,
    /// The text of a table of trouble-code descriptions; nothing where there are none.
    pub descriptions: Option<String>,
    /// What was taken over and what was not.
    pub report: Report,
}

/// Makes definitions of a package's layers; remembers what several layers inherit.
#[derive(Debug)]
pub struct Converter<'p> {
    package: &'p Package,
    inheritance: RefCell<Inheritance>,
}

impl<'p> Converter<'p> {
    /// For a package.
    pub fn new(package: &'p Package) -> Self {
        Self { package, inheritance: RefCell::default() }
    }

    /// With what another one remembered of the same package.
    pub(crate) fn with_inheritance(package: &'p Package, inheritance: Inheritance) -> Self {
        Self { package, inheritance: RefCell::new(inheritance) }
    }

    /// What it remembered.
    pub(crate) fn into_inheritance(self) -> Inheritance {
        self.inheritance.into_inner()
    }

    /// The short names of all layers that have or can have records of one control module, in the order of the documents.
    pub fn names(&self) -> Vec<String> {
        let layers = &self.package.database.layers;
        layers.iter().map(|layer| layer.head.short_name.to_string()).collect()
    }

    /// The layers that a name or a pattern with `*` and `?` names.
    ///
    /// # Errors
    /// When there is none.
    pub fn find(&self, name: &str) -> Result<Vec<usize>, OdxError> {
        let layers = &self.package.database.layers;
        let exact: Vec<usize> = (0..layers.len()).filter(|at| &*layers[*at].head.short_name == name).collect();
        if !exact.is_empty() {
            return Ok(exact);
        }
        // A pattern is for control modules; what they share is named in full.
        let pattern = name.contains(['*', '?']).then(|| name.parse::<Pattern>().ok()).flatten();
        let fitting = pattern.map_or_else(Vec::new, |pattern| {
            let modules = (0..layers.len()).filter(|at| layers[*at].kind >= LayerKind::BaseVariant);
            modules.filter(|at| pattern.fits(&layers[*at].head.short_name)).collect()
        });
        if fitting.is_empty() {
            let near = nearest_name(name, layers.iter().map(|layer| &*layer.head.short_name));
            return Err(OdxError::NoLayer { name: crate::error::shown(name), near: near.map(str::to_owned) });
        }
        Ok(fitting)
    }

    /// What a layer holds.
    ///
    /// # Errors
    /// When it inherits from something that is not there, or from itself.
    pub fn summary(&self, layer: usize) -> Result<LayerSummary, OdxError> {
        let view = View::new(&self.package.database, layer, &self.inheritance)?;
        let own = &self.package.database.layers[layer];
        let (mut records, mut parameters) = (BTreeSet::new(), 0);
        for inherited in &view.services.services {
            let accesses = accesses(&view, inherited.service.0, view.service(inherited.service)).unwrap_or_default();
            for access in accesses.found {
                if records.insert(access.record.clone()) {
                    parameters += access.values().count();
                }
            }
        }
        let codes = own.objects.iter().map(|object| match &object.kind {
            ObjectKind::TroubleCodes(codes) => codes.codes.len(),
            _ => 0,
        });
        Ok(LayerSummary {
            name: own.head.short_name.to_string(),
            long_name: own.head.long_name.as_deref().map(str::to_owned),
            kind: own.kind,
            document: Arc::clone(&self.package.database.documents[own.document].name),
            services: view.services.services.len(),
            records: records.len(),
            parameters,
            trouble_codes: codes.sum(),
        })
    }

    /// The definition of a layer; `module` names the control module, else the base variant's name does.
    ///
    /// # Errors
    /// When it inherits from something that is not there, or from itself.
    pub fn take_over(&self, layer: usize, module: Option<&ModuleName>) -> Result<LayerDefinition, OdxError> {
        let database = &self.package.database;
        let view = View::new(database, layer, &self.inheritance)?;
        let own = &database.layers[layer];
        let module = module.map_or_else(|| self.module_of(layer), |name| name.as_str().to_owned());
        let names = [module.clone(), slug(&own.head.short_name, '_'), slug(own.head.label(), '_')];
        let (records, mut report) = assemble(&view, &names);
        let modules = modules(&view, module, &mut report.notes);
        let id = slug(&own.head.short_name, '-');
        let document = &database.documents[own.document].name;
        let languages = match report.languages.iter().cloned().collect::<Vec<_>>() {
            none if none.is_empty() => String::new(),
            some => format!(", labels in {}", some.join(", ")),
        };
        let draft = Draft {
            id: id.clone(),
            title: own.head.label().to_owned(),
            source: format!("{document}: {} {} (ISO 22901-1){languages}", own.kind, own.head.short_name),
            modules,
            records,
        };
        let definition = (!draft.records.is_empty()).then(|| text(&draft, &report));
        let codes = trouble_codes(&view, &mut report.notes);
        let descriptions = (!codes.is_empty()).then(|| table(&draft.title, &draft.source, &codes));
        let layer = own.head.short_name.to_string();
        Ok(LayerDefinition { layer, id, definition, trouble_codes: codes.len(), descriptions, report })
    }

    /// The control module of a layer: the nearest base variant's name, else its own.
    fn module_of(&self, layer: usize) -> String {
        let database = &self.package.database;
        let mut at = layer;
        while database.layers[at].kind > LayerKind::BaseVariant {
            let parents = self.inheritance.borrow_mut().parents(database, at);
            match parents.ok().and_then(|parents| parents.first().copied()) {
                Some((parent, _)) if database.layers[parent].kind == LayerKind::BaseVariant => at = parent,
                _ => break,
            }
        }
        slug(&database.layers[at].head.short_name, '_')
    }
}

//! Which vehicle a reading is of.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use asfound_core::names::{Tag, Vin};
use asfound_core::reading::VehicleMark;
use thiserror::Error;

use crate::journal::{Journal, JournalError};
use crate::store::{Store, StoreError};

/// Why nobody can say which vehicle a reading is of.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum UnknownVehicle {
    /// It gives a VIN that no vehicle has.
    #[error("no vehicle in this garage has the VIN {0}")]
    Vin(Vin),
    /// It gives none, and the names of its file and folders are no tags.
    #[error("neither the reading nor its name or folder says which vehicle it is of")]
    NotTold,
    /// The vehicles cannot be read.
    #[error(transparent)]
    Journal(#[from] JournalError),
}

/// The vehicles of a store, by tag and by VIN.
pub struct VehicleLookup<'s, S> {
    store: &'s S,
    tags: BTreeSet<Tag>,
    /// By VIN, once one was asked for.
    by_vin: Option<BTreeMap<Vin, Tag>>,
}

impl<'s, S: Store> VehicleLookup<'s, S> {
    /// The vehicles of a store.
    ///
    /// # Errors
    /// When they cannot be listed.
    pub fn of(store: &'s S) -> Result<Self, StoreError> {
        Ok(Self { store, tags: store.tags()?.into_iter().collect(), by_vin: None })
    }

    /// Whether a vehicle is enrolled.
    pub fn knows(&self, tag: &Tag) -> bool {
        self.tags.contains(tag)
    }

    /// Takes note of a vehicle that was enrolled.
    pub fn add(&mut self, tag: Tag) {
        self.tags.insert(tag);
    }

    /// The vehicle that a reading is of: as it says itself, by tag or VIN; else the one whose tag is the name of its file, without
    /// what follows the first dot, or of a folder that it lies in.
    ///
    /// # Errors
    /// Why nobody can say.
    pub fn owner(&mut self, mark: Option<&VehicleMark>, path: Option<&Path>) -> Result<Tag, UnknownVehicle> {
        match mark {
            Some(VehicleMark::Tag(tag)) => Ok(tag.clone()),
            Some(VehicleMark::Vin(vin)) => {
                let known = match &mut self.by_vin {
                    Some(known) => known,
                    none => none.insert(by_vin(self.store, &self.tags)?),
                };
                known.get(vin).cloned().ok_or_else(|| UnknownVehicle::Vin(vin.clone()))
            }
            None => {
                let names = path.into_iter().flat_map(Path::ancestors).filter_map(Path::file_name);
                let tags = names.filter_map(|name| name.to_str()?.split('.').next()?.parse::<Tag>().ok());
                tags.into_iter().find(|tag| self.knows(tag)).ok_or(UnknownVehicle::NotTold)
            }
        }
    }
}

fn by_vin<S: Store>(store: &S, tags: &BTreeSet<Tag>) -> Result<BTreeMap<Vin, Tag>, JournalError> {
    let mut known = BTreeMap::new();
    for tag in tags {
        if let Some(vin) = Journal::new(store, tag.clone()).vehicle()?.vin {
            known.insert(vin, tag.clone());
        }
    }
    Ok(known)
}

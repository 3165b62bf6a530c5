//! Which vehicle a reading is of.

use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;

use asfound_core::names::{Tag, Vin};
use asfound_core::reading::VehicleMark;
use asfound_journal::garage::Garage;
use asfound_journal::journal::Journal;
use asfound_journal::store::Store;

use crate::failure::Failure;

/// The vehicles of a garage.
pub struct VehicleLookup<'g> {
    garage: &'g Garage,
    tags: BTreeSet<Tag>,
    /// By VIN, once one was asked for.
    by_vin: Option<BTreeMap<Vin, Tag>>,
}

impl<'g> VehicleLookup<'g> {
    /// The vehicles of a garage.
    ///
    /// # Errors
    /// When they cannot be listed.
    pub fn of(garage: &'g Garage) -> Result<Self, Failure> {
        Ok(Self { garage, tags: garage.store().tags()?.into_iter().collect(), by_vin: None })
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
    pub fn owner(&mut self, mark: Option<&VehicleMark>, path: Option<&Path>) -> Result<Tag, String> {
        match mark {
            Some(VehicleMark::Tag(tag)) => Ok(tag.clone()),
            Some(VehicleMark::Vin(vin)) => {
                let known = match &mut self.by_vin {
                    Some(known) => known,
                    none => none.insert(by_vin(self.garage, &self.tags).map_err(|failure| failure.message)?),
                };
                known.get(vin).cloned().ok_or_else(|| format!("no vehicle in this garage has the VIN {vin}"))
            }
            None => {
                let names = path.into_iter().flat_map(Path::ancestors).filter_map(Path::file_name);
                let tags = names.filter_map(|name| name.to_str()?.split('.').next()?.parse::<Tag>().ok());
                let found = tags.into_iter().find(|tag| self.knows(tag));
                found.ok_or_else(|| "neither the reading nor its name or folder says which vehicle it is of".to_owned())
            }
        }
    }
}

fn by_vin(garage: &Garage, tags: &BTreeSet<Tag>) -> Result<BTreeMap<Vin, Tag>, Failure> {
    let mut known = BTreeMap::new();
    for tag in tags {
        if let Some(vin) = Journal::new(garage.store(), tag.clone()).vehicle()?.vin {
            known.insert(vin, tag.clone());
        }
    }
    Ok(known)
}

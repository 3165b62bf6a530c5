//! Which address on the bus is which module of the vehicle.

use std::collections::BTreeSet;

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Body, Entry};
use asfound_core::names::{DefinitionId, EntryNumber, ModuleName};
use asfound_core::reading::Address;
use asfound_core::state::State;
use asfound_wire::conversation::{ModuleAddress, TesterAddress};
use thiserror::Error;

use super::identity::{alike, said_first};
use super::{AddressedModule, BusModule, BusSummary};

/// What says that an address is a module.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum IdentifiedBy {
    /// Somebody said so.
    Said,
    /// An earlier log of this vehicle, filed with this entry.
    EarlierLog(EntryNumber),
    /// The diagnostic address that the journal has of it.
    Address,
    /// The serial number that it gave on the bus.
    Serial,
    /// The part number that it gave on the bus.
    PartNumber,
    /// Its part number fits this definition alone.
    Definition(DefinitionId),
}

/// A module that is known by its name.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct IdentifiedModule {
    /// The module.
    pub module: ModuleName,
    /// Its place in [`BusSummary::modules`].
    pub heard: usize,
    /// What says so.
    pub how: IdentifiedBy,
}

/// A module of which nothing tells which it is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct UnidentifiedModule {
    /// Its place in [`BusSummary::modules`].
    pub heard: usize,
    /// The module whose records hold what was read here.
    pub perhaps: Option<ModuleName>,
}

/// Which is which.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ModuleIdentification {
    /// Modules that are known by name, in the order of [`BusSummary::modules`].
    pub placed: Vec<IdentifiedModule>,
    /// The others of which the logs tell something.
    pub unplaced: Vec<UnidentifiedModule>,
}

/// Why modules cannot be placed as somebody said.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum IdentificationError {
    /// Nobody speaks there.
    #[error("`{0}`: the logs have no module that is asked and answers there")]
    NotHeard(AddressedModule),
    /// Two names for one module, or two modules of one name.
    #[error("`{0}` and `{1}` cannot both be so")]
    Both(AddressedModule, AddressedModule),
}

/// Something that may tell which module it is.
type IdentificationRule<'r> = &'r dyn Fn(&BusModule) -> Option<(ModuleName, IdentifiedBy)>;

/// Says which module of the vehicle is which. What somebody says comes first; then earlier logs of the vehicle, the
/// serial and part numbers that modules gave, the diagnostic addresses that the journal has, and definitions.
///
/// # Errors
/// When what somebody says cannot be so.
pub fn place(
    heard: &BusSummary,
    said: &[AddressedModule],
    entries: &[Entry],
    state: &State,
    definitions: &DefinitionSet,
) -> Result<ModuleIdentification, IdentificationError> {
    let mut names: Vec<Option<(ModuleName, IdentifiedBy)>> = vec![None; heard.modules.len()];
    let mut told: Vec<Option<&AddressedModule>> = vec![None; heard.modules.len()];
    for said in said {
        let is = |module: &BusModule| {
            module.addresses().any(|address| said.is(address, module.timeline.testers.iter().copied()))
        };
        let place = heard.modules.iter().position(is).ok_or_else(|| IdentificationError::NotHeard(said.clone()))?;
        let other = told.iter().flatten().find(|other| other.module == said.module && **other != said);
        if let Some(other) = told[place].filter(|other| other.module != said.module).or(other.copied()) {
            return Err(IdentificationError::Both(other.clone(), said.clone()));
        }
        told[place] = Some(said);
        names[place] = Some((said.module.clone(), IdentifiedBy::Said));
    }
    let rules: [IdentificationRule<'_>; 5] = [
        &|module| by_earlier_log(module, entries),
        &|module| by_identity(module, state, |known| known.serial.as_deref(), IdentifiedBy::Serial),
        &|module| by_identity(module, state, |known| known.part_number.as_deref(), IdentifiedBy::PartNumber),
        &|module| by_address(module, state),
        &|module| by_definition(module, definitions),
    ];
    for rule in rules {
        for (place, module) in heard.modules.iter().enumerate() {
            let taken = |name: &ModuleName| names.iter().flatten().any(|(other, _)| other == name);
            if names[place].is_none() && module.tells_something() {
                names[place] = rule(module).filter(|(name, _)| !taken(name));
            }
        }
    }
    let mut placing = ModuleIdentification::default();
    for (place, name) in names.into_iter().enumerate() {
        let module = &heard.modules[place];
        match name {
            Some((name, how)) => placing.placed.push(IdentifiedModule { module: name, heard: place, how }),
            None if module.tells_something() => {
                let taken: BTreeSet<ModuleName> = placing.placed.iter().map(|placed| placed.module.clone()).collect();
                placing.unplaced.push(UnidentifiedModule { heard: place, perhaps: by_content(module, state, &taken) });
            }
            None => {}
        }
    }
    Ok(placing)
}

/// The one thing in `found`; nothing where there is none or more than one.
fn only<T: PartialEq>(found: impl IntoIterator<Item = T>) -> Option<T> {
    let mut found = found.into_iter();
    let first = found.next()?;
    found.all(|other| other == first).then_some(first)
}

fn by_earlier_log(module: &BusModule, entries: &[Entry]) -> Option<(ModuleName, IdentifiedBy)> {
    let here = module.place();
    entries.iter().rev().find_map(|entry| {
        let Body::Witness(witness) = &entry.body else { return None };
        let same = witness.modules.iter().filter(|(_, places)| {
            places.iter().any(|place| {
                place.answers == here.answers && place.asked.iter().any(|asked| here.asked.contains(asked))
            })
        });
        only(same.map(|(name, _)| name.clone())).map(|name| (name, IdentifiedBy::EarlierLog(entry.number)))
    })
}

fn by_identity(
    module: &BusModule,
    state: &State,
    part: impl Fn(&asfound_core::identity::Identity) -> Option<&str>,
    how: IdentifiedBy,
) -> Option<(ModuleName, IdentifiedBy)> {
    let said = said_first(&module.timeline);
    let said = part(&said)?;
    let same = state.modules.iter().filter(|(_, known)| part(&known.identity).is_some_and(|known| alike(known, said)));
    only(same.map(|(name, _)| name.clone())).map(|name| (name, how))
}

fn by_address(module: &BusModule, state: &State) -> Option<(ModuleName, IdentifiedBy)> {
    let testers = &module.timeline.testers;
    let is = |address: Address| match module.address {
        ModuleAddress::Ip(logical) => u32::from(logical) == address.0,
        ModuleAddress::Can(answers) => {
            let number = answers.id.number();
            // Normal fixed addressing (ISO 15765-2): 18DA, target, source.
            let fixed = answers.id.is_extended() && number >> 16 == 0x18DA && number & 0xFF == address.0;
            let asked = testers.iter().any(|tester| match tester {
                TesterAddress::Can(asks) => {
                    asks.id.number() == address.0 || asks.address.is_some_and(|byte| u32::from(byte) == address.0)
                }
                TesterAddress::Ip(_) => false,
            });
            fixed || number == address.0 || asked
        }
    };
    let same = state.modules.iter().filter(|(_, known)| known.address.is_some_and(is));
    only(same.map(|(name, _)| name.clone())).map(|name| (name, IdentifiedBy::Address))
}

fn by_definition(module: &BusModule, definitions: &DefinitionSet) -> Option<(ModuleName, IdentifiedBy)> {
    let said = said_first(&module.timeline);
    said.part_number.as_ref()?;
    let fitting = definitions.iter().filter(|definition| {
        let applies = definition.applies_to();
        !applies.part_number().is_empty() && applies.fits(applies.module(), &said)
    });
    let found: Vec<_> = fitting.map(|it| (it.applies_to().module().clone(), it.id().clone())).collect();
    let name = only(found.iter().map(|(name, _)| name.clone()))?;
    found.into_iter().next().map(|(_, id)| (name, IdentifiedBy::Definition(id)))
}

/// The module whose records hold what was read here, of those that are not placed yet: no proof, but worth saying.
fn by_content(module: &BusModule, state: &State, taken: &BTreeSet<ModuleName>) -> Option<ModuleName> {
    let holds = |known: &asfound_core::state::ModuleState| {
        let same = known.records.iter().filter(|(record, known)| {
            let read = record.identifier().and_then(|id| module.timeline.records.get(&id));
            read.and_then(|read| read.first_read()).is_some_and(|read| read == known.bytes.as_slice())
        });
        same.count()
    };
    let free = state.modules.iter().filter(|(name, _)| !taken.contains(*name));
    let mut counts: Vec<_> = free.map(|(name, known)| (holds(known), name)).filter(|(count, _)| *count > 0).collect();
    counts.sort_by(|a, b| b.cmp(a));
    match counts.as_slice() {
        [(_, name)] => Some((*name).clone()),
        [(first, name), (second, _), ..] if first > second => Some((*name).clone()),
        _ => None,
    }
}

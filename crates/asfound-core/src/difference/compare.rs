//! Compares two states, of one vehicle or of two.

use std::collections::BTreeSet;

use super::identity::{IdentityDifference, identity_differences};
use super::record::{SettingDifference, UndecidedSetting, differ, same_layout};
use super::sides::{ModuleSnapshot, settings_of};
use super::{ByteRun, Content, align};
use crate::definition::{AmbiguousDefinition, DefinitionSet, RecordDefinition};
use crate::identity::Identity;
use crate::movement::{Movements, SortedBits, same_software};
use crate::names::{DefinitionId, EntryNumber, ModuleName, RecordName, SettingName};
use crate::sameness::Sameness;
use crate::state::{KnownRecord, ModuleState, State};
use crate::trouble_code::{CodeGroups, compare_codes};
use crate::value::{BitMask, HexBytes};

/// What a comparison says of one record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum ComparisonVerdict {
    /// Known on both sides and the same, volatile bits apart, and a checksum that follows from them.
    Same,
    /// Known on both sides and not the same.
    Changed,
    /// Not known on at least one side, not read there since the module became another unit or got other software, or not
    /// read again between two moments of one vehicle.
    NotRead,
    /// The module answered no on at least one side.
    Refused,
}

/// One record, compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RecordComparison {
    /// The record.
    pub record: RecordName,
    /// What is said of it.
    pub verdict: ComparisonVerdict,
    /// How many bytes were compared, those left out that change by themselves; 0 when a side is not known.
    pub compared: usize,
    /// How many bytes are volatile.
    pub volatile: usize,
    /// The content as found.
    pub found: Option<HexBytes>,
    /// The content as left.
    pub left: Option<HexBytes>,
    /// Where the bytes differ, aligned; empty when the record is the same or a side is not known.
    pub runs: Vec<ByteRun>,
    /// Bits that differ and that no definition names, those left out that move by themselves; none where the layout changed,
    /// because places say nothing then.
    pub undeclared: BitMask,
    /// Those of them of which nobody can tell whether they are a setting or a measured value.
    pub unclear: BitMask,
    /// Bits that no definition names and that were seen to move by themselves: left out, whether they differ or not.
    pub moving: BitMask,
    /// Those of them that differ.
    pub moved: BitMask,
    /// How often the record was seen to move in these bits.
    pub times_moved: u32,
    /// The entries that show it.
    pub shown_by: Vec<EntryNumber>,
    /// Whether the two sides are laid out by different definitions, so that places cannot be compared bit by bit.
    pub layout_changed: bool,
}

/// The trouble codes of one module, compared; nothing is said unless both sides were scanned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum CodeComparison {
    /// One side or both were not scanned for codes.
    NotExamined,
    /// Both were.
    Examined(CodeGroups),
}

/// One module, compared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ModuleComparison {
    /// The module.
    pub module: ModuleName,
    /// Whether anything is known of it as found, and as left.
    pub known: (bool, bool),
    /// The definitions that explain the two sides.
    pub definitions: (Option<DefinitionId>, Option<DefinitionId>),
    /// Where several definitions fit a side, so that none of them explains it: these.
    pub several: Vec<AmbiguousDefinition>,
    /// What differs in its identity.
    pub identity: Vec<IdentityDifference>,
    /// Its settings that differ, by name.
    pub settings: Vec<SettingDifference>,
    /// How many settings were compared.
    pub settings_compared: usize,
    /// Its settings of which nobody can tell whether they differ, by name. They count as compared, and as no difference.
    pub settings_undecided: Vec<UndecidedSetting>,
    /// Settings that only one side knows.
    pub settings_not_read: Vec<SettingName>,
    /// Its records.
    pub records: Vec<RecordComparison>,
    /// Its trouble codes.
    pub codes: CodeComparison,
}

/// Two states, compared module by module.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Comparison {
    /// The modules that either side knows, by name.
    pub modules: Vec<ModuleComparison>,
}

impl Comparison {
    /// Whether nothing differs among what both sides know.
    pub fn is_same(&self) -> bool {
        self.modules.iter().all(|module| {
            module.identity.iter().all(|part| part.doubt.is_some())
                && module.settings.is_empty()
                && module.records.iter().all(|record| record.verdict != ComparisonVerdict::Changed)
        })
    }

    /// How many records have that verdict.
    pub fn count(&self, verdict: ComparisonVerdict) -> usize {
        self.modules.iter().flat_map(|module| &module.records).filter(|record| record.verdict == verdict).count()
    }
}

/// Compares two states. `movements` says which bits move by themselves, in the vehicle that is `left`.
///
/// Between two moments of one vehicle, a record that was not read again in between says nothing: its content is
/// carried over from the earlier moment, so its verdict is *not read* and not *same*.
///
/// Where several definitions fit a module, none of them explains it: its bytes are compared.
pub fn compare(
    found: &State,
    left: &State,
    definitions_found: &DefinitionSet,
    definitions_left: &DefinitionSet,
    movements: &Movements,
) -> Comparison {
    let names: BTreeSet<_> = found.modules.keys().chain(left.modules.keys()).collect();
    let nothing = ModuleState::default();
    let one_vehicle = found.vehicle.is_some() && found.vehicle == left.vehicle;
    let mut modules = Vec::new();
    for name in names {
        let (a, b) = (found.module(name).unwrap_or(&nothing), left.module(name).unwrap_or(&nothing));
        let several = several(name, (definitions_found, &a.identity), (definitions_left, &b.identity));
        let a = ModuleSnapshot { module: a, definition: definitions_found.explaining(name, &a.identity) };
        let b = ModuleSnapshot { module: b, definition: definitions_left.explaining(name, &b.identity) };
        let known = (found.module(name).is_some(), left.module(name).is_some());
        let mut compared = module(name, a, b, known, movements);
        compared.several = several;
        if one_vehicle {
            leave_out_carried(&mut compared, a.module, b.module);
        }
        modules.push(compared);
    }
    Comparison { modules }
}

/// Of which side several definitions fit the module; once where it is the same of both.
fn several(
    module: &ModuleName,
    found: (&DefinitionSet, &Identity),
    left: (&DefinitionSet, &Identity),
) -> Vec<AmbiguousDefinition> {
    let mut several: Vec<AmbiguousDefinition> = [found, left]
        .into_iter()
        .filter_map(|(definitions, identity)| definitions.fitting(module, identity).err())
        .collect();
    several.dedup();
    several
}

fn module(
    name: &ModuleName,
    found: ModuleSnapshot<'_>,
    left: ModuleSnapshot<'_>,
    known: (bool, bool),
    movements: &Movements,
) -> ModuleComparison {
    let names: BTreeSet<_> = settings_of(found).into_iter().chain(settings_of(left)).collect();
    let (mut settings, mut settings_not_read, mut settings_compared) = (Vec::new(), Vec::new(), 0);
    let mut settings_undecided = Vec::new();
    for setting in names {
        // A value that only one side has a definition for means there what the other says that it means.
        let typed =
            |content: Content| [found, left].iter().fold(content, |it, side| it.typed_by(side.defined(&setting)));
        match (found.content(&setting).map(typed), left.content(&setting).map(typed)) {
            (Some(a), Some(b)) => {
                settings_compared += 1;
                match a.compare(&b) {
                    Sameness::Same | Sameness::SaidDifferently(_) => {}
                    Sameness::Different => settings.push(SettingDifference { setting, found: Some(a), left: Some(b) }),
                    Sameness::CannotTell(why) => {
                        settings_undecided.push(UndecidedSetting { setting, found: a, left: b, why });
                    }
                }
            }
            _ => settings_not_read.push(setting),
        }
    }
    let mut records: BTreeSet<_> = found.module.records.keys().chain(left.module.records.keys()).collect();
    records.extend(found.module.refused.iter().chain(&left.module.refused));
    ModuleComparison {
        module: name.clone(),
        known,
        definitions: (found.definition.map(|d| d.id().clone()), left.definition.map(|d| d.id().clone())),
        several: Vec::new(),
        identity: identity_differences(&found.module.identity, &left.module.identity),
        settings,
        settings_compared,
        settings_undecided,
        settings_not_read,
        records: records.into_iter().map(|record_name| record((name, record_name), found, left, movements)).collect(),
        codes: codes(found.module, left.module),
    }
}

/// Takes back what was said of content that was only carried over from one moment to the other.
fn leave_out_carried(compared: &mut ModuleComparison, found: &ModuleState, left: &ModuleState) {
    for record in compared.records.iter_mut().filter(|record| record.verdict == ComparisonVerdict::Same) {
        let read = |module: &ModuleState| module.records.get(&record.record).map(|known| (known.since, known.read));
        if read(found) == read(left) {
            (record.verdict, record.compared, record.volatile) = (ComparisonVerdict::NotRead, 0, 0);
            (record.moving, record.moved) = (BitMask::default(), BitMask::default());
            (record.times_moved, record.shown_by) = (0, Vec::new());
        }
    }
    let scanned = |module: &ModuleState| module.codes.as_ref().map(|codes| codes.read);
    if scanned(found) == scanned(left) {
        compared.codes = CodeComparison::NotExamined;
    }
}

fn record(
    (module, name): (&ModuleName, &RecordName),
    found: ModuleSnapshot<'_>,
    left: ModuleSnapshot<'_>,
    movements: &Movements,
) -> RecordComparison {
    let known = |side: ModuleSnapshot<'_>| side.module.records.get(name).map(|known: &KnownRecord| known.bytes.clone());
    let refused = found.module.refused.contains(name) || left.module.refused.contains(name);
    let layout_changed = !same_layout(name, found.definition, left.definition);
    let mut comparison = RecordComparison {
        record: name.clone(),
        verdict: if refused { ComparisonVerdict::Refused } else { ComparisonVerdict::NotRead },
        compared: 0,
        volatile: 0,
        found: known(found),
        left: known(left),
        runs: Vec::new(),
        undeclared: BitMask::default(),
        unclear: BitMask::default(),
        moving: BitMask::default(),
        moved: BitMask::default(),
        times_moved: 0,
        shown_by: Vec::new(),
        layout_changed,
    };
    let current = |side: ModuleSnapshot<'_>| side.module.current_record(name).is_some();
    let comparable = !refused && current(found) && current(left);
    if let (Some(a), Some(b), true) = (&comparison.found, &comparison.left, comparable) {
        let layout = left.definition.and_then(|definition| definition.record(name));
        let (same, undeclared) = if layout_changed {
            (a == b, BitMask::default())
        } else {
            let difference = differ(name, left.definition, a.as_slice(), b.as_slice());
            let sorted = sort(movements, (module, name), (found, left), &difference.undeclared);
            let (differing, same) = (difference.undeclared.clone(), difference.is_same());
            let undeclared = differing.clone().without(&sorted.moving);
            let only_moved = undeclared.is_empty() && difference.settings.is_empty() && !difference.checksum_alone;
            comparison.moving =
                sort(movements, (module, name), (found, left), &unnamed(layout, a.len().max(b.len()))).moving;
            (comparison.moved, comparison.unclear) = (sorted.moving, sorted.unclear);
            let evidence = movements.of(module, name, &left.module.identity).iter();
            let shows: Vec<_> = evidence.filter(|movement| movement.bits.overlaps(&comparison.moving)).collect();
            comparison.times_moved = shows.iter().fold(0, |times, movement| times.saturating_add(movement.times));
            let shown_by: BTreeSet<_> = shows.iter().flat_map(|movement| movement.evidence.entries()).collect();
            comparison.shown_by = shown_by.into_iter().collect();
            (same || only_moved, undeclared)
        };
        let volatile = |at: &usize| layout.is_some_and(|layout| layout.volatile().byte(*at) != 0);
        let left_out = |at: &usize| volatile(at) || comparison.moving.byte(*at) == 0xFF;
        comparison.volatile = (0..b.len()).filter(volatile).count();
        comparison.compared = b.len() - (0..b.len()).filter(left_out).count();
        comparison.verdict = if same { ComparisonVerdict::Same } else { ComparisonVerdict::Changed };
        comparison.runs = if same { Vec::new() } else { align(a.as_slice(), b.as_slice()) };
        comparison.undeclared = undeclared;
    }
    comparison
}

/// Every bit of a record of that length that no definition names.
fn unnamed(layout: Option<&RecordDefinition>, length: usize) -> BitMask {
    let mut bits = BitMask::all(length);
    if let Some(layout) = layout {
        bits.remove(layout.named());
        bits.remove(layout.volatile());
        layout.checksum().into_iter().for_each(|checksum| bits.remove(&checksum.mask(layout.length())));
    }
    bits
}

/// Sorts bits that no definition names by what is known of them; under other software they may be something else.
fn sort(
    movements: &Movements,
    of: (&ModuleName, &RecordName),
    (found, left): (ModuleSnapshot<'_>, ModuleSnapshot<'_>),
    bits: &BitMask,
) -> SortedBits {
    if !same_software(&found.module.identity, &left.module.identity) {
        return SortedBits::unclear(bits);
    }
    let at = left.module.records.get(of.1).map(|known| known.known_at.span().last());
    movements.sort(of, &left.module.identity, bits, at)
}

fn codes(found: &ModuleState, left: &ModuleState) -> CodeComparison {
    let (Some(before), Some(after)) = (&found.codes, &left.codes) else {
        return CodeComparison::NotExamined;
    };
    CodeComparison::Examined(compare_codes(&before.codes, &after.codes))
}

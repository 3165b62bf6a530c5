//! Compares two states, of one vehicle or of two.

use std::collections::BTreeSet;

use super::identity::{IdentityDifference, identity_differences};
use super::record::{SettingDifference, differ, same_layout};
use super::sides::{Side, settings_of};
use super::{ByteRun, Content, align};
use crate::definition::{DefinitionSet, TwoFit};
use crate::names::{DefinitionId, ModuleName, RecordName, SettingName};
use crate::state::{KnownRecord, ModuleState, State};
use crate::trouble_code::{CodeGroups, compare_codes};
use crate::value::{BitMask, HexBytes};

/// What a comparison says of one record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
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
    pub verdict: Verdict,
    /// How many bytes were compared, volatile ones left out; 0 when a side is not known.
    pub compared: usize,
    /// How many bytes are volatile.
    pub volatile: usize,
    /// The content as found.
    pub found: Option<HexBytes>,
    /// The content as left.
    pub left: Option<HexBytes>,
    /// Where the bytes differ, aligned; empty when the record is the same or a side is not known.
    pub runs: Vec<ByteRun>,
    /// Bits that differ and that no definition names; none where the layout changed, because places say nothing then.
    pub undeclared: BitMask,
    /// Whether the two sides are laid out by different definitions, so that places cannot be compared bit by bit.
    pub relaid: bool,
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
    /// What differs in its identity.
    pub identity: Vec<IdentityDifference>,
    /// Its settings that differ, by name.
    pub settings: Vec<SettingDifference>,
    /// How many settings were compared.
    pub settings_compared: usize,
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
            module.identity.is_empty()
                && module.settings.is_empty()
                && module.records.iter().all(|record| record.verdict != Verdict::Changed)
        })
    }

    /// How many records have that verdict.
    pub fn count(&self, verdict: Verdict) -> usize {
        self.modules.iter().flat_map(|module| &module.records).filter(|record| record.verdict == verdict).count()
    }
}

/// Compares two states.
///
/// Between two moments of one vehicle, a record that was not read again in between says nothing: its content is
/// carried over from the earlier moment, so its verdict is *not read* and not *same*.
///
/// # Errors
/// When two definitions fit one module.
pub fn compare(
    found: &State,
    left: &State,
    definitions_found: &DefinitionSet,
    definitions_left: &DefinitionSet,
) -> Result<Comparison, TwoFit> {
    let names: BTreeSet<_> = found.modules.keys().chain(left.modules.keys()).collect();
    let nothing = ModuleState::default();
    let one_vehicle = found.vehicle.is_some() && found.vehicle == left.vehicle;
    let mut modules = Vec::new();
    for name in names {
        let (a, b) = (found.module(name).unwrap_or(&nothing), left.module(name).unwrap_or(&nothing));
        let a = Side { module: a, definition: definitions_found.fitting(name, &a.identity)? };
        let b = Side { module: b, definition: definitions_left.fitting(name, &b.identity)? };
        let mut compared = module(name, a, b, (found.module(name).is_some(), left.module(name).is_some()));
        if one_vehicle {
            leave_out_carried(&mut compared, a.module, b.module);
        }
        modules.push(compared);
    }
    Ok(Comparison { modules })
}

fn module(name: &ModuleName, found: Side<'_>, left: Side<'_>, known: (bool, bool)) -> ModuleComparison {
    let names: BTreeSet<_> = settings_of(found).into_iter().chain(settings_of(left)).collect();
    let (mut settings, mut settings_not_read, mut settings_compared) = (Vec::new(), Vec::new(), 0);
    for setting in names {
        // A value that only one side has a definition for means there what the other says that it means.
        let typed =
            |content: Content| [found, left].iter().fold(content, |it, side| it.typed_by(side.defined(&setting)));
        match (found.content(&setting).map(typed), left.content(&setting).map(typed)) {
            (Some(a), Some(b)) => {
                settings_compared += 1;
                if !a.same(&b) {
                    settings.push(SettingDifference { setting, found: Some(a), left: Some(b) });
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
        identity: identity_differences(&found.module.identity, &left.module.identity),
        settings,
        settings_compared,
        settings_not_read,
        records: records.into_iter().map(|name| record(name, found, left)).collect(),
        codes: codes(found.module, left.module),
    }
}

/// Takes back what was said of content that was only carried over from one moment to the other.
fn leave_out_carried(compared: &mut ModuleComparison, found: &ModuleState, left: &ModuleState) {
    for record in compared.records.iter_mut().filter(|record| record.verdict == Verdict::Same) {
        let read = |module: &ModuleState| module.records.get(&record.record).map(|known| (known.since, known.read));
        if read(found) == read(left) {
            (record.verdict, record.compared, record.volatile) = (Verdict::NotRead, 0, 0);
        }
    }
    let scanned = |module: &ModuleState| module.codes.as_ref().map(|codes| codes.read);
    if scanned(found) == scanned(left) {
        compared.codes = CodeComparison::NotExamined;
    }
}

fn record(name: &RecordName, found: Side<'_>, left: Side<'_>) -> RecordComparison {
    let known = |side: Side<'_>| side.module.records.get(name).map(|known: &KnownRecord| known.bytes.clone());
    let refused = found.module.refused.contains(name) || left.module.refused.contains(name);
    let relaid = !same_layout(name, found.definition, left.definition);
    let mut comparison = RecordComparison {
        record: name.clone(),
        verdict: if refused { Verdict::Refused } else { Verdict::NotRead },
        compared: 0,
        volatile: 0,
        found: known(found),
        left: known(left),
        runs: Vec::new(),
        undeclared: BitMask::default(),
        relaid,
    };
    let current = |side: Side<'_>| side.module.current_record(name).is_some();
    let comparable = !refused && current(found) && current(left);
    if let (Some(a), Some(b), true) = (&comparison.found, &comparison.left, comparable) {
        let layout = left.definition.and_then(|definition| definition.record(name));
        comparison.volatile =
            layout.map_or(0, |layout| (0..b.len()).filter(|at| layout.volatile().byte(*at) != 0).count());
        comparison.compared = b.len() - comparison.volatile;
        let (same, undeclared) = if relaid {
            (a == b, BitMask::default())
        } else {
            let difference = differ(name, left.definition, a.as_slice(), b.as_slice());
            (difference.is_same(), difference.undeclared)
        };
        comparison.verdict = if same { Verdict::Same } else { Verdict::Changed };
        comparison.runs = if same { Vec::new() } else { align(a.as_slice(), b.as_slice()) };
        comparison.undeclared = undeclared;
    }
    comparison
}

fn codes(found: &ModuleState, left: &ModuleState) -> CodeComparison {
    let (Some(before), Some(after)) = (&found.codes, &left.codes) else {
        return CodeComparison::NotExamined;
    };
    CodeComparison::Examined(compare_codes(&before.codes, &after.codes))
}

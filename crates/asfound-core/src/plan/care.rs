//! How much care a write needs.

use std::collections::BTreeSet;

use crate::definition::{Definition, SettingDefinition};
use crate::names::{ModuleName, RecordName, SettingName};
use crate::safety::{SafetyClass, SafetyTag, role_tags, systems_in_name};
use crate::value::{BitMask, HexBytes};

/// The care that one write needs.
pub(super) struct Care {
    pub(super) class: SafetyClass,
    pub(super) restricted: Vec<SafetyTag>,
    pub(super) cautions: Vec<String>,
}

/// The restricted systems that writing a record touches, as a plan has them for a write of the same bytes.
pub fn restricted_systems(
    module: &ModuleName,
    definition: Option<&Definition>,
    record: &RecordName,
    found: Option<&HexBytes>,
    left: &HexBytes,
) -> Vec<SafetyTag> {
    let layout = definition.and_then(|definition| definition.record(record));
    let mut mask = match (found, layout) {
        (Some(found), _) => BitMask::differing(found.as_slice(), left.as_slice()),
        (None, _) => BitMask::all(left.len()),
    };
    if let Some(layout) = layout {
        mask.remove(layout.named());
        mask.remove(layout.volatile());
        layout.checksum().into_iter().for_each(|checksum| mask.remove(&checksum.mask(layout.length())));
    }
    care(module, definition, Some(record), &[], &mask).restricted
}

/// The restricted systems that setting a setting by name touches, as a plan has them.
pub(super) fn restricted_by_name(
    module: &ModuleName,
    definition: Option<&Definition>,
    setting: &SettingName,
) -> Vec<SafetyTag> {
    let record = definition.and_then(|definition| definition.setting(setting)).map(SettingDefinition::record);
    care(module, definition, record, &[setting], &BitMask::default()).restricted
}

/// The restricted systems that are named by what no definition explains.
fn named_systems(
    module: &ModuleName,
    definition: Option<&Definition>,
    record: Option<&RecordName>,
    settings: &[&SettingName],
) -> BTreeSet<SafetyTag> {
    let mut named = role_tags(module);
    let explained = definition.zip(record).is_some_and(|(definition, record)| definition.record(record).is_some());
    if let (Some(RecordName::Block(block)), false) = (record, explained) {
        named.extend(systems_in_name(block.as_str()));
    }
    let unexplained = settings.iter().filter(|setting| definition.is_none_or(|it| it.setting(setting).is_none()));
    named.extend(unexplained.flat_map(|setting| systems_in_name(setting.as_str())));
    named
}

/// The care that a write needs: a record has the strictest class of any setting in it, because the
/// write carries all of them; bits that nobody named have the class of the module's systems, and are
/// never routine when they are altered or when the whole record is unknown. What no definition explains is told by its
/// names alone: of the module, the block of bytes and the settings; where these say nothing, its class is not known.
pub(super) fn care(
    module: &ModuleName,
    definition: Option<&Definition>,
    record: Option<&RecordName>,
    settings: &[&SettingName],
    undeclared: &BitMask,
) -> Care {
    let layout = definition.zip(record).and_then(|(definition, record)| definition.record(record));
    let in_record: Vec<&SettingDefinition> = match (definition, record) {
        (Some(definition), Some(record)) => definition.settings_in(record).collect(),
        _ => Vec::new(),
    };
    let mut tags: BTreeSet<SafetyTag> = in_record.iter().flat_map(|s| s.tags().iter().copied()).collect();
    let unexplained = if definition.is_some() { SafetyClass::Caution } else { SafetyClass::NotKnown };
    let mut class = tags.iter().map(|tag| tag.class()).max().unwrap_or(unexplained);

    let unnamed = layout.is_none_or(|layout| !layout.undeclared().is_empty()) || !undeclared.is_empty();
    if unnamed {
        let systems = definition.into_iter().flat_map(|definition| definition.systems().iter().copied());
        let named = named_systems(module, definition, record, settings);
        let restricted = systems.chain(named).filter(|tag| tag.class() == SafetyClass::Restricted);
        let restricted: Vec<SafetyTag> = restricted.collect();
        if !restricted.is_empty() {
            class = SafetyClass::Restricted;
            tags.extend(restricted);
        } else if layout.is_none() || !undeclared.is_empty() {
            class = class.max(unexplained);
        }
    }

    let mut cautions: Vec<String> = definition.map(|d| d.cautions().to_vec()).unwrap_or_default();
    for setting in settings.iter().filter_map(|setting| definition?.setting(setting)) {
        cautions.extend(setting.cautions().iter().cloned());
    }
    if definition.is_none() && record.is_none() {
        cautions.push("No definition explains this setting: what else it acts on is not known.".to_owned());
    } else if layout.is_none() {
        cautions.push("No definition explains this record: what else its bytes do is not known.".to_owned());
    } else if !undeclared.is_empty() {
        cautions.push("Bits are altered that no definition names.".to_owned());
    }
    let mut seen = BTreeSet::new();
    cautions.retain(|caution| seen.insert(caution.clone()));

    tags.retain(|tag| tag.class() == SafetyClass::Restricted);
    Care { class, restricted: tags.into_iter().collect(), cautions }
}

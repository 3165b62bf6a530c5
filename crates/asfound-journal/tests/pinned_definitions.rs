//! The definitions that a journal carries: they mean what they meant, and step in where the garage has none.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

use std::collections::BTreeMap;
use std::num::NonZero;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::difference::ModuleSnapshot;
use asfound_core::entry::{
    Author, Body, Effects, IdentityEffect, ModuleCoverage, ReadingBody, ReadingRole, Reason, RecordEffect, Vehicle,
};
use asfound_core::identity::Identity;
use asfound_core::moment::Precision;
use asfound_core::names::{DefinitionId, Tag};
use asfound_core::situation::Situation;
use asfound_core::state::State;
use asfound_journal::audit::{AuditOptions, audit};
use asfound_journal::journal::{EntryDraft, EntryRandomness, Journal, JournalError};
use asfound_journal::sign::AllowedSigners;
use asfound_journal::store::MemoryStore;
use time::macros::datetime;

fn text(id: &str, conditions: &str, setting: &str) -> String {
    format!(
        "format = 'asfound-definition/1'\nid = '{id}'\ntitle = 'X'\n[applies_to]\nmodule = 'body'\n{conditions}\n\
         [records.0D01]\nlabel = 'R'\nlength = 5\n[settings.lamp]\nlabel = 'L'\nrecord = '0D01'\ntags = \
         ['comfort']\n{setting}\n"
    )
}

/// As earlier versions of this program took it.
fn pinned(id: &str, conditions: &str, setting: &str) -> Definition {
    Definition::parse_pinned(&text(id, conditions, setting)).unwrap().definition
}

fn set(definitions: impl IntoIterator<Item = Definition>) -> DefinitionSet {
    let mut set = DefinitionSet::new();
    definitions.into_iter().for_each(|definition| set.add(definition).unwrap());
    set
}

fn tag() -> Tag {
    "wren".parse().unwrap()
}

fn file(store: &MemoryStore, hours: i64, definitions: &DefinitionSet, body: &Body) {
    let at = datetime!(2026-03-14 09:20 +1) + time::Duration::hours(hours);
    let mark = u8::try_from(hours).unwrap();
    let draft = EntryDraft {
        recorded: at,
        happened: at,
        precision: Precision::Second,
        author: Author::new("Edda Brandt", None).unwrap(),
        why: Reason::try_from("because".to_owned()).unwrap(),
        body: body.clone(),
        evidence: Vec::new(),
        chance: EntryRandomness { entry: [mark; 16], vehicle: [mark; 16], blind: [mark; 32] },
    };
    Journal::new(store, tag()).file(definitions, |_| Ok::<_, JournalError>(draft.clone())).unwrap();
}

/// A reading of the record, with the software where it is known, after `found`.
fn reading(found: Option<(&str, Option<&str>)>, bytes: &str, software: Option<&str>) -> Body {
    let module = || "body".parse().unwrap();
    let record = RecordEffect {
        module: module(),
        record: "0D01".parse().unwrap(),
        found: found.map(|(bytes, _)| bytes.parse().unwrap()),
        left: bytes.parse().unwrap(),
    };
    let before = found.and_then(|(_, software)| software);
    let of = |software: Option<&str>| Identity { software: software.map(str::to_owned), ..Identity::default() };
    let identity =
        software.map(|software| IdentityEffect { module: module(), found: of(before), left: of(Some(software)) });
    let covered = ModuleCoverage { records: ["0D01".parse().unwrap()].into(), ..ModuleCoverage::default() };
    Body::Reading(ReadingBody {
        role: ReadingRole::AsFound,
        partial: false,
        by: None,
        tool: None,
        odometer_km: None,
        supply_voltage: None,
        situation: Situation::default(),
        covered: [(module(), covered)].into(),
        effects: Effects { records: vec![record], identities: identity.into_iter().collect(), ..Effects::default() },
        late: BTreeMap::default(),
    })
}

/// Enrolled, and read once with these definitions.
fn journal(definitions: &DefinitionSet, bytes: &str, software: Option<&str>) -> MemoryStore {
    let store = MemoryStore::new();
    let enrolled = datetime!(2026-03-14 09:20 +1);
    file(&store, 0, definitions, &Body::Enrolled(Vehicle { tag: tag(), vin: None, about: None, enrolled }));
    file(&store, 1, definitions, &reading(None, bytes, software));
    store
}

fn is_sound(store: &MemoryStore) -> bool {
    let means = AuditOptions { allowed: &AllowedSigners::default(), threads: NonZero::<usize>::MIN };
    audit(store, &tag(), means, &mut |_| {}).unwrap().is_sound()
}

/// Which definition explains the module now, and what its setting reads.
fn explained(store: &MemoryStore, garage: &DefinitionSet) -> Option<(DefinitionId, String)> {
    let journal = Journal::new(store, tag());
    let index = journal.index().unwrap();
    let definitions = journal.definitions(garage, &index).unwrap();
    let mut state = State::default();
    for filed in journal.each(&index) {
        state.apply(&filed.unwrap().entry).unwrap();
    }
    let module = state.module(&"body".parse().unwrap()).unwrap();
    let definition = definitions.explaining(&"body".parse().unwrap(), &module.identity)?;
    let content = ModuleSnapshot { module, definition: Some(definition) }.content(&"lamp".parse().unwrap())?;
    Some((definition.id().clone(), content.to_string()))
}

fn reads(id: &str, value: &str) -> (DefinitionId, String) {
    (id.parse().unwrap(), value.to_owned())
}

/// A switch without `bits` had eight, across two bytes. The journal's `[settings]` were written so, and are audited so.
#[test]
fn a_journal_that_relied_on_eight_bits_is_read_and_audited_as_before() {
    for (setting, bytes, value) in [
        ("byte = 3\nbit = 2\ntype = 'switch'", "00 00 00 00 04", "on"),
        ("byte = 3\nbit = 0\ntype = 'switch'", "00 00 00 01 04", "on"),
        ("byte = 3\ntype = 'switch'", "00 00 00 01 04", "on"),
        ("byte = 3\nbit = 2\ntype = 'choice'\nchoices = { low = 1, high = 0 }", "00 00 00 00 04", "low"),
        ("byte = 3\nbit = 2\ntype = 'integer'", "00 00 00 00 14", "5"),
    ] {
        let store = journal(&set([pinned("old", "", setting)]), bytes, None);
        let module = Journal::new(&store, tag());
        let written = asfound_journal::store::Store::file(&store, &module.tip().unwrap(), "modules/body.toml").unwrap();
        let written = String::from_utf8(written).unwrap();
        assert!(written.contains(&format!("lamp = \"{value}\"")), "{written}");
        assert!(is_sound(&store), "{setting}");
        assert_eq!(explained(&store, &DefinitionSet::new()), Some(reads("old", value)), "{setting}");
    }
    assert!(Definition::parse(&text("old", "", "byte = 3\nbit = 2\ntype = 'switch'")).is_err());
}

#[test]
fn a_module_that_never_said_who_it_is_keeps_its_definition() {
    let switch = "byte = 3\nbits = 1\ntype = 'switch'";
    let store = journal(&set([pinned("carried", "", switch)]), "00 00 00 01 00", None);
    assert_eq!(explained(&store, &DefinitionSet::new()), Some(reads("carried", "on")));
    // One in the garage that asks for software does not fit it either.
    let other = pinned("other", "software = { from = '2' }", switch);
    assert_eq!(explained(&store, &set([other])), Some(reads("carried", "on")));
    // The garage's own comes first, whatever else the journal carries.
    let own = pinned("own", "", "byte = 3\nbit = 1\nbits = 1\ntype = 'switch'");
    assert_eq!(explained(&store, &set([own])), Some(reads("own", "off")));
}

#[test]
fn what_a_journal_carries_never_stands_beside_what_fits_in_the_garage() {
    let switch = "byte = 3\nbits = 1\ntype = 'switch'";
    // Carried for every software, while the garage has one for the later.
    let store = journal(&set([pinned("carried", "", switch)]), "00 00 00 01 00", Some("1"));
    let later = pinned("later", "software = { from = '2' }", "byte = 3\nbit = 1\nbits = 1\ntype = 'switch'");
    let garage = set([later]);
    assert_eq!(explained(&store, &garage), Some(reads("carried", "on")));
    file(&store, 2, &garage, &reading(Some(("00 00 00 01 00", Some("1"))), "00 00 00 03 00", Some("2")));
    // Before, both fitted now, and nothing could be told of the vehicle.
    assert_eq!(explained(&store, &garage), Some(reads("later", "on")));
    assert!(is_sound(&store));
}

#[test]
fn of_several_that_a_journal_carries_the_one_that_was_used_last_explains() {
    let switch = "byte = 3\nbits = 1\ntype = 'switch'";
    let store = journal(&set([pinned("a-first", "", switch)]), "00 00 00 01 00", None);
    let second = reading(Some(("00 00 00 01 00", None)), "00 00 00 00 00", None);
    file(&store, 2, &set([pinned("b-second", "", switch)]), &second);
    assert_eq!(explained(&store, &DefinitionSet::new()), Some(reads("b-second", "off")));
    assert!(is_sound(&store));
}

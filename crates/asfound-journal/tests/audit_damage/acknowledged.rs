//! Work on a restricted system that nobody has acknowledged is remarked, and nothing worse.

use asfound_core::entry::{Acknowledgement, Body, Effects, RecordEffect, StatedEffect, WorkBody};
use asfound_core::names::Tag;
use asfound_core::safety::SafetyTag;
use asfound_journal::audit::FindingLevel;
use asfound_journal::store::MemoryStore;

use crate::sheets::{audit_of, lines};
use crate::story::{enrolled, file, tag};

fn record(module: &str, found: &str, left: &str) -> Effects {
    let (module, record) = (module.parse().unwrap(), "2A01".parse().unwrap());
    let found = Some(found.parse().unwrap());
    Effects { records: vec![RecordEffect { module, record, found, left: left.parse().unwrap() }], ..Effects::default() }
}

fn by_name(module: &str, setting: &str) -> Effects {
    let (module, setting) = (module.parse().unwrap(), setting.parse().unwrap());
    let (found, left) = (Some("on".to_owned()), Some("off".to_owned()));
    Effects { stated: vec![StatedEffect { module, setting, found, left }], ..Effects::default() }
}

fn work(effects: Effects, acknowledged: &[SafetyTag]) -> Body {
    let given =
        |tag: &SafetyTag| Acknowledgement { tag: *tag, name: "Edda Brandt".to_owned(), grounds: "order 17".to_owned() };
    let acknowledgements = acknowledged.iter().map(given).collect();
    Body::Change(WorkBody { effects, acknowledgements, ..WorkBody::default() })
}

#[test]
fn an_entry_without_its_acknowledgement_is_remarked() {
    let (store, wren): (_, Tag) = (MemoryStore::new(), tag("wren"));
    let entries = [
        enrolled(&wren),
        work(record("brakes", "00", "01"), &[]),
        work(record("abs", "00", "01"), &[SafetyTag::Braking]),
        work(record("abs", "01", "02"), &[SafetyTag::Steering]),
        work(by_name("gateway", "airbag_off"), &[]),
        work(record("seat", "00", "01"), &[]),
        work(by_name("seat", "height"), &[]),
    ];
    for (hours, body) in (0..).zip(&entries) {
        file(&store, &wren, hours, "as agreed", body, &[]);
    }
    let audit = audit_of(&store, "wren");
    assert_eq!(
        lines(&audit),
        [
            "remark, entry 2: it alters a restricted system (braking) and holds no acknowledgement of that",
            "remark, entry 4: it alters a restricted system (braking) and holds no acknowledgement of that",
            "remark, entry 5: it alters a restricted system (restraint) and holds no acknowledgement of that",
            "7 checked, sound until 7, lost from none",
        ]
    );
    assert!(audit.is_sound());
    assert_eq!(audit.worst(), Some(FindingLevel::Remark));
}

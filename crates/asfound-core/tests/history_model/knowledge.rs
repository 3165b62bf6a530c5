//! What the journal must know after every entry.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::difference::Content;
use asfound_core::history::{Doubt, Field, History, Origin};
use asfound_core::layout::Coded;

use crate::support::*;
use crate::world::World;

impl World {
    pub fn check(&self) {
        let state = self.journal.state();
        let history = self.journal.history();
        assert_eq!(&state, history.state());
        for (module, known) in &self.known {
            let of_state = state.module(&module.parse().unwrap()).cloned().unwrap_or_default();
            let records: BTreeMap<String, Vec<u8>> =
                of_state.records.iter().map(|(name, it)| (name.to_string(), it.bytes.as_slice().to_vec())).collect();
            let expected: BTreeMap<String, Vec<u8>> =
                known.records.iter().map(|(name, it)| (name.clone(), it.bytes.clone())).collect();
            assert_eq!(records, expected, "{module}");
            for name in of_state.records.keys() {
                let current = of_state.current_record(name).is_some();
                assert_eq!(
                    current,
                    known.records[&name.to_string()].current,
                    "{module}:{name} read since it was renewed"
                );
            }
            let stated: BTreeMap<String, String> =
                of_state.stated.iter().map(|(name, it)| (name.to_string(), it.value.clone())).collect();
            assert_eq!(stated, known.stated, "{module}");
            check_lives(&history, module, known);
            check_bits(&history, module, known);
        }
    }
}

fn check_lives(history: &History, module: &str, known: &KnownModule) {
    let fields = history.timelines().keys().filter_map(|field| match field {
        Field::Setting(path) if path.module.as_str() == module => Some(path.setting.to_string()),
        _ => None,
    });
    let expected: BTreeSet<String> =
        known.lives().into_iter().filter(|(_, steps)| !steps.is_empty()).map(|(name, _)| name.clone()).collect();
    assert_eq!(fields.collect::<BTreeSet<_>>(), expected, "{module}");
    for (name, steps) in known.lives().into_iter().filter(|(_, steps)| !steps.is_empty()) {
        let field = field(&format!("{module}.{name}"));
        let timeline = history.timeline(&field).unwrap().transitions();
        let found: Vec<Step> = timeline
            .iter()
            .map(|step| Step {
                entry: step.entry.get(),
                came: match step.origin {
                    Origin::FirstKnown => Came::First,
                    Origin::Work => Came::Work,
                    Origin::AnotherHand(kind) => Came::Hand(kind),
                    Origin::Contradicts(entry) => Came::Against(entry.get()),
                    Origin::CannotTell(Doubt::Comparison) => Came::CannotTell,
                    Origin::CannotTell(doubt) => panic!("{module}.{name}: {doubt:?} in a story told in order"),
                },
                or_cannot_tell: false,
                found: step.found.as_ref().map(|content| held(content, known)),
                left: held(&step.left, known),
            })
            .collect();
        assert_eq!(found.len(), steps.len(), "{module}.{name}\n{found:#?}\n{steps:#?}");
        for (found, expected) in found.iter().zip(&steps) {
            let came =
                if expected.or_cannot_tell && found.came == Came::CannotTell { found.came } else { expected.came };
            assert_eq!((found.entry, found.came), (expected.entry, came), "{module}.{name}\n{steps:#?}");
            assert!(
                found.left.same(&expected.left) || found.left == expected.left,
                "{module}.{name} {found:?} {expected:?}"
            );
            match (&found.found, &expected.found) {
                (Some(a), Some(b)) => assert!(a.same(b) || a == b, "{module}.{name} {found:?} {expected:?}"),
                (a, b) => assert_eq!(a, b, "{module}.{name}"),
            }
        }
        if let Some(now) = known.says(&name) {
            let last = held(timeline.last().map(|step| &step.left).unwrap(), known);
            assert!(last.same(&now) || last == now, "{module}.{name}: {last:?}, the bytes say {now:?}");
        }
    }
}

fn check_bits(history: &History, module: &str, known: &KnownModule) {
    let mut groups = BTreeSet::new();
    for (field, timeline) in history.timelines() {
        let Field::Undeclared { module: of, record, mask } = field else { continue };
        if of.as_str() != module {
            continue;
        }
        let bytes = &known.records[&record.to_string()];
        groups.insert((record.to_string(), (0..mask.len()).map(|at| mask.byte(at)).collect::<Vec<u8>>()));
        let steps = timeline.transitions();
        for pair in steps.windows(2) {
            let layout_changed =
                history.layout_changed(of, record).is_some_and(|layout_changed| layout_changed > pair[0].entry);
            let goes_on = pair[1].found.as_ref().is_some_and(|found| found.same(&pair[0].left));
            assert!(layout_changed || goes_on, "{field}: {pair:#?}");
            assert!(pair[0].entry <= pair[1].entry);
        }
        let last = steps.last().unwrap();
        if bytes.current && history.layout_changed(of, record).is_none_or(|layout_changed| layout_changed < last.entry)
        {
            let now = Content::bits(mask, &bytes.bytes.clone().into());
            assert!(last.left.same(&now), "{field}: {:?} {now:?}", last.left);
        }
    }
    assert_eq!(groups, known.groups(), "{module}");
}

/// A content as the oracle writes it.
pub fn held(content: &Content, known: &KnownModule) -> Held {
    match content {
        Content::Coded { coded: Coded::Number(number), value, record, definition } => {
            let sheet = known.sheets.iter().find(|sheet| sheet.id == definition.as_str()).unwrap();
            let coded = (sheet.id.clone(), sheet.record(&record.to_string()).unwrap(), u8::try_from(*number).unwrap());
            Held { value: value.as_ref().map(ToString::to_string), coded: Some(coded) }
        }
        Content::Stated { text, .. } => Held { value: Some(text.clone()), coded: None },
        other => panic!("no setting: {other:?}"),
    }
}

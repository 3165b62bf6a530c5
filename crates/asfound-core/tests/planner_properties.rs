//! What holds of plans for any history.

mod support;

use std::collections::BTreeSet;

use asfound_core::difference::Content;
use asfound_core::history::{Field, Origin};
use asfound_core::plan::{Plan, PlanRefusal, PutBackWish, plan, put_back};
use asfound_core::state::State;
use proptest::prelude::*;
use support::*;

/// One thing that happens to the vehicle.
#[derive(Debug, Clone)]
enum Event {
    Change(usize, u8),
    ChangeRecord(u8, u8),
    /// A reading shows what nobody noted.
    AnotherHand(u8, u8),
    PutBack(Vec<prop::sample::Index>),
    NeverMade(prop::sample::Index),
}

const SETTINGS: [&str; 7] =
    ["body.flashes", "body.fold", "body.fade", "body.speed", "cluster.chime", "cluster.volume", "gateway.light_level"];

fn event() -> impl Strategy<Value = Event> {
    let entries = || prop::collection::vec(any::<prop::sample::Index>(), 1..4);
    prop_oneof![
        6 => (0..SETTINGS.len(), any::<u8>()).prop_map(|(setting, value)| Event::Change(setting, value)),
        2 => (any::<u8>(), any::<u8>()).prop_map(|(a, b)| Event::ChangeRecord(a, b)),
        2 => (any::<u8>(), any::<u8>()).prop_map(|(a, b)| Event::AnotherHand(a, b)),
        3 => entries().prop_map(Event::PutBack),
        1 => any::<prop::sample::Index>().prop_map(Event::NeverMade),
    ]
}

fn value(setting: usize, number: u8) -> String {
    match setting {
        0 => (1 + number % 7).to_string(),
        1 | 4 => ["off", "on"][usize::from(number % 2)].to_owned(),
        2 => ["none", "short", "long", "slow"][usize::from(number % 4)].to_owned(),
        3 => format!("{} km/h", 5 * u32::from(number % 20)),
        5 => (number % 16).to_string(),
        _ => (number % 4).to_string(),
    }
}

fn journal(events: &[Event]) -> Journal {
    let mut journal = Journal::new([BODY_1, CLUSTER]);
    let said = reading().module("body").software("0100").record("0D01", "43 01 99 44").record("0D02", "03 A0");
    journal.read(said.module("cluster").record("3B01", "31").module("gateway").value("light_level", "1"));
    for event in events {
        let entry = |index: &prop::sample::Index, journal: &Journal| 1 + index.index(journal.entries.len());
        // What the planner refuses does not happen.
        match event {
            Event::Change(setting, number) => {
                let targets = journal.targets(&[(SETTINGS[*setting], &value(*setting, *number))]);
                let _ = journal.work(&targets);
            }
            Event::ChangeRecord(first, second) => {
                let mut targets = asfound_core::plan::Targets::new();
                let bytes = hex(&format!("{first:02X} {second:02X}"));
                targets.choose_record("body".parse().expect("a module"), "0D02".parse().expect("a record"), bytes);
                let _ = journal.work(&targets);
            }
            Event::AnotherHand(first, second) => {
                let (first, second) = (1 + first % 7, second % 128);
                journal.read(
                    reading()
                        .module("body")
                        .record("0D01", &format!("{first:02X} 01 00 {:02X}", first + 1))
                        .module("cluster")
                        .record("3B01", &format!("{second:02X}")),
                );
            }
            Event::PutBack(indices) => {
                let entries: BTreeSet<u32> = indices
                    .iter()
                    .map(|index| u32::try_from(entry(index, &journal)).expect("a short journal"))
                    .collect();
                let _ = journal.put_back(&entries.into_iter().collect::<Vec<_>>());
            }
            Event::NeverMade(index) => {
                let at = entry(index, &journal);
                if journal.entries[at - 1].body.work().is_some() {
                    let _ = journal.never_made(u32::try_from(at).expect("a short journal"));
                }
            }
        }
    }
    journal
}

/// Every entry that altered something.
fn altering(journal: &Journal) -> Vec<u32> {
    let history = journal.history();
    let entries: BTreeSet<u32> = history
        .timelines()
        .values()
        .flat_map(|timeline| timeline.transitions())
        .filter(|step| step.origin != Origin::FirstKnown && !history.never_made(step.entry))
        .map(|step| step.entry.get())
        .collect();
    entries.into_iter().collect()
}

fn first_known(journal: &Journal) -> Vec<(Field, Content)> {
    let first = |timeline: &asfound_core::history::Timeline| timeline.held().next().cloned();
    journal.history().timelines().iter().map(|(field, it)| (field.clone(), first(it).expect("it is known"))).collect()
}

fn holds(state: &State, journal: &Journal, field: &Field, content: &Content) -> bool {
    match field {
        // By the last bytes or the last words, not by the timeline.
        Field::Setting(path) => {
            let module = state.module(&path.module).expect("a known module");
            let definition = journal.definitions.fitting(&path.module, &module.identity).expect("one fits");
            let side = asfound_core::difference::ModuleSnapshot { module, definition };
            side.content(&path.setting).is_some_and(|now| now.same(content))
        }
        Field::Undeclared { module, record, mask } => {
            let now = Content::bits(mask, &state.record(module, record).expect("a known record").bytes);
            now.same(content)
        }
    }
}

/// No write leaves what a field never held.
fn only_what_was_held(journal: &Journal, plan: &Plan) -> bool {
    let history = journal.history();
    plan.steps.iter().all(|step| {
        step.settings.iter().all(|setting| {
            let field = field(&format!("{}.{}", step.module, setting.setting));
            history.timeline(&field).is_some_and(|timeline| timeline.held().any(|held| held.same(&setting.left)))
        })
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn putting_back_everything_returns_every_field_to_its_first_known_content(
        events in prop::collection::vec(event(), 1..16),
    ) {
        let mut journal = journal(&events);
        let first = first_known(&journal);
        let all = altering(&journal);
        prop_assume!(!all.is_empty());
        match journal.put_back_plan(&all) {
            Ok(plan) => {
                prop_assert!(plan.blocked.is_empty(), "{plan:#?}");
                prop_assert!(only_what_was_held(&journal, &plan), "{plan:#?}");
                // It is the same wish as to return to the first reading.
                let back = journal.return_to_plan(2).map(|plan| plan.steps);
                prop_assert_eq!(back, Ok(plan.steps));
                journal.put_back(&all).expect("it was planned");
            }
            Err(PlanRefusal::Nothing) => {}
            Err(refusal) => prop_assert!(false, "{refusal:?}"),
        }
        // Bits that the put-back altered together are one field from then on, whose first content is of the same bits.
        let state = journal.state();
        for (field, content) in first.iter().chain(&first_known(&journal)) {
            prop_assert!(holds(&state, &journal, field, content), "{field} should hold {content}");
        }
    }

    #[test]
    fn a_set_put_back_in_any_order_gives_one_plan(
        events in prop::collection::vec(event(), 1..16),
        taken in prop::collection::vec(any::<prop::sample::Index>(), 1..6),
    ) {
        let journal = journal(&events);
        let all = altering(&journal);
        prop_assume!(!all.is_empty());
        let entries: Vec<u32> = taken.iter().map(|index| all[index.index(all.len())]).collect();
        let planned = |entries: &[u32]| {
            let mut wish = PutBackWish::default();
            entries.iter().for_each(|entry| _ = wish.entries.insert(number(*entry)));
            let history = journal.history();
            plan(&history, &journal.definitions, &put_back(&history, &wish)?)
        };
        let mut reversed = entries.clone();
        reversed.reverse();
        let once = planned(&entries);
        prop_assert_eq!(&once, &planned(&reversed));
        prop_assert_eq!(&once, &planned(&[entries, reversed].concat()));
    }

    /// One after the other, the latest first, comes to the same as all at once.
    #[test]
    fn one_by_one_from_the_end_comes_to_the_same_as_all_at_once(events in prop::collection::vec(event(), 1..10)) {
        let mut journal = journal(&events);
        let all = altering(&journal);
        // Put-backs among them would be taken back as well, which makes the changes again.
        prop_assume!(!journal.entries.iter().any(|entry| entry.body.kind() == "put-back" || entry.body.kind() == "correction"));
        prop_assume!(!all.is_empty());
        let first = first_known(&journal);
        for entry in all.iter().rev() {
            match journal.put_back(&[*entry]) {
                Ok(_) | Err(PlanRefusal::Nothing) => {}
                // On the way back a reading's findings may be a state that breaks the rule.
                Err(PlanRefusal::BreaksRules(_)) => return Ok(()),
                Err(refusal) => prop_assert!(false, "{refusal:?}"),
            }
        }
        let state = journal.state();
        for (field, content) in &first {
            prop_assert!(holds(&state, &journal, field, content), "{field} should hold {content}");
        }
    }
}

//! A journal in memory that files entries as the command line does.

use std::collections::BTreeSet;

use asfound_core::definition::{Definition, DefinitionSet};
use asfound_core::difference::Content;
use asfound_core::entry::{
    Acknowledgement, Author, Body, Correction, Effects, Entry, PutBackOf, ReadingRole, Reason, Vehicle, WorkBody,
};
use asfound_core::examination::{AcceptedReading, ReadingProblem, ReadingTerms, examine};
use asfound_core::history::{ContentStatus, Field, History, OneSetting, Origin, Proof};
use asfound_core::moment::Precision;
use asfound_core::names::EntryNumber;
use asfound_core::plan::{
    Plan, PlanRefusal, PutBackWish, Targets, acknowledge, corrected, never_made, plan, put_back, return_to,
};
use asfound_core::reading::Reading;
use asfound_core::safety::SafetyTag;
use asfound_core::state::State;
use asfound_core::trial::TrialBuilder;
use asfound_core::value::Value;
use time::{Duration, OffsetDateTime};

use super::{Said, hex, path};

/// One transition as a test writes it: entry, origin, as found, as left.
pub type Life = (u32, Origin, Option<String>, String);

/// The entry of that number.
pub fn number(entry: u32) -> EntryNumber {
    EntryNumber::new(entry).expect("entries start with 1")
}

/// The entries of one vehicle with the definitions of its garage.
#[derive(Debug, Clone)]
pub struct Journal {
    pub entries: Vec<Entry>,
    pub definitions: DefinitionSet,
}

impl Journal {
    /// A journal with its enrolment, entry 1.
    pub fn new<'a>(definitions: impl IntoIterator<Item = &'a str>) -> Self {
        let mut journal = Self { entries: Vec::new(), definitions: DefinitionSet::new() };
        definitions.into_iter().for_each(|text| journal.define(text));
        let tag = "wren".parse().expect("a tag");
        journal.file(Body::Enrolled(Vehicle { tag, vin: None, about: None, enrolled: OffsetDateTime::UNIX_EPOCH }));
        journal
    }

    /// Takes a definition into the garage.
    pub fn define(&mut self, text: &str) {
        let parsed = Definition::parse(text).unwrap_or_else(|problems| panic!("{problems:#?}\n{text}"));
        self.definitions.add(parsed.definition).expect("every definition has its own name");
    }

    pub fn file(&mut self, body: Body) -> EntryNumber {
        let (number, at) = (self.next(), self.now());
        let author = Author::new("Bench 2", None).expect("a name");
        let why = Reason::try_from("a test".to_owned()).expect("a reason");
        self.entries.push(Entry {
            number,
            recorded: at,
            happened: at,
            precision: Precision::Second,
            author,
            why,
            body,
        });
        number
    }

    fn next(&self) -> EntryNumber {
        number(u32::try_from(self.entries.len()).expect("a short journal") + 1)
    }

    /// When the next entry is filed: one a day.
    pub fn now(&self) -> OffsetDateTime {
        OffsetDateTime::UNIX_EPOCH + Duration::days(i64::from(self.next().get()))
    }

    pub fn state(&self) -> State {
        State::fold(&self.entries).expect("the entries follow from each other")
    }

    pub fn trials(&self) -> TrialBuilder {
        let mut trials = TrialBuilder::default();
        self.entries.iter().for_each(|entry| trials.push(entry));
        trials
    }

    pub fn history(&self) -> History {
        let history = History::trace(&self.entries, &self.definitions).expect("the journal can be traced");
        for field in history.timelines().keys() {
            self.check_traced_alone(&history, field);
        }
        history
    }

    /// A setting that is traced alone has the same life, and what it says is as well proven.
    fn check_traced_alone(&self, history: &History, field: &Field) {
        let Field::Setting(path) = field else { return };
        let one = OneSetting::new(path.clone(), &self.definitions);
        let parts: Vec<Entry> = self.entries.iter().filter_map(|entry| one.part_of(entry)).collect();
        let alone = History::trace_one(&parts, &self.definitions).expect("the parts can be traced");
        assert_eq!(alone.timeline(field), history.timeline(field), "{path}");
        assert_eq!(alone.standing(field), history.standing(field), "{path}");
        assert_eq!(alone.state().identity(&path.module), history.state().identity(&path.module));
        for step in history.timeline(field).into_iter().flat_map(|timeline| timeline.transitions()) {
            assert_eq!(
                alone.proof(field, step.entry),
                history.proof(field, step.entry),
                "{path}, entry {}",
                step.entry
            );
        }
        assert!(parts.iter().all(|part| one.part_of(part).as_ref() == Some(part)), "what is left out stays out");
    }

    pub fn examine(&self, reading: &Reading, partial: bool) -> Result<AcceptedReading, Vec<ReadingProblem>> {
        examine(
            reading,
            &self.state(),
            &self.definitions,
            ReadingTerms { role: ReadingRole::Check, partial, recorded: self.now() },
        )
    }

    /// Files a reading that may cover less than earlier ones.
    #[allow(clippy::needless_pass_by_value, reason = "so that a reading can be written where it is filed")]
    pub fn read(&mut self, said: Said) -> u32 {
        let examined = self.examine(&said.reading, true).unwrap_or_else(|problems| panic!("{problems:#?}"));
        self.file(Body::Reading(examined.body)).get()
    }

    /// The targets that give settings values.
    pub fn targets(&self, wanted: &[(&str, &str)]) -> Targets<'static> {
        let mut targets = Targets::new();
        for (setting, value) in wanted {
            targets.choose(field(setting), self.value_of(setting, value));
        }
        targets
    }

    pub fn value_of(&self, setting: &str, text: &str) -> Value {
        let path = path(setting);
        let identity = self.state().identity(&path.module);
        let defined = self.definitions.setting(&path, &identity).expect("one definition fits");
        defined.map_or_else(
            || Value::Text(text.to_owned()),
            |defined| defined.layout().parse_value(text).unwrap_or_else(|why| panic!("{setting}={text}: {why}")),
        )
    }

    pub fn plan(&self, targets: &Targets) -> Result<Plan, PlanRefusal> {
        plan(&self.history(), &self.definitions, targets)
    }

    /// Files a change as it was planned.
    pub fn work(&mut self, targets: &Targets) -> Result<u32, PlanRefusal> {
        let work = carried_out(&self.plan(targets)?);
        Ok(self.file(Body::Change(work)).get())
    }

    pub fn change(&mut self, wanted: &[(&str, &str)]) -> u32 {
        let targets = self.targets(wanted);
        self.work(&targets).unwrap_or_else(|refusal| panic!("{refusal}: {refusal:?}"))
    }

    /// Files a change of a whole record.
    pub fn change_record(&mut self, module: &str, record: &str, bytes: &str) -> u32 {
        let mut targets = Targets::new();
        targets.choose_record(module.parse().expect("a module"), record.parse().expect("a record"), hex(bytes));
        self.work(&targets).unwrap_or_else(|refusal| panic!("{refusal}: {refusal:?}"))
    }

    pub fn put_back_plan(&self, entries: &[u32]) -> Result<Plan, PlanRefusal> {
        let wish = PutBackWish { entries: entries.iter().copied().map(number).collect(), ..PutBackWish::default() };
        let history = self.history();
        plan(&history, &self.definitions, &put_back(&history, &wish)?)
    }

    pub fn put_back(&mut self, entries: &[u32]) -> Result<u32, PlanRefusal> {
        let work = carried_out(&self.put_back_plan(entries)?);
        let of = PutBackOf::Entries(entries.iter().copied().map(number).collect());
        Ok(self.file(Body::PutBack(of, work)).get())
    }

    pub fn return_to_plan(&self, entry: u32) -> Result<Plan, PlanRefusal> {
        let history = self.history();
        plan(&history, &self.definitions, &return_to(&history, number(entry))?)
    }

    pub fn return_to(&mut self, entry: u32) -> Result<u32, PlanRefusal> {
        let work = carried_out(&self.return_to_plan(entry)?);
        Ok(self.file(Body::PutBack(PutBackOf::ReturnTo(number(entry)), work)).get())
    }

    /// Files that the work in an entry was never made.
    pub fn never_made(&mut self, entry: u32) -> Result<u32, PlanRefusal> {
        let history = self.history();
        let effects = corrected(&history, &self.definitions, &never_made(&history, number(entry))?)?;
        Ok(self.correct(Correction { never_made: true, effects, ..correction(entry) }))
    }

    /// Files that an entry left something else than it says.
    pub fn correct_left(&mut self, entry: u32, wanted: &[(&str, &str)]) -> u32 {
        let effects = corrected(&self.history(), &self.definitions, &self.targets(wanted));
        let effects = effects.unwrap_or_else(|refusal| panic!("{refusal}"));
        self.correct(Correction { effects, ..correction(entry) })
    }

    /// Files that an entry found something else than it says.
    pub fn correct_was(&mut self, entry: u32, setting: &str, value: &str) -> u32 {
        self.correct(Correction { was: [(path(setting), value.to_owned())].into(), ..correction(entry) })
    }

    pub fn correct(&mut self, correction: Correction) -> u32 {
        self.file(Body::Correction(correction)).get()
    }

    /// The last known value of a setting.
    pub fn value(&self, setting: &str) -> Option<String> {
        self.history().timeline(&field(setting))?.current().map(Content::to_string)
    }

    /// The life of a setting.
    pub fn life(&self, setting: &str) -> Vec<Life> {
        life(&self.history(), &field(setting))
    }

    pub fn proof(&self, setting: &str, entry: u32) -> Option<Proof> {
        self.history().proof(&field(setting), number(entry))
    }

    pub fn standing(&self, setting: &str) -> Option<ContentStatus> {
        self.history().standing(&field(setting))
    }

    /// The groups of bits of a module that no definition names, with their lives.
    pub fn undeclared(&self, module: &str) -> Vec<(String, Vec<Life>)> {
        let history = self.history();
        let fields = history.timelines().keys().filter(|field| field.module().as_str() == module);
        fields
            .filter_map(|field| match field {
                Field::Undeclared { mask, .. } => Some((mask.to_string(), life(&history, field))),
                Field::Setting(_) => None,
            })
            .collect()
    }

    /// The last known bytes of a record.
    pub fn bytes(&self, module: &str, record: &str) -> Option<String> {
        let (module, record) = (module.parse().expect("a module"), record.parse().expect("a record"));
        self.state().record(&module, &record).map(|known| known.bytes.to_string())
    }

    /// The work in the last entry.
    pub fn last_work(&self) -> &WorkBody {
        self.entries.last().and_then(|entry| entry.body.work()).expect("the last entry is work")
    }
}

/// A step in a life; `?` is a content as found that is not known.
pub fn step(entry: u32, origin: Origin, found: &str, left: &str) -> Life {
    let found = if found == "?" { None } else { Some(found.to_owned()) };
    (entry, origin, found, left.to_owned())
}

/// The life of any field.
pub fn life(history: &History, field: &Field) -> Vec<Life> {
    let steps = history.timeline(field).map_or(&[][..], |timeline| timeline.transitions());
    steps
        .iter()
        .map(|step| (step.entry.get(), step.origin, step.found.as_ref().map(Content::to_string), step.left.to_string()))
        .collect()
}

/// A setting as a field.
pub fn field(setting: &str) -> Field {
    Field::Setting(path(setting))
}

/// A correction of an entry that says nothing yet.
pub fn correction(entry: u32) -> Correction {
    Correction::of(number(entry))
}

/// A plan as work that was made, with everything acknowledged that it touches.
pub fn carried_out(plan: &Plan) -> WorkBody {
    let tags: BTreeSet<SafetyTag> = plan.steps.iter().flat_map(|step| step.restricted.iter().copied()).collect();
    let given = |tag| Acknowledgement { tag, name: "A. Smith".to_owned(), grounds: "order 7".to_owned() };
    let given: Vec<Acknowledgement> = tags.into_iter().map(given).collect();
    acknowledge(plan, &given).expect("everything is acknowledged").work()
}

//! Counts what the program says of others' doing, and holds it against what truly happened.

use std::fmt;

use asfound_core::history::{Field, HandKind, History, Origin, Proof};
use asfound_core::names::EntryNumber;

use super::filing::{Filing, definitions, field, filed};
use super::parse::{FIELDS, Recorded, Told, What};

/// How often something was said, and how often that was false.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Rate {
    pub said: usize,
    /// Nothing of the kind had happened.
    pub untrue: usize,
    /// The unit was exchanged and brought back between the two readings, and nobody read the other one: no journal can know.
    pub unseen_swap: usize,
}

/// What was counted over histories.
#[derive(Debug, Default)]
pub struct Counts {
    pub histories: usize,
    pub altered_by_hand: Rate,
    pub unit: Rate,
    pub contradicted: Rate,
    pub cannot_tell: usize,
    pub work: usize,
    pub stated: usize,
    pub read_back: usize,
    /// Read back though it was never made: something else had brought the content about.
    pub read_back_unmade: usize,
    /// Read back on another unit than it was done on, which happened to hold the same.
    pub read_back_elsewhere: usize,
    /// The first few that are untrue.
    pub examples: Vec<String>,
}

/// A field of the recorded vehicles.
#[derive(Clone, Copy)]
struct Place {
    index: usize,
    module: &'static str,
    record: &'static str,
    value: &'static str,
}

const PLACES: [Place; 6] = [
    Place { index: 0, module: "body", record: "0D02", value: "" },
    Place { index: 1, module: "body", record: "0D01", value: "" },
    Place { index: 2, module: "body", record: "0D01", value: "" },
    Place { index: 3, module: "cluster", record: "", value: "chime" },
    Place { index: 4, module: "seat", record: "2A01", value: "" },
    Place { index: 5, module: "cluster", record: "3B01", value: "" },
];

fn place_of(of: &Field) -> Place {
    match of {
        Field::Setting(path) => PLACES[FIELDS.iter().position(|name| *name == path.to_string()).unwrap()],
        Field::Undeclared { .. } => PLACES[5],
    }
}

struct Case<'r> {
    recorded: &'r Recorded,
    history: &'r History,
}

impl Case<'_> {
    fn happened(&self, entry: EntryNumber) -> i64 {
        self.recorded.truth.order[usize::try_from(entry.get()).unwrap() - 1]
    }

    /// The unit that a reading shows of a module, as a digit; `0` for a module that tells none.
    fn unit(&self, entry: EntryNumber, module: &str) -> char {
        let Told::Reading(said) = &self.recorded.facts[usize::try_from(entry.get()).unwrap() - 2].told else {
            panic!("entry {entry} is a reading")
        };
        let said = said.iter().find(|said| said.module == module).unwrap();
        said.serial.as_ref().map_or('0', |serial| serial.chars().last().unwrap())
    }

    fn readings(&self, place: Place) -> impl Iterator<Item = (EntryNumber, char)> {
        let gives = move |fact: &super::parse::Fact| match &fact.told {
            Told::Reading(said) => said.iter().any(|said| {
                said.module == place.module
                    && (said.records.contains_key(place.record) || said.values.contains_key(place.value))
            }),
            _ => false,
        };
        let numbers = (2..).map(|number| EntryNumber::new(number).unwrap());
        let readings = numbers.zip(&self.recorded.facts).filter(move |(_, fact)| gives(fact));
        readings.map(move |(number, _)| (number, self.unit(number, place.module)))
    }

    fn altered(&self, place: Place, unit: char, after: i64, until: i64) -> bool {
        let mut unrecorded = self.recorded.truth.unrecorded.iter();
        unrecorded.any(|&(at, index, of)| after < at && at <= until && index == place.index && of == unit)
    }

    fn swapped(&self, place: Place, after: i64, until: i64) -> bool {
        let mut swaps = self.recorded.truth.swaps.iter();
        swaps.any(|&(at, module)| after < at && at <= until && module == place.module)
    }

    /// Somebody altered it since the last reading of the unit that is certainly earlier.
    fn by_hand(&self, place: Place, entry: EntryNumber) -> Verdict {
        let unit = self.unit(entry, place.module);
        let earlier = self.readings(place).filter(|(of, its)| *its == unit && self.history.is_before(*of, entry));
        let since = earlier.map(|(of, _)| self.happened(of)).max().unwrap_or(-1);
        let until = self.happened(entry);
        if self.altered(place, unit, since, until) {
            Verdict::True
        } else if self.swapped(place, since, until) {
            Verdict::UnseenSwap
        } else {
            Verdict::Untrue
        }
    }

    /// Nobody made the work, or somebody altered it after.
    fn contradicted(&self, place: Place, work: EntryNumber, entry: EntryNumber) -> Verdict {
        let unit = self.unit(entry, place.module);
        let truth = &self.recorded.truth;
        let (after, until) = (self.happened(work), self.happened(entry));
        if truth.lies.contains(&work.get()) || self.altered(place, unit, after, until) {
            Verdict::True
        } else if truth.units[&work.get()] != unit && self.swapped(place, -1, until) {
            Verdict::UnseenSwap
        } else {
            Verdict::Untrue
        }
    }

    /// The unit was exchanged; where it is said to be back, before the reading.
    fn exchanged(&self, place: Place, entry: EntryNumber, kind: HandKind) -> Verdict {
        let until = if kind == HandKind::UnitReturned { self.happened(entry) } else { i64::MAX };
        if self.swapped(place, -1, until) { Verdict::True } else { Verdict::Untrue }
    }
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Verdict {
    True,
    Untrue,
    UnseenSwap,
}

impl Rate {
    fn add(&mut self, verdict: Verdict) {
        self.said += 1;
        self.untrue += usize::from(verdict == Verdict::Untrue);
        self.unseen_swap += usize::from(verdict == Verdict::UnseenSwap);
    }
}

impl Counts {
    pub fn of(all: &[Recorded]) -> Self {
        let definitions = definitions();
        let mut counts = Self::default();
        for recorded in all {
            let Filing { entries, misfit, .. } = filed(&definitions, recorded);
            if misfit.is_some() {
                continue;
            }
            let history = History::trace(&entries, &definitions).unwrap();
            counts.add(&Case { recorded, history: &history });
        }
        counts
    }

    fn add(&mut self, case: &Case<'_>) {
        self.histories += 1;
        for (of, timeline) in case.history.timelines() {
            let place = place_of(of);
            for step in timeline.transitions() {
                let (rate, verdict) = match step.origin {
                    Origin::FirstKnown | Origin::Work => continue,
                    Origin::CannotTell(_) => {
                        self.cannot_tell += 1;
                        continue;
                    }
                    Origin::AnotherHand(kind @ (HandKind::UnitSwapped | HandKind::UnitReturned)) => {
                        (&mut self.unit, case.exchanged(place, step.entry, kind))
                    }
                    Origin::AnotherHand(_) => (&mut self.altered_by_hand, case.by_hand(place, step.entry)),
                    Origin::Contradicts(work) => (&mut self.contradicted, case.contradicted(place, work, step.entry)),
                };
                rate.add(verdict);
                if verdict == Verdict::Untrue {
                    let text = format!("history {}, {of}, entry {}: {:?}", case.recorded.seed, step.entry, step.origin);
                    self.examples.push(text);
                }
            }
        }
        self.add_proofs(case);
    }

    fn add_proofs(&mut self, case: &Case<'_>) {
        let numbers = (2..).map(|number| EntryNumber::new(number).unwrap());
        for (number, fact) in numbers.zip(&case.recorded.facts) {
            let Told::Work(altered) = &fact.told else { continue };
            for alteration in altered {
                let fields: Vec<Field> = match &alteration.what {
                    What::Value { .. } => vec![field("cluster.chime")],
                    What::Record { name: "0D02", .. } => vec![field("body.fade")],
                    What::Record { name: "2A01", .. } => vec![field("seat.heat")],
                    What::Record { name: "0D01", found, left } => {
                        let altered = |byte: usize| found[byte] != left[byte];
                        let both = ["body.flashes", "body.fold"].into_iter().enumerate();
                        both.filter(|(byte, _)| altered(*byte)).map(|(_, path)| field(path)).collect()
                    }
                    What::Record { .. } => continue,
                };
                for of in fields {
                    self.add_proof(case, &of, number);
                }
            }
        }
    }

    fn add_proof(&mut self, case: &Case<'_>, of: &Field, work: EntryNumber) {
        let truth = &case.recorded.truth;
        self.work += 1;
        match case.history.proof(of, work) {
            Some(Proof::Stated) => self.stated += 1,
            Some(Proof::ReadBack(by)) => {
                self.read_back += 1;
                if truth.lies.contains(&work.get()) {
                    self.read_back_unmade += 1;
                } else if truth.units[&work.get()] != case.unit(by, place_of(of).module) {
                    self.read_back_elsewhere += 1;
                }
            }
            _ => {}
        }
    }
}

/// The table of `docs/accusations.md`.
impl fmt::Display for Counts {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let thousand = |count: usize| {
            let tenths = (count * 10_000 + self.histories / 2) / self.histories;
            format!("{}.{}", tenths / 10, tenths % 10)
        };
        writeln!(f, "| per 1,000 histories | said | untrue | unit out and back unseen |")?;
        writeln!(f, "| --- | ---: | ---: | ---: |")?;
        let rates = [
            ("another hand: settings altered", &self.altered_by_hand),
            ("another hand: unit swapped or returned", &self.unit),
            ("contradicted", &self.contradicted),
        ];
        for (name, rate) in rates {
            let [said, untrue, unseen] = [rate.said, rate.untrue, rate.unseen_swap].map(thousand);
            writeln!(f, "| {name} | {said} | {untrue} | {unseen} |")?;
        }
        writeln!(f, "| cannot tell | {} | | |", thousand(self.cannot_tell))?;
        writeln!(f)?;
        writeln!(f, "| per 1,000 histories | |")?;
        writeln!(f, "| --- | ---: |")?;
        let counts = [
            ("alterations filed as work", self.work),
            ("of these only stated", self.stated),
            ("of these read back", self.read_back),
            ("read back, though never made: something else brought that about", self.read_back_unmade),
            ("read back on another unit, which held the same", self.read_back_elsewhere),
        ];
        for (name, count) in counts {
            writeln!(f, "| {name} | {} |", thousand(count))?;
        }
        Ok(())
    }
}

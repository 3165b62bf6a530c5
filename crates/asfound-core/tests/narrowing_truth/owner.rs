//! Somebody who keeps a journal of a car, and does not always do what is proposed.

use asfound_core::definition::DefinitionSet;
use asfound_core::entry::{Body, PutBackOf};
use asfound_core::history::History;
use asfound_core::plan::{Plan, PutBackWish, plan, put_back};
use asfound_core::suspects::{NarrowingState, narrow, suspects};
use time::{Duration, OffsetDateTime};

use super::car::{Car, MODULES};
use super::support::{Dice, Journal, Said, carried_out, number, reading};

pub struct Owner {
    journal: Journal,
    clock: OffsetDateTime,
    /// Whether readings give the kilometres.
    odometer: bool,
    /// What the window's entries altered, with what each field held before.
    altered: Vec<(String, String)>,
}

impl Owner {
    pub fn new(dice: &mut Dice) -> Self {
        let mut owner = Self {
            journal: Journal::new([]),
            clock: OffsetDateTime::UNIX_EPOCH + Duration::days(100),
            odometer: !dice.one_in(3),
            altered: Vec::new(),
        };
        owner.stamp();
        owner
    }

    /// The last entry happened now.
    fn stamp(&mut self) {
        self.clock += Duration::minutes(1);
        let entry = self.journal.entries.last_mut().unwrap();
        (entry.happened, entry.recorded) = (self.clock, self.clock);
    }

    fn later(&mut self, days: usize) {
        self.clock += Duration::days(i64::try_from(days).unwrap());
    }

    fn read(&mut self, car: &Car, said: Said) {
        let said = if self.odometer { said.kilometres(car.odometer) } else { said };
        self.journal.read(said);
        self.stamp();
    }

    /// A scan of the module that has the code, now and then with one that has the same code and with some values.
    fn scan(&mut self, dice: &mut Dice, car: &Car) {
        let other = if dice.one_in(2) { " B0001/28" } else { "" };
        let mut said = reading().module("cluster").codes(&format!("{}{other}", car.code()));
        if dice.one_in(4) {
            let codes = if dice.one_in(2) { "B1234/2F U0100" } else { "" };
            said = said.module("mirror").codes(codes);
        }
        if dice.one_in(5) {
            said = values(dice, car, said);
        }
        self.read(car, said);
    }

    fn change(&mut self, car: &mut Car, wanted: &[(String, String)]) {
        let wanted: Vec<(&str, &str)> = wanted.iter().map(|(field, value)| (field.as_str(), value.as_str())).collect();
        let targets = self.journal.targets(&wanted);
        let history = self.history();
        let Ok(plan) = plan(&history, &DefinitionSet::new(), &targets) else { return };
        self.work(car, &plan, Body::Change);
    }

    fn work(&mut self, car: &mut Car, plan: &Plan, body: impl Fn(asfound_core::entry::WorkBody) -> Body) {
        for step in &plan.steps {
            for setting in &step.settings {
                car.holds.insert(format!("{}.{}", step.module, setting.setting), setting.left.to_string());
            }
        }
        self.journal.file(body(carried_out(plan)));
        self.stamp();
    }

    fn history(&self) -> History {
        History::trace(&self.journal.entries, &self.journal.definitions).unwrap()
    }

    /// A life with the car: what was altered since the module was last scanned without the code, with what it was before.
    pub fn live(&mut self, dice: &mut Dice, car: &mut Car) -> Vec<(String, String)> {
        let mut said = reading().module("cluster").codes("");
        for module in MODULES {
            said = said.module(module);
            for (field, value) in car.holds.iter().filter(|(field, _)| field.starts_with(module)) {
                said = said.value(field.split_once('.').unwrap().1, value);
            }
        }
        self.read(car, said);
        let mut value = 1;
        for _ in 0..dice.below(4) {
            let wanted =
                some_fields(dice, car, 2).into_iter().map(|field| (field, value.to_string())).collect::<Vec<_>>();
            self.change(car, &wanted);
            value += 1;
            self.later(dice.below(20));
        }
        self.drive(dice, car);
        self.scan(dice, car);
        let before = car.holds.clone();
        for _ in 0..3 + dice.below(6) {
            self.later(dice.below(9));
            let count = 1 + dice.below(3);
            let mut fields = some_fields(dice, car, count);
            if dice.one_in(5) && !self.altered.is_empty() {
                fields.push(self.altered[dice.below(self.altered.len())].0.clone());
            }
            fields.sort_unstable();
            fields.dedup();
            let wanted: Vec<(String, String)> = fields.iter().map(|field| (field.clone(), value.to_string())).collect();
            value += 1;
            if dice.one_in(10) {
                // Nobody recorded it; a reading shows it.
                let mut said = reading();
                for (field, value) in &wanted {
                    car.holds.insert(field.clone(), value.clone());
                    let (module, name) = field.split_once('.').unwrap();
                    said = said.module(module).value(name, value);
                }
                self.read(car, said);
            } else {
                self.change(car, &wanted);
            }
            self.altered.extend(fields.into_iter().map(|field| (field.clone(), before[&field].clone())));
            self.altered.sort_unstable();
            self.altered.dedup();
        }
        self.altered.clone()
    }

    fn drive(&mut self, dice: &mut Dice, car: &mut Car) {
        car.drive(dice);
        // Kilometres tell of a drive on the same day; a day tells of one without them.
        self.later(if self.odometer { dice.below(3) } else { 1 + dice.below(3) });
    }

    pub fn drive_until_it_comes(&mut self, dice: &mut Dice, car: &mut Car) {
        self.drive(dice, car);
        while car.code().is_empty() {
            self.drive(dice, car);
        }
        self.scan(dice, car);
        // What was driven before nobody has looked into yet.
        car.drives = 0;
    }

    pub fn ask(&self) -> NarrowingState {
        let (history, code, module) = (self.history(), "B1234".parse().unwrap(), "cluster".parse().unwrap());
        let trials = self.journal.trials();
        let definitions = &self.journal.definitions;
        let suspicion = suspects(&trials, &history, definitions, &code, Some(&module)).unwrap();
        narrow(&trials, &history, definitions, &suspicion)
    }

    fn put_back(&mut self, car: &mut Car, wish: &PutBackWish, restricted_too: bool) {
        let history = self.history();
        let planned = put_back(&history, wish).and_then(|it| plan(&history, &DefinitionSet::new(), &it));
        let Ok(plan) = planned else { return };
        if restricted_too || plan.steps.iter().all(|step| step.restricted.is_empty()) {
            let of = PutBackOf::Entries(wish.entries.iter().copied().collect());
            self.work(car, &plan, |work| Body::PutBack(of.clone(), work));
        }
    }

    /// One round, as proposed or otherwise.
    pub fn round(&mut self, dice: &mut Dice, car: &mut Car, narrowed: &NarrowingState) {
        match dice.below(40) {
            // Another put-back than the proposed one.
            0 | 1 => {
                let entries: Vec<u32> =
                    (0..=dice.below(2)).map(|_| 2 + below(dice, self.journal.entries.len() - 1)).collect();
                let wish = PutBackWish { entries: entries.into_iter().map(number).collect(), ..PutBackWish::default() };
                self.put_back(car, &wish, false);
            }
            // Something by hand.
            2 => {
                let (field, before) = self.altered[dice.below(self.altered.len())].clone();
                self.change(car, &[(field, before)]);
            }
            // Life goes on.
            3 => {
                let field = some_fields(dice, car, 1).remove(0);
                if !field.starts_with("brakes") && self.altered.iter().all(|(altered, _)| *altered != field) {
                    self.change(car, &[(field, "x".to_owned())]);
                }
            }
            // Only another drive.
            4 => {}
            _ => {
                if let Some(next) = &narrowed.next
                    && let Some(planned) = &next.plan
                {
                    assert!(
                        planned.steps.iter().all(|step| step.restricted.is_empty()),
                        "a restricted system was moved"
                    );
                    let before = self.journal.entries.len();
                    self.put_back(car, &next.wish, true);
                    assert_eq!(
                        self.journal.entries.len(),
                        before + 1,
                        "what is proposed can be planned: {:?}",
                        next.wish
                    );
                }
            }
        }
        if !dice.one_in(10) {
            car.clear();
            // Without a status byte nothing but a scan in between tells that a code is not an old one.
            if !car.has_status() || dice.one_in(8) {
                self.scan(dice, car);
            }
        }
        match dice.below(20) {
            // Scanned at once, without a drive.
            0 => {}
            1 => {
                self.drive(dice, car);
                self.drive(dice, car);
            }
            _ => self.drive(dice, car),
        }
        if dice.one_in(15) {
            // A reading that scans nothing that matters here.
            let said = values(dice, car, reading().module("mirror").codes(""));
            self.read(car, said);
        } else {
            self.scan(dice, car);
        }
    }
}

fn below(dice: &mut Dice, sides: usize) -> u32 {
    u32::try_from(dice.below(sides)).unwrap()
}

fn some_fields(dice: &mut Dice, car: &Car, count: usize) -> Vec<String> {
    let fields: Vec<&String> = car.holds.keys().collect();
    // Fewer of the restricted ones, which come first.
    let one = |dice: &mut Dice| if dice.one_in(30) { dice.below(12) } else { 12 + dice.below(36) };
    (0..count).map(|_| fields[one(dice)].clone()).collect()
}

/// Some values of a module as they are.
fn values(dice: &mut Dice, car: &Car, said: Said) -> Said {
    let module = MODULES[dice.below(3)];
    let mut said = said.module(module);
    for (field, value) in car.holds.iter().filter(|(field, _)| field.starts_with(module)) {
        if !dice.one_in(3) {
            said = said.value(field.split_once('.').unwrap().1, value);
        }
    }
    said
}

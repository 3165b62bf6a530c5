//! What a journal must know after each entry, worked out once more and in another way: per setting and per bit, from the
//! bytes that were read or written and from nothing else.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::history::HandKind;

use super::Sheet;

/// What a field is said to hold: the value as shown, or nothing where the bits have no meaning; and the bits with the
/// sheet that explains them, where bits are known.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    pub value: Option<String>,
    pub coded: Option<(String, usize, u8)>,
}

impl Held {
    /// Whether both are the same to whoever reads them: the same bits of one layout, or else the same value.
    pub fn same(&self, other: &Self) -> bool {
        match (&self.coded, &other.coded) {
            (Some((sheet, record, coded)), Some((other_sheet, other_record, other_coded)))
                if (sheet, record) == (other_sheet, other_record) =>
            {
                coded == other_coded
            }
            _ => self.value.is_some() && self.value == other.value,
        }
    }
}

/// Where a step in the life of a field must come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Came {
    First,
    Work,
    Hand(HandKind),
    Against(u32),
}

/// One step in the life of a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    pub entry: u32,
    pub came: Came,
    pub found: Option<Held>,
    pub left: Held,
}

/// What is known of one record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownBytes {
    pub bytes: Vec<u8>,
    /// Whether the module is still what it was when this was read or written.
    pub current: bool,
    /// Changes of bits that nobody has named, apart for each layout.
    pub changes: Vec<Vec<Vec<u8>>>,
    /// The sheet under which it was last known.
    pub sheet: Option<usize>,
    /// The entry since when bits without a name cannot be taken over from before.
    pub relaid: u32,
}

/// What is known of one module.
#[derive(Debug, Clone)]
pub struct KnownModule {
    pub sheets: Vec<Sheet>,
    /// The sheet of the software that was last read.
    pub sheet: Option<usize>,
    pub serial: Option<u32>,
    pub records: BTreeMap<String, KnownBytes>,
    pub stated: BTreeMap<String, String>,
    pub lives: BTreeMap<String, Vec<Step>>,
    /// The last entry that told each setting, and whether it was a reading.
    pub told: BTreeMap<String, Vec<(u32, bool)>>,
    pub renewals: Vec<(u32, HandKind)>,
}

/// What an entry tells of one module.
#[derive(Debug, Clone, Default)]
pub struct Tells {
    pub software: Option<usize>,
    pub serial: Option<u32>,
    pub records: BTreeMap<String, Vec<u8>>,
    pub values: BTreeMap<String, String>,
}

impl KnownModule {
    pub fn new(sheets: Vec<Sheet>) -> Self {
        Self {
            sheets,
            sheet: None,
            serial: None,
            records: BTreeMap::new(),
            stated: BTreeMap::new(),
            lives: BTreeMap::new(),
            told: BTreeMap::new(),
            renewals: Vec::new(),
        }
    }

    pub fn sheet(&self) -> Option<&Sheet> {
        self.sheet.map(|at| &self.sheets[at])
    }

    /// What the present bytes or values say of a setting.
    pub fn says(&self, name: &str) -> Option<Held> {
        let defined = self.sheet().and_then(|sheet| Some((sheet, sheet.setting(name)?)));
        if let Some((sheet, setting)) = defined
            && let Some(known) = self.records.get(&sheet.records[setting.record].name).filter(|known| known.current)
        {
            let coded = setting.coded(&known.bytes);
            return Some(Held { value: setting.shown(coded), coded: Some((sheet.id.clone(), setting.record, coded)) });
        }
        let value = self.stated.get(name)?;
        Some(Held { value: Some(value.clone()), coded: None })
    }

    /// The last known content of a setting.
    pub fn last(&self, name: &str) -> Option<&Held> {
        self.lives.get(name)?.last().map(|step| &step.left)
    }

    /// Takes in an entry: a reading, or work that wrote what it tells.
    pub fn take_in(&mut self, entry: u32, reading: bool, tells: &Tells) {
        let renewed_as = self.identify(entry, tells);
        for (name, bytes) in &tells.records {
            self.bytes(entry, name, bytes.clone());
            if reading
                && let Some(sheet) = self.sheet.map(|at| self.sheets[at].clone())
                && let Some(record) = sheet.record(name)
            {
                for setting in sheet.settings.iter().filter(|setting| setting.record == record) {
                    self.stated.remove(&setting.name);
                }
            }
        }
        for (name, value) in &tells.values {
            self.value(entry, name, value, tells);
        }
        self.step_on(entry, reading, tells, renewed_as);
    }

    fn identify(&mut self, entry: u32, tells: &Tells) -> bool {
        let swapped = tells.serial.is_some() && self.serial.is_some() && tells.serial != self.serial;
        let updated = tells.software.is_some() && self.sheet.is_some() && tells.software != self.sheet;
        if swapped || updated {
            let kind = if swapped { HandKind::UnitSwapped } else { HandKind::SoftwareUpdated };
            self.renewals.push((entry, kind));
            self.records.values_mut().for_each(|known| known.current = false);
        }
        self.serial = tells.serial.or(self.serial);
        self.sheet = tells.software.or(self.sheet);
        swapped || updated
    }

    fn bytes(&mut self, entry: u32, name: &str, bytes: Vec<u8>) {
        let (now, sheet) = (self.sheet, self.sheet().cloned());
        let record = sheet.as_ref().and_then(|sheet| sheet.record(name));
        let fresh =
            KnownBytes { bytes: bytes.clone(), current: true, changes: vec![Vec::new()], sheet: now, relaid: 0 };
        let Some(known) = self.records.get_mut(name) else {
            self.records.insert(name.to_owned(), fresh);
            return;
        };
        let before = known.sheet.map(|at| &self.sheets[at]);
        let alike = match (before, &sheet, record) {
            (Some(before), Some(sheet), Some(record)) => before.same_layout(record, sheet),
            (None, None, _) => true,
            _ => false,
        };
        if known.sheet != now {
            known.relaid = entry;
        }
        if alike {
            let unnamed = match (&sheet, record) {
                (Some(sheet), Some(record)) => sheet.undeclared(record),
                _ => vec![0xFF; bytes.len()],
            };
            let mask: Vec<u8> = known
                .bytes
                .iter()
                .zip(&bytes)
                .zip(&unnamed)
                .map(|((was, now), unnamed)| (was ^ now) & unnamed)
                .collect();
            if mask.iter().any(|byte| *byte != 0) {
                known.changes.last_mut().expect("there is a layout").push(mask);
            }
        } else {
            known.changes.push(Vec::new());
        }
        (known.bytes, known.current, known.sheet) = (bytes, true, now);
    }

    fn value(&mut self, entry: u32, name: &str, value: &str, tells: &Tells) {
        let sheet = self.sheet().cloned();
        let defined = sheet.as_ref().and_then(|sheet| Some((sheet, sheet.setting(name)?)));
        if let Some((sheet, setting)) = defined {
            let record = &sheet.records[setting.record];
            if tells.records.contains_key(&record.name) {
                return;
            }
            if let Some(known) = self.records.get(&record.name).filter(|known| known.current) {
                let mut bytes = known.bytes.clone();
                if setting.value(&bytes).as_deref() != Some(value) {
                    setting.put(setting.code_of(value).expect("a value that it can have"), &mut bytes);
                    record.set_checksum(&mut bytes);
                    self.bytes(entry, &record.name, bytes);
                }
                return;
            }
        }
        self.stated.insert(name.to_owned(), value.to_owned());
    }

    /// What an entry tells: settings in records that it gives, settings by value, and with a new identity all of them.
    fn step_on(&mut self, entry: u32, reading: bool, tells: &Tells, renewed: bool) {
        let sheet = self.sheet().cloned();
        let mut names: BTreeSet<String> = tells.values.keys().cloned().collect();
        for setting in sheet.iter().flat_map(|sheet| sheet.settings.iter().map(move |setting| (sheet, setting))) {
            if tells.records.contains_key(&setting.0.records[setting.1.record].name) {
                names.insert(setting.1.name.clone());
            }
        }
        let told = names.clone();
        if renewed || tells.software.is_some() {
            names.extend(sheet.iter().flat_map(|sheet| sheet.settings.iter().map(|setting| setting.name.clone())));
        }
        for name in names {
            if let Some(now) = self.says(&name) {
                self.one_step(entry, reading, &name, now);
            }
        }
        for name in told {
            self.told.entry(name).or_default().push((entry, reading));
        }
    }

    fn one_step(&mut self, entry: u32, reading: bool, name: &str, now: Held) {
        let told = self.told.get(name).map_or(&[][..], Vec::as_slice);
        let life = self.lives.entry(name.to_owned()).or_default();
        let last = life.last().cloned();
        if last.as_ref().is_some_and(|last| last.left.same(&now)) {
            return;
        }
        let known = told.last().map(|(entry, _)| *entry);
        let renewal =
            self.renewals.iter().filter(|(at, _)| known.is_none_or(|known| *at > known)).map(|(_, kind)| *kind).min();
        let came = match (&last, reading, renewal) {
            (_, false, _) => Came::Work,
            (None, true, _) => Came::First,
            (Some(_), true, Some(kind)) => Came::Hand(kind),
            (Some(last), true, None) => {
                let read_since = told.iter().any(|(at, reading)| *reading && *at > last.entry);
                if last.came == Came::Work && !read_since {
                    Came::Against(last.entry)
                } else {
                    Came::Hand(HandKind::SettingsAltered)
                }
            }
        };
        life.push(Step { entry, came, found: last.map(|last| last.left), left: now });
    }

    /// Work that was never made leaves no step, and what followed it stands on what was there before.
    pub fn never_made(&mut self, entry: u32) {
        for (name, life) in &mut self.lives {
            let Some(at) = life.iter().position(|step| step.entry == entry && step.came == Came::Work) else {
                continue;
            };
            let out = life.remove(at);
            let Some(next) = life.get_mut(at) else { continue };
            next.found = out.found;
            if next.found.as_ref().is_some_and(|found| found.same(&next.left)) {
                life.remove(at);
            } else if next.came == Came::Against(entry) {
                let next = next.entry;
                let before = at.checked_sub(1).map(|before| &life[before]).filter(|before| before.came == Came::Work);
                let told = self.told.get(name).map_or(&[][..], Vec::as_slice);
                let unread = before
                    .map(|before| before.entry)
                    .filter(|before| !told.iter().any(|(at, reading)| *reading && at > before && *at < next));
                life[at].came = unread.map_or(Came::Hand(HandKind::SettingsAltered), Came::Against);
            }
        }
    }

    /// The groups of bits without a name that entries altered together, overlapping ones joined.
    pub fn groups(&self) -> BTreeSet<(String, Vec<u8>)> {
        let mut groups = BTreeSet::new();
        for (name, known) in &self.records {
            for changes in &known.changes {
                let mut joined: Vec<Vec<u8>> = changes.clone();
                while let Some((a, b)) = overlap(&joined) {
                    let other = joined.remove(b);
                    joined[a].iter_mut().zip(other).for_each(|(byte, other)| *byte |= other);
                }
                groups.extend(joined.into_iter().map(|mask| (name.clone(), mask)));
            }
        }
        groups
    }
}

fn overlap(masks: &[Vec<u8>]) -> Option<(usize, usize)> {
    let pairs = (0..masks.len()).flat_map(|a| (a + 1..masks.len()).map(move |b| (a, b)));
    pairs.into_iter().find(|(a, b)| masks[*a].iter().zip(&masks[*b]).any(|(x, y)| x & y != 0))
}

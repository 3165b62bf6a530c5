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

    /// Whether both are something else for certain, where they are not the same: by the bits of one layout, else by values of
    /// one kind.
    fn differs(&self, other: &Self) -> Certainty {
        let place = |held: &Self| held.coded.as_ref().map(|(sheet, record, _)| (sheet.clone(), *record));
        if place(self).is_some() && place(self) == place(other) {
            return Certainty::Certain;
        }
        match (self.kind(), other.kind()) {
            (Some(Kind::Word), Some(Kind::Word)) => Certainty::AsDefined,
            (Some(mine), Some(theirs)) if mine == theirs => Certainty::Certain,
            _ => Certainty::Uncertain,
        }
    }

    fn kind(&self) -> Option<Kind> {
        let value = self.value.as_deref()?;
        Some(match value {
            "on" | "off" => Kind::Switch,
            _ if value.chars().all(|digit| digit.is_ascii_digit()) => Kind::Number,
            _ => Kind::Word,
        })
    }
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Kind {
    Switch,
    Number,
    Word,
}

/// How certainly two contents are not the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Certainty {
    Certain,
    /// Two words, which may mean one thing unless one definition has both.
    AsDefined,
    Uncertain,
}

/// Where a step in the life of a field must come from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Came {
    First,
    Work,
    Hand(HandKind),
    Against(u32),
    /// What cannot be compared with what was there before.
    CannotTell,
}

/// One step in the life of a field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Step {
    pub entry: u32,
    pub came: Came,
    /// Whether nobody can tell may be the answer as well.
    pub or_cannot_tell: bool,
    pub found: Option<Held>,
    pub left: Held,
}

/// What kind of entry says it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum By {
    /// A reading of a module that is what it was when the field was last known.
    Reading,
    /// A reading of a module that has become another unit or got other software since.
    Renewed(HandKind),
    Work,
    /// A correction that takes work out again which was never made.
    Correction,
}

/// What one entry says that a field holds, where that was something else before.
#[derive(Debug, Clone)]
struct Said {
    entry: u32,
    by: By,
    /// What work found by the state before it, where that is known: perhaps more than was said.
    found: Option<Held>,
    left: Held,
    /// How many units were there before the one that it speaks of.
    unit: usize,
}

/// What is known of one record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownBytes {
    pub bytes: Vec<u8>,
    /// Whether the module is still what it was when this was read or written.
    pub current: bool,
    /// Changes of bits that nobody has named, apart for each layout.
    changes: Vec<Vec<Change>>,
    /// Bits that entries wrote, named or not, each with the software that the module had.
    writes: Vec<(u32, usize, Vec<u8>)>,
    /// The softwares under which it was known; the first may be found out later.
    softwares: Vec<Option<usize>>,
    /// The sheet under which it was last known.
    pub sheet: Option<usize>,
    /// The entry since when bits without a name cannot be taken over from before.
    pub layout_changed: u32,
}

/// A change of bits that nobody has named.
#[derive(Debug, Clone, PartialEq, Eq)]
struct Change {
    entry: u32,
    reading: bool,
    software: usize,
    mask: Vec<u8>,
}

impl KnownBytes {
    fn new(bytes: Vec<u8>, sheet: Option<usize>) -> Self {
        let (changes, writes, softwares) = (vec![Vec::new()], Vec::new(), vec![sheet]);
        Self { bytes, current: true, changes, writes, softwares, sheet, layout_changed: 0 }
    }

    /// The place of a software; one that is not known may be any.
    fn software(&mut self, sheet: Option<usize>) -> usize {
        let fits = |known: &Option<usize>| known.is_none() || sheet.is_none() || *known == sheet;
        let at = self.softwares.iter().position(fits).unwrap_or_else(|| {
            self.softwares.push(sheet);
            self.softwares.len() - 1
        });
        self.softwares[at] = self.softwares[at].or(sheet);
        at
    }

    /// Bits that somebody wrote before an entry, under the same software.
    fn written_before(&self, change: &Change, never: &BTreeSet<u32>) -> Vec<u8> {
        let mut written = vec![0; change.mask.len()];
        for (entry, software, mask) in &self.writes {
            if *entry < change.entry && *software == change.software && !never.contains(entry) {
                written.iter_mut().zip(mask).for_each(|(all, byte)| *all |= byte);
            }
        }
        written
    }
}

/// What is known of one module.
#[derive(Debug, Clone)]
pub struct KnownModule {
    pub sheets: Vec<Sheet>,
    /// The sheet of the software that was last read.
    pub sheet: Option<usize>,
    pub serial: Option<u32>,
    /// How many other units were there before.
    unit: usize,
    pub records: BTreeMap<String, KnownBytes>,
    pub stated: BTreeMap<String, String>,
    said: BTreeMap<String, Vec<Said>>,
    never: BTreeSet<u32>,
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
            unit: 0,
            records: BTreeMap::new(),
            stated: BTreeMap::new(),
            said: BTreeMap::new(),
            never: BTreeSet::new(),
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
    pub fn last(&self, name: &str) -> Option<Held> {
        self.life(name).pop().map(|step| step.left)
    }

    /// The life of every setting of which something is known.
    pub fn lives(&self) -> BTreeMap<String, Vec<Step>> {
        self.said.keys().map(|name| (name.clone(), self.life(name))).filter(|(_, life)| !life.is_empty()).collect()
    }

    /// The life of a setting: what the entries say one after the other, without work that was never made.
    pub fn life(&self, name: &str) -> Vec<Step> {
        let told = self.told.get(name).map_or(&[][..], Vec::as_slice);
        let mut life: Vec<Step> = Vec::new();
        // What it holds, where another unit holds the same as the one before.
        let mut other: Option<(usize, Held)> = None;
        for said in self.said.get(name).into_iter().flatten() {
            let last = life.last().cloned();
            let out = said.by == By::Correction || (said.by == By::Work && self.never.contains(&said.entry));
            let here = other.as_ref().filter(|(unit, _)| *unit == said.unit).map(|(_, held)| held.clone());
            let found = here.or_else(|| last.as_ref().map(|last| last.left.clone()));
            let found = match (found, &said.found) {
                (Some(last), Some(found)) if last.same(found) => Some(found.clone()),
                (found, _) => found,
            };
            if out || found.as_ref().is_some_and(|found| found.same(&said.left)) {
                if !out {
                    other = Some((said.unit, said.left.clone()));
                }
                continue;
            }
            other = None;
            let differs = found.as_ref().map_or(Certainty::Certain, |found| found.differs(&said.left));
            let read = matches!(said.by, By::Reading | By::Renewed(_)) && last.is_some();
            let or_cannot_tell = read && differs == Certainty::AsDefined;
            let came = match (&last, said.by) {
                _ if read && differs == Certainty::Uncertain => Came::CannotTell,
                (_, By::Work | By::Correction) => Came::Work,
                (None, _) => Came::First,
                (Some(_), By::Renewed(kind)) => Came::Hand(kind),
                (Some(last), By::Reading) => {
                    let read = |at: &u32| *at > last.entry && *at < said.entry;
                    let read_since = told.iter().any(|(at, reading)| *reading && read(at));
                    if last.came == Came::Work && !read_since {
                        Came::Against(last.entry)
                    } else {
                        Came::Hand(HandKind::SettingsAltered)
                    }
                }
            };
            life.push(Step { entry: said.entry, came, or_cannot_tell, found, left: said.left.clone() });
        }
        life
    }

    /// Takes in an entry: a reading, or work that wrote what it tells.
    pub fn push(&mut self, entry: u32, reading: bool, tells: &Tells) {
        let before = self.clone();
        let renewed_as = self.identify(entry, tells);
        for (name, bytes) in &tells.records {
            self.bytes(entry, reading, name, bytes.clone());
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
            self.value(entry, reading, name, value, tells);
        }
        self.step_on(entry, reading, tells, renewed_as, &before);
    }

    fn identify(&mut self, entry: u32, tells: &Tells) -> bool {
        let swapped = tells.serial.is_some() && self.serial.is_some() && tells.serial != self.serial;
        let updated = tells.software.is_some() && self.sheet.is_some() && tells.software != self.sheet;
        if swapped || updated {
            let kind = if swapped { HandKind::UnitSwapped } else { HandKind::SoftwareUpdated };
            self.renewals.push((entry, kind));
            self.records.values_mut().for_each(|known| known.current = false);
        }
        self.unit += usize::from(swapped);
        self.serial = tells.serial.or(self.serial);
        self.sheet = tells.software.or(self.sheet);
        swapped || updated
    }

    fn bytes(&mut self, entry: u32, reading: bool, name: &str, bytes: Vec<u8>) {
        let (now, sheet) = (self.sheet, self.sheet().cloned());
        let record = sheet.as_ref().and_then(|sheet| sheet.record(name));
        let Some(known) = self.records.get_mut(name) else {
            let mut fresh = KnownBytes::new(bytes.clone(), now);
            if !reading {
                // What it altered is not known, so it may be any bit.
                fresh.writes.push((entry, 0, vec![0xFF; bytes.len()]));
            }
            self.records.insert(name.to_owned(), fresh);
            return;
        };
        let software = known.software(now);
        let differing: Vec<u8> = known.bytes.iter().zip(&bytes).map(|(was, now)| was ^ now).collect();
        if !reading && known.bytes != bytes {
            known.writes.push((entry, software, differing.clone()));
        }
        let before = known.sheet.map(|at| &self.sheets[at]);
        let alike = match (before, &sheet, record) {
            (Some(before), Some(sheet), Some(record)) => before.same_layout(record, sheet),
            (None, None, _) => true,
            _ => false,
        };
        if known.sheet != now {
            known.layout_changed = entry;
        }
        if alike {
            let unnamed = match (&sheet, record) {
                (Some(sheet), Some(record)) => sheet.undeclared(record),
                _ => vec![0xFF; bytes.len()],
            };
            let mask: Vec<u8> = differing.iter().zip(&unnamed).map(|(bits, unnamed)| bits & unnamed).collect();
            if mask.iter().any(|byte| *byte != 0) {
                let change = Change { entry, reading, software, mask };
                known.changes.last_mut().expect("there is a layout").push(change);
            }
        } else {
            known.changes.push(Vec::new());
        }
        (known.bytes, known.current, known.sheet) = (bytes, true, now);
    }

    fn value(&mut self, entry: u32, reading: bool, name: &str, value: &str, tells: &Tells) {
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
                    self.bytes(entry, reading, &record.name, bytes);
                }
                return;
            }
        }
        self.stated.insert(name.to_owned(), value.to_owned());
    }

    /// What an entry tells: settings in records that it gives, settings by value, and with a new identity all of them.
    fn step_on(&mut self, entry: u32, reading: bool, tells: &Tells, renewed: bool, before: &Self) {
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
                self.one_step(entry, reading, &name, before.says(&name), now);
            }
        }
        for name in told {
            self.told.entry(name).or_default().push((entry, reading));
        }
    }

    fn one_step(&mut self, entry: u32, reading: bool, name: &str, found: Option<Held>, left: Held) {
        let known = self.told.get(name).and_then(|told| told.last()).map(|(entry, _)| *entry);
        let unit = self.unit;
        let said = self.said.entry(name.to_owned()).or_default();
        let found = found.filter(|_| !reading);
        // What another unit holds is said also where it is the same.
        let other_unit = reading && said.last().is_some_and(|last| last.unit != unit);
        if !other_unit
            && found.as_ref().or(said.last().map(|last| &last.left)).is_some_and(|last| last.same(&left))
            && !said.is_empty()
        {
            return;
        }
        let since = self.renewals.iter().filter(|(at, _)| known.is_none_or(|known| *at > known));
        let by = if reading { since.map(|(_, kind)| By::Renewed(*kind)).min() } else { Some(By::Work) };
        said.push(Said { entry, by: by.unwrap_or(By::Reading), found, left, unit });
    }

    /// Takes in that work was never made, and what the correction leaves instead.
    pub fn never_made(
        &mut self,
        entry: u32,
        correction: u32,
        records: &BTreeMap<String, Vec<u8>>,
        values: &BTreeMap<String, String>,
    ) {
        for (name, bytes) in records {
            self.records.get_mut(name).expect("a known record").bytes.clone_from(bytes);
        }
        self.stated.extend(values.iter().map(|(name, value)| (name.clone(), value.clone())));
        self.never.insert(entry);
        let names: Vec<String> = self.said.keys().cloned().collect();
        for name in names {
            let Some(left) = self.says(&name) else { continue };
            let said = self.said.get_mut(&name).expect("one of its names");
            if said.last().is_some_and(|last| !last.left.same(&left)) {
                let unit = said.last().map_or(0, |last| last.unit);
                said.push(Said { entry: correction, by: By::Correction, found: None, left, unit });
            }
        }
    }

    /// The groups of bits without a name that entries altered together, overlapping ones joined. What a reading shows of bits
    /// that somebody wrote before is apart from what nobody did.
    pub fn groups(&self) -> BTreeSet<(String, Vec<u8>)> {
        let mut groups = BTreeSet::new();
        for (name, known) in &self.records {
            for changes in &known.changes {
                let mut joined: Vec<Vec<u8>> = Vec::new();
                for change in changes.iter().filter(|change| !self.never.contains(&change.entry)) {
                    let written = known.written_before(change, &self.never);
                    let part = |of: &dyn Fn(u8) -> u8| -> Vec<u8> {
                        change.mask.iter().zip(&written).map(|(bits, written)| bits & of(*written)).collect()
                    };
                    let parts = [part(&|written| written), part(&|written| !written)];
                    let whole = [change.mask.clone()];
                    let parts = if change.reading { &parts[..] } else { &whole[..] };
                    joined.extend(parts.iter().filter(|mask| mask.iter().any(|byte| *byte != 0)).cloned());
                }
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

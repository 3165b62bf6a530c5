//! A vehicle in memory: modules with bytes and values, and everything that can go wrong with a write.

use std::collections::BTreeMap;

use asfound_core::entry::StepPlace;
use asfound_core::plan::StatedContent;
use asfound_core::value::HexBytes;

/// What goes wrong with one write.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fault {
    /// Nothing.
    None,
    /// It is refused.
    Refused,
    /// The module is busy and asks to come again.
    Busy,
    /// The supply goes after so many bytes.
    Power(usize),
    /// These bits of the byte at this place are stored the wrong way round, and nobody is told.
    Wrong(usize, u8),
    /// It is stored and accepted; so many readings still give what was there before.
    Old(u8),
    /// It is stored, the answer never comes, and so many readings get none either.
    Lost(u8),
    /// Both of the last two.
    LostAndOld(u8, u8),
}

/// What came back of a write.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Answer {
    Accepted,
    Refused(&'static str),
    Nothing(&'static str),
}

#[derive(Debug, Clone)]
struct Cell {
    now: StatedContent,
    before: StatedContent,
    /// So many readings still give what was there before.
    old: u8,
    /// The byte that counts by itself with every reading.
    counter: Option<usize>,
}

/// The vehicle.
#[derive(Debug, Clone, Default)]
pub struct Vehicle {
    cells: BTreeMap<StepPlace, Cell>,
    /// So many readings get no answer.
    silent: u8,
    /// Every write that was stored, wholly or in part.
    pub stored: Vec<StepPlace>,
}

impl Vehicle {
    pub fn put(&mut self, place: StepPlace, said: StatedContent, counter: Option<usize>) {
        self.cells.insert(place, Cell { before: said.clone(), now: said, old: 0, counter });
    }

    /// What is truly there.
    pub fn truth(&self, place: &StepPlace) -> &StatedContent {
        &self.cells[place].now
    }

    pub fn places(&self) -> impl Iterator<Item = &StepPlace> {
        self.cells.keys()
    }

    /// What it says when it is asked; nothing when it does not answer.
    pub fn read(&mut self, place: &StepPlace) -> Option<StatedContent> {
        if self.silent > 0 {
            self.silent -= 1;
            return None;
        }
        let cell = self.cells.get_mut(place).expect("only what is there is read");
        if let (Some(at), StatedContent::Bytes(bytes)) = (cell.counter, &cell.now) {
            let mut bytes = bytes.as_slice().to_vec();
            bytes[at] = bytes[at].wrapping_add(1);
            cell.now = StatedContent::Bytes(HexBytes::from(bytes));
        }
        if cell.old > 0 {
            cell.old -= 1;
            return Some(cell.before.clone());
        }
        Some(cell.now.clone())
    }

    pub fn write(&mut self, place: &StepPlace, said: &StatedContent, fault: Fault) -> Answer {
        let counter = self.cells[place].counter;
        let (stored, answer) = match fault {
            Fault::Refused => return Answer::Refused("conditions not correct"),
            Fault::Busy => return Answer::Refused("busy, repeat request"),
            Fault::Power(count) => (self.in_part(place, said, count), Answer::Nothing("the supply went")),
            Fault::Wrong(at, bits) => (wrong(said, at, bits, counter), Answer::Accepted),
            Fault::None | Fault::Old(_) => (said.clone(), Answer::Accepted),
            Fault::Lost(_) | Fault::LostAndOld(..) => (said.clone(), Answer::Nothing("the connection went")),
        };
        let cell = self.cells.get_mut(place).expect("only what is there is written");
        if let Fault::Old(count) | Fault::LostAndOld(_, count) = fault {
            // What it said when it was last asked, which may be older than the last write.
            if cell.old == 0 {
                cell.before = cell.now.clone();
            }
            cell.old = count;
        } else {
            cell.old = 0;
        }
        if let Fault::Lost(count) | Fault::LostAndOld(count, _) = fault {
            self.silent = count;
        }
        // What was stored wrongly may happen to be what was there.
        if stored != cell.now || answer == Answer::Accepted {
            self.stored.push(place.clone());
        }
        cell.now = stored;
        answer
    }

    /// The first bytes of what was to be written, the rest as it was; a value is set wholly or not at all.
    fn in_part(&self, place: &StepPlace, said: &StatedContent, count: usize) -> StatedContent {
        match (said, &self.cells[place].now) {
            (StatedContent::Bytes(new), StatedContent::Bytes(old)) => {
                let mut bytes = old.as_slice().to_vec();
                let count = count.min(bytes.len());
                bytes[..count].copy_from_slice(&new.as_slice()[..count]);
                StatedContent::Bytes(HexBytes::from(bytes))
            }
            (new, old) => {
                if count > 1 {
                    new.clone()
                } else {
                    old.clone()
                }
            }
        }
    }

    /// The connection is there again, and modules have started anew.
    pub fn settle(&mut self) {
        self.silent = 0;
        self.cells.values_mut().for_each(|cell| cell.old = 0);
    }
}

fn wrong(said: &StatedContent, at: usize, bits: u8, counter: Option<usize>) -> StatedContent {
    match said {
        StatedContent::Bytes(bytes) => {
            let mut bytes = bytes.as_slice().to_vec();
            let at = at % bytes.len();
            if counter != Some(at) {
                bytes[at] ^= bits;
            }
            StatedContent::Bytes(HexBytes::from(bytes))
        }
        // Before it: zeros before a number would say the same.
        StatedContent::Value(text) => StatedContent::Value(format!("{}{text}", 1 + (bits & 1))),
    }
}

//! A car: what its modules hold, what really brings the code, and what a module remembers of it.

use std::collections::BTreeMap;

use super::support::Dice;

/// A value that a field must have, or not have, for a code to come.
#[derive(Debug, Clone)]
pub struct Condition {
    pub field: String,
    pub value: String,
    pub is: bool,
}

/// What became of the code in the module's memory.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Memory {
    Nothing,
    /// Its test failed on the last drive.
    Failed,
    /// It is stored from an earlier drive, and its test passed on the last.
    Stored,
}

#[derive(Debug)]
pub struct Car {
    pub holds: BTreeMap<String, String>,
    /// What brings the code, each by itself, when all of its conditions hold.
    pub causes: Vec<Vec<Condition>>,
    rate: usize,
    memory: Memory,
    /// Whether the module says what its tests did.
    has_status: bool,
    pub odometer: u32,
    pub drives: u32,
}

pub const MODULES: [&str; 4] = ["doors", "seat", "gateway", "brakes"];

impl Car {
    pub fn new(dice: &mut Dice) -> Self {
        let fields = MODULES.iter().flat_map(|module| (0..12).map(move |at| format!("{module}.s{at:02}")));
        Self {
            holds: fields.map(|field| (field, "0".to_owned())).collect(),
            causes: Vec::new(),
            rate: 0,
            memory: Memory::Nothing,
            has_status: !dice.one_in(3),
            odometer: 40_000,
            drives: 0,
        }
    }

    /// Plants what brings the code: for each size a set of conditions about what was altered. Without sizes it comes by
    /// something that nobody altered.
    pub fn plant(&mut self, dice: &mut Dice, altered: &[(String, String)], sizes: &[usize], rate: usize) {
        self.rate = rate;
        let mut left: Vec<&(String, String)> = altered.iter().collect();
        for size in sizes {
            let mut set = Vec::new();
            for _ in 0..*size {
                if left.is_empty() {
                    break;
                }
                let (field, before) = left.swap_remove(dice.below(left.len()));
                let is = dice.one_in(2);
                let value = if is { self.holds[field].clone() } else { before.clone() };
                set.push(Condition { field: field.clone(), value, is });
            }
            self.causes.push(set);
        }
    }

    fn acts(&self, set: &[Condition]) -> bool {
        set.iter().all(|condition| (self.holds[&condition.field] == condition.value) == condition.is)
    }

    /// One drive. Each cause that acts has a chance of its own.
    pub fn drive(&mut self, dice: &mut Dice) {
        let nothing: Vec<Vec<Condition>> = vec![Vec::new()];
        let causes = if self.causes.is_empty() { &nothing } else { &self.causes };
        let came: Vec<bool> = causes.iter().map(|set| self.acts(set) && dice.below(100) < self.rate).collect();
        self.memory = match (came.contains(&true), self.memory) {
            (true, _) => Memory::Failed,
            (false, Memory::Nothing) => Memory::Nothing,
            (false, _) => Memory::Stored,
        };
        self.odometer += 20 + u32::try_from(dice.below(80)).unwrap();
        self.drives += 1;
    }

    /// Somebody clears the codes with equipment of their own.
    pub fn clear(&mut self) {
        self.memory = Memory::Nothing;
    }

    pub fn has_status(&self) -> bool {
        self.has_status
    }

    /// What a scan of the module says of it.
    pub fn code(&self) -> &'static str {
        match (self.memory, self.has_status) {
            (Memory::Nothing, _) => "",
            (_, false) => "B1234",
            (Memory::Failed, true) => "B1234/2F",
            (Memory::Stored, true) => "B1234/28",
        }
    }
}

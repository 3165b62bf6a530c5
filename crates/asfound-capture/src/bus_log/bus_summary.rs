//! What was heard in one or more logs, module by module.

use std::collections::{BTreeMap, BTreeSet};

use asfound_core::entry::{BusPlace, FiledLog};
use asfound_wire::conversation::{Conversations, ModuleAddress, ModuleTimeline, TesterAddress};
use asfound_wire::frame::Interface;

use super::address::{module_text, tester_text};
use super::mirrored::unite_mirrored;

/// A module on the bus.
#[derive(Debug, Clone)]
pub struct BusModule {
    /// Its bus, where the log names one.
    pub bus: Option<String>,
    /// Where it answers. The number of the bus in it is that of the first log in which it speaks.
    pub address: ModuleAddress,
    /// Where it answers besides, another tester each time.
    pub also: Vec<ModuleAddress>,
    /// What was done to it, in the order of the logs.
    pub timeline: ModuleTimeline,
    /// Other buses on which the same was heard at the same time.
    pub mirrored: Vec<String>,
}

/// What was heard in one or more logs.
#[derive(Debug, Clone, Default)]
pub struct BusSummary {
    /// The logs, in their order.
    pub logs: Vec<FiledLog>,
    /// The modules, by their buses and addresses.
    pub modules: Vec<BusModule>,
    /// Messages that did not get through.
    pub broken: u64,
    /// Requests to several modules that nobody answered.
    pub to_nobody: u64,
    numbers: u64,
    /// Where each log ends: what was done between two of them nobody heard.
    pub(super) ends: Vec<u64>,
}

impl BusModule {
    /// Where it speaks.
    pub fn place(&self) -> BusPlace {
        let asked: BTreeSet<String> = self.timeline.testers.iter().copied().map(tester_text).collect();
        BusPlace { asked: asked.into_iter().collect(), answers: module_text(self.address) }
    }

    /// Every address at which it answers.
    pub fn addresses(&self) -> impl Iterator<Item = ModuleAddress> {
        std::iter::once(self.address).chain(self.also.iter().copied())
    }

    /// Where it speaks besides.
    pub fn other_places(&self) -> impl Iterator<Item = BusPlace> {
        self.also.iter().map(|address| BusPlace { asked: Vec::new(), answers: module_text(*address) })
    }

    /// How it is named on the command line: `7E0:7E8`, or `0E00` on IP; the pair by which it was asked itself comes first.
    pub fn said(&self) -> String {
        match self.address {
            ModuleAddress::Ip(address) => format!("{address:04X}"),
            ModuleAddress::Can(_) => {
                let asked = self.asked_itself().map_or_else(|| "REQUEST".to_owned(), tester_text);
                format!("{asked}:{}", module_text(self.address))
            }
        }
    }

    /// The identifier that asks this module and not a whole group, where more than one asks: the one closest to its own.
    fn asked_itself(&self) -> Option<TesterAddress> {
        let ModuleAddress::Can(answers) = self.address else { return None };
        let far = |tester: &TesterAddress| match tester {
            TesterAddress::Can(asks) => {
                let differs = (asks.id.number() ^ answers.id.number()).count_ones();
                (differs, asks.id.number().abs_diff(answers.id.number()))
            }
            TesterAddress::Ip(_) => (u32::MAX, u32::MAX),
        };
        self.timeline.testers.iter().copied().min_by_key(far)
    }

    /// Whether anything was heard of it that a journal could hold.
    pub fn tells_something(&self) -> bool {
        let timeline = &self.timeline;
        !timeline.records.is_empty()
            || !timeline.local_records.is_empty()
            || !timeline.memory_writes.is_empty()
            || !timeline.codes.is_empty()
            || !timeline.actions.is_empty()
    }

    /// How often somebody wrote to it.
    pub fn writes(&self) -> usize {
        let timeline = &self.timeline;
        let records = timeline.records.values().chain(timeline.local_records.values());
        records.map(|record| record.writes().len()).sum::<usize>() + timeline.memory_writes.len()
    }
}

impl BusSummary {
    /// Adds what was heard in the next logs, which follow each other. `numbers` is how many frames and messages on IP it had, `broken` how many
    /// messages did not get through.
    pub fn add(
        &mut self,
        logs: impl IntoIterator<Item = FiledLog>,
        conversations: Conversations,
        buses: &BTreeMap<Interface, String>,
        (numbers, broken): (u64, u64),
    ) {
        let first_new = self.modules.len();
        for (address, timeline) in conversations.modules {
            let bus = match address {
                ModuleAddress::Can(channel) => buses.get(&channel.interface).filter(|name| !name.is_empty()).cloned(),
                ModuleAddress::Ip(_) => None,
            };
            let text = module_text(address);
            let known = self.modules.iter_mut().find(|one| one.bus == bus && module_text(one.address) == text);
            match known {
                Some(known) => known.timeline.then(timeline, self.numbers),
                None => {
                    let mut all = ModuleTimeline::default();
                    all.then(timeline, self.numbers);
                    self.modules.push(BusModule {
                        bus,
                        address,
                        also: Vec::new(),
                        timeline: all,
                        mirrored: Vec::new(),
                    });
                }
            }
        }
        self.numbers += numbers;
        self.ends.push(self.numbers);
        self.broken += broken;
        self.to_nobody += conversations.to_nobody;
        self.logs.extend(logs);
        self.unite_answers(first_new);
        unite_mirrored(&mut self.modules);
    }

    /// In normal fixed addressing a module answers every tester at an address of its own: 18DA, tester, module (ISO 15765-2).
    fn unite_answers(&mut self, from: usize) {
        let source = |module: &BusModule| match module.address {
            ModuleAddress::Can(channel) => {
                let (number, fixed) = (channel.id.number(), channel.id.is_extended() && channel.address.is_none());
                (fixed && number >> 16 == 0x18DA).then_some(number & 0xFF)
            }
            ModuleAddress::Ip(_) => None,
        };
        let mut place = self.modules.len();
        while place > from {
            place -= 1;
            let module = &self.modules[place];
            let Some(here) = source(module) else { continue };
            let same = |other: &BusModule| other.bus == module.bus && source(other) == Some(here);
            if let Some(first) = self.modules[..place].iter().position(same) {
                let module = self.modules.remove(place);
                self.modules[first].also.push(module.address);
                self.modules[first].timeline.unite(module.timeline);
            }
        }
    }
}

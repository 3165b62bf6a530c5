//! Anything may become of journal and index, in any order.

use std::fs;

use asfound_core::names::Tag;
use asfound_journal::store::Store;
use proptest::prelude::*;

use crate::story::{change, enrolled, file, first_reading, tag};
use crate::support::{Place, entries};

#[derive(Debug, Clone)]
enum Event {
    /// An entry is filed: a change of the flashes to this.
    Filed(u8),
    /// The journal is moved back or forth to one of the entries it has ever had.
    Moved(usize),
    /// The journal of the other vehicle takes this one's place.
    Other,
    Deleted,
    Cut(usize),
    Altered(usize, u8),
    /// The file as it was some time ago.
    Restored(usize),
}

fn events() -> impl Strategy<Value = Vec<Event>> {
    let event = prop_oneof![
        4 => (0_u8..8).prop_map(Event::Filed),
        2 => any::<usize>().prop_map(Event::Moved),
        1 => Just(Event::Other),
        1 => Just(Event::Deleted),
        2 => any::<usize>().prop_map(Event::Cut),
        2 => (any::<usize>(), 1_u8..).prop_map(|(at, with)| Event::Altered(at, with)),
        1 => any::<usize>().prop_map(Event::Restored),
    ];
    proptest::collection::vec(event, 1..14)
}

fn bytes(flashes: u8) -> String {
    format!("{flashes:02X} 10")
}

struct World {
    place: Place,
    wren: Tag,
    /// Each tip that the journal ever had, and what the flashes are there.
    tips: Vec<(String, u8)>,
    flashes: u8,
    files: Vec<Vec<u8>>,
}

impl World {
    fn new() -> Self {
        let (place, wren, rook) = (Place::new(), tag("wren"), tag("rook"));
        for tag in [&wren, &rook] {
            file(place.garage.store(), tag, 0, "journal started", &enrolled(tag), &[]);
            file(place.garage.store(), tag, 1, "before the work", &first_reading(), &[]);
        }
        file(place.garage.store(), &rook, 2, "the owner wants two", &change("03 10", "02 10"), &[]);
        let tip = place.garage.store().tip(&wren).unwrap().unwrap();
        let tips = vec![(tip.as_str().to_owned(), 3)];
        Self { place, wren, tips, flashes: 3, files: Vec::new() }
    }

    fn happens(&mut self, event: &Event, at: usize) {
        let path = self.place.index_file("wren");
        let file_now = fs::read(&path).unwrap_or_default();
        match event {
            Event::Filed(to) if *to != self.flashes => {
                let body = change(&bytes(self.flashes), &bytes(*to));
                file(self.place.garage.store(), &self.wren, 3 + i64::try_from(at).unwrap(), "so wanted", &body, &[]);
                let tip = self.place.garage.store().tip(&self.wren).unwrap().unwrap();
                self.flashes = *to;
                self.tips.push((tip.as_str().to_owned(), *to));
            }
            Event::Moved(to) => {
                let (tip, flashes) = self.tips[to % self.tips.len()].clone();
                self.place.set_branch("wren", &tip);
                self.flashes = flashes;
            }
            Event::Other => {
                let tip = self.place.garage.store().tip(&tag("rook")).unwrap().unwrap();
                self.place.set_branch("wren", tip.as_str());
                self.flashes = 2;
            }
            Event::Deleted => drop(fs::remove_file(&path)),
            Event::Cut(to) => fs::write(&path, &file_now[..to % (file_now.len() + 1)]).unwrap(),
            Event::Altered(at, with) if !file_now.is_empty() => {
                let mut other = file_now.clone();
                other[at % file_now.len()] ^= with;
                fs::write(&path, other).unwrap();
            }
            Event::Restored(of) if !self.files.is_empty() => {
                fs::write(&path, &self.files[of % self.files.len()]).unwrap();
            }
            Event::Filed(_) | Event::Altered(..) | Event::Restored(_) => {}
        }
        self.files.push(file_now);
    }
}

proptest! {
    // Each case is a garage on the disk.
    #![proptest_config(ProptestConfig { cases: 16, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn answers_are_those_of_the_journal(events in events(), look_each_time: bool) {
        let mut world = World::new();
        for (at, event) in events.iter().enumerate() {
            world.happens(event, at);
            if look_each_time {
                world.place.assert_same("wren");
            }
        }
        world.place.assert_same("wren");
        world.place.assert_same("rook");
        // By now the file is whole, and the same as one that is made from nothing.
        let kept = fs::read(world.place.index_file("wren")).unwrap();
        fs::remove_file(world.place.index_file("wren")).unwrap();
        entries(world.place.garage.store(), &world.wren);
        prop_assert!(kept == fs::read(world.place.index_file("wren")).unwrap());
    }
}

//! A vehicle in memory is read, altered by its owner and by other hands, updated and put back at random. Whatever happens,
//! the journal must know what was read and written, and no plan may do anything but what was asked for.

#![allow(clippy::unwrap_used)] // a test that cannot go on says so by panicking

mod events;
mod knowledge;
mod plans;
mod putting_back;
#[path = "../support/mod.rs"]
mod support;
mod world;

use events::events;
use proptest::prelude::*;
use world::World;

proptest! {
    // Half as many cases as elsewhere: each is a whole story. PROPTEST_CASES asks for more.
    #![proptest_config(ProptestConfig {
        cases: ProptestConfig::default().cases / 2,
        max_shrink_iters: 4000,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn the_journal_knows_what_was_read_and_written_and_plans_do_what_was_asked(seed in any::<u64>(), events in events()) {
        let mut world = World::new(seed);
        for event in &events.0 {
            world.happens(event);
            world.check();
        }
    }
}

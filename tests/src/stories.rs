//! How far the main story has come when a test begins.

use time::macros::datetime;

use crate::Workshop;

impl Workshop {
    /// A workshop with the definitions in its garage and the files of `tests/data` beside it.
    pub fn equipped() -> Self {
        let mut shop = Self::new();
        shop.fetch_data();
        let _ = shop.run("definition keep ./body-1.toml ./body-2.toml ./brakes-1.toml ./cluster-1.toml").done();
        shop
    }

    /// Then `wren` is enrolled and read as found: entry 2 is the last.
    pub fn with_wren() -> Self {
        let mut shop = Self::equipped();
        let _ = shop.run("enrol wren --vin ZZ9WRENA9T2000017 --about 'grey estate'").done();
        let _ = shop.run("read wren ./as-found.toml --as found").done();
        shop
    }

    /// Then three changes that share a byte, entries 3 to 5, are made and read as left: entry 6.
    pub fn after_work() -> Self {
        let mut shop = Self::with_wren();
        for command in [
            "change wren body.lane_change_flashes=5 --why 'owner wants five'",
            "change wren body.lock_by_horn=on --why 'wants to hear it'",
            "change wren body.lock_at_speed=on --why 'children in the back'",
        ] {
            let _ = shop.run(command).done();
        }
        shop.wait_until(datetime!(2026-03-14 11:10 +1));
        let _ = shop.run("read wren ./as-left.toml --as left").done();
        shop
    }

    /// Then, weeks later, another hand is found: entry 7.
    pub fn after_another_hand() -> Self {
        let mut shop = Self::after_work();
        shop.wait_until(datetime!(2026-04-20 16:50 +2));
        let _ = shop.run("read wren ./weeks-later.toml").done();
        shop
    }

    /// Then the second change is put back: entry 8.
    pub fn after_put_back() -> Self {
        let mut shop = Self::after_another_hand();
        let _ = shop.run("put-back wren 4 --done --why 'neighbours complain'").done();
        shop
    }
}

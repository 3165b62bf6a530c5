//! How far the main story has come when a test begins.
//!
//! Each stage is played once in a process and kept in memory; a workshop at that stage gets a copy of its files. That
//! saves most of the time, which goes into the syncing of everything that the program files.

use std::fs;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;

use time::OffsetDateTime;
use time::macros::datetime;

use crate::Workshop;

/// A folder as it was at one moment of the story.
struct Stage {
    now: OffsetDateTime,
    /// Paths in it, folders before what lies in them; nothing as content for a folder.
    paths: Vec<(PathBuf, Option<Vec<u8>>)>,
}

impl Stage {
    fn of(shop: &Workshop) -> Self {
        let mut paths = Vec::new();
        collect(shop.folder(), Path::new(""), &mut paths);
        Self { now: shop.now(), paths }
    }

    fn workshop(&self) -> Workshop {
        let shop = Workshop::opened_at(self.now);
        for (path, content) in &self.paths {
            let path = shop.folder().join(path);
            match content {
                None => fs::create_dir(path),
                Some(content) => fs::write(path, content),
            }
            .expect("a new folder can be filled");
        }
        shop
    }
}

fn collect(root: &Path, below: &Path, paths: &mut Vec<(PathBuf, Option<Vec<u8>>)>) {
    for entry in fs::read_dir(root.join(below)).expect("the folder can be listed") {
        let entry = entry.expect("the folder can be listed");
        let path = below.join(entry.file_name());
        if entry.file_type().expect("the kind of a listed file can be told").is_dir() {
            paths.push((path.clone(), None));
            collect(root, &path, paths);
        } else {
            paths.push((path, Some(fs::read(entry.path()).expect("the file can be read"))));
        }
    }
}

fn at(stage: &OnceLock<Stage>, play: impl FnOnce() -> Workshop) -> Workshop {
    stage.get_or_init(|| Stage::of(&play())).workshop()
}

impl Workshop {
    /// A workshop with the definitions in its garage and the files of `tests/data` beside it.
    pub fn equipped() -> Self {
        static STAGE: OnceLock<Stage> = OnceLock::new();
        at(&STAGE, || {
            let mut shop = Self::new();
            shop.fetch_data();
            let _ = shop.run("definition keep ./body-1.toml ./body-2.toml ./brakes-1.toml ./cluster-1.toml").done();
            shop
        })
    }

    /// Then `wren` is enrolled and read as found: entry 2 is the last.
    pub fn with_wren() -> Self {
        static STAGE: OnceLock<Stage> = OnceLock::new();
        at(&STAGE, || {
            let mut shop = Self::equipped();
            let _ = shop.run("enrol wren --vin ZZ9WRENA9T2000017 --about 'grey estate'").done();
            let _ = shop.run("read wren ./as-found.toml --as found").done();
            shop
        })
    }

    /// Then three changes that share a byte, entries 3 to 5, are made and read as left: entry 6.
    pub fn after_work() -> Self {
        static STAGE: OnceLock<Stage> = OnceLock::new();
        at(&STAGE, || {
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
        })
    }

    /// Then, weeks later, another hand is found: entry 7.
    pub fn after_another_hand() -> Self {
        static STAGE: OnceLock<Stage> = OnceLock::new();
        at(&STAGE, || {
            let mut shop = Self::after_work();
            shop.wait_until(datetime!(2026-04-20 16:50 +2));
            let _ = shop.run("read wren ./weeks-later.toml").done();
            shop
        })
    }

    /// Then the second change is put back: entry 8.
    pub fn after_put_back() -> Self {
        static STAGE: OnceLock<Stage> = OnceLock::new();
        at(&STAGE, || {
            let mut shop = Self::after_another_hand();
            let _ = shop.run("put-back wren 4 --done --sheet CODE --why 'neighbours complain'").done();
            shop
        })
    }
}

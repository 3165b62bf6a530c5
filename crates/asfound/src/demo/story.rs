//! The story, scene by scene. It is told in `demo-vehicles/story.md`.

use time::OffsetDateTime;
use time::macros::datetime;

use crate::exit::Exit;

/// A moment of the story: what is told, and the commands that are given then.
pub(super) struct Scene {
    /// When it happens; the clock is set to it.
    pub(super) at: OffsetDateTime,
    /// Who files.
    pub(super) author: &'static str,
    /// What is told before the commands.
    pub(super) told: &'static str,
    /// The commands, word by word, without the program's name.
    pub(super) commands: &'static [&'static [&'static str]],
    /// How each of them ends.
    pub(super) exit: Exit,
}

const fn scene(
    at: OffsetDateTime,
    author: &'static str,
    told: &'static str,
    commands: &'static [&'static [&'static str]],
) -> Scene {
    Scene { at, author, told, commands, exit: Exit::Done }
}

/// A scene in which the program refuses.
const fn refused(
    at: OffsetDateTime,
    author: &'static str,
    told: &'static str,
    commands: &'static [&'static [&'static str]],
) -> Scene {
    Scene { at, author, told, commands, exit: Exit::Refused }
}

/// The whole story.
pub(super) const STORY: &[Scene] = &[
    scene(
        datetime!(2026-03-14 09:05 +1),
        "bench 2",
        "A Merl Osier comes to a small workshop. Its owner would like five lane-change flashes, the doors unlocked when \
         the key comes out, and the horn to answer when they lock, for she cannot hear the chime from outside. First, a \
         journal is started, and the garage takes in the definitions of this maker's modules.",
        &[
            &["enrol", "wren", "--vin", "G0MSR41E0LT004217", "--about", "Merl Osier, hatchback, 2020"],
            &["definition", "keep", "definitions/*.toml"],
        ],
    ),
    scene(
        datetime!(2026-03-14 09:25 +1),
        "bench 2",
        "Every module is read before anything is altered: as found. The brakes report a trouble code; it is written down \
         now, so that nobody takes it for a consequence of this day's work, and the owner is told to have a qualified \
         technician look at it.",
        &[&["read", "wren", "readings/wren-2026-03-14-found.toml", "--as", "found"]],
    ),
    scene(
        datetime!(2026-03-14 10:10 +1),
        "bench 2",
        "Two settings are altered. They share one byte with others, so the whole record is written; the journal keeps \
         them apart.",
        &[
            &["explain", "body.lane_change_flashes", "--vehicle", "wren"],
            &["change", "wren", "body.lane_change_flashes=5", "--why", "owner wants five flashes"],
            &["change", "wren", "body.unlock_at_key_out=on", "--why", "owner carries shopping"],
        ],
    ),
    refused(
        datetime!(2026-03-14 10:30 +1),
        "bench 2",
        "The third one would break a rule between two modules, and is refused.",
        &[&["change", "wren", "body.lock_confirmation_by_horn=on", "--why", "owner wants to hear it lock"]],
    ),
    scene(
        datetime!(2026-03-14 10:35 +1),
        "bench 2",
        "Together with the other setting of the rule it can be done. The order of the writes is worked out so that the \
         rule holds after each.",
        &[&[
            "change",
            "wren",
            "body.lock_confirmation_by_horn=on",
            "cluster.lock_chime=off",
            "--why",
            "horn in place of the chime; owner says it is allowed where she lives",
        ]],
    ),
    scene(
        datetime!(2026-03-14 11:50 +1),
        "bench 2",
        "Everything is read again: as left. What was stated is now read back, and nothing else differs.",
        &[&["read", "wren", "readings/wren-2026-03-14-left.toml", "--as", "left"], &["compare", "wren", "2", "6"]],
    ),
    refused(
        datetime!(2026-05-02 17:15 +2),
        "owner",
        "Weeks later the owner reads two modules at home. A reading that lacks what earlier ones had is refused …",
        &[&["read", "wren", "readings/wren-2026-05-02-partial.toml"]],
    ),
    scene(
        datetime!(2026-05-02 17:16 +2),
        "owner",
        "… until it is said that it is meant to be partial.",
        &[&["read", "wren", "readings/wren-2026-05-02-partial.toml", "--partial"]],
    ),
    scene(
        datetime!(2026-06-20 10:10 +2),
        "bench 2",
        "The car comes back after a recall elsewhere, because its sockets go dead sooner than they used to. A full \
         reading shows that another hand was there: settings were altered and the gateway's software is another one.",
        &[&["read", "wren", "readings/wren-2026-06-20-check.toml"]],
    ),
    scene(
        datetime!(2026-07-05 14:00 +2),
        "owner",
        "Five flashes are too many after all. The journal plans how to put just that back and keep all that came \
         later; then it is done and filed. The code tells by which sheet: had the journal moved meanwhile, it would stop.",
        &[
            &["put-back", "wren", "3"],
            &["put-back", "wren", "3", "--done", "--sheet", "SK2Q-E498", "--why", "five flashes are too many"],
        ],
    ),
    scene(
        datetime!(2026-07-05 15:35 +2),
        "owner",
        "Another reading proves it: three flashes again, everything else as it was.",
        &[
            &["read", "wren", "readings/wren-2026-07-05-after.toml"],
            &["compare", "wren", "9", "10", "--expect-same"],
            &["settings", "wren", "--altered"],
            &["trial", "wren", "--all"],
        ],
    ),
    scene(
        datetime!(2026-09-01 08:45 +2),
        "bench 1",
        "An update of the body module's software moves its settings by one byte. One of the definitions fits the \
         new software, so the journal sees that their values are the same.",
        &[
            &["read", "wren", "readings/wren-2026-09-01-update.toml"],
            &["entries", "wren"],
            &["entries", "wren", "body.lane_change_flashes"],
        ],
    ),
    scene(
        datetime!(2026-09-05 18:20 +2),
        "owner",
        "The owner alters three settings of the climate module at home.",
        &[
            &["change", "wren", "climate.fan_run_on_time=120", "--why", "the windows mist over"],
            &["change", "wren", "climate.recirculation_memory=on", "--why", "dust on the way to work"],
            &["change", "wren", "climate.rear_window_heating_time=15", "--why", "frost is coming"],
        ],
    ),
    scene(
        datetime!(2026-09-12 09:10 +2),
        "owner",
        "A week later a lamp comes on, and the climate module has a code that it did not have before. Which of the three it \
         may have to do with nobody can tell from the order of things alone; putting one half back and driving will \
         tell more than putting back one by one.",
        &[
            &["read", "wren", "readings/wren-2026-09-12-lamp.toml", "--partial"],
            &["trial", "wren"],
            &["suspects", "wren", "B1A04-12", "--next"],
        ],
    ),
    scene(
        datetime!(2026-09-13 10:40 +2),
        "owner",
        "A small logger was plugged in when the three settings were altered, and its log turns up. It shows each write, what \
         the module answered and what was read back. Until now there was only the owner's word for them; now they are witnessed.",
        &[&["file-log", "wren", "logs/wren-2026-09-05-climate.log"], &["entries", "wren", "climate.fan_run_on_time"]],
    ),
];

//! A recorded disclosure and seal, so that the formats stay what they are.
//!
//! `recorded.toml` is what [`Story`](crate::story::Story) gives. `recorded.py` checks it with Python's hashlib and
//! tomllib, written from the words of docs/format.md and docs/seal.md, and computes the short seal below likewise:
//! `python3 recorded.py recorded.toml`.

use asfound_journal::disclosure::{Disclosure, DisclosureRequest};
use asfound_journal::seal::{Checkpoint, Seal};

use crate::story::{Story, modules};

/// The page that describes the formats.
const PAGE: &str = include_str!("../../../../docs/seal.md");
const RECORDED: &str = include_str!("recorded.toml");
/// What `recorded.py` prints.
const SHORT: &str = "00004-MGXPX-6XJZC-BB0DB-ZN3XP-8YAMP";

#[test]
fn the_recorded_disclosure_is_made_and_stands() {
    let story = Story::new();
    let pick = DisclosureRequest { modules: modules(&["body"]), ..DisclosureRequest::default() };
    let made = story.disclose(&[2, 4], &pick);
    assert_eq!(Disclosure::parse(RECORDED), Ok(made.clone()));
    assert_eq!(made.check(Some(&SHORT.parse().unwrap())), []);
    assert_eq!(Seal::over(&story.leaves()).short().to_string(), SHORT);
}

/// The page shows the seal of this very journal, in each form.
#[test]
fn the_page_shows_a_real_seal() {
    let story = Story::new();
    let checkpoint = Checkpoint::of_journal(story.journal().tag(), &story.leaves()).unwrap();
    for form in [checkpoint.seal.to_string(), checkpoint.seal.short().to_string(), checkpoint.to_text()] {
        assert!(PAGE.contains(&format!("```text\n{}\n```", form.trim_end())), "{form}");
    }
}

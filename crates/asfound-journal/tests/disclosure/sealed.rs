//! Seals of a journal and proofs that it was only added to.

use asfound_core::entry::Body;
use asfound_journal::Digest;
use asfound_journal::journal::JournalError;
use asfound_journal::merkle::{leaf, root_of};
use asfound_journal::seal::{Checkpoint, Extension, KeptSeal, Seal};
use asfound_journal::store::{FileContent, NewCommit, Store};

use crate::story::{Story, number};

/// The root once more from the words of docs/format.md, out of the files alone.
#[test]
fn the_seal_is_over_all_entries_as_the_format_says() {
    let story = Story::new();
    let mut leaves = Vec::new();
    for entry in 1..=4u32 {
        let commit = &story.entries()[entry as usize - 1].commit;
        let (manifest, _) = story.journal().manifest(commit).unwrap();
        let digits = story.text(entry, "blind");
        let blind: Digest = digits.trim_end().parse().unwrap();
        let mut data = Vec::new();
        for line in manifest.to_string().split_inclusive('\n') {
            let path = line[66..].trim_end();
            let of_line = Digest::of(&[blind.as_bytes().as_slice(), path.as_bytes()].concat());
            data.extend(Digest::of(&[of_line.as_bytes().as_slice(), line.as_bytes()].concat()).as_bytes());
        }
        leaves.push(leaf(&data));
    }
    assert_eq!(story.leaves(), leaves);
    for at in 1..=4u32 {
        let seal = story.journal().seal(Some(number(at))).unwrap();
        assert_eq!(seal, Seal { entries: u64::from(at), root: root_of(&leaves[..at as usize]) });
    }
    assert_eq!(story.journal().seal(None).unwrap(), Seal::over(&leaves));
    assert!(matches!(story.journal().seal(Some(number(5))), Err(JournalError::NoEntry { .. })));
}

#[test]
fn what_the_next_entry_states_is_the_seal_before_it() {
    let story = Story::new();
    let before = story.journal().seal(None).unwrap();
    story.file(Body::Note(None), "one more");
    let stated = story.journal().last().unwrap().chain;
    assert_eq!(Seal { entries: stated.entries, root: stated.root }, before);
    let now = story.journal().seal(None).unwrap();
    let proof = Extension::prove(&story.leaves(), 4).unwrap();
    let kept = [before.short().into(), KeptSeal::from(now)];
    assert_eq!(proof.check(Some(&kept[0]), Some(&kept[1])), []);
}

/// An entry after which another history was put: nothing of it is sealed in silence.
#[test]
fn an_entry_that_does_not_follow_is_not_sealed() {
    let story = Story::new();
    let journal = story.journal();
    let (second, last) = (story.entries()[1].commit.clone(), story.entries()[3].commit.clone());
    // The last entry once more: it states the root over three entries and now stands behind four.
    let old = story.store().commit(&last).unwrap();
    let files = old.files.iter().map(|(path, blob)| (path.parse().unwrap(), FileContent::Kept(blob.clone()))).collect();
    let again = NewCommit { author: old.author, when: old.committed, message: old.message, files };
    story.store().append(journal.tag(), Some(&last), &again).unwrap();
    let error = journal.seal(None).unwrap_err();
    assert!(matches!(error, JournalError::Damaged { .. }), "{error}");
    // Up to there it is sound.
    assert_eq!(journal.seal(Some(number(4))).unwrap().entries, 4);
    assert_eq!(journal.entries().unwrap()[1].commit, second);
}

#[test]
fn the_checkpoint_of_a_journal_names_it_for_good() {
    let story = Story::new();
    let leaves = story.leaves();
    let checkpoint = Checkpoint::of_journal(story.journal().tag(), &leaves).unwrap();
    assert_eq!(checkpoint.origin(), format!("asfound/wren/{}", &leaves[0].to_string()[..16]));
    assert_eq!(Checkpoint::of_journal(story.journal().tag(), &leaves[..1]).unwrap().origin(), checkpoint.origin());
    assert_eq!(checkpoint.to_text().parse(), Ok(KeptSeal::from(Seal::over(&leaves))));
    assert_eq!(Checkpoint::of_journal(story.journal().tag(), &[]), None);
}

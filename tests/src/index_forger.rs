//! A forger of indexes who has read `docs/index.md`, and works the checksums out anew.

use std::fs;
use std::path::Path;

use twox_hash::XxHash3_64;

/// The index of a vehicle, taken apart.
#[derive(Debug, Clone)]
pub struct ForgedIndex {
    head: Vec<u8>,
    /// The contents of the frames, one an entry.
    frames: Vec<Vec<u8>>,
}

impl ForgedIndex {
    /// Takes an index apart.
    ///
    /// # Panics
    /// When it is not whole.
    pub fn open(path: &Path) -> Self {
        let bytes = fs::read(path).expect("there is an index");
        let end = bytes.iter().position(|byte| *byte == b'\n').expect("the head ends in LF") + 1;
        let (head, mut rest) = bytes.split_at(end);
        let mut frames = Vec::new();
        while let Some((length, after)) = rest.split_first_chunk::<4>() {
            let (_, after) = after.split_first_chunk::<8>().expect("behind the length there is a checksum");
            let length = usize::try_from(u32::from_le_bytes(*length)).expect("it is in memory");
            let (content, after) = after.split_at(length);
            frames.push(content.to_vec());
            rest = after;
        }
        Self { head: head.to_vec(), frames }
    }

    /// Puts some bytes in the place of others, wherever these are in the frame of an entry.
    ///
    /// # Panics
    /// When they are not there, or are not as many.
    #[must_use]
    pub fn replace(mut self, entry: usize, from: &[u8], to: &[u8]) -> Self {
        assert_eq!(from.len(), to.len());
        let frame = &mut self.frames[entry - 1];
        let mut found = 0;
        for at in 0..=frame.len() - from.len() {
            if frame[at..].starts_with(from) {
                frame[at..at + to.len()].copy_from_slice(to);
                found += 1;
            }
        }
        assert!(found > 0, "entry {entry} has no {from:02X?}");
        self
    }

    /// Gives the frame of an entry the commit of another one.
    #[must_use]
    pub fn with_commit_of(mut self, entry: usize, other: usize) -> Self {
        let commit: [u8; 20] = self.frames[other - 1][..20].try_into().expect("a frame begins with the commit");
        self.frames[entry - 1][..20].copy_from_slice(&commit);
        self
    }

    /// Writes it, with checksums that hold.
    ///
    /// # Panics
    /// When it cannot be written.
    pub fn save(&self, path: &Path) {
        let mut bytes = self.head.clone();
        let mut checksum = XxHash3_64::oneshot(&self.head);
        for content in &self.frames {
            let own = XxHash3_64::oneshot(content);
            checksum = XxHash3_64::oneshot_with_seed(checksum, &own.to_le_bytes());
            bytes.extend_from_slice(&u32::try_from(content.len()).expect("a frame is short").to_le_bytes());
            bytes.extend_from_slice(&checksum.to_le_bytes());
            bytes.extend_from_slice(content);
        }
        fs::write(path, bytes).expect("it can be written");
    }
}

//! Frames that wait until it is known what they are.

use std::collections::VecDeque;

use crate::frame::CanFrame;

/// Frames of one identifier that wait.
const MOST_OF_ONE: usize = 1024;
/// Frames of all identifiers that wait.
const MOST_OF_ALL: usize = 1 << 15;

/// The waiting frames of one identifier, with their numbers in the log.
#[derive(Debug, Default)]
pub(super) struct HeldFrames {
    frames: VecDeque<(u64, CanFrame)>,
    /// Frames that waited too long. They are counted, never given out.
    pub let_go: u64,
}

/// How many frames wait altogether.
#[derive(Debug, Default)]
pub(super) struct HeldTotal(usize);

impl HeldFrames {
    pub fn hold(&mut self, number: u64, frame: &CanFrame, all: &mut HeldTotal) {
        if self.frames.len() >= MOST_OF_ONE || all.0 >= MOST_OF_ALL {
            self.let_go += 1;
            if self.frames.pop_front().is_none() {
                return;
            }
            all.0 -= 1;
        }
        self.frames.push_back((number, frame.clone()));
        all.0 += 1;
    }

    /// Gives all of them out.
    pub fn release(&mut self, all: &mut HeldTotal, into: &mut Vec<(u64, CanFrame)>) {
        all.0 -= self.frames.len();
        into.extend(std::mem::take(&mut self.frames));
    }

    /// Lets all of them go.
    pub fn forget(&mut self, all: &mut HeldTotal) {
        all.0 -= self.frames.len();
        self.frames = VecDeque::new();
    }
}

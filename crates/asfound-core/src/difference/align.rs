//! Lays two contents of a record side by side, also when their lengths differ.

use similar::{Algorithm, DiffOp, capture_diff_slices};

use crate::value::HexBytes;

/// A run of bytes in the alignment of two contents of a record.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ByteRun {
    /// The same on both sides.
    Same {
        /// Place in the content as found.
        at: usize,
        /// Place in the content as left.
        at_left: usize,
        /// The bytes.
        bytes: HexBytes,
    },
    /// Different, inserted (nothing as found) or taken out (nothing as left).
    Different {
        /// Place in the content as found.
        at: usize,
        /// Place in the content as left.
        at_left: usize,
        /// The bytes as found.
        found: HexBytes,
        /// The bytes as left.
        left: HexBytes,
    },
}

/// Aligns two contents of a record.
///
/// Contents of the same length are laid byte against byte: there, a place means
/// the same on both sides. Where the length differs, as after a software update that
/// inserts a byte, the longest common runs are found, so that one inserted byte does not
/// show every later one as different.
pub fn align(found: &[u8], left: &[u8]) -> Vec<ByteRun> {
    match () {
        () if found.len() == left.len() => by_place(found, left),
        () if found.len().max(left.len()) <= LONGEST_ALIGNED => by_content(found, left),
        () => by_ends(found, left),
    }
}

/// The longest contents of which common runs are looked for: that takes time by the product of the lengths.
const LONGEST_ALIGNED: usize = 4095;

/// What is the same at both ends, and all in between as one difference.
fn by_ends(found: &[u8], left: &[u8]) -> Vec<ByteRun> {
    let head = found.iter().zip(left).take_while(|(a, b)| a == b).count();
    let (rest, rest_left) = (&found[head..], &left[head..]);
    let tail = rest.iter().rev().zip(rest_left.iter().rev()).take_while(|(a, b)| a == b).count();
    let (end, end_left) = (found.len() - tail, left.len() - tail);
    let runs = [
        run(true, 0, 0, &found[..head], &left[..head]),
        run(false, head, head, &found[head..end], &left[head..end_left]),
        run(true, end, end_left, &found[end..], &left[end_left..]),
    ];
    let holds = |run: &ByteRun| match run {
        ByteRun::Same { bytes, .. } => !bytes.is_empty(),
        ByteRun::Different { .. } => true,
    };
    runs.into_iter().filter(holds).collect()
}

fn by_place(found: &[u8], left: &[u8]) -> Vec<ByteRun> {
    let mut runs = Vec::new();
    let mut at = 0;
    while at < found.len() {
        let same = found[at] == left[at];
        let length = (at..found.len()).take_while(|&i| (found[i] == left[i]) == same).count();
        runs.push(run(same, at, at, &found[at..at + length], &left[at..at + length]));
        at += length;
    }
    runs
}

fn by_content(found: &[u8], left: &[u8]) -> Vec<ByteRun> {
    capture_diff_slices(Algorithm::Myers, found, left)
        .into_iter()
        .map(|op| {
            let (old, new) = (op.old_range(), op.new_range());
            let same = matches!(op, DiffOp::Equal { .. });
            run(same, old.start, new.start, &found[old], &left[new])
        })
        .collect()
}

fn run(same: bool, at: usize, at_left: usize, found: &[u8], left: &[u8]) -> ByteRun {
    let hex = |bytes: &[u8]| HexBytes::from(bytes.to_vec());
    if same {
        ByteRun::Same { at, at_left, bytes: hex(found) }
    } else {
        ByteRun::Different { at, at_left, found: hex(found), left: hex(left) }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    #[test]
    fn an_inserted_byte_is_one_difference() {
        let runs = align(&[1, 2, 3, 4], &[9, 1, 2, 3, 4]);
        let different: Vec<_> = runs.iter().filter(|run| matches!(run, ByteRun::Different { .. })).collect();
        assert_eq!(
            different,
            [&ByteRun::Different { at: 0, at_left: 0, found: HexBytes::default(), left: vec![9].into() }]
        );
    }

    #[test]
    fn long_contents_are_aligned_by_their_ends() {
        let found = vec![7; 1 << 20];
        let left = [&found[..10], &[1, 2][..], &found[12..], &found[..1]].concat();
        let runs = align(&found, &left);
        let lengths = |run: &ByteRun| match run {
            ByteRun::Same { bytes, .. } => (bytes.len(), bytes.len()),
            ByteRun::Different { found, left, .. } => (found.len(), left.len()),
        };
        assert_eq!(runs.iter().map(lengths).collect::<Vec<_>>(), [(10, 10), (1, 2), ((1 << 20) - 11, (1 << 20) - 11)]);
    }

    proptest! {
        #[test]
        fn the_runs_rebuild_both_sides(found in prop::collection::vec(0u8..4, 0..12), left in prop::collection::vec(0u8..4, 0..12)) {
            let (mut a, mut b) = (Vec::<u8>::new(), Vec::<u8>::new());
            for run in align(&found, &left) {
                match run {
                    ByteRun::Same { at, at_left, bytes } => {
                        prop_assert_eq!((at, at_left), (a.len(), b.len()));
                        a.extend(bytes.as_slice());
                        b.extend(bytes.as_slice());
                    }
                    ByteRun::Different { at, at_left, found, left } => {
                        prop_assert_eq!((at, at_left), (a.len(), b.len()));
                        prop_assert_ne!(&found, &left);
                        a.extend(found.as_slice());
                        b.extend(left.as_slice());
                    }
                }
            }
            prop_assert_eq!(a, found);
            prop_assert_eq!(b, left);
        }
    }
}

//! What one content has otherwise than another, in the form of git's packs (gitformat-pack, "Deltified representation").

use std::collections::HashMap;

/// Contents are compared in blocks of this many bytes.
const BLOCK: usize = 16;
/// At most so many bytes are copied, or inserted, by one instruction.
const COPIED: usize = 0xffff;
const INSERTED: usize = 0x7f;

/// How `target` is made of `base`; nothing where that would not be much shorter than `target` itself.
pub(super) fn delta(base: &[u8], target: &[u8]) -> Option<Vec<u8>> {
    // An offset has 32 bits.
    u32::try_from(base.len()).ok()?;
    let mut out = Vec::with_capacity(target.len() / 4 + 32);
    length(base.len(), &mut out);
    length(target.len(), &mut out);
    let blocks = blocks(base);
    let (mut packed, mut at) = (0, 0);
    while let Some(block) = target[at..].first_chunk::<BLOCK>() {
        let Some(&from) = blocks.get(block) else {
            at += 1;
            continue;
        };
        let before = equal(base[..from].iter().rev(), target[packed..at].iter().rev());
        let after = equal(base[from + BLOCK..].iter(), target[at + BLOCK..].iter());
        let (start, end) = (at - before, at + BLOCK + after);
        insert(&target[packed..start], &mut out);
        copy(from - before, end - start, &mut out);
        (packed, at) = (end, end);
        if out.len() > target.len() / 2 {
            return None;
        }
    }
    insert(&target[packed..], &mut out);
    (out.len() <= target.len() / 2).then_some(out)
}

/// Where each block of the base begins; of equal ones the first.
fn blocks(base: &[u8]) -> HashMap<&[u8; BLOCK], usize> {
    let mut blocks = HashMap::with_capacity(base.len() / BLOCK);
    for (at, block) in base.as_chunks::<BLOCK>().0.iter().enumerate() {
        blocks.entry(block).or_insert(at * BLOCK);
    }
    blocks
}

fn equal<'a>(one: impl Iterator<Item = &'a u8>, other: impl Iterator<Item = &'a u8>) -> usize {
    one.zip(other).take_while(|(a, b)| a == b).count()
}

/// Seven bits a byte, the lowest first; all but the last have the highest bit set.
fn length(mut length: usize, out: &mut Vec<u8>) {
    while length > 0x7f {
        out.push(lowest(length) | 0x80);
        length >>= 7;
    }
    out.push(lowest(length));
}

fn lowest(number: usize) -> u8 {
    number.to_le_bytes()[0]
}

fn insert(bytes: &[u8], out: &mut Vec<u8>) {
    for piece in bytes.chunks(INSERTED) {
        out.push(lowest(piece.len()));
        out.extend_from_slice(piece);
    }
}

/// A byte that says which bytes of offset and length follow, which are those that are not zero.
fn copy(from: usize, length: usize, out: &mut Vec<u8>) {
    let mut done = 0;
    while done < length {
        let piece = (length - done).min(COPIED);
        let (offset, size) = ((from + done).to_le_bytes(), piece.to_le_bytes());
        let head = out.len();
        out.push(0x80);
        for (bit, byte) in offset[..4].iter().chain(&size[..2]).enumerate().filter(|(_, byte)| **byte != 0) {
            out[head] |= 1 << bit;
            out.push(*byte);
        }
        done += piece;
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// Follows the instructions, as the format has them.
    fn applied(base: &[u8], delta: &[u8]) -> Vec<u8> {
        let mut rest = delta.iter().copied();
        let mut number = || {
            let (mut number, mut shift) = (0, 0);
            loop {
                let byte = rest.next().unwrap();
                number |= usize::from(byte & 0x7f) << shift;
                shift += 7;
                if byte & 0x80 == 0 {
                    return number;
                }
            }
        };
        assert_eq!(number(), base.len());
        let length = number();
        let mut out = Vec::new();
        while let Some(head) = rest.next() {
            if head & 0x80 == 0 {
                assert_ne!(head, 0, "it is reserved");
                out.extend(rest.by_ref().take(usize::from(head)));
                continue;
            }
            let mut bytes = |bits: std::ops::Range<u32>| {
                let first = bits.start;
                bits.filter(|bit| head >> bit & 1 == 1)
                    .fold(0, |number, bit| number | usize::from(rest.next().unwrap()) << (8 * (bit - first)))
            };
            let (from, size) = (bytes(0..4), bytes(4..7));
            let size = if size == 0 { 0x10000 } else { size };
            out.extend_from_slice(&base[from..from + size]);
        }
        assert_eq!(out.len(), length);
        out
    }

    fn made_of(base: &[u8], cuts: &[(usize, usize, Vec<u8>)]) -> Vec<u8> {
        let piece = |(from, length, more): &(usize, usize, Vec<u8>)| {
            let from = from % (base.len() + 1);
            let to = (from + length).min(base.len());
            [&base[from..to], more.as_slice()].concat()
        };
        cuts.iter().flat_map(piece).collect()
    }

    proptest! {
        #[test]
        fn a_content_is_made_again(
            base in proptest::collection::vec(any::<u8>(), 0..2_000),
            cuts in proptest::collection::vec(
                (any::<usize>(), 0..1_500_usize, proptest::collection::vec(any::<u8>(), 0..200)), 0..6),
        ) {
            let target = made_of(&base, &cuts);
            if let Some(delta) = delta(&base, &target) {
                prop_assert_eq!(applied(&base, &delta), &target[..]);
                prop_assert!(delta.len() <= target.len() / 2);
            }
        }
    }

    #[test]
    fn a_line_altered_in_a_long_file_takes_little() {
        let lines = |altered: usize| -> Vec<u8> {
            let line =
                |n: usize| format!("{:064x}  modules/m{n}.toml\n", n * 7 + usize::from(n == altered) * 1_000_003);
            (0..3_000).map(line).collect::<String>().into_bytes()
        };
        let (base, target) = (lines(9_999), lines(1_700));
        let delta = delta(&base, &target).unwrap();
        assert!(base.len() > 2 * COPIED && delta.len() < 100, "{}", delta.len());
        assert_eq!(applied(&base, &delta), target);
    }

    #[test]
    fn what_shares_nothing_is_not_made_of_another() {
        assert_eq!(delta(b"", b"abc"), None);
        assert_eq!(delta(&[1; 100], &[2; 100]), None);
        assert_eq!(delta(b"short", b"short"), None);
    }
}

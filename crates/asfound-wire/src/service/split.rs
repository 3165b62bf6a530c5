//! Several records in one response, told apart.

/// How a response to a request for records comes apart.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SplitResponse<'a> {
    /// In one way only: each record with its bytes, in the order asked. Records that the module left out are not in it.
    Records(Vec<(u16, &'a [u8])>),
    /// In more than one way: it cannot be told.
    Ambiguous,
    /// In no way: the response does not belong to the request, or a known length is not true.
    Impossible,
}

/// What has been counted at most; beyond it only "more than one" matters.
const SEVERAL: u8 = 2;

/// Takes the bytes of a response after `62` apart into the records that were asked for.
///
/// Each part begins with its identifier. `length` tells how many bytes a record has, where a definition
/// or a single response elsewhere in the log says so; a record of unknown length has at least one byte. All records asked for are
/// looked for first; only if that is impossible, ways are sought in which the module left some out (ISO 14229-1
/// lets it leave out what it does not support).
pub fn split_records<'a>(asked: &[u16], data: &'a [u8], length: &dyn Fn(u16) -> Option<usize>) -> SplitResponse<'a> {
    // One record needs no length: it is all there is.
    if let [record] = asked {
        return match data.split_first_chunk::<2>() {
            Some((id, bytes)) if u16::from_be_bytes(*id) == *record && !bytes.is_empty() => {
                SplitResponse::Records(vec![(*record, bytes)])
            }
            _ => SplitResponse::Impossible,
        };
    }
    let lengths: Vec<Option<usize>> = asked.iter().map(|record| length(*record)).collect();
    match one_way(asked, &lengths, data, false) {
        SplitResponse::Impossible => one_way(asked, &lengths, data, true),
        found => found,
    }
}

fn one_way<'a>(asked: &[u16], lengths: &[Option<usize>], data: &'a [u8], leave_out: bool) -> SplitResponse<'a> {
    let (records, bytes) = (asked.len(), data.len());
    // More than any module answers: not worth the memory.
    if (records + 1) * (bytes + 1) > 1 << 22 {
        return SplitResponse::Ambiguous;
    }
    let place = |record: usize, byte: usize| record * (bytes + 1) + byte;
    // ways[record, byte]: in how many ways the records from `record` on fill the bytes from `byte` on.
    let mut ways = vec![0u8; (records + 1) * (bytes + 1)];
    ways[place(records, bytes)] = 1;
    for record in (0..records).rev() {
        // For a record of unknown length: ways of any end behind.
        let mut behind = vec![0u8; bytes + 2];
        for byte in (0..=bytes).rev() {
            behind[byte] = (behind[byte + 1] + ways[place(record + 1, byte)]).min(SEVERAL);
        }
        for byte in 0..=bytes {
            let mut here = if leave_out { ways[place(record + 1, byte)] } else { 0 };
            if begins(asked[record], data, byte) {
                here += match lengths[record] {
                    Some(length) if byte + 2 + length <= bytes => ways[place(record + 1, byte + 2 + length)],
                    Some(_) => 0,
                    None => behind.get(byte + 3).copied().unwrap_or(0),
                };
            }
            ways[place(record, byte)] = here.min(SEVERAL);
        }
    }
    match ways[place(0, 0)] {
        0 => return SplitResponse::Impossible,
        1 => {}
        _ => return SplitResponse::Ambiguous,
    }
    // There is one way; go it.
    let (mut found, mut byte) = (Vec::new(), 0);
    for record in 0..records {
        if leave_out && ways[place(record + 1, byte)] > 0 {
            continue;
        }
        let first = byte + 2;
        let end = match lengths[record] {
            Some(length) => first + length,
            None => (first + 1..=bytes).find(|end| ways[place(record + 1, *end)] > 0).unwrap_or(bytes),
        };
        found.push((asked[record], &data[first..end]));
        byte = end;
    }
    if found.is_empty() { SplitResponse::Impossible } else { SplitResponse::Records(found) }
}

fn begins(record: u16, data: &[u8], byte: usize) -> bool {
    data.get(byte..byte + 2).is_some_and(|id| id == record.to_be_bytes())
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn unknown(_: u16) -> Option<usize> {
        None
    }

    #[test]
    fn identifiers_that_come_once_tell_the_records_apart() {
        let data = [0xF1, 0x90, 1, 2, 3, 0xF1, 0x87, 4];
        let found = split_records(&[0xF190, 0xF187], &data, &unknown);
        assert_eq!(found, SplitResponse::Records(vec![(0xF190, &[1, 2, 3]), (0xF187, &[4])]));
    }

    #[test]
    fn an_identifier_inside_the_bytes_makes_it_ambiguous_until_a_length_is_known() {
        let data = [0x10, 0x01, 7, 0x10, 0x02, 0x10, 0x02, 9];
        assert_eq!(split_records(&[0x1001, 0x1002], &data, &unknown), SplitResponse::Ambiguous);
        let known = |record| (record == 0x1001).then_some(3);
        let found = split_records(&[0x1001, 0x1002], &data, &known);
        assert_eq!(found, SplitResponse::Records(vec![(0x1001, &[7, 0x10, 0x02]), (0x1002, &[9])]));
    }

    #[test]
    fn a_record_that_was_left_out_is_not_there() {
        let data = [0x10, 0x02, 5];
        assert_eq!(split_records(&[0x1001, 0x1002], &data, &unknown), SplitResponse::Records(vec![(0x1002, &[5])]));
        assert_eq!(split_records(&[0x1001, 0x1003], &data, &unknown), SplitResponse::Impossible);
        assert_eq!(split_records(&[0x1001], &data, &unknown), SplitResponse::Impossible);
    }

    /// All ways, by trying.
    fn all<'a>(asked: &[u16], data: &'a [u8], length: &dyn Fn(u16) -> Option<usize>) -> Vec<Vec<(u16, &'a [u8])>> {
        let Some((record, rest)) = asked.split_first() else {
            return if data.is_empty() { vec![Vec::new()] } else { Vec::new() };
        };
        let mut found = Vec::new();
        if begins(*record, data, 0) {
            for end in 3..=data.len() {
                if length(*record).is_none_or(|length| length + 2 == end) {
                    for mut tail in all(rest, &data[end..], length) {
                        tail.insert(0, (*record, &data[2..end]));
                        found.push(tail);
                    }
                }
            }
        }
        found
    }

    proptest! {
        #[test]
        fn the_way_is_the_only_one_of_all(
            parts in prop::collection::vec((0u16..4, prop::collection::vec(0u8..3, 1..4)), 2..4),
            known in prop::collection::vec(any::<bool>(), 4),
        ) {
            let asked: Vec<u16> = parts.iter().map(|(record, _)| *record).collect();
            let data: Vec<u8> =
                parts.iter().flat_map(|(record, bytes)| record.to_be_bytes().into_iter().chain(bytes.clone())).collect();
            let length = |record: u16| {
                known[usize::from(record)]
                    .then(|| parts.iter().find(|(other, _)| *other == record).map(|(_, bytes)| bytes.len()))
                    .flatten()
            };
            let ways = all(&asked, &data, &length);
            match (split_records(&asked, &data, &length), ways.len()) {
                (SplitResponse::Records(found), 1) => prop_assert_eq!(&found, &ways[0]),
                // No way: equal records of different lengths, of which what is said of the length is not true of all.
                (SplitResponse::Ambiguous, 2..) | (_, 0) => {}
                (found, count) => prop_assert!(false, "{found:?} with {count} ways"),
            }
        }
    }
}

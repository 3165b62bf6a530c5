//! What messages mean, and messages of diagnostics on IP out of streams.

use asfound_wire::ip::{Framing, FramingStep};
use asfound_wire::service::{Request, Response, SplitResponse, split_records};

fn steps(framing: &mut Framing) -> Vec<FramingStep> {
    std::iter::from_fn(|| framing.step()).collect()
}

/// A message as request and as response; several records in it; and the same bytes as a stream in two parts.
pub fn bus_services(data: &[u8]) {
    if let Request::Read { records } = Request::read(data) {
        let again: Vec<u8> = records.iter().flat_map(|record| record.to_be_bytes()).collect();
        assert_eq!(again, data[1..]);
    }
    if let Response::Read { data } = Response::read(data) {
        let lengths = |record: u16| (record & 1 == 0).then_some(usize::from(record & 7));
        // The first half of the identifiers that could be meant.
        let asked: Vec<u16> = data.chunks_exact(2).take(6).map(|pair| u16::from_be_bytes([pair[0], pair[1]])).collect();
        if let SplitResponse::Records(records) = split_records(&asked, data, &lengths) {
            let together: Vec<u8> = records
                .iter()
                .flat_map(|(record, bytes)| record.to_be_bytes().into_iter().chain(bytes.to_vec()))
                .collect();
            assert_eq!(together, data);
            assert!(records.len() <= asked.len());
        }
    }
    let (mut whole, mut parts) = (Framing::default(), Framing::default());
    whole.add(data);
    let all = steps(&mut whole);
    let middle = data.len() / 2;
    parts.add(&data[..middle]);
    let mut in_parts = steps(&mut parts);
    parts.add(&data[middle..]);
    in_parts.extend(steps(&mut parts));
    let messages = |steps: Vec<FramingStep>| -> Vec<FramingStep> {
        steps.into_iter().filter(|step| matches!(step, FramingStep::Message(_))).collect()
    };
    assert_eq!(messages(all), messages(in_parts));
}

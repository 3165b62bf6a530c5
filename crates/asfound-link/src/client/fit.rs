//! Whether a response belongs to a request.

use asfound_wire::service::Refusal;

use crate::request::{CodesReport, ReadRequest};

/// What a response is to a request.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Fit {
    /// The positive response to it.
    Positive,
    /// A refusal of its service. Nothing in it says that this very request was refused.
    Refused(Refusal),
    /// A positive response to another request of the same service.
    Sibling,
    /// None of these.
    Foreign,
}

pub(super) fn fit(request: ReadRequest, response: &[u8]) -> Fit {
    let service = request.service();
    match response {
        [0x7F, refused, code] if *refused == service => Fit::Refused(Refusal(*code)),
        [positive, rest @ ..] if *positive == service + 0x40 => {
            if is_positive(request, rest) {
                Fit::Positive
            } else {
                Fit::Sibling
            }
        }
        _ => Fit::Foreign,
    }
}

fn is_positive(request: ReadRequest, rest: &[u8]) -> bool {
    let Some(data) = rest.strip_prefix(request.echoed().as_slice()) else { return false };
    match request {
        // The status bits that are supported, the format, the count.
        ReadRequest::Codes(CodesReport::Count { .. }) => data.len() == 4,
        // The status bits that are supported, then four bytes for each code.
        ReadRequest::Codes(CodesReport::List { .. }) => data.len() % 4 == 1,
        ReadRequest::Codes(CodesReport::Snapshots { code } | CodesReport::Extended { code }) => {
            data.len() >= 4 && data[..3] == code
        }
        ReadRequest::Present => data.is_empty(),
        ReadRequest::Session(_) => data.is_empty() || data.len() == 4,
        ReadRequest::Record(_) | ReadRequest::Current(_) | ReadRequest::Stored { .. } | ReadRequest::Vehicle(_) => {
            !data.is_empty()
        }
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::request::tests::any_request;

    #[test]
    fn a_response_belongs_to_the_request_that_it_repeats() {
        let vin = ReadRequest::Record(0xF190);
        assert_eq!(fit(vin, &[0x62, 0xF1, 0x90, 0x47]), Fit::Positive);
        assert_eq!(fit(vin, &[0x62, 0xF1, 0x87, 0x47]), Fit::Sibling);
        assert_eq!(fit(vin, &[0x62, 0xF1, 0x90]), Fit::Sibling);
        assert_eq!(fit(vin, &[0x7F, 0x22, 0x31]), Fit::Refused(Refusal(0x31)));
        assert_eq!(fit(vin, &[0x7F, 0x19, 0x31]), Fit::Foreign);
        assert_eq!(fit(vin, &[0x7F, 0x22]), Fit::Foreign);
        assert_eq!(fit(vin, &[0x59, 0x02, 0xFF]), Fit::Foreign);
        assert_eq!(fit(vin, &[]), Fit::Foreign);
        let list = ReadRequest::Codes(CodesReport::List { mask: 9 });
        assert_eq!(fit(list, &[0x59, 0x02, 0xFF]), Fit::Positive);
        assert_eq!(fit(list, &[0x59, 0x02, 0xFF, 1, 2, 3, 9]), Fit::Positive);
        assert_eq!(fit(list, &[0x59, 0x02, 0xFF, 1, 2, 3]), Fit::Sibling);
        let snapshots = ReadRequest::Codes(CodesReport::Snapshots { code: [1, 2, 3] });
        assert_eq!(fit(snapshots, &[0x59, 0x04, 1, 2, 3, 9]), Fit::Positive);
        assert_eq!(fit(snapshots, &[0x59, 0x04, 1, 2, 4, 9]), Fit::Sibling);
    }

    proptest! {
        #[test]
        fn every_response_is_something(request in any_request(), response in prop::collection::vec(any::<u8>(), 0..12)) {
            let found = fit(request, &response);
            if found == Fit::Positive {
                prop_assert_eq!(response[0], request.service() + 0x40);
            }
        }
    }
}

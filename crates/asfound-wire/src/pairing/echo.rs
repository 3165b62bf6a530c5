//! What a response repeats of its request.

/// Services of ISO 14229-1, ISO 14230-3 and ISO 15031-5 (SAE J1979), as requests. Numbers from memory, those of
/// ISO 14229-1 agreed by udsoncan 1.26.1.
const fn is_service(request: u8) -> bool {
    matches!(request,
        0x01..=0x0A
        | 0x10..=0x14 | 0x17..=0x1A
        | 0x20..=0x24 | 0x26..=0x2A | 0x2C..=0x38
        | 0x3A | 0x3B | 0x3D | 0x3E
        | 0x80..=0x88)
}

/// The bit that a positive response adds to its service.
const RESPONSE: u8 = 0x40;
/// The first byte of a negative response.
pub(crate) const NEGATIVE: u8 = 0x7F;

/// Whether a message that begins so is a response.
pub(crate) const fn is_response(first: u8) -> bool {
    first & RESPONSE != 0
}

/// Whether a message can begin so.
pub(super) const fn is_known(first: u8) -> bool {
    first == NEGATIVE || is_service(first & !RESPONSE)
}

/// How many bytes after the service a positive response repeats.
pub(crate) const fn repeated(service: u8) -> usize {
    match service {
        // Routine control: type and identifier.
        0x31 => 3,
        // Record identifiers.
        0x22 | 0x24 | 0x2E | 0x2F => 2,
        // Sub-functions, block counts, local identifiers.
        0x01 | 0x02 | 0x05 | 0x06 | 0x08 | 0x09 | 0x10 | 0x11 | 0x19 | 0x1A | 0x21 | 0x27 | 0x28 | 0x29 | 0x2C
        | 0x30 | 0x36 | 0x3B | 0x3E | 0x83 | 0x85 | 0x86 | 0x87 => 1,
        _ => 0,
    }
}

/// Whether the second byte of a request is a sub-function, whose highest bit asks for no positive response.
pub(crate) const fn has_sub_function(service: u8) -> bool {
    matches!(service, 0x10 | 0x11 | 0x19 | 0x27 | 0x28 | 0x29 | 0x2C | 0x31 | 0x3E | 0x83 | 0x85 | 0x86 | 0x87)
}

/// How many bytes of a request its response repeats, not counting the service and zeros, which prove nothing; `None` where it does
/// not answer it.
///
/// `response` may be cut after its fourth byte; `length` is that of the whole response.
pub(crate) fn echo(request: &[u8], response: &[u8], length: usize) -> Option<u8> {
    let (service, first) = (*request.first()?, *response.first()?);
    if first == NEGATIVE {
        // Three bytes: 7F, the service, a code that exists.
        return (length == 3 && response.get(1) == Some(&service) && is_refusal(*response.get(2)?)).then_some(1);
    }
    if first != service | RESPONSE || is_response(service) {
        return None;
    }
    if service == 0x22 && request.len() > 3 {
        // Of several records the module may leave some out, so any of them may come first.
        let said = response.get(1..3)?;
        let asked = request[1..].as_chunks::<2>().0.iter().any(|record| record == said);
        return asked.then(|| said.iter().map(|byte| u8::from(*byte != 0)).sum());
    }
    let mut same = 0;
    for at in 1..=repeated(service) {
        let (mut asked, said) = (*request.get(at)?, *response.get(at)?);
        // A session of ISO 14230-3 (10 81) is repeated with its highest bit, a sub-function of ISO 14229-1 without it.
        if at == 1 && has_sub_function(service) && !(service == 0x10 && asked == said) {
            asked &= 0x7F;
        }
        if asked != said {
            return None;
        }
        same += u8::from(said != 0);
    }
    Some(same)
}

/// Response codes that ISO 14229-1 or ISO 14230-3 define, or leave to makers.
const fn is_refusal(code: u8) -> bool {
    matches!(code, 0x10..=0x14 | 0x21..=0x26 | 0x31..=0x37 | 0x38..=0x5D | 0x70..=0x7F | 0x80..=0x94 | 0xF0..=0xFE)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_response_repeats_its_request() {
        // Requests and responses as udsoncan 1.26.1 builds them.
        let record = [0x62, 0xF1, 0x90, 0x31];
        assert_eq!(echo(&[0x22, 0xF1, 0x90], &record, 20), Some(2));
        assert_eq!(echo(&[0x22, 0xF1, 0x87], &record, 20), None);
        assert_eq!(echo(&[0x3E, 0x80], &[0x7E, 0x00], 2), Some(0));
        assert_eq!(echo(&[0x31, 0x01, 0x02, 0x03], &[0x71, 0x01, 0x02, 0x03], 4), Some(3));
        assert_eq!(echo(&[0x2E, 0x10, 0x00, 0x05], &[0x7F, 0x2E, 0x33], 3), Some(1));
        assert_eq!(echo(&[0x22, 0xF1, 0x90], &[0x7F, 0x2E, 0x33], 3), None);
        assert_eq!(echo(&[0x14, 0xFF, 0xFF, 0xFF], &[0x54], 1), Some(0));
    }
}

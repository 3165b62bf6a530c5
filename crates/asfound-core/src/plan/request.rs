//! The requests of ISO 14229-1 that a step stands for, for those who write raw.

use crate::names::RecordName;
use crate::value::HexBytes;

/// The service identifier of `ReadDataByIdentifier` (ISO 14229-1; as in udsoncan 1.26.1's tables).
const READ: u8 = 0x22;

/// The service identifier of `WriteDataByIdentifier` (ISO 14229-1; as in udsoncan 1.26.1's tables).
const WRITE: u8 = 0x2E;

/// The request that reads a record: `22`, then the data identifier, high byte first.
///
/// Nothing for a block without a data identifier.
pub fn read_request(record: &RecordName) -> Option<HexBytes> {
    let [high, low] = record.identifier()?.to_be_bytes();
    Some(HexBytes::from(vec![READ, high, low]))
}

/// The request that writes a record: `2E`, then the data identifier, high byte first, then the data.
///
/// Nothing for a block without a data identifier.
pub fn write_request(record: &RecordName, data: &HexBytes) -> Option<HexBytes> {
    let [high, low] = record.identifier()?.to_be_bytes();
    let mut request = vec![WRITE, high, low];
    request.extend_from_slice(data.as_slice());
    Some(HexBytes::from(request))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The requests that udsoncan 1.26.1 makes of the same identifiers and data:
    /// `ReadDataByIdentifier.make_request([did], config).get_payload()` and
    /// `WriteDataByIdentifier.make_request(did, data, config).get_payload()`.
    #[test]
    fn agree_with_udsoncan() {
        for (record, data, read, write) in [
            ("0D01", "15 03 40 58", "22 0D 01", "2E 0D 01 15 03 40 58"),
            ("0B10", "01 7C", "22 0B 10", "2E 0B 10 01 7C"),
            ("F1A0", "00", "22 F1 A0", "2E F1 A0 00"),
            ("0000", "FF EE", "22 00 00", "2E 00 00 FF EE"),
            ("00FF", "A5 A5 A5 A5 A5 A5 A5 A5 A5", "22 00 FF", "2E 00 FF A5 A5 A5 A5 A5 A5 A5 A5 A5"),
        ] {
            let record: RecordName = record.parse().unwrap();
            assert_eq!(read_request(&record).unwrap().to_string(), read);
            assert_eq!(write_request(&record, &data.parse().unwrap()).unwrap().to_string(), write);
        }
    }

    #[test]
    fn a_block_without_identifier_has_none() {
        let block: RecordName = "fade".parse().unwrap();
        assert_eq!(read_request(&block), None);
        assert_eq!(write_request(&block, &HexBytes::from(vec![1])), None);
    }
}

//! The requests of ISO 14229-1 that a step stands for, for those who write raw.

use crate::names::RecordName;
use crate::value::HexBytes;

/// The service identifier of `ReadDataByIdentifier` (ISO 14229-1; as in udsoncan 1.26.1's tables).
const READ: u8 = 0x22;

/// The service identifier of `WriteDataByIdentifier` (ISO 14229-1; as in udsoncan 1.26.1's tables).
const WRITE: u8 = 0x2E;

/// The service identifier of `readDataByLocalIdentifier` (ISO 14230-3, from memory).
const READ_LOCAL: u8 = 0x21;

/// The service identifier of `writeDataByLocalIdentifier` (ISO 14230-3, from memory).
const WRITE_LOCAL: u8 = 0x3B;

/// The request that reads a record: the service, then its identifier, high byte first.
///
/// Nothing for a block without an identifier, and for one of three or four bytes, which may be read by several services.
pub fn read_request(record: &RecordName) -> Option<HexBytes> {
    head(record, READ, READ_LOCAL).map(HexBytes::from)
}

/// The request that writes a record: the service, then its identifier, high byte first, then the data.
///
/// Nothing where [`read_request`] gives nothing.
pub fn write_request(record: &RecordName, data: &HexBytes) -> Option<HexBytes> {
    let mut request = head(record, WRITE, WRITE_LOCAL)?;
    request.extend_from_slice(data.as_slice());
    Some(HexBytes::from(request))
}

fn head(record: &RecordName, by_identifier: u8, by_local: u8) -> Option<Vec<u8>> {
    match record {
        RecordName::Identifier(number) => {
            let [high, low] = number.to_be_bytes();
            Some(vec![by_identifier, high, low])
        }
        RecordName::Local(number) => Some(vec![by_local, *number]),
        RecordName::Long(_) | RecordName::Block(_) => None,
    }
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

    /// ISO 14230-3, from memory.
    #[test]
    fn a_local_identifier_has_services_of_its_own() {
        let record: RecordName = "local-1A".parse().unwrap();
        assert_eq!(read_request(&record).unwrap().to_string(), "21 1A");
        assert_eq!(write_request(&record, &"03 0F".parse().unwrap()).unwrap().to_string(), "3B 1A 03 0F");
    }

    #[test]
    fn a_block_without_identifier_has_none() {
        let block: RecordName = "fade".parse().unwrap();
        assert_eq!(read_request(&block), None);
        assert_eq!(write_request(&block, &HexBytes::from(vec![1])), None);
    }
}

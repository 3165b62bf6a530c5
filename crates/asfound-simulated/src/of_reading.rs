//! A vehicle made of a reading.

use asfound_core::names::{RecordName, Vin};
use asfound_core::reading::{ModuleReading, Reading};

use crate::module::{Module, StoredCode};
use crate::vehicle::Vehicle;

/// Security access denied (ISO 14229-1): why a module of the demonstration refuses a record.
const DENIED: u8 = 0x33;
/// Addresses for modules whose reading tells none.
const FIRST_FREE: u16 = 0x0100;

impl Vehicle {
    /// The vehicle that would give this reading. The module that holds the VIN's record, else the first, is the gateway, and answers for the
    /// whole vehicle: engine and vehicle standing still, supply voltage and odometer as the reading has them.
    ///
    /// Blocks that no identifier names are left out: nobody could ask for them.
    pub fn of_reading(reading: &Reading, vin: &Vin) -> Self {
        let mut vehicle = Self::default();
        vehicle.vin.copy_from_slice(vin.as_str().as_bytes());
        let mut free = FIRST_FREE..;
        for said in reading.modules.values() {
            let known = said.address.and_then(|address| u16::try_from(address.0).ok());
            let Some(address) = known.or_else(|| free.next()) else { continue };
            vehicle.modules.insert(address, module(said));
        }
        let holds_vin = vehicle.modules.iter().find(|(_, module)| module.records.contains_key(&0xF190));
        vehicle.gateway = holds_vin.or(vehicle.modules.iter().next()).map_or(0, |(address, _)| *address);
        if let Some(gateway) = vehicle.modules.get_mut(&vehicle.gateway) {
            gateway.parameters.insert(0x0C, vec![0, 0]);
            gateway.parameters.insert(0x0D, vec![0]);
            let volts = reading.supply_voltage.as_ref().and_then(|volts| volts.to_string().parse::<f64>().ok());
            if let Some(volts) = volts.filter(|volts| (0.0..65.0).contains(volts)) {
                #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 65,000 millivolts")]
                let millivolts = (volts * 1000.0).round() as u16;
                gateway.parameters.insert(0x42, millivolts.to_be_bytes().to_vec());
            }
            if let Some(tenths) = reading.odometer_km.and_then(|km| km.checked_mul(10)) {
                gateway.parameters.insert(0xA6, tenths.to_be_bytes().to_vec());
            }
        }
        vehicle
    }
}

fn module(said: &ModuleReading) -> Module {
    let mut module = Module { code_format: 0x01, ..Module::default() };
    for (identifier, text) in [
        (0xF187, &said.identity.part_number),
        (0xF191, &said.identity.hardware),
        (0xF189, &said.identity.software),
        (0xF18C, &said.identity.serial),
    ] {
        if let Some(text) = text {
            module.records.insert(identifier, text.as_bytes().to_vec());
        }
    }
    for (record, bytes) in &said.records {
        if let RecordName::Identifier(identifier) = record {
            module.records.insert(*identifier, bytes.as_slice().to_vec());
        }
    }
    let refused = said.refused.iter().filter_map(RecordName::identifier);
    module.refused.extend(refused.map(|identifier| (identifier, DENIED)));
    for reported in said.trouble_codes.iter().flatten() {
        let bytes = reported.code.to_bytes().map(asfound_core::value::HexBytes::into_vec).unwrap_or_default();
        let code = match bytes[..] {
            [a, b, c] => [a, b, c],
            [a, b] => [a, b, 0],
            _ => continue,
        };
        let status = reported.status.map_or(0x2F, |status| status.0);
        // One record with one identifier of one byte; extended data of one byte.
        let (snapshot, extended) = (vec![0x01, 0x01, 0xF4, 0x0D, code[1]], vec![0x01, 0x05]);
        module.codes.push(StoredCode { code, status, snapshot, extended });
    }
    module
}

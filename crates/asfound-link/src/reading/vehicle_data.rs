//! Values of the whole vehicle (SAE J1979; parameters and scalings from memory; all but the odometer held against scapy 2.8.0 in the tests of the
//! simulated vehicle).

use asfound_core::value::Decimal;

use super::script::{ENGINE_SPEED, ODOMETER, SUPPLY_VOLTAGE, VEHICLE_SPEED};
use super::survey::ModuleAnswers;
use crate::request::ReadRequest;

/// Values of the whole vehicle, as far as any module gives them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct VehicleData {
    /// The engine's speed in quarters of a revolution a minute.
    pub engine_quarters: Option<u16>,
    /// The vehicle's speed, in km/h.
    pub speed: Option<u8>,
    /// The supply voltage, in volts.
    pub supply_voltage: Option<Decimal>,
    /// The odometer, in whole kilometres.
    pub odometer_km: Option<u32>,
}

/// The values of the whole vehicle: of each the first that a module gives; of the speeds the highest.
pub fn vehicle_data<'a>(modules: impl Iterator<Item = &'a ModuleAnswers>) -> VehicleData {
    let mut data = VehicleData::default();
    for answers in modules {
        let value = |parameter| answers.answer(ReadRequest::Current(parameter)).and_then(|bytes| bytes.get(2..));
        if let Some([a]) = value(VEHICLE_SPEED) {
            data.speed = data.speed.max(Some(*a));
        }
        if let Some([a, b]) = value(ENGINE_SPEED) {
            data.engine_quarters = data.engine_quarters.max(Some(u16::from_be_bytes([*a, *b])));
        }
        if let (None, Some([a, b])) = (&data.supply_voltage, value(SUPPLY_VOLTAGE)) {
            data.supply_voltage = Some(volts(u16::from_be_bytes([*a, *b])));
        }
        if let (None, Some(&[a, b, c, d])) = (data.odometer_km, value(ODOMETER)) {
            // Tenths of a kilometre.
            data.odometer_km = Some(u32::from_be_bytes([a, b, c, d]) / 10);
        }
    }
    data
}

/// Millivolts in volts, without zeros at the end.
fn volts(millivolts: u16) -> Decimal {
    let text = format!("{}.{:03}", millivolts / 1000, millivolts % 1000);
    text.trim_end_matches('0').trim_end_matches('.').parse().expect("digits with at most one point are a decimal")
}

#[cfg(test)]
mod tests {
    use super::super::survey::Asked;
    use super::*;
    use crate::client::Outcome;

    #[test]
    fn values_are_scaled_as_the_standard_says() {
        let answers = |all: &[(u8, &[u8])]| ModuleAnswers {
            asked: all
                .iter()
                .map(|(parameter, bytes)| Asked {
                    request: ReadRequest::Current(*parameter),
                    outcome: Outcome::Answered([&[0x41, *parameter][..], bytes].concat()),
                })
                .collect(),
            left: Vec::new(),
        };
        let first =
            answers(&[(0x0D, &[0]), (0x0C, &[0x0C, 0x80]), (0x42, &[0x31, 0x38]), (0xA6, &[0, 0x0C, 0xD9, 0x74])]);
        let second = answers(&[(0x0D, &[50]), (0x42, &[0x2E, 0xE0])]);
        let found = vehicle_data([&first, &second].into_iter());
        assert_eq!(found.engine_quarters, Some(3200));
        assert_eq!(found.speed, Some(50));
        assert_eq!(found.supply_voltage, Some("12.6".parse().unwrap()));
        assert_eq!(found.odometer_km, Some(84_210));
        assert_eq!(vehicle_data([&second].into_iter()).supply_voltage, Some("12".parse().unwrap()));
        assert_eq!(vehicle_data(std::iter::empty()), VehicleData::default());
        // A wrong length is no value.
        assert_eq!(vehicle_data([&answers(&[(0x0D, &[0, 0])])].into_iter()).speed, None);
    }
}

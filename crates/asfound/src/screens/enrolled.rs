//! What `enrol` shows.

use std::path::PathBuf;

use asfound_core::entry::Vehicle;
use asfound_core::names::{CheckDigit, Vin};
use serde_json::{Value, json};

use super::shared::{moment, or_nothing};
use crate::setup::Screen;
use asfound_report::{Page, date_and_time};

/// A vehicle that was enrolled.
pub struct EnrolScreen {
    /// The vehicle.
    pub vehicle: Vehicle,
    /// The garage.
    pub garage: PathBuf,
    /// Whether the garage was made for it.
    pub made: bool,
}

impl Screen for EnrolScreen {
    fn text(&self, page: &mut Page) {
        let vehicle = &self.vehicle;
        page.head(&[vehicle.tag.as_str(), "entry 1", "enrolled", &date_and_time(vehicle.enrolled)]);
        page.pair("VIN", &or_nothing(vehicle.vin.as_ref()));
        page.pair("about", &or_nothing(vehicle.about.as_ref()));
        page.pair("garage", &format!("{}{}", self.garage.display(), if self.made { " (new)" } else { "" }));
        if let Some(CheckDigit::Differs { computed, found }) = vehicle.vin.as_ref().map(Vin::check_digit) {
            page.remark(&format!(
                "the ninth character of the VIN is {found}; by the check-digit rule of 49 CFR 565 it would be \
                 {computed}. Outside North America it need not follow the rule; else look at the VIN again."
            ));
        }
        page.gap();
        page.line(&format!(
            "Next: read the modules and file what they say as found: asfound read {} FILE --as found",
            vehicle.tag
        ));
    }

    fn json(&self) -> Value {
        let vin = self.vehicle.vin.as_ref();
        json!({
            "schema": "asfound/enrolled/1",
            "vehicle": {
                "tag": self.vehicle.tag,
                "vin": vin,
                "vin_check_digit_fits": vin.map(|vin| vin.check_digit() == CheckDigit::Fits),
                "about": self.vehicle.about,
                "enrolled": moment(self.vehicle.enrolled),
            },
            "garage": self.garage,
            "garage_made": self.made,
            "entry": 1,
        })
    }
}

//! Readings and names, written in a line.

use asfound_core::names::SettingPath;
use asfound_core::reading::{ModuleReading, Reading};
use asfound_core::situation::Engine;
use asfound_core::trouble_code::ReportedCode;
use asfound_core::value::HexBytes;

/// Bytes in hexadecimal.
pub fn hex(text: &str) -> HexBytes {
    text.parse().expect("hexadecimal")
}

/// Bytes as hexadecimal text.
pub fn shown(bytes: &[u8]) -> String {
    HexBytes::from(bytes.to_vec()).to_string()
}

/// `module.setting`.
pub fn path(text: &str) -> SettingPath {
    text.parse().expect("a setting's full name")
}

/// A reading that says nothing yet.
pub fn reading() -> Said {
    Said { reading: Reading::default(), module: None }
}

/// A reading that is written down module by module.
#[derive(Debug, Clone)]
pub struct Said {
    pub reading: Reading,
    module: Option<String>,
}

impl Said {
    /// What follows is said by this module.
    pub fn module(mut self, name: &str) -> Self {
        self.reading.modules.entry(name.parse().expect("a module")).or_default();
        self.module = Some(name.to_owned());
        self
    }

    pub fn software(mut self, version: &str) -> Self {
        self.at().identity.software = Some(version.to_owned());
        self
    }

    pub fn part_number(mut self, number: &str) -> Self {
        self.at().identity.part_number = Some(number.to_owned());
        self
    }

    pub fn serial(mut self, number: &str) -> Self {
        self.at().identity.serial = Some(number.to_owned());
        self
    }

    pub fn record(mut self, name: &str, bytes: &str) -> Self {
        self.at().records.insert(name.parse().expect("a record"), hex(bytes));
        self
    }

    pub fn value(mut self, setting: &str, value: &str) -> Self {
        self.at().settings.insert(setting.parse().expect("a setting"), value.to_owned());
        self
    }

    pub fn refused(mut self, record: &str) -> Self {
        self.at().refused.insert(record.parse().expect("a record"));
        self
    }

    /// Trouble codes, each with a status byte behind a `/` or without one; an empty text is a scan without codes.
    pub fn codes(mut self, codes: &str) -> Self {
        let reported = |text: &str| {
            let (code, status) = text.split_once('/').map_or((text, None), |(code, status)| (code, Some(status)));
            let status = status.map(|status| status.parse().expect("a status byte"));
            ReportedCode::new(code.parse().expect("a trouble code"), status)
        };
        self.at().trouble_codes = Some(codes.split_whitespace().map(reported).collect());
        self
    }

    pub fn volts(mut self, volts: &str) -> Self {
        self.reading.supply_voltage = Some(volts.parse().expect("a number"));
        self
    }

    pub fn engine(mut self, engine: Engine) -> Self {
        self.reading.situation.engine = Some(engine);
        self
    }

    pub fn silent(mut self, module: &str) -> Self {
        self.reading.situation.did_not_answer.insert(module.parse().expect("a module"));
        self
    }

    pub fn kilometres(mut self, odometer: u32) -> Self {
        self.reading.odometer_km = Some(odometer);
        self
    }

    fn at(&mut self) -> &mut ModuleReading {
        let name = self.module.as_deref().expect("a module comes first").parse().expect("a module");
        self.reading.modules.get_mut(&name).expect("the module was put in")
    }
}

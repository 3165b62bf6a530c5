//! Allowing settings to be altered for a time.

use asfound_core::history::History;
use asfound_core::names::SettingPath;
use asfound_core::plan::Targets;
use clap::Args;
use clap_complete::ArgValueCompleter;

use super::settings_of_vehicle;
use crate::failure::Failure;
use crate::lookup::setting_of;
use crate::setup::DefinedJournal;

/// Settings that a plan may alter for a time.
#[derive(Debug, Clone, Default, Args)]
pub struct ForATime {
    /// A setting that may be altered for a time, where rules leave no other way; it comes back to what it is
    #[arg(id = "for_a_time", long = "allow-for-a-time", value_name = "SETTING", add = ArgValueCompleter::new(settings_of_vehicle))]
    pub settings: Vec<SettingPath>,
}

impl ForATime {
    /// Says of targets which settings may be altered for a time.
    ///
    /// # Errors
    /// When no definition that fits the vehicle has such a setting.
    pub fn allow(&self, known: &DefinedJournal, history: &History, targets: &mut Targets<'_>) -> Result<(), Failure> {
        for path in &self.settings {
            if setting_of(history, &known.definitions, path)?.is_none() {
                return Err(Failure::usage(format!(
                    "no definition fits {}, so {path} cannot be altered for a time",
                    path.module
                )));
            }
            targets.allow_for_a_time(path.clone());
        }
        Ok(())
    }

    /// The same as options.
    pub fn as_options(&self) -> String {
        let options: Vec<String> = self.settings.iter().map(|path| format!(" --allow-for-a-time {path}")).collect();
        options.concat()
    }
}

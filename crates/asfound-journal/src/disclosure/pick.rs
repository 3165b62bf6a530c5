//! What is to be shown of an entry.

use std::collections::BTreeSet;

use asfound_core::names::ModuleName;

use crate::FilePath;
use crate::manifest::Manifest;

/// Which modules are shown.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub enum ModuleChoice {
    /// None.
    #[default]
    None,
    /// These, wherever an entry knows them.
    Named(BTreeSet<ModuleName>),
    /// All that an entry knows.
    All,
}

/// What is to be shown of each chosen entry.
///
/// `entry.toml` is shown unless it is left out. It names the author and tells the reason, what a reading covered and what
/// it found in *every* module; whoever wants to show settings alone leaves it out.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct DisclosureRequest {
    /// The modules' files, each with the definition that explains it.
    pub modules: ModuleChoice,
    /// `vehicle.toml`: tag, VIN, description.
    pub vehicle: bool,
    /// Leaves out `entry.toml`.
    pub settings_only: bool,
}

impl DisclosureRequest {
    /// The picked modules' files that an entry has.
    pub(super) fn module_files(&self, manifest: &Manifest) -> Vec<FilePath> {
        let wanted = |path: &&FilePath| {
            let name = module_of(path);
            match &self.modules {
                ModuleChoice::None => false,
                ModuleChoice::Named(names) => name.is_some_and(|name| names.iter().any(|known| known.as_str() == name)),
                ModuleChoice::All => name.is_some(),
            }
        };
        manifest.iter().map(|(path, _)| path).filter(wanted).cloned().collect()
    }

    /// The other files that are shown of every entry.
    pub(super) fn fixed_files(&self) -> Vec<&'static str> {
        let files = [(!self.settings_only, "entry.toml"), (self.vehicle, "vehicle.toml")];
        files.into_iter().filter_map(|(shown, path)| shown.then_some(path)).collect()
    }
}

/// The module whose file it is.
pub(super) fn module_of(path: &FilePath) -> Option<&str> {
    path.as_str().strip_prefix("modules/")?.strip_suffix(".toml")
}

//! The tables of descriptions that are kept in a garage.

use std::path::PathBuf;

use asfound_core::names::DefinitionId;

use super::open::DESCRIPTIONS;
use super::{Garage, GarageError, KeptFile, kept};

/// In which form a table of descriptions is kept: the one in which it was given.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DescriptionsForm {
    /// TOML.
    Toml,
    /// A table of cells.
    Table,
}

impl DescriptionsForm {
    fn ending(self) -> &'static str {
        match self {
            Self::Toml => "toml",
            Self::Table => "csv",
        }
    }
}

impl Garage {
    /// The tables of descriptions that are kept here, sorted by path: `.toml` and `.csv`.
    pub fn descriptions(&self) -> Result<Vec<KeptFile>, GarageError> {
        kept::list(&self.path.join(DESCRIPTIONS), &["csv", "toml"])
    }

    /// Keeps a table of descriptions byte by byte, so that its digest stays what it was, and says where. It takes the place
    /// of an earlier one of that name.
    pub fn keep_descriptions(
        &self,
        name: &DefinitionId,
        form: DescriptionsForm,
        bytes: &[u8],
    ) -> Result<PathBuf, GarageError> {
        self.check_own()?;
        let folder = self.path.join(DESCRIPTIONS);
        let path = kept::keep(&folder, &format!("{name}.{}", form.ending()), bytes)?;
        for other in [DescriptionsForm::Toml, DescriptionsForm::Table].into_iter().filter(|other| *other != form) {
            let earlier = folder.join(format!("{name}.{}", other.ending()));
            match std::fs::remove_file(&earlier) {
                Err(source) if source.kind() != std::io::ErrorKind::NotFound => {
                    return Err(GarageError::Disk { doing: "remove", path: earlier, source });
                }
                _ => {}
            }
        }
        Ok(path)
    }
}

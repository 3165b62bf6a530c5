//! Makes and opens a garage.

use std::fs;
use std::io::ErrorKind;
use std::path::{Path, PathBuf};

use asfound_core::names::DefinitionId;

use super::settings::{self, GarageSettings, SettingsRefusal};
use super::{ColumnsName, GarageError, KeptFile, kept};
use crate::index::IndexFolder;
use crate::last_filed::LastFiled;
use crate::store::{GitStore, LockTimeouts, StoreError};
use crate::{durable, garage_file};

pub(super) const SETTINGS: &str = "garage.toml";
const DEFINITIONS: &str = "definitions";
const COLUMNS: &str = "columns";
pub(super) const DESCRIPTIONS: &str = "descriptions";
const LOCKS: &str = "locks";
const JOURNALS: &str = "journals.git";
const INDEX: &str = "index";

/// No settings file, and no list of trusted keys, comes near this.
pub(super) const LARGEST_SETTINGS: u64 = 1 << 24;

/// A garage that is open.
#[derive(Debug)]
pub struct Garage {
    pub(super) path: PathBuf,
    pub(super) settings: GarageSettings,
    store: GitStore,
    /// What of it belongs to another account, and to which.
    foreign: Option<(PathBuf, u32)>,
}

impl Garage {
    /// Makes a garage in a directory that is new or empty, and opens it.
    ///
    /// Missing directories above are made too. One that was being made when the power went, and
    /// so lacks its `garage.toml`, is finished; journals that are in it stay as they are.
    pub fn create(path: &Path) -> Result<Self, GarageError> {
        Self::create_with(path, LockTimeouts::default())
    }

    /// As [`Garage::create`], and waits for other writers as `timeouts` says.
    pub fn create_with(path: &Path, timeouts: LockTimeouts) -> Result<Self, GarageError> {
        if let Some(found) = occupant(path)? {
            return Err(found);
        }
        make_folders_down_to(path)?;
        check_own(foreign(path)?)?;
        for folder in [DEFINITIONS, COLUMNS, LOCKS].map(|name| path.join(name)) {
            durable::make_folder(&folder).map_err(disk("make the folder", &folder))?;
        }
        GitStore::create(&path.join(JOURNALS), &path.join(LOCKS), timeouts)?;
        durable::write_file(path, SETTINGS, settings::NEW_FILE.as_bytes())
            .map_err(disk("write", &path.join(SETTINGS)))?;
        Self::open_with(path, timeouts)
    }

    /// Opens a garage.
    pub fn open(path: &Path) -> Result<Self, GarageError> {
        Self::open_with(path, LockTimeouts::default())
    }

    /// As [`Garage::open`], and waits for other writers as `timeouts` says.
    pub fn open_with(path: &Path, timeouts: LockTimeouts) -> Result<Self, GarageError> {
        let settings = read_settings(path)?;
        let store = GitStore::open(&path.join(JOURNALS), &path.join(LOCKS), timeouts)?;
        let foreign = foreign(path)?;
        let store = match &foreign {
            // An index is only a help, and would have to be brought up to date.
            Some((path, owner)) => store.only_read(path, *owner),
            None => store.with_index(IndexFolder::new(path.join(INDEX))),
        };
        Ok(Self { path: path.to_owned(), settings, store, foreign })
    }

    /// The same garage, of which it is remembered outside it what was filed last.
    #[must_use]
    pub fn remembering(self, last_filed: LastFiled) -> Self {
        let Self { path, settings, store, foreign } = self;
        Self { path, settings, store: store.remembering(last_filed), foreign }
    }

    /// That the garage belongs to the account which this program runs for: another one's is read and not written.
    ///
    /// # Errors
    /// Whose it is.
    pub fn check_own(&self) -> Result<(), GarageError> {
        check_own(self.foreign.clone())
    }

    /// The directory.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// The settings in `garage.toml`.
    pub fn settings(&self) -> &GarageSettings {
        &self.settings
    }

    /// Where the journals lie: a bare git repository.
    pub fn repository(&self) -> PathBuf {
        self.path.join(JOURNALS)
    }

    /// The journals.
    pub fn store(&self) -> &GitStore {
        &self.store
    }

    /// The definition files that are kept here, sorted by path.
    pub fn definitions(&self) -> Result<Vec<KeptFile>, GarageError> {
        kept::list(&self.path.join(DEFINITIONS), &["toml"])
    }

    /// Keeps a definition file, in place of an earlier one of that name, and says where.
    pub fn keep_definition(&self, name: &DefinitionId, text: &str) -> Result<PathBuf, GarageError> {
        self.check_own()?;
        kept::keep(&self.path.join(DEFINITIONS), &format!("{name}.toml"), text.as_bytes())
    }

    /// The column mappings that are kept here, sorted by path.
    pub fn columns(&self) -> Result<Vec<KeptFile>, GarageError> {
        kept::list(&self.path.join(COLUMNS), &["toml"])
    }

    /// Keeps a column mapping, in place of an earlier one of that name, and says where.
    pub fn keep_columns(&self, name: &ColumnsName, text: &str) -> Result<PathBuf, GarageError> {
        self.check_own()?;
        kept::keep(&self.path.join(COLUMNS), &format!("{name}.toml"), text.as_bytes())
    }
}

/// The first of its folders that belongs to another account, and to which. Those that are not there yet will be ours.
fn foreign(path: &Path) -> Result<Option<(PathBuf, u32)>, GarageError> {
    for folder in [path.to_owned(), path.join(JOURNALS), path.join(LOCKS)] {
        match garage_file::other_owner(&folder) {
            Ok(Some(owner)) => return Ok(Some((folder, owner))),
            Err(error) if error.kind() != ErrorKind::NotFound => return Err(disk("look at", &folder)(error)),
            _ => {}
        }
    }
    Ok(None)
}

fn check_own(foreign: Option<(PathBuf, u32)>) -> Result<(), GarageError> {
    foreign.map_or(Ok(()), |(path, owner)| Err(StoreError::Foreign { path, owner }.into()))
}

pub(super) fn disk(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> GarageError {
    let path = path.to_owned();
    move |source| GarageError::Disk { doing, path, source }
}

/// What stands in the way of making a garage at `path`.
fn occupant(path: &Path) -> Result<Option<GarageError>, GarageError> {
    let entries = match fs::read_dir(path) {
        Ok(entries) => entries,
        Err(error) if error.kind() == ErrorKind::NotFound => return Ok(None),
        Err(error) if error.kind() == ErrorKind::NotADirectory => {
            return Ok(Some(GarageError::NotAGarage { path: path.to_owned(), why: "it is not a directory" }));
        }
        Err(error) => return Err(disk("list", path)(error)),
    };
    let mut strangers = Vec::new();
    for entry in entries {
        let name = entry.map_err(disk("list", path))?.file_name().to_string_lossy().into_owned();
        if name == SETTINGS {
            return Ok(Some(GarageError::Exists { path: path.to_owned() }));
        }
        let of_ours = [DEFINITIONS, COLUMNS, DESCRIPTIONS, LOCKS, JOURNALS, INDEX].contains(&name.as_str())
            || name.strip_prefix(JOURNALS) == Some(".new")
            || name.starts_with(".garage.toml.");
        if !of_ours {
            strangers.push(name);
        }
    }
    let first = strangers.into_iter().min();
    Ok(first.map(|found| GarageError::Occupied { path: path.to_owned(), found }))
}

/// Makes the directory, and those above it that are missing, so that they last.
fn make_folders_down_to(path: &Path) -> Result<(), GarageError> {
    let missing: Vec<_> = path.ancestors().take_while(|p| !p.as_os_str().is_empty() && !p.exists()).collect();
    for folder in missing.into_iter().rev() {
        durable::make_folder(folder).map_err(disk("make the folder", folder))?;
    }
    Ok(())
}

pub(super) fn read_settings(path: &Path) -> Result<GarageSettings, GarageError> {
    let file = path.join(SETTINGS);
    let not_a_garage = |why| GarageError::NotAGarage { path: path.to_owned(), why };
    let bytes = match garage_file::read_at_most(&file, LARGEST_SETTINGS) {
        Ok(bytes) => bytes,
        Err(error) => {
            return Err(match error.kind() {
                ErrorKind::NotFound if !path.exists() => GarageError::Missing { path: path.to_owned() },
                ErrorKind::NotFound => not_a_garage("garage.toml is missing in it"),
                ErrorKind::NotADirectory => not_a_garage("it is not a directory"),
                _ => disk("read", &file)(error),
            });
        }
    };
    settings::parse(&bytes).map_err(|refused| match refused {
        SettingsRefusal::Newer(found) => GarageError::Newer { path: file, found },
        SettingsRefusal::At(place, message) => {
            let (line, column) = settings::line_and_column(&bytes, place);
            GarageError::Settings { path: file, line, column, message }
        }
    })
}

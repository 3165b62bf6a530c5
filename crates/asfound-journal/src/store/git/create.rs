//! Makes an empty repository.

use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use git2::{ConfigLevel, ErrorClass, ErrorCode, Repository, RepositoryInitOptions};

use super::pending::make_folders;
use crate::durable;
use crate::store::StoreError;
use crate::store::error::disk;

/// Where the repository's own head points: at no journal. Tags hold no underscore, so that no
/// vehicle can ever have this branch.
const HEAD: &str = "no_vehicle";

pub(super) fn create(path: &Path) -> Result<(), StoreError> {
    if path.exists() {
        return Ok(());
    }
    // Made under another name, which nobody opens, and renamed when it is whole.
    let beside = beside(path);
    match fs::remove_dir_all(&beside) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => {
            return Err(disk("remove the unfinished", &beside)(error));
        }
        _ => {}
    }
    durable::make_folder(&beside).map_err(disk("make the folder", &beside))?;
    initialise(&beside).map_err(|error| StoreError::Git {
        doing: format!("make {}", path.display()),
        detail: error.message().to_owned(),
    })?;
    durable::sync_all_below(&beside).map_err(disk("sync", &beside))?;
    // So that no entry has to wait for that.
    let objects = beside.join("objects");
    make_folders(&objects).map_err(disk("make the folders below", &objects))?;
    durable::sync_folder(&objects).map_err(disk("sync", &objects))?;
    fs::rename(&beside, path).map_err(disk("name", path))?;
    let above = path.parent().filter(|above| !above.as_os_str().is_empty()).unwrap_or(Path::new("."));
    durable::sync_folder(above).map_err(disk("sync", above))
}

/// The name of the repository while it is being made.
pub(super) fn beside(path: &Path) -> PathBuf {
    let mut name = path.as_os_str().to_owned();
    name.push(".new");
    PathBuf::from(name)
}

pub(super) fn initialise(path: &Path) -> Result<(), git2::Error> {
    let mut options = RepositoryInitOptions::new();
    options.bare(true).external_template(false).initial_head(HEAD).description("journals of a garage\n");
    let repository = Repository::init_opts(path, &options)?;
    let mut config = repository.config()?.open_level(ConfigLevel::Local)?;
    // The journal is the log; a second one beside it would be neither synced nor read.
    config.set_bool("core.logAllRefUpdates", false)?;
    // Tidying up while an entry is being written can remove its objects.
    config.set_i32("gc.auto", 0)
}

/// Why the repository at `path` could not be opened.
pub(super) fn cannot_open(path: &Path, error: &git2::Error) -> StoreError {
    let object = format!("the repository {}", path.display());
    match (error.class(), error.code()) {
        _ if !path.exists() => StoreError::Missing { object },
        (ErrorClass::Os, code) if code != ErrorCode::NotFound => {
            StoreError::Git { doing: format!("open {}", path.display()), detail: error.message().to_owned() }
        }
        _ => StoreError::Damaged { object, detail: error.message().to_owned() },
    }
}

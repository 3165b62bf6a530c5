//! Where journals are shared: a URL, or a directory.

use std::path::{Path, PathBuf};

use asfound_journal::garage::{Garage, GarageError};
use asfound_journal::garage_file::{self, UnfitFile};
use asfound_journal::store::{GitStore, LockTimeouts};

use crate::failure::Failure;

/// Where journals are shared.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Address {
    /// As people see it.
    pub shown: String,
    /// As git takes it.
    pub for_git: String,
    /// Whether it is a repository on this machine, which git opens itself.
    pub is_local: bool,
}

impl Address {
    /// What was typed: a URL, `host:path`, a bare repository, or the directory of another garage.
    ///
    /// # Errors
    /// When there is nothing of the sort at a path; with `new`, a repository is made there.
    pub fn parse(text: &str, new: bool) -> Result<Self, Failure> {
        if text.starts_with('-') || text.chars().any(char::is_control) {
            return Err(Failure::usage(format!("invalid place `{text}`")));
        }
        if is_remote(text) {
            return Ok(Self { shown: text.to_owned(), for_git: text.to_owned(), is_local: false });
        }
        let path = Path::new(text.strip_prefix("file://").unwrap_or(text));
        let repository = repository_at(path, new)?;
        let whole = std::path::absolute(&repository).and_then(|path| path.canonicalize());
        let whole = whole.map_err(|error| Failure::usage(format!("{}: {error}", repository.display())))?;
        let for_git = whole.to_str().ok_or_else(|| Failure::usage(format!("{text}: the path is not UTF-8")))?;
        check_folders(&whole)?;
        Ok(Self { shown: text.to_owned(), for_git: for_git.to_owned(), is_local: true })
    }
}

/// Whether a text is an address on another machine: with a scheme, or `host:path`, where no such file lies here.
fn is_remote(text: &str) -> bool {
    let scheme = text.split_once("://").is_some_and(|(scheme, _)| scheme != "file" && !scheme.contains('/'));
    let host = text.split_once(':').is_some_and(|(host, _)| host.len() > 1 && !host.contains(['/', '\\']));
    scheme || (host && !text.starts_with("file:") && !Path::new(text).exists())
}

fn repository_at(path: &Path, new: bool) -> Result<PathBuf, Failure> {
    match Garage::open(path) {
        Ok(garage) => {
            garage.check_own()?;
            let repository = garage.repository();
            garage_file::check_folder(&repository).map_err(|error| leads_elsewhere(path, &error))?;
            return Ok(repository);
        }
        // A garage that this version does not understand is left alone.
        Err(error @ (GarageError::Newer { .. } | GarageError::Settings { .. })) => return Err(error.into()),
        Err(_) => {}
    }
    if path.join("HEAD").is_file() && path.join("objects").is_dir() {
        return Ok(path.to_owned());
    }
    let empty = match std::fs::read_dir(path) {
        Ok(mut entries) => entries.next().is_none(),
        Err(error) => error.kind() == std::io::ErrorKind::NotFound,
    };
    if new && empty {
        if path.exists() {
            std::fs::remove_dir(path).map_err(|error| Failure::damaged(format!("{}: {error}", path.display())))?;
        }
        let above = path.parent().filter(|above| !above.as_os_str().is_empty()).unwrap_or(Path::new("."));
        std::fs::create_dir_all(above).map_err(|error| Failure::damaged(format!("{}: {error}", above.display())))?;
        // Nobody else makes it at this moment; the lock that the store wants is thrown away.
        let locks = tempfile::tempdir().map_err(|error| Failure::damaged(format!("a temporary folder: {error}")))?;
        GitStore::create(path, locks.path(), LockTimeouts::default())?;
        return Ok(path.to_owned());
    }
    let failure = Failure::usage(format!("there is no garage and no bare git repository at {}", path.display()));
    Err(if empty { failure.hint("`--new` makes a repository there") } else { failure.hint("check the path") })
}

/// That what is sent to a repository does not leave it: none of the folders that git writes into is a link.
fn check_folders(repository: &Path) -> Result<(), Failure> {
    for folder in ["objects/pack", "objects/info", "refs/heads", "refs/kept", "logs/refs/heads"] {
        garage_file::check_folders(repository, Path::new(folder))
            .map_err(|error| leads_elsewhere(repository, &error))?;
    }
    for below in ["objects", "refs/heads", "refs/kept"].map(|folder| repository.join(folder)) {
        for entry in std::fs::read_dir(&below).into_iter().flatten().flatten() {
            if entry.file_type().is_ok_and(|kind| kind.is_symlink()) {
                let error = UnfitFile::FolderLink(entry.path()).into();
                return Err(leads_elsewhere(repository, &error));
            }
        }
    }
    Ok(())
}

fn leads_elsewhere(place: &Path, error: &std::io::Error) -> Failure {
    Failure::damaged(format!("{} cannot be shared with: {error}", place.display()))
        .hint("find out where it comes from; nothing was sent there")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn other_machines_are_told_from_paths() {
        for text in ["https://host.example/cars.git", "ssh://host/x", "git://127.0.0.1/x", "host:cars.git", "me@host:x"]
        {
            assert!(is_remote(text), "{text}");
        }
        for text in ["cars.git", "./a:b", "/srv/cars.git", "file:///srv/cars.git", "C:\\cars", "../x", "a/b:c"] {
            assert!(!is_remote(text), "{text}");
        }
        for text in ["-x", "--upload-pack=x", "a\nb"] {
            assert!(Address::parse(text, true).is_err(), "{text}");
        }
    }
}

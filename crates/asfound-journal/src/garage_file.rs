//! Files of a garage, opened without being led out of it.
//!
//! A garage may come from somebody else: from a stick, an archive, a shared folder. A symbolic link, a second name or a pipe in it
//! would have this program write into a file of the user's, or wait for ever. So every file that is opened for writing is a
//! regular one with a single name, and no link is followed to it, nor to the folder that it lies in. Files that are only
//! read may be reached by links, which people make themselves; they have to be regular all the same.

use std::fs::{self, File, Metadata, OpenOptions};
use std::io::{self, ErrorKind, Read};
use std::path::{Path, PathBuf};

use thiserror::Error;

/// Why a file or folder of a garage is not used.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum UnfitFile {
    /// The file is a link.
    #[error("it is a symbolic link, and none is followed here")]
    Link,
    /// The folder that it lies in is a link.
    #[error("the folder {} is a symbolic link, and none is followed here", .0.display())]
    FolderLink(PathBuf),
    /// What should be a folder is something else.
    #[error("{} is no folder", .0.display())]
    NoFolder(PathBuf),
    /// It is a pipe, a device or the like.
    #[error("it is no regular file")]
    Irregular,
    /// Somebody else's file may be the same one.
    #[error("it has more than one name, and another file would be written into")]
    SeveralNames,
    /// It is larger than any file of its kind.
    #[error("it has more than {limit} bytes, which no such file has")]
    TooLarge {
        /// The most that is read.
        limit: u64,
    },
}

impl From<UnfitFile> for io::Error {
    fn from(unfit: UnfitFile) -> Self {
        Self::other(unfit)
    }
}

/// Opens a file for reading and writing, which is made where `create` says so and there is none.
///
/// # Errors
/// [`UnfitFile`] within, where it could be a file outside the garage; else what the system says.
pub fn open_to_write(path: &Path, create: bool) -> io::Result<File> {
    check_folder(path.parent().unwrap_or(Path::new("")))?;
    // Looked at before it is opened as well: to open a device may do something already.
    match fs::symlink_metadata(path) {
        Ok(found) => check_file(&found)?,
        Err(error) if error.kind() == ErrorKind::NotFound => {}
        Err(error) => return Err(error),
    }
    let mut options = OpenOptions::new();
    options.read(true).write(true).create(create).truncate(false);
    follow_no_link(&mut options);
    let file = match options.open(path) {
        Err(_) if fs::symlink_metadata(path).is_ok_and(|found| found.is_symlink()) => {
            return Err(UnfitFile::Link.into());
        }
        other => other?,
    };
    check_file(&file.metadata()?)?;
    Ok(file)
}

/// Opens a regular file for reading, and nothing else.
///
/// # Errors
/// [`UnfitFile::Irregular`] within for a pipe or a device; else what the system says.
pub fn open_to_read(path: &Path) -> io::Result<File> {
    let regular = |found: &Metadata| if found.is_file() { Ok(()) } else { Err(irregular(found)) };
    regular(&fs::metadata(path)?)?;
    let mut options = OpenOptions::new();
    options.read(true);
    wait_for_nobody(&mut options);
    let file = options.open(path)?;
    regular(&file.metadata()?)?;
    Ok(file)
}

/// Reads a regular file of at most `limit` bytes.
///
/// # Errors
/// [`UnfitFile`] within where it is another or longer; else what the system says.
pub fn read_at_most(path: &Path, limit: u64) -> io::Result<Vec<u8>> {
    let mut bytes = Vec::new();
    open_to_read(path)?.take(limit.saturating_add(1)).read_to_end(&mut bytes)?;
    if bytes.len() as u64 > limit { Err(UnfitFile::TooLarge { limit }.into()) } else { Ok(bytes) }
}

/// That a folder is one, and no link to one. One that is not there is no obstacle yet.
///
/// # Errors
/// [`UnfitFile`] within, or what the system says.
pub fn check_folder(path: &Path) -> io::Result<()> {
    let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    match fs::symlink_metadata(path) {
        Ok(found) if found.is_symlink() => Err(UnfitFile::FolderLink(path.to_owned()).into()),
        Ok(found) if !found.is_dir() => Err(UnfitFile::NoFolder(path.to_owned()).into()),
        Err(error) if error.kind() != ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

/// That no folder on the way from `root` down to `below` is a link; `root` itself may be one.
///
/// # Errors
/// As [`check_folder`].
pub fn check_folders(root: &Path, below: &Path) -> io::Result<()> {
    let mut folder = root.to_owned();
    below.components().try_for_each(|part| {
        folder.push(part);
        check_folder(&folder)
    })
}

/// The account that something belongs to, where it is another one than that of this program. A link is followed.
///
/// # Errors
/// What the system says.
pub fn other_owner(path: &Path) -> io::Result<Option<u32>> {
    #[cfg(unix)]
    {
        let owner = std::os::unix::fs::MetadataExt::uid(&fs::metadata(path)?);
        Ok(Some(owner).filter(|owner| *owner != rustix::process::geteuid().as_raw()))
    }
    // Elsewhere files have owners of another kind, and the system asks before one is written to.
    #[cfg(not(unix))]
    {
        fs::metadata(path).map(|_| None)
    }
}

fn check_file(found: &Metadata) -> Result<(), UnfitFile> {
    if found.is_symlink() {
        return Err(UnfitFile::Link);
    }
    if !found.is_file() {
        return Err(UnfitFile::Irregular);
    }
    #[cfg(unix)]
    if std::os::unix::fs::MetadataExt::nlink(found) > 1 {
        return Err(UnfitFile::SeveralNames);
    }
    Ok(())
}

/// What is said of something that is no regular file; a folder is named by the system.
fn irregular(found: &Metadata) -> io::Error {
    if found.is_dir() { ErrorKind::IsADirectory.into() } else { UnfitFile::Irregular.into() }
}

#[cfg(unix)]
fn follow_no_link(options: &mut OpenOptions) {
    set_flags(options, rustix::fs::OFlags::NOFOLLOW | rustix::fs::OFlags::NONBLOCK | rustix::fs::OFlags::NOCTTY);
}

#[cfg(unix)]
fn wait_for_nobody(options: &mut OpenOptions) {
    set_flags(options, rustix::fs::OFlags::NONBLOCK | rustix::fs::OFlags::NOCTTY);
}

#[cfg(unix)]
fn set_flags(options: &mut OpenOptions, flags: rustix::fs::OFlags) {
    std::os::unix::fs::OpenOptionsExt::custom_flags(options, flags.bits().cast_signed());
}

/// Elsewhere what was looked at before is all that is known.
#[cfg(not(unix))]
fn follow_no_link(_: &mut OpenOptions) {}

#[cfg(not(unix))]
fn wait_for_nobody(_: &mut OpenOptions) {}

#[cfg(unix)]
#[cfg(test)]
mod tests {
    use std::os::unix::fs::symlink;

    use super::*;

    fn unfit<T: std::fmt::Debug>(result: io::Result<T>) -> UnfitFile {
        let error = result.expect_err("it is refused");
        error.get_ref().and_then(|error| error.downcast_ref::<UnfitFile>()).expect("it is unfit").clone()
    }

    #[test]
    fn only_a_regular_file_of_one_name_is_written() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::write(at("file"), "text").unwrap();
        assert!(open_to_write(&at("file"), false).is_ok());
        assert!(open_to_write(&at("new"), true).is_ok());
        assert_eq!(open_to_write(&at("none"), false).unwrap_err().kind(), ErrorKind::NotFound);
        symlink(at("file"), at("link")).unwrap();
        symlink(at("nowhere"), at("loose-link")).unwrap();
        for name in ["link", "loose-link"] {
            assert_eq!(unfit(open_to_write(&at(name), true)), UnfitFile::Link);
        }
        assert!(!at("nowhere").exists());
        fs::hard_link(at("file"), at("second")).unwrap();
        assert_eq!(unfit(open_to_write(&at("file"), true)), UnfitFile::SeveralNames);
        for name in ["/dev/null", "/dev/zero"] {
            assert_eq!(unfit(open_to_write(Path::new(name), false)), UnfitFile::Irregular);
            assert_eq!(unfit(read_at_most(Path::new(name), 8)), UnfitFile::Irregular);
        }
    }

    #[test]
    fn no_folder_on_the_way_is_a_link() {
        let folder = tempfile::tempdir().unwrap();
        let at = |name: &str| folder.path().join(name);
        fs::create_dir_all(at("a/b")).unwrap();
        symlink(at("a"), at("link")).unwrap();
        assert_eq!(unfit(open_to_write(&at("link/new"), true)), UnfitFile::FolderLink(at("link")));
        assert!(!at("a/new").exists());
        check_folders(folder.path(), Path::new("a/b/not-there-yet")).unwrap();
        assert_eq!(unfit(check_folders(folder.path(), Path::new("link/b"))), UnfitFile::FolderLink(at("link")));
        // The garage itself may be reached by a link.
        check_folders(&at("link"), Path::new("b")).unwrap();
    }

    #[test]
    fn what_is_read_is_bounded() {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("file");
        fs::write(&file, "12345678").unwrap();
        assert_eq!(read_at_most(&file, 8).unwrap(), b"12345678");
        assert_eq!(unfit(read_at_most(&file, 7)), UnfitFile::TooLarge { limit: 7 });
        assert_eq!(read_at_most(folder.path(), 7).unwrap_err().kind(), ErrorKind::IsADirectory);
    }
}

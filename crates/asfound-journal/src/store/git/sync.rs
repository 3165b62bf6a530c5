//! Syncing of everything that is written to a repository.

use std::ffi::c_int;

use crate::store::StoreError;

/// Has the library sync every object and reference that it writes, and the folders that
/// name them. Must be called before a repository is opened.
///
/// By default nothing is synced: a power cut then loses entries that were reported as filed.
/// The switch is one for the whole process; setting it again does no harm.
#[allow(clippy::cast_possible_wrap, reason = "the options are numbered from 0; their type differs between platforms")]
#[allow(unsafe_code, reason = "the safe library has no call for this one switch")]
pub(super) fn sync_all_writes() -> Result<(), StoreError> {
    libgit2_sys::init();
    // SAFETY: the library is initialised, as the line above sees to. This option takes one
    // further argument, an int, and stores it in a global int that is only ever read as
    // true or false; no memory is handed over.
    let refused =
        unsafe { libgit2_sys::git_libgit2_opts(libgit2_sys::GIT_OPT_ENABLE_FSYNC_GITDIR as c_int, 1 as c_int) };
    if refused == 0 {
        return Ok(());
    }
    Err(StoreError::Git { doing: "have writes synced".to_owned(), detail: format!("the library says {refused}") })
}

#[cfg(test)]
mod tests {
    use super::super::{GitStore, Patience};
    use crate::store::{Author, FileContent, NewCommit, Store};

    /// How often the library has synced something, by its own count, which its own tests use too.
    #[allow(unsafe_code, reason = "the count is a global of the library")]
    fn syncs() -> usize {
        unsafe extern "C" {
            static p_fsync__cnt: usize;
        }
        // SAFETY: it is a plain number, and no other test of this program writes to a repository.
        unsafe { p_fsync__cnt }
    }

    #[test]
    fn every_object_and_reference_is_synced_and_so_is_the_folder_that_names_it() {
        let folder = tempfile::tempdir().unwrap();
        let (repository, locks) = (folder.path().join("r.git"), folder.path().join("locks"));
        let store = GitStore::create(&repository, &locks, Patience::default()).unwrap();
        let new = NewCommit {
            author: Author::new("Edda Brandt", "edda@workshop.example").unwrap(),
            when: time::macros::datetime!(2026-03-14 09:20:05 +01:00),
            message: "enrolled".to_owned(),
            files: [("modules/body.toml".parse().unwrap(), FileContent::New(b"b".to_vec()))].into(),
        };
        let before = syncs();
        store.append(&"wren".parse().unwrap(), None, &new).unwrap();
        // The blob, two trees, the commit and the branch, each twice.
        assert_eq!(syncs() - before, 10);
    }
}

//! Syncing of everything that is written to a repository.

use std::ffi::c_int;

use crate::store::StoreError;

/// Has the library sync every reference that it writes, and the folders that
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

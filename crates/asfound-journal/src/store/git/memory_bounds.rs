//! Bounds for what the library keeps in memory.

use std::ffi::c_int;
use std::sync::Once;

/// So much of a pack is looked at in one piece, in bytes.
const WINDOW: usize = 4 << 20;
/// So much of all packs is looked at at once.
const WINDOWS: usize = 16 << 20;
/// So much of what was read is kept, in case that it is asked for again.
const CACHE: isize = 8 << 20;

/// Has the library keep little of a repository in memory, however large that is. Must be called before a repository is
/// opened.
///
/// By default it looks at up to eight gigabytes of packs at once, and keeps 256 megabytes of what it has read. A journal is
/// read in one direction, so that this is of no use.
#[allow(clippy::cast_possible_wrap, reason = "the options are numbered from 0; their type differs between platforms")]
#[allow(unsafe_code, reason = "the safe library has no calls for these switches")]
pub(super) fn bound_memory() {
    static ONCE: Once = Once::new();
    ONCE.call_once(|| {
        libgit2_sys::init();
        // SAFETY: the library is initialised. Each of these options takes one further argument, of the type that is handed
        // over, and stores it in a global number. That is done once, and before this program opens its first repository, so
        // that nobody reads these numbers at the same time. No memory is handed over. Where an option is refused, the bound is
        // the library's own.
        unsafe {
            libgit2_sys::git_libgit2_opts(libgit2_sys::GIT_OPT_SET_MWINDOW_SIZE as c_int, WINDOW);
            libgit2_sys::git_libgit2_opts(libgit2_sys::GIT_OPT_SET_MWINDOW_MAPPED_LIMIT as c_int, WINDOWS);
            libgit2_sys::git_libgit2_opts(libgit2_sys::GIT_OPT_SET_CACHE_MAX_SIZE as c_int, CACHE);
        }
    });
}

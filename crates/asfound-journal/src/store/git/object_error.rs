//! Tells damage from other failures when the library cannot read something.

use git2::{ErrorClass, ErrorCode, Oid, Repository};

use crate::store::StoreError;

/// Why the object `id`, which ought to be a `kind`, could not be read.
pub(super) fn unreadable(repository: &Repository, kind: &str, id: Oid, error: &git2::Error) -> StoreError {
    let object = format!("{kind} {id}");
    match error.class() {
        ErrorClass::Os | ErrorClass::NoMemory => unreadable_file(object, error),
        // "Not found" is also said of an object of another kind.
        _ if error.code() == ErrorCode::NotFound && !exists(repository, id) => StoreError::Missing { object },
        _ => StoreError::Damaged { object, detail: error.message().to_owned() },
    }
}

/// Why a file of the repository could not be read.
pub(super) fn unreadable_file(what: String, error: &git2::Error) -> StoreError {
    match error.class() {
        ErrorClass::Os | ErrorClass::NoMemory => {
            StoreError::Git { doing: format!("read {what}"), detail: error.message().to_owned() }
        }
        _ => StoreError::Damaged { object: what, detail: error.message().to_owned() },
    }
}

/// Why the library did not do something.
pub(super) fn refused(doing: &str, error: &git2::Error) -> StoreError {
    StoreError::Git { doing: doing.to_owned(), detail: error.message().to_owned() }
}

fn exists(repository: &Repository, id: Oid) -> bool {
    repository.odb().is_ok_and(|objects| objects.exists(id))
}

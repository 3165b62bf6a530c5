//! The commits of a journal, as far back as they can be reached.

use asfound_core::names::Tag;

use super::commit_text::CommitText;
use crate::store::{CommitId, Store, StoreError};

/// The commits of a journal.
pub(super) struct Line {
    /// Oldest first.
    pub(super) commits: Vec<CommitId>,
    /// Why the commit before the oldest of these cannot be read, where there is one.
    pub(super) severed: Option<StoreError>,
}

impl Line {
    pub(super) fn of<S: Store + ?Sized>(store: &S, tag: &Tag) -> Self {
        match store.line(tag) {
            Ok(commits) => Self { commits, severed: None },
            Err(_) => Self::as_far_as_it_goes(store, tag),
        }
    }

    /// Walks back from the newest commit, until one cannot be read.
    fn as_far_as_it_goes<S: Store + ?Sized>(store: &S, tag: &Tag) -> Self {
        let mut line = Self { commits: Vec::new(), severed: None };
        let mut next = match store.tip(tag) {
            Ok(tip) => tip,
            Err(error) => {
                line.severed = Some(error);
                return line;
            }
        };
        while let Some(id) = next {
            match parent(store, &id) {
                Ok(parent) => {
                    line.commits.push(id);
                    next = parent;
                }
                Err(error) => {
                    line.severed = Some(error);
                    break;
                }
            }
        }
        line.commits.reverse();
        line
    }
}

fn parent<S: Store + ?Sized>(store: &S, id: &CommitId) -> Result<Option<CommitId>, StoreError> {
    let damaged = || StoreError::Damaged { object: format!("commit {id}"), detail: "it is no commit".to_owned() };
    let text = store.commit_text(id)?;
    let parsed = CommitText::parse(&text).ok_or_else(damaged)?;
    parsed.parents.first().map(|parent| parent.parse().map_err(|_| damaged())).transpose()
}

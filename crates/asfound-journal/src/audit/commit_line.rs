//! The commits of a journal, as far back as they can be reached.

use std::sync::Arc;

use super::commit_text::CommitText;
use crate::store::{CommitId, Reader, StoreError, TreeId};

/// A commit, with its text where that is kept.
#[derive(Debug)]
pub(super) struct LineCommit {
    pub(super) id: CommitId,
    pub(super) tree: TreeId,
    /// The text, which the walk has to read anyway; of the newest commits only, since those of a long line take much room.
    pub(super) text: Option<Vec<u8>>,
}

/// The commits of a journal.
#[derive(Debug)]
pub(super) struct CommitLine {
    /// Oldest first.
    pub(super) links: Vec<Arc<LineCommit>>,
    /// Why the commit before the oldest of these cannot be read, where there is one.
    pub(super) severed: Option<StoreError>,
}

/// Of how many commits the text is kept.
const WITH_TEXT: usize = 10_240;

impl CommitLine {
    /// Walks back from the newest commit, `tip`, until there is no more or one cannot be read; `met` is told of each.
    pub(super) fn of(
        tip: Result<Option<CommitId>, StoreError>,
        reader: &dyn Reader,
        mut met: impl FnMut(&Arc<LineCommit>),
    ) -> Self {
        let mut line = Self { links: Vec::new(), severed: None };
        let mut next = match tip {
            Ok(tip) => tip,
            Err(error) => {
                line.severed = Some(error);
                return line;
            }
        };
        while let Some(id) = next {
            match read(reader, id) {
                Ok((mut read, parent)) => {
                    read.text.take_if(|_| line.links.len() >= WITH_TEXT);
                    let read = Arc::new(read);
                    met(&read);
                    line.links.push(read);
                    next = parent;
                }
                Err(error) => {
                    line.severed = Some(error);
                    break;
                }
            }
        }
        line.links.reverse();
        line
    }
}

/// A commit, and its first parent.
fn read(reader: &dyn Reader, id: CommitId) -> Result<(LineCommit, Option<CommitId>), StoreError> {
    let damaged = || StoreError::Damaged {
        object: format!("commit {id}"),
        detail: "it is not of the form of a commit".to_owned(),
    };
    let text = reader.commit_text(&id)?;
    let parsed = CommitText::parse(&text).ok_or_else(damaged)?;
    let tree = parsed.tree.parse().map_err(|_| damaged())?;
    let parent = parsed.parents.first().map(|parent| parent.parse().map_err(|_| damaged())).transpose()?;
    Ok((LineCommit { id, tree, text: Some(text) }, parent))
}

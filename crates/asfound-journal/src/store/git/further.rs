//! Whether a journal was further once than it is now.

use asfound_core::names::Tag;

use super::{GitStore, read};
use crate::last_filed::{FiledNote, LastFiled};
use crate::store::{CommitId, Store, StoreError};

impl GitStore {
    /// That a journal which ends with `tip` still holds what this program filed last, in its line or in one that is kept beside it.
    /// Nothing is said of another garage that lies where the remembered one lay.
    ///
    /// # Errors
    /// [`StoreError::WasFurther`] where it does not; or the journal cannot be read.
    pub fn check_not_set_back(&self, tag: &Tag, tip: Option<&CommitId>) -> Result<(), StoreError> {
        let Some((note, file)) = self.last_filed.get(tag).zip(self.last_filed.file(tag)) else { return Ok(()) };
        if tip == Some(&note.last) {
            return Ok(());
        }
        // The journal first: what is kept beside it is looked at only where it does not have it.
        if tip.map_or(Ok(false), |tip| self.reaches(tip, &note.last))? {
            return Ok(());
        }
        for end in self.kept(tag)? {
            if self.reaches(&end, &note.last)? {
                return Ok(());
            }
        }
        let FiledNote { last: filed, first } = note;
        let is_here = self.repository.get().odb().is_ok_and(|objects| objects.exists(read::oid(filed.as_str())));
        let is_same_garage = match tip {
            Some(tip) => self.first_of(tip)? == first,
            None => is_here,
        };
        if !is_same_garage {
            return Ok(());
        }
        // Only where nothing was filed since is it enough to name the old end again.
        let goes_on = is_here && tip.is_none_or(|tip| self.reaches(&filed, tip).unwrap_or(false));
        let repository = goes_on.then(|| self.repository.path().to_owned());
        Err(StoreError::WasFurther { tag: tag.clone(), filed, file, repository })
    }

    /// Remembers that a journal ends with `last`, which was filed just now.
    pub(super) fn remember(&self, tag: &Tag, last: &CommitId) {
        self.last_filed.filed(tag);
        if !self.last_filed.remembers() {
            return;
        }
        let before = self.last_filed.get(tag);
        let goes_on = |note: &FiledNote| self.reaches(last, &note.last).unwrap_or(false);
        // An entry is filed whether or not it can be said which journal it is in.
        let first = match before.filter(goes_on) {
            Some(note) => Ok(note.first),
            None => self.first_of(last),
        };
        if let Ok(first) = first {
            self.last_filed.remember(tag, &FiledNote { last: last.clone(), first });
        }
    }

    /// The first commit of the line that ends with `end`.
    fn first_of(&self, end: &CommitId) -> Result<CommitId, StoreError> {
        let mut first = end.clone();
        while let Some(before) = self.parent(&first)? {
            first = before;
        }
        Ok(first)
    }

    /// Whether `wanted` is `end` or one of the commits before it.
    fn reaches(&self, end: &CommitId, wanted: &CommitId) -> Result<bool, StoreError> {
        let mut next = Some(end.clone());
        while let Some(id) = next {
            if id == *wanted {
                return Ok(true);
            }
            next = self.parent(&id)?;
        }
        Ok(false)
    }

    /// What was filed last in this garage.
    pub fn last_filed(&self) -> &LastFiled {
        &self.last_filed
    }
}

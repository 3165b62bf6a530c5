//! Whether a journal was further once than it is now.

use asfound_core::names::Tag;

use super::{GitStore, read};
use crate::store::{CommitId, Store, StoreError};

impl GitStore {
    /// That a journal which ends with `tip` still holds what this program filed last, in its line or in one that is kept beside it.
    ///
    /// # Errors
    /// [`StoreError::WasFurther`] where it does not; or the journal cannot be read.
    pub fn check_not_set_back(&self, tag: &Tag, tip: Option<&CommitId>) -> Result<(), StoreError> {
        let Some((filed, file)) = self.last_filed.get(tag).zip(self.last_filed.file(tag)) else { return Ok(()) };
        if tip == Some(&filed) {
            return Ok(());
        }
        // The journal first: what is kept beside it is looked at only where it does not have it.
        if tip.map_or(Ok(false), |tip| self.reaches(tip, &filed))? {
            return Ok(());
        }
        for end in self.kept(tag)? {
            if self.reaches(&end, &filed)? {
                return Ok(());
            }
        }
        let is_here = self.repository.get().odb().is_ok_and(|objects| objects.exists(read::oid(filed.as_str())));
        // Only where nothing was filed since is it enough to name the old end again.
        let goes_on = is_here && tip.is_none_or(|tip| self.reaches(&filed, tip).unwrap_or(false));
        let repository = goes_on.then(|| self.repository.path().to_owned());
        Err(StoreError::WasFurther { tag: tag.clone(), filed, file, repository })
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
    pub fn last_filed(&self) -> &super::LastFiled {
        &self.last_filed
    }
}

//! Texts that many lines have in common.

use std::collections::BTreeSet;
use std::ops::Deref;
use std::sync::Arc;

use serde::{Serialize, Serializer};

/// A text that others may share: names and reasons come again in line after line.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct SharedText(Arc<str>);

impl Deref for SharedText {
    type Target = str;
    fn deref(&self) -> &str {
        &self.0
    }
}

impl Serialize for SharedText {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.serialize_str(self)
    }
}

/// The texts that there were so far.
#[derive(Debug, Clone, Default)]
pub struct SharedTexts(BTreeSet<Arc<str>>);

impl SharedTexts {
    /// The text, shared with all that were the same.
    pub fn of(&mut self, text: &str) -> SharedText {
        let known = self.0.get(text).cloned();
        SharedText(known.unwrap_or_else(|| {
            let text: Arc<str> = text.into();
            self.0.insert(text.clone());
            text
        }))
    }
}

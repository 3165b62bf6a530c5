//! Which column of a table holds what.

use std::collections::BTreeMap;
use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::column::{ColumnKey, ColumnPlace, ColumnPlaceError, UnknownColumnKey};
use super::mapping_text;
use super::printable::shortened;

/// Why a column mapping was refused.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum MappingError {
    /// No columns at all.
    #[error("the column mapping is empty")]
    Empty,
    /// A piece without `=`.
    #[error("`{}` in the column mapping has no `=`", shortened(.0))]
    NoEquals(String),
    /// A key that does not exist.
    #[error(transparent)]
    Key(#[from] UnknownColumnKey),
    /// A key given twice.
    #[error("the column mapping gives `{0}` twice")]
    Twice(ColumnKey),
    /// A key whose column is none.
    #[error("the column for `{key}` is not given rightly: {fault}")]
    Place {
        /// The key.
        key: ColumnKey,
        /// What is wrong with its column.
        fault: ColumnPlaceError,
    },
    /// A quotation mark that is never closed, or text after the closing one.
    #[error("the header for `{0}` has a quotation mark too many or too few")]
    Quote(ColumnKey),
    /// A key without the one that it needs.
    #[error("a column for `{key}` makes no sense without one for `{needs}`")]
    Needs {
        /// The key that is there.
        key: ColumnKey,
        /// The key that is missing.
        needs: ColumnKey,
    },
    /// Nothing but the module.
    #[error("the column mapping names nothing to read: no setting, record, identity or trouble code")]
    Nothing,
}

impl MappingError {
    /// What to do about it.
    pub fn hint(&self) -> String {
        match self {
            Self::Quote(_) => {
                "a header that holds a comma stands between quotation marks; those within it are doubled".into()
            }
            Self::Needs { .. } | Self::Nothing => {
                "map setting and value, or record and bytes, or both pairs; or an identity or trouble-code column"
                    .into()
            }
            _ => "write it as in module=ECU,setting=Name,value=Value, with headers of the table or numbers such as #3"
                .into(),
        }
    }
}

/// Which column holds what: at least a setting with its value, a record with its bytes, a part of the identity
/// or a trouble code.
///
/// Written `module=ECU,setting=Name,value="Value, as read"` on a command line, and as a table of keys and columns in
/// a file (see [`SavedColumns`](super::SavedColumns)).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "BTreeMap<ColumnKey, ColumnPlace>", into = "BTreeMap<ColumnKey, ColumnPlace>")]
pub struct ColumnMapping {
    places: BTreeMap<ColumnKey, ColumnPlace>,
}

impl ColumnMapping {
    /// The column that holds `key`, where one does.
    pub fn place(&self, key: ColumnKey) -> Option<&ColumnPlace> {
        self.places.get(&key)
    }

    /// Every key with its column, in the order of [`ColumnKey::ALL`].
    pub fn iter(&self) -> impl Iterator<Item = (ColumnKey, &ColumnPlace)> {
        self.places.iter().map(|(key, place)| (*key, place))
    }

    /// Whether every row can name its module in its setting: there is nothing else that would need one.
    pub(super) fn only_settings(&self) -> bool {
        self.places.keys().all(|key| matches!(key, ColumnKey::Setting | ColumnKey::Value))
    }
}

impl TryFrom<BTreeMap<ColumnKey, ColumnPlace>> for ColumnMapping {
    type Error = MappingError;
    fn try_from(places: BTreeMap<ColumnKey, ColumnPlace>) -> Result<Self, MappingError> {
        if places.is_empty() {
            return Err(MappingError::Empty);
        }
        for key in places.keys() {
            if let Some(needs) = key.needs().filter(|needs| !places.contains_key(needs)) {
                return Err(MappingError::Needs { key: *key, needs });
            }
        }
        if places.keys().all(|key| *key == ColumnKey::Module) {
            return Err(MappingError::Nothing);
        }
        Ok(Self { places })
    }
}

impl From<ColumnMapping> for BTreeMap<ColumnKey, ColumnPlace> {
    fn from(mapping: ColumnMapping) -> Self {
        mapping.places
    }
}

impl FromStr for ColumnMapping {
    type Err = MappingError;
    fn from_str(text: &str) -> Result<Self, MappingError> {
        let mut places = BTreeMap::new();
        for (key, place) in mapping_text::read(text)? {
            if places.insert(key, place).is_some() {
                return Err(MappingError::Twice(key));
            }
        }
        Self::try_from(places)
    }
}

impl fmt::Display for ColumnMapping {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&mapping_text::write(self.iter()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn mapping(text: &str) -> Result<ColumnMapping, MappingError> {
        text.parse()
    }

    #[test]
    fn pairs_belong_together() {
        use ColumnKey::{Bytes, Record, Setting, Status, TroubleCode, Value};
        let needs = |key, needs| Err(MappingError::Needs { key, needs });
        assert_eq!(mapping("module=A,setting=B"), needs(Setting, Value));
        assert_eq!(mapping("value=B"), needs(Value, Setting));
        assert_eq!(mapping("record=A,setting=B,value=C"), needs(Record, Bytes));
        assert_eq!(mapping("bytes=A"), needs(Bytes, Record));
        assert_eq!(mapping("status=A,serial=B"), needs(Status, TroubleCode));
        assert_eq!(mapping("module=A"), Err(MappingError::Nothing));
        assert_eq!(mapping(" "), Err(MappingError::Empty));
        for text in ["setting=A,value=B,record=C,bytes=D", "module=A,serial=B", "trouble_code=#1"] {
            assert_eq!(mapping(text).unwrap().to_string(), text);
        }
    }

    #[test]
    fn a_key_stands_once() {
        assert_eq!(mapping("setting=A,value=B,Setting=C"), Err(MappingError::Twice(ColumnKey::Setting)));
        assert!(matches!(mapping("setting=A,vlaue=B"), Err(MappingError::Key(_))));
    }
}

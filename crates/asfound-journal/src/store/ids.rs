//! The ids of what a store holds.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Why a text was refused as an id.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("`{0}` is no id: 40 lower-case hexadecimal digits are needed")]
pub struct IdError(String);

fn check(text: &str) -> Result<(), IdError> {
    let digit = |b: u8| b.is_ascii_digit() || (b'a'..=b'f').contains(&b);
    if text.len() == 40 && text.bytes().all(digit) { Ok(()) } else { Err(IdError(text.chars().take(48).collect())) }
}

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        ///
        /// 40 lower-case hexadecimal digits. Ids come from a store; one that the store does not
        /// hold is reported as missing, which is damage.
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name(String);

        impl $name {
            /// The id as text.
            pub fn as_str(&self) -> &str {
                &self.0
            }
        }

        impl FromStr for $name {
            type Err = IdError;
            fn from_str(text: &str) -> Result<Self, IdError> {
                check(text)?;
                Ok(Self(text.to_owned()))
            }
        }

        impl TryFrom<String> for $name {
            type Error = IdError;
            fn try_from(text: String) -> Result<Self, IdError> {
                check(&text)?;
                Ok(Self(text))
            }
        }

        impl From<$name> for String {
            fn from(id: $name) -> String {
                id.0
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(&self.0)
            }
        }
    };
}

id!(
    /// The id of a commit: of one entry of one journal.
    CommitId
);
id!(
    /// The id of the listing of a commit.
    TreeId
);
id!(
    /// The id of a blob: of the contents of a file, whatever its path and entry.
    BlobId
);

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_forty_lower_case_digits_are_an_id() {
        let good = "0123456789abcdef0123456789abcdef01234567";
        assert_eq!(good.parse::<CommitId>().unwrap().as_str(), good);
        for bad in ["", "0123", &good.to_uppercase(), &good[1..], &format!("{good}0"), &"é".repeat(20)] {
            assert!(bad.parse::<BlobId>().is_err(), "{bad:?}");
        }
    }
}

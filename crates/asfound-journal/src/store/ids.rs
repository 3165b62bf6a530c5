//! The ids of what a store holds.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

/// Why a text was refused as an id.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("invalid id `{0}` (expected 40 lower-case hexadecimal digits)")]
pub struct IdError(String);

/// The digits, which stand in the id itself: a long journal has many of them.
fn check(text: &str) -> Result<[u8; 40], IdError> {
    let digit = |b: u8| b.is_ascii_digit() || (b'a'..=b'f').contains(&b);
    let digits = text.as_bytes().try_into().ok().filter(|digits: &[u8; 40]| digits.iter().copied().all(digit));
    digits.ok_or_else(|| IdError(text.chars().take(48).collect()))
}

macro_rules! id {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        ///
        /// 40 lower-case hexadecimal digits. Ids come from a store; one that the store does not
        /// hold is reported as missing, which is damage.
        #[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
        #[serde(try_from = "String", into = "String")]
        pub struct $name([u8; 40]);

        impl $name {
            /// The id as text.
            pub fn as_str(&self) -> &str {
                std::str::from_utf8(&self.0).expect("an id is of hexadecimal digits")
            }
        }

        impl FromStr for $name {
            type Err = IdError;
            fn from_str(text: &str) -> Result<Self, IdError> {
                check(text).map(Self)
            }
        }

        impl TryFrom<String> for $name {
            type Error = IdError;
            fn try_from(text: String) -> Result<Self, IdError> {
                check(&text).map(Self)
            }
        }

        impl From<$name> for String {
            fn from(id: $name) -> String {
                id.as_str().to_owned()
            }
        }

        impl fmt::Display for $name {
            fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
                f.pad(self.as_str())
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

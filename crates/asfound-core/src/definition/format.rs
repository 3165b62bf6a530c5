//! The formats of definition files.

use std::fmt;

/// The formats of definition files that are understood, as the head of a file names them.
///
/// They differ in how many bits a setting has where the file does not say it. A text means the same wherever it is read,
/// in a garage or in a journal, because its own head says by which rule.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum DefinitionFormat {
    /// `asfound-definition/1`: always eight bits.
    One,
    /// `asfound-definition/2`: one bit for what can only be 0 or 1, else eight.
    Two,
}

impl DefinitionFormat {
    /// Both, the older one first.
    pub const ALL: [Self; 2] = [Self::One, Self::Two];

    /// The format of a name.
    pub fn named(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|format| format.as_str() == name)
    }

    /// Its name.
    pub const fn as_str(self) -> &'static str {
        match self {
            Self::One => "asfound-definition/1",
            Self::Two => "asfound-definition/2",
        }
    }

    /// Whether a name is that of a format which a newer program may understand.
    pub fn is_newer(name: &str) -> bool {
        name.starts_with("asfound-definition/") && Self::named(name).is_none()
    }
}

impl fmt::Display for DefinitionFormat {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

//! What makes git read another history than was written.

/// Something in a repository that makes git read another history than was written.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum RepositoryOddity {
    /// For the object of this id, git shows another one (`git replace`).
    Replaced(String),
    /// For the commit of this id, git takes other parents than it has (`info/grafts`).
    Grafted(String),
    /// Git takes the commit of this id for the first one (`shallow`).
    Shallow(String),
}

impl RepositoryOddity {
    /// The object that is concerned.
    pub fn id(&self) -> &str {
        match self {
            Self::Replaced(id) | Self::Grafted(id) | Self::Shallow(id) => id,
        }
    }
}

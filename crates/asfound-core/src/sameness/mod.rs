//! Whether two contents are the same: the one place that says so.

/// What can be said of two contents.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Sameness {
    /// They are the same to the letter.
    Same,
    /// They are the same, written otherwise.
    SaidDifferently,
    /// They are different.
    Different,
    /// Nobody can say: they may be the same.
    CannotTell,
}

impl Sameness {
    /// Whether they are certainly the same.
    pub fn is_same(self) -> bool {
        matches!(self, Self::Same | Self::SaidDifferently)
    }

    /// Whether they are certainly different.
    pub fn is_different(self) -> bool {
        self == Self::Different
    }
}

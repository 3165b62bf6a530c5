//! Yes, no, or not known.

/// Whether something holds, where some values may be unknown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Truth {
    /// It holds.
    Holds,
    /// It does not hold.
    Fails,
    /// It depends on a value that is not known.
    CannotTell,
}

impl Truth {
    /// Whether all hold: one that fails decides, whatever is unknown; of none, it holds.
    pub fn all(verdicts: impl IntoIterator<Item = Self>) -> Self {
        let mut so_far = Self::Holds;
        for verdict in verdicts {
            match verdict {
                Self::Fails => return Self::Fails,
                Self::CannotTell => so_far = Self::CannotTell,
                Self::Holds => {}
            }
        }
        so_far
    }

    /// Whether one holds: one that holds decides; of none, it fails.
    pub fn any(verdicts: impl IntoIterator<Item = Self>) -> Self {
        Self::all(verdicts.into_iter().map(Self::not)).not()
    }

    /// The opposite.
    #[allow(clippy::should_implement_trait)] // `!` would read as if there were only two values
    pub fn not(self) -> Self {
        match self {
            Self::Holds => Self::Fails,
            Self::Fails => Self::Holds,
            Self::CannotTell => Self::CannotTell,
        }
    }
}

impl From<bool> for Truth {
    fn from(holds: bool) -> Self {
        if holds { Self::Holds } else { Self::Fails }
    }
}

#[cfg(test)]
mod tests {
    use super::Truth::{CannotTell, Fails, Holds};
    use super::*;

    /// Kleene's strong logic of three values: the tables for conjunction and disjunction (from memory).
    #[test]
    fn follows_the_tables_of_three_valued_logic() {
        for (a, b, both, either) in [
            (Holds, Holds, Holds, Holds),
            (Holds, CannotTell, CannotTell, Holds),
            (Holds, Fails, Fails, Holds),
            (CannotTell, CannotTell, CannotTell, CannotTell),
            (CannotTell, Fails, Fails, CannotTell),
            (Fails, Fails, Fails, Fails),
        ] {
            for pair in [[a, b], [b, a]] {
                assert_eq!((Truth::all(pair), Truth::any(pair)), (both, either), "{pair:?}");
            }
        }
        assert_eq!((Truth::all([]), Truth::any([])), (Holds, Fails));
    }
}

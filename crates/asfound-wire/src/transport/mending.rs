//! What in a log was put right before a message could be made out.

/// Something small that was put right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Mending {
    /// Frames of one moment stood in an order in which they cannot have come.
    OutOfOrder,
    /// A message went on in the next log.
    AcrossLogs,
    /// Frames stood in the log twice.
    Doubled,
}

const ALL: [Mending; 3] = [Mending::OutOfOrder, Mending::AcrossLogs, Mending::Doubled];

/// Everything that was put right in a message.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Mendings(u8);

impl Mendings {
    const fn bit(one: Mending) -> u8 {
        match one {
            Mending::OutOfOrder => 1,
            Mending::AcrossLogs => 2,
            Mending::Doubled => 4,
        }
    }

    /// Adds one.
    pub const fn insert(&mut self, one: Mending) {
        self.0 |= Self::bit(one);
    }

    /// Both together.
    #[must_use]
    pub const fn and(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }

    /// Whether nothing was put right.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Each of them.
    pub fn iter(self) -> impl Iterator<Item = Mending> {
        ALL.into_iter().filter(move |one| self.0 & Self::bit(*one) != 0)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_was_put_in_is_there() {
        let mut some = Mendings::default();
        assert!(some.is_empty());
        some.insert(Mending::Doubled);
        let mut other = Mendings::default();
        other.insert(Mending::AcrossLogs);
        assert_eq!(some.and(other).iter().collect::<Vec<_>>(), [Mending::AcrossLogs, Mending::Doubled]);
        assert_eq!(some.and(some).iter().collect::<Vec<_>>(), [Mending::Doubled]);
    }
}

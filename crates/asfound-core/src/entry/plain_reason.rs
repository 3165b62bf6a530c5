//! The reasons that stand in an entry where nobody gave one.

use std::fmt;

use super::{Body, OrderNumber};

/// A reason that nobody gave: what a command files where none is asked for. Told apart from people's own words so that print
/// can say it in its language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PlainReason {
    /// Of an enrolment.
    Started,
    /// Of a reading that was typed.
    Typed,
    /// Of a reading, or of what a bus log showed, from these files.
    FromFiles(String),
    /// Of an order that was opened.
    OrderOpened(OrderNumber),
    /// Of one that was extended.
    OrderExtended(OrderNumber),
    /// Of one that was closed.
    OrderClosed(OrderNumber),
}

impl PlainReason {
    /// The reason as such a one; nothing where somebody gave it.
    pub fn of(body: &Body, why: &str) -> Option<Self> {
        let plain = match body {
            Body::Enrolled(_) => Self::Started,
            Body::Reading(_) | Body::Witness(_) => match why.strip_prefix("from ") {
                Some(files) => Self::FromFiles(files.to_owned()),
                None => Self::Typed,
            },
            Body::OrderOpened(terms) => Self::OrderOpened(terms.number.clone()),
            Body::OrderExtended(terms) => Self::OrderExtended(terms.number.clone()),
            Body::OrderClosed(number) => Self::OrderClosed(number.clone()),
            Body::Change(_) | Body::PutBack(..) | Body::Correction(_) | Body::Note(_) => return None,
        };
        (plain.to_string() == why).then_some(plain)
    }
}

impl fmt::Display for PlainReason {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Started => f.write_str("journal started"),
            Self::Typed => f.write_str("values typed by hand"),
            Self::FromFiles(files) => write!(f, "from {files}"),
            Self::OrderOpened(number) => write!(f, "work order {number}"),
            Self::OrderExtended(number) => write!(f, "more work on order {number}"),
            Self::OrderClosed(number) => write!(f, "order {number} done"),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn own_words_are_no_plain_reason() {
        let closed = Body::OrderClosed("7".parse().unwrap());
        let plain = PlainReason::of(&closed, "order 7 done");
        assert_eq!(plain, Some(PlainReason::OrderClosed("7".parse().unwrap())));
        assert_eq!(PlainReason::of(&closed, "order 8 done"), None);
        assert_eq!(PlainReason::of(&Body::Note(None), "journal started"), None);
        assert_eq!(plain.unwrap().to_string(), "order 7 done");
    }
}

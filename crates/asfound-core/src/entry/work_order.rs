//! What work orders hold.

use std::fmt;
use std::str::FromStr;

use serde::{Deserialize, Serialize};
use thiserror::Error;

use super::Reason;
use crate::names::{ModuleName, RecordName, SettingPath};
use crate::value::HexBytes;

/// The longest number of an order, in characters.
const LONGEST: usize = 40;

/// Why a text is no number of an order.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error(
    "invalid order number `{0}`: it has 1 to {LONGEST} letters, digits and `-`, `/`, `.`, `_`, and begins with a letter or a digit"
)]
pub struct OrderNumberError(String);

/// The number of a work order, as the workshop has it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct OrderNumber(String);

impl FromStr for OrderNumber {
    type Err = OrderNumberError;
    fn from_str(text: &str) -> Result<Self, OrderNumberError> {
        let allowed = |c: char| c.is_alphanumeric() || "-/._".contains(c);
        let sound =
            text.starts_with(char::is_alphanumeric) && text.chars().all(allowed) && text.chars().count() <= LONGEST;
        if sound { Ok(Self(text.to_owned())) } else { Err(OrderNumberError(text.chars().take(LONGEST).collect())) }
    }
}

impl TryFrom<String> for OrderNumber {
    type Error = OrderNumberError;
    fn try_from(text: String) -> Result<Self, OrderNumberError> {
        text.parse()
    }
}

impl From<OrderNumber> for String {
    fn from(number: OrderNumber) -> String {
        number.0
    }
}

impl fmt::Display for OrderNumber {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.0)
    }
}

/// One thing that the customer has agreed to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged, deny_unknown_fields)]
pub enum AuthorisedItem {
    /// A setting, and the value that it is to have.
    Setting {
        /// The setting.
        setting: SettingPath,
        /// The value, as the definition writes it.
        left: String,
    },
    /// A record, and the bytes that it is to have.
    Record {
        /// The module.
        module: ModuleName,
        /// The record.
        record: RecordName,
        /// The bytes.
        left: HexBytes,
    },
    /// That a module is replaced, or gets other software.
    Unit {
        /// The module.
        module: ModuleName,
    },
}

impl AuthorisedItem {
    /// The value or the bytes, as text; nothing of a module.
    pub fn value(&self) -> Option<String> {
        match self {
            Self::Setting { left, .. } => Some(left.clone()),
            Self::Record { left, .. } => Some(left.to_string()),
            Self::Unit { .. } => None,
        }
    }

    /// What it is about.
    pub fn subject(&self) -> TermSubject {
        match self {
            Self::Setting { setting, .. } => TermSubject::Setting { setting: setting.clone() },
            Self::Record { module, record, .. } => {
                TermSubject::Record { module: module.clone(), record: record.clone() }
            }
            Self::Unit { module } => TermSubject::Unit { module: module.clone() },
        }
    }
}

/// `body.lane_change_flashes = 5`
impl fmt::Display for AuthorisedItem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Setting { setting, left } => write!(f, "{setting} = {left}"),
            Self::Record { module, record, left } => write!(f, "{module}:{record} = {left}"),
            Self::Unit { module } => write!(f, "{module}: another unit or other software"),
        }
    }
}

/// What a term of an order is about.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(untagged, deny_unknown_fields)]
pub enum TermSubject {
    /// A setting.
    Setting {
        /// The setting.
        setting: SettingPath,
    },
    /// A record.
    Record {
        /// The module.
        module: ModuleName,
        /// The record.
        record: RecordName,
    },
    /// A module itself.
    Unit {
        /// The module.
        module: ModuleName,
    },
}

/// `body.lane_change_flashes`, `body:0D01`, `cluster`
impl fmt::Display for TermSubject {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Setting { setting } => setting.fmt(f),
            Self::Record { module, record } => f.pad(&format!("{module}:{record}")),
            Self::Unit { module } => module.fmt(f),
        }
    }
}

/// A term that was written down wrongly, with what was meant.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CorrectedTerm {
    /// What the term as written is about.
    pub term: TermSubject,
    /// What was meant.
    pub meant: AuthorisedItem,
}

/// What the customer has agreed to, and how that is known.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderTerms {
    /// The order.
    pub number: OrderNumber,
    /// Who agreed, how and when.
    pub consent: Reason,
    /// The estimate that was agreed to before the work, in words; nothing where none was given.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub estimate: Option<Reason>,
    /// What is authorised; nothing where only an examination is.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub authorised: Vec<AuthorisedItem>,
    /// Earlier terms that were written down wrongly; nothing else was agreed to than what is meant here.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub put_right: Vec<CorrectedTerm>,
    /// Earlier terms that the customer no longer agrees to.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub withdrawn: Vec<TermSubject>,
}

impl OrderTerms {
    /// A consent to nothing yet.
    pub fn new(number: OrderNumber, consent: Reason) -> Self {
        Self { number, consent, estimate: None, authorised: Vec::new(), put_right: Vec::new(), withdrawn: Vec::new() }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_of_orders() {
        for text in ["7", "2026-0412", "A/17.3_b", "Ä1"] {
            assert_eq!(text.parse::<OrderNumber>().unwrap().to_string(), text);
        }
        for text in ["", "-1", "a b", "1\n", "a,b", &"9".repeat(41)] {
            assert!(text.parse::<OrderNumber>().is_err(), "{text:?}");
        }
    }

    #[test]
    fn every_kind_of_authority_is_read_back() {
        let terms = OrderTerms {
            number: "2026-0412".parse().unwrap(),
            consent: Reason::try_from("owner, by phone, 14 March".to_owned()).unwrap(),
            authorised: vec![
                AuthorisedItem::Setting { setting: "body.lane_change_flashes".parse().unwrap(), left: "5".to_owned() },
                AuthorisedItem::Record {
                    module: "body".parse().unwrap(),
                    record: "0D01".parse().unwrap(),
                    left: "03 10".parse().unwrap(),
                },
                AuthorisedItem::Unit { module: "cluster".parse().unwrap() },
            ],
            estimate: Some(Reason::try_from("120.00 EUR".to_owned()).unwrap()),
            put_right: vec![CorrectedTerm {
                term: TermSubject::Setting { setting: "body.lane_chnge".parse().unwrap() },
                meant: AuthorisedItem::Unit { module: "body".parse().unwrap() },
            }],
            withdrawn: vec![
                TermSubject::Setting { setting: "body.horn".parse().unwrap() },
                TermSubject::Record { module: "body".parse().unwrap(), record: "0D02".parse().unwrap() },
                TermSubject::Unit { module: "cluster".parse().unwrap() },
            ],
        };
        let text = toml::to_string(&terms).unwrap();
        assert_eq!(toml::from_str::<OrderTerms>(&text).unwrap(), terms, "{text}");
        for stray in [
            "module = \"body\"\nleft = \"03\"",
            "setting = \"body.x\"",
            "setting = \"body.x\"\nleft = \"5\"\nmodule = \"body\"",
        ] {
            assert!(toml::from_str::<AuthorisedItem>(stray).is_err(), "{stray}");
        }
    }
}

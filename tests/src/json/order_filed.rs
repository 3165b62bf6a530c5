//! `asfound/order-filed/1`: what `order open`, `order extend`, `order put-right` and `order withdraw` answer.

use serde::{Deserialize, Serialize};

use super::{Answer, EntryHead};

/// An order that was opened or extended.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderFiled {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// The entry.
    pub entry: EntryHead,
    /// The order's number.
    pub order: String,
    /// Who agreed, how and when.
    pub consent: String,
    /// The estimate that was agreed to with it.
    pub estimate: Option<String>,
    /// What is authorised with this entry, in the order in which it was given.
    pub authorised: Vec<Authorised>,
    /// Earlier terms that were put right with it.
    pub put_right: Vec<CorrectedTerm>,
    /// Earlier terms that were withdrawn with it.
    pub withdrawn: Vec<TermSubject>,
    /// Of what is authorised: terms that may not be what was meant.
    pub doubts: Vec<TermDoubt>,
}

/// A term that may not be what was meant.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TermDoubt {
    /// The setting, record or module.
    pub term: String,
    /// `unknown-module`, `nothing-known`, `unknown-setting` or `unknown-value`.
    pub doubt: String,
    /// The name that comes close.
    pub near: Option<String>,
}

/// A term that was written down wrongly.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct CorrectedTerm {
    /// What the term as written is about.
    pub term: TermSubject,
    /// What was meant.
    pub meant: Authorised,
}

/// What a term is about: a setting; a record; or a module alone.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TermSubject {
    /// The setting.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub setting: Option<String>,
    /// The module.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub module: Option<String>,
    /// The record.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub record: Option<String>,
}

/// What is authorised: a setting and its value, a record and its bytes, or that a module becomes another one. Keys without
/// content are absent.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Authorised {
    /// The setting.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub setting: Option<String>,
    /// The module, of a record or where the module itself is meant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub module: Option<String>,
    /// The record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub record: Option<String>,
    /// The value or the bytes.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub left: Option<String>,
}

impl Answer for OrderFiled {
    const SCHEMA: &'static str = "asfound/order-filed/1";
}

//! What was asked for and agreed.

use serde::Serialize;
use time::OffsetDateTime;

/// What the customer asked for and agreed to, as a work order has it.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct Agreement {
    /// The number of the work order.
    pub order: Option<String>,
    /// What was asked for, in the customer's words.
    pub asked: Option<String>,
    /// The estimate that was agreed to before the work.
    pub estimate: Option<String>,
    /// What was authorised.
    pub authorised: Vec<Authorised>,
    /// The consents, in their order.
    pub consents: Vec<Consent>,
}

impl Agreement {
    /// Whether it covers that a field holds `value` afterwards.
    pub(crate) fn covers(&self, field: &str, value: &str) -> bool {
        self.authorised.iter().any(|item| item.field == field && item.value.as_deref().is_none_or(|one| one == value))
    }
}

/// One piece of work that was authorised.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Authorised {
    /// The setting, `body.lane_change_flashes`; or a field without a name as the journal writes it.
    pub field: String,
    /// The value that was agreed; any value where none is named.
    pub value: Option<String>,
}

/// A consent: by whom and in what way, in one line, and when.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Consent {
    /// Who consented, and how.
    pub words: String,
    /// When.
    #[serde(with = "time::serde::rfc3339::option")]
    pub at: Option<OffsetDateTime>,
}

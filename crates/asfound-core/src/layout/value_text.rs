//! Values as a user types them.

use thiserror::Error;

use crate::value::{DecimalError, HexError};

/// Why a typed text is no value of a setting.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
pub enum ValueTextError {
    /// Neither `on` nor `off`; other words for them are not guessed at.
    #[error("`{0}` is not taken for a switch: write `on` or `off`")]
    Switch(String),
    /// Not among the choices.
    #[error(
        "`{found}` is not among the choices {}{}",
        .choices.join(", "), .near.as_ref().map(|near| format!("; did you mean `{near}`?")).unwrap_or_default()
    )]
    Choice {
        /// The text given.
        found: String,
        /// The choice that is spelt most like it, if one is near.
        near: Option<String>,
        /// The names there are.
        choices: Vec<String>,
    },
    /// Not a whole number.
    #[error("`{0}` is no whole number")]
    Integer(String),
    /// Not a decimal.
    #[error(transparent)]
    Number(#[from] DecimalError),
    /// Another unit than the setting's.
    #[error("`{found}` is not the unit of this setting: write the number alone or with {unit}")]
    Unit {
        /// The unit given.
        found: String,
        /// The unit that the setting has.
        unit: String,
    },
    /// Not hexadecimal.
    #[error(transparent)]
    Bytes(#[from] HexError),
}

//! Definitions: how a family of control modules lays its settings out, what each may be, and what must hold between them.
//!
//! [`Definition::parse`] reads a definition file and reports everything that is wrong with it at once; [`check_together`]
//! holds several files against each other. A [`DefinitionSet`] finds the definition that fits a module's [`Identity`](crate::identity::Identity).

mod affected;
mod applies_to;
mod comparison;
mod cross_check;
mod definition_set;
mod format;
mod lookup;
mod model;
mod operand;
mod overlap;
mod parse;
mod pattern;
mod permitted;
mod plausibility;
mod record;
mod rule;
mod setting;
mod software;
mod verdict;

pub use affected::Affected;
pub use applies_to::AppliesTo;
pub use comparison::Comparison;
pub use cross_check::{DefinitionProblem, check_together};
pub use definition_set::{AmbiguousDefinition, DefinitionSet, DuplicateId};
pub use format::DefinitionFormat;
pub use model::{Definition, ParsedDefinition};
pub use operand::Operand;
pub use overlap::Overlap;
pub use pattern::{Pattern, PatternError};
pub use permitted::{NotPermitted, Permitted};
pub use plausibility::PlausibilityRule;
pub use record::RecordDefinition;
pub use rule::{Condition, Rule, RuleKind};
pub use setting::{SettingDefinition, SettingValueError};
pub use software::{SoftwareRange, compare_versions};
pub use verdict::Truth;

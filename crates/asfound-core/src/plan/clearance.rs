//! That somebody has acknowledged every restricted system which work touches.

use thiserror::Error;

use super::compose::Plan;
use crate::entry::Acknowledgement;
use crate::safety::SafetyTag;

/// A restricted system that nobody has acknowledged.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("the work touches a restricted system ({}) and nobody has acknowledged it", tags(.0))]
pub struct AcknowledgementMissing(pub Vec<SafetyTag>);

fn tags(tags: &[SafetyTag]) -> String {
    tags.iter().map(|tag| tag.as_str()).collect::<Vec<_>>().join(", ")
}

/// A plan whose restricted systems are acknowledged.
///
/// [`acknowledge`] alone gives it out, and without it there is no [`work`](Clearance::work) to put into an entry:
///
/// ```compile_fail
/// # fn f(plan: &asfound_core::plan::Plan) {
/// let clearance = asfound_core::plan::Clearance { plan, acknowledgements: Vec::new() };
/// # }
/// ```
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Clearance<'p> {
    pub(super) plan: &'p Plan,
    pub(super) acknowledgements: Vec<Acknowledgement>,
}

/// Holds the acknowledgements against the restricted steps of a plan. One without name or grounds counts for nothing.
///
/// # Errors
/// The restricted tags that nobody has acknowledged.
pub fn acknowledge<'p>(
    plan: &'p Plan,
    acknowledgements: &[Acknowledgement],
) -> Result<Clearance<'p>, AcknowledgementMissing> {
    let touched = plan.steps.iter().flat_map(|step| step.restricted.iter().copied());
    acknowledged(touched, acknowledgements)?;
    Ok(Clearance { plan, acknowledgements: acknowledgements.to_vec() })
}

/// Holds acknowledgements against restricted systems that are touched.
///
/// # Errors
/// Those that nobody has acknowledged.
pub(super) fn acknowledged(
    touched: impl IntoIterator<Item = SafetyTag>,
    acknowledgements: &[Acknowledgement],
) -> Result<(), AcknowledgementMissing> {
    let good = |given: &Acknowledgement| !given.name.trim().is_empty() && !given.grounds.trim().is_empty();
    let covered = |tag: &SafetyTag| acknowledgements.iter().any(|given| given.tag == *tag && good(given));
    let mut missing: Vec<SafetyTag> = touched.into_iter().filter(|tag| !covered(tag)).collect();
    missing.sort();
    missing.dedup();
    if missing.is_empty() { Ok(()) } else { Err(AcknowledgementMissing(missing)) }
}

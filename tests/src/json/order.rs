//! `asfound/order/1`: what `order show` and `order close` answer.

use serde::{Deserialize, Serialize};

use super::{Answer, Authorised, CorrectedTerm, OpenStep, Proof, TermDoubt, TermSubject};

/// One order, and what it comes to.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderInFull {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// The order's number.
    pub order: String,
    /// The entry that opened it.
    pub opened: u32,
    /// The entry that closed it; nothing while it is open.
    pub closed: Option<u32>,
    /// What was agreed to: at the opening, then in each extension.
    pub terms: Vec<OrderTerms>,
    /// Whether nothing was done without authority.
    pub can_be_closed: bool,
    /// What was authorised against what was done, by group in the order of the groups' names below, then by what it is about.
    pub lines: Vec<OrderLine>,
    /// Whether a reading as left came after the last work.
    pub read_after_work: bool,
    /// The open steps until the order's end, by module and record.
    pub in_doubt: Vec<OpenStep>,
    /// While it is open: terms that may not be what was meant.
    pub doubts: Vec<TermDoubt>,
}

/// What was agreed to in one entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderTerms {
    /// The entry.
    pub entry: u32,
    /// Who agreed, how and when.
    pub consent: String,
    /// The estimate that was agreed to with it.
    pub estimate: Option<String>,
    /// What is authorised.
    pub authorised: Vec<Authorised>,
    /// Earlier terms that were put right.
    pub put_right: Vec<CorrectedTerm>,
    /// Earlier terms that were withdrawn.
    pub withdrawn: Vec<TermSubject>,
}

/// One line of what was authorised against what was done.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OrderLine {
    /// `authorised-and-done`, `done-agreed-to-afterwards`, `authorised-not-done`, `withdrawn`, `done-without-authority`,
    /// `another-hand`, `cannot-tell` or `altered-and-taken-back`.
    pub group: String,
    /// `field`, `record` or `module`.
    pub kind: String,
    /// The setting, undeclared bits, record or module.
    pub what: String,
    /// What was authorised for it.
    pub authorised: Option<String>,
    /// What it held before.
    pub found: Option<String>,
    /// What it holds after.
    pub left: Option<String>,
    /// The entry that records or shows it.
    pub entry: Option<u32>,
    /// Of what was authorised and done: `recorded` (an entry records the work), `seen` (a reading shows it), `with-unit` (it
    /// came with a module whose replacement or other software was authorised) or `was-so`.
    pub how: Option<String>,
    /// The entry with the consent that came afterwards, or in which it was withdrawn.
    pub said_in: Option<u32>,
    /// Of another hand: what kind of alteration it is.
    pub hand: Option<String>,
    /// How well recorded work is proven.
    pub proof: Option<Proof>,
}

impl Answer for OrderInFull {
    const SCHEMA: &'static str = "asfound/order/1";
    fn check(&self) {
        check_lines(&self.lines);
    }
}

/// That lines are sorted by group.
pub(super) fn check_lines(lines: &[OrderLine]) {
    let groups = [
        "authorised-and-done",
        "done-agreed-to-afterwards",
        "authorised-not-done",
        "withdrawn",
        "done-without-authority",
        "another-hand",
        "cannot-tell",
        "altered-and-taken-back",
    ];
    let places: Vec<_> = lines.iter().map(|line| groups.iter().position(|group| *group == line.group)).collect();
    assert!(places.iter().all(Option::is_some) && places.is_sorted(), "{places:?}");
}

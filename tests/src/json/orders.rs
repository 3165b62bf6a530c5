//! `asfound/orders/1`: what `order show --all` answers.

use serde::{Deserialize, Serialize};

use super::order::check_lines;
use super::{Answer, OrderLine, OrderTerms};

/// All orders of a vehicle.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Orders {
    /// The schema.
    pub schema: String,
    /// The vehicle's tag.
    pub vehicle: String,
    /// The orders, as they were opened.
    pub orders: Vec<OneOrder>,
}

/// One of them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct OneOrder {
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
    /// What was authorised against what was done.
    pub lines: Vec<OrderLine>,
}

impl Answer for Orders {
    const SCHEMA: &'static str = "asfound/orders/1";
    fn check(&self) {
        self.orders.iter().for_each(|order| check_lines(&order.lines));
    }
}

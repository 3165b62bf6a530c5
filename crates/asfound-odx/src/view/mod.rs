//! A layer as it is with all that it inherits.

mod inheritance;
mod lookup;
mod tables;

pub(crate) use inheritance::{Inheritance, ServiceList};
pub(crate) use lookup::View;
pub(crate) use tables::{PlacedRow, TablePlace};

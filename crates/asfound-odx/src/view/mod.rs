//! A layer as it is with all that it inherits.

mod inheritance;
mod lookup;
mod rows_by_key;
mod tables;

pub(crate) use inheritance::{Inheritance, ServiceList};
pub(crate) use lookup::View;
pub(crate) use rows_by_key::RowsByKey;
pub(crate) use tables::{PlacedRow, TablePlace};

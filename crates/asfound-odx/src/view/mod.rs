//! A layer as it is with all that it inherits.

mod inheritance;
mod lookup;

pub(crate) use inheritance::{Inheritance, ServiceList};
pub(crate) use lookup::View;

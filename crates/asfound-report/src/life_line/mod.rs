//! The life of a setting as a line: values as steps over time, readings as ticks, and how well each change is proven.

mod draw;
mod line;

pub(crate) use draw::{draw, sample};
pub(crate) use line::{LifeLine, StepKind, ever_changed, life_line};

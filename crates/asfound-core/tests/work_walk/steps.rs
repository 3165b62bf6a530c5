//! One step, one thing that happens to it.

//! Ctrl-C while a car is read.

use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};

use signal_hook::consts::SIGINT;
use signal_hook::flag;

/// How a program ends that was interrupted (128 and the number of the signal).
const INTERRUPTED: i32 = 128 + SIGINT;

/// Notices Ctrl-C. The first one is a wish to stop; the next ends the program.
pub struct Interrupt(Arc<AtomicBool>);

impl Interrupt {
    /// From now on. Where the system does not let it notice, Ctrl-C ends the program as ever.
    pub fn watch() -> Self {
        let wished = Arc::new(AtomicBool::new(false));
        // In this order: the first time the wish is not there yet when it is asked for.
        let _ = flag::register_conditional_shutdown(SIGINT, INTERRUPTED, Arc::clone(&wished));
        let _ = flag::register(SIGINT, Arc::clone(&wished));
        Self(wished)
    }

    /// Whether somebody wants it to stop.
    pub fn is_wished(&self) -> bool {
        self.0.load(Ordering::Relaxed)
    }
}

impl Drop for Interrupt {
    fn drop(&mut self) {
        // Nothing is left to stop: from now on it ends the program.
        self.0.store(true, Ordering::Relaxed);
    }
}

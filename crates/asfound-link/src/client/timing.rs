//! How long is waited for what.

use std::time::Duration;

/// How long is waited for what, and how often something is asked again.
///
/// The names P2 and P2* are those of ISO 14229-2; a module keeps to 50 ms and 5 s where it does not say otherwise (from memory).
/// What is added is for gateways and adapters in between (common practice, no source).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Timing {
    /// For a response (P2): counted from the request, or from the gateway's word that it passed it on.
    pub response: Duration,
    /// For the next response after one that said "pending" (P2*).
    pub pending: Duration,
    /// For everything that one request comes to, whatever the module says, also where a refusal is asked for again.
    pub longest: Duration,
    /// Until a module that was busy is asked again.
    pub busy_pause: Duration,
    /// How often a busy module is asked again.
    pub busy_repeats: u32,
    /// How often a silent module is asked again.
    pub silent_repeats: u32,
    /// How long nothing may come before a refusal that may belong to an older request is asked for again.
    pub quiet: Duration,
}

impl Default for Timing {
    fn default() -> Self {
        Self {
            response: Duration::from_secs(1),
            pending: Duration::from_secs(6),
            longest: Duration::from_secs(60),
            busy_pause: Duration::from_millis(250),
            busy_repeats: 20,
            silent_repeats: 1,
            quiet: Duration::from_millis(60),
        }
    }
}

//! How long to wait for others, and how.

use std::hash::{BuildHasher, RandomState};
use std::thread;
use std::time::{Duration, Instant};

/// How long a store waits for others who write.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct LockTimeouts {
    /// How long to wait in all before giving up as busy.
    pub limit: Duration,
    /// How old a lock file of another program must be, found while our own lock is held, to count as
    /// left behind by a killed process. Those of this program are known otherwise.
    pub stale: Duration,
}

impl Default for LockTimeouts {
    /// 10 seconds in all; lock files older than 10 minutes are stale.
    fn default() -> Self {
        Self { limit: Duration::from_secs(10), stale: Duration::from_secs(600) }
    }
}

/// One wait, running against the limit.
pub(super) struct LockWait {
    since: Instant,
    limit: Duration,
    pause: Duration,
}

const SHORTEST_PAUSE: Duration = Duration::from_millis(1);
const LONGEST_PAUSE: Duration = Duration::from_millis(40);

impl LockWait {
    pub(super) fn start(timeouts: LockTimeouts) -> Self {
        Self { since: Instant::now(), limit: timeouts.limit, pause: SHORTEST_PAUSE }
    }

    /// For how long this has been going on.
    pub(super) fn so_far(&self) -> Duration {
        self.since.elapsed()
    }

    /// Waits a little, each time longer. False, at once, when the time is up.
    pub(super) fn pause(&mut self) -> bool {
        let Some(left) = self.limit.checked_sub(self.so_far()).filter(|left| !left.is_zero()) else {
            return false;
        };
        thread::sleep(self.pause.mul_f64(jitter()).min(left));
        self.pause = (self.pause * 2).min(LONGEST_PAUSE);
        true
    }
}

/// A factor from 0.5 to 1.5, so that those who wait for the same thing do not march in step.
fn jitter() -> f64 {
    // The standard library seeds each hasher anew, which is random enough for this.
    let random = u32::try_from(RandomState::new().hash_one(0u8) >> 32).expect("the upper half fits 32 bits");
    0.5 + f64::from(random) / f64::from(u32::MAX)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_until_the_limit_and_not_much_longer() {
        let limit = Duration::from_millis(60);
        let mut waiting = LockWait::start(LockTimeouts { limit, ..LockTimeouts::default() });
        let mut pauses = 0;
        while waiting.pause() {
            pauses += 1;
        }
        assert!(waiting.so_far() >= limit);
        assert!(pauses > 2, "{pauses}");
        assert!(!waiting.pause());
    }

    #[test]
    fn jitter_varies_within_its_bounds() {
        let drawn: Vec<f64> = (0..64).map(|_| jitter()).collect();
        assert!(drawn.iter().all(|factor| (0.5..=1.5).contains(factor)));
        assert!(drawn.iter().any(|factor| *factor < 0.9) && drawn.iter().any(|factor| *factor > 1.1), "{drawn:?}");
    }
}

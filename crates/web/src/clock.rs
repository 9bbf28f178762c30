//! What time it is, and what comes by chance: asked here and nowhere else.

use jiff::{SignedDuration, Timestamp};
use std::sync::Arc;
use std::sync::atomic::{AtomicI64, Ordering};
use uuid::Uuid;

/// The service's only clock. Tests and the demonstration move it.
#[derive(Clone, Debug, Default)]
pub struct Clock {
    /// Microseconds that it is ahead of the machine's.
    ahead: Arc<AtomicI64>,
}

impl Clock {
    /// Now, in whole microseconds as both databases store it.
    pub fn now(&self) -> Timestamp {
        let micros = Timestamp::now().as_microsecond() + self.ahead.load(Ordering::Relaxed);
        Timestamp::from_microsecond(micros).expect("a machine's clock lies within the calendar")
    }

    /// Moves the clock forward (or back) by `by`.
    pub fn advance(&self, by: SignedDuration) {
        let micros = i64::try_from(by.as_micros()).expect("a test moves the clock by years at most");
        self.ahead.fetch_add(micros, Ordering::Relaxed);
    }

    /// Moves the clock so that it shows `instant` now.
    pub fn set(&self, instant: Timestamp) {
        self.advance(instant.duration_since(self.now()));
    }
}

/// A new id. Ids of one process rise in time.
pub fn new_id() -> Uuid {
    Uuid::now_v7()
}

/// `N` random bytes from the operating system.
pub fn random<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    getrandom::fill(&mut bytes).expect("the operating system gives random bytes");
    bytes
}

//! Wrong passwords make the next try slow, never impossible: an attacker must
//! not be able to lock somebody out.

use jiff::{SignedDuration, Timestamp};
use std::collections::HashMap;
use std::sync::{Arc, Mutex};
use std::time::Duration;

/// Tries that cost nothing.
const FREE: u32 = 5;
/// The longest wait.
const MOST: Duration = Duration::from_secs(4);
/// How long a wrong try is remembered.
const REMEMBERED: SignedDuration = SignedDuration::from_mins(15);
/// The most addresses remembered, so that made-up ones cannot fill the memory.
const MOST_ADDRESSES: usize = 10_000;

/// Wrong tries by address.
#[derive(Clone, Debug, Default)]
pub struct Throttle(Arc<Mutex<HashMap<String, Wrong>>>);

#[derive(Clone, Copy, Debug)]
struct Wrong {
    tries: u32,
    last: Timestamp,
}

impl Throttle {
    /// How long the next try for `address` has to wait.
    pub fn wait(&self, address: &str, now: Timestamp) -> Duration {
        let tries = self.0.lock().expect("nothing panics while the tries are held");
        match tries.get(address) {
            Some(wrong) if wrong.tries > FREE && now.duration_since(wrong.last) <= REMEMBERED => {
                let doubled = Duration::from_millis(250) * 2u32.pow((wrong.tries - FREE - 1).min(5));
                doubled.min(MOST)
            }
            _ => Duration::ZERO,
        }
    }

    /// Remembers a wrong try.
    pub fn wrong(&self, address: &str, now: Timestamp) {
        let mut tries = self.0.lock().expect("nothing panics while the tries are held");
        if tries.len() >= MOST_ADDRESSES {
            tries.retain(|_, wrong| now.duration_since(wrong.last) <= REMEMBERED);
        }
        if tries.len() >= MOST_ADDRESSES {
            tries.clear();
        }
        let wrong = tries.entry(address.to_owned()).or_insert(Wrong { tries: 0, last: now });
        if now.duration_since(wrong.last) > REMEMBERED {
            wrong.tries = 0;
        }
        wrong.tries += 1;
        wrong.last = now;
    }

    /// Forgets the tries of an address that signed in.
    pub fn right(&self, address: &str) {
        self.0.lock().expect("nothing panics while the tries are held").remove(address);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn waits_grow_to_four_seconds_and_are_forgotten() {
        let throttle = Throttle::default();
        let now: Timestamp = "2027-03-01T12:00:00Z".parse().unwrap();
        for _ in 0..5 {
            throttle.wrong("a@lab.example", now);
        }
        assert_eq!(throttle.wait("a@lab.example", now), Duration::ZERO);
        throttle.wrong("a@lab.example", now);
        assert_eq!(throttle.wait("a@lab.example", now), Duration::from_millis(250));
        for _ in 0..40 {
            throttle.wrong("a@lab.example", now);
        }
        assert_eq!(throttle.wait("a@lab.example", now), MOST);
        assert_eq!(throttle.wait("b@lab.example", now), Duration::ZERO);
        assert_eq!(throttle.wait("a@lab.example", now + SignedDuration::from_mins(16)), Duration::ZERO);
        throttle.right("a@lab.example");
        assert_eq!(throttle.wait("a@lab.example", now), Duration::ZERO);
    }
}

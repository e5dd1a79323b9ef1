//! Whether this computer itself was asleep (suspended): its monotonic clock stood still then, and nobody listened.
//!
//! Two clocks tell. The wall clock runs on, but it can be set as well. So where it has jumped, the time since the
//! computer was switched on is asked, which counts sleep too and cannot be set (`/proc/uptime`: proc(5), first number).

use super::clock::wall_now_us;

/// A jump of the wall clock from this on is looked into, microseconds. A clock that is only brought into line is moved
/// slowly, or by less.
const JUMP_US: i64 = 1_000_000;

/// Watches both clocks.
#[derive(Clone, Copy, Debug)]
pub struct Suspend {
    /// Wall clock less monotonic clock, microseconds.
    wall_ahead_us: i64,
    /// Time since switching on less monotonic clock, microseconds; `None` where the system does not tell.
    on_ahead_us: Option<i64>,
}

impl Suspend {
    /// Begins to watch; `now_us` is the monotonic clock.
    pub fn begin(now_us: i64) -> Self {
        Self { wall_ahead_us: wall_now_us() - now_us, on_ahead_us: switched_on_us().map(|on| on - now_us) }
    }

    /// How long this computer has slept since the last call, microseconds; `None` where it has not.
    pub fn slept(&mut self, now_us: i64) -> Option<i64> {
        self.slept_by(now_us, wall_now_us(), switched_on_us)
    }

    fn slept_by(&mut self, now_us: i64, wall_us: i64, on_us: impl FnOnce() -> Option<i64>) -> Option<i64> {
        let ahead = wall_us - now_us;
        let jumped = ahead - self.wall_ahead_us;
        if jumped < JUMP_US {
            // Slow drift and a clock set back are followed.
            self.wall_ahead_us = ahead;
            return None;
        }
        self.wall_ahead_us = ahead;
        let before = self.on_ahead_us?;
        let on_ahead = on_us()? - now_us;
        self.on_ahead_us = Some(on_ahead);
        let slept = on_ahead - before;
        (slept >= JUMP_US).then_some(slept)
    }
}

/// Microseconds since this computer was switched on, sleep included.
fn switched_on_us() -> Option<i64> {
    let text = std::fs::read_to_string("/proc/uptime").ok()?;
    let (seconds, hundredths) = text.split_whitespace().next()?.split_once('.')?;
    Some(seconds.parse::<i64>().ok()? * 1_000_000 + hundredths.parse::<i64>().ok()? * 10_000)
}

#[cfg(test)]
mod tests {
    use super::*;

    const SECOND: i64 = 1_000_000;

    fn awake() -> Suspend {
        Suspend { wall_ahead_us: 100 * SECOND, on_ahead_us: Some(7 * SECOND) }
    }

    #[test]
    fn a_sleep_shows_in_both_clocks() {
        let mut suspend = awake();
        assert_eq!(suspend.slept_by(10 * SECOND, 110 * SECOND, || unreachable!("no jump, no question")), None);
        assert_eq!(suspend.slept_by(11 * SECOND, 171 * SECOND, || Some(78 * SECOND)), Some(60 * SECOND));
        assert_eq!(suspend.slept_by(12 * SECOND, 172 * SECOND, || unreachable!("told once")), None);
    }

    #[test]
    fn a_clock_that_was_set_is_no_sleep() {
        let mut suspend = awake();
        assert_eq!(suspend.slept_by(10 * SECOND, 3_710 * SECOND, || Some(17 * SECOND)), None);
        let mut unknown = Suspend { on_ahead_us: None, ..awake() };
        assert_eq!(unknown.slept_by(10 * SECOND, 3_710 * SECOND, || None), None);
        let mut back = awake();
        assert_eq!(back.slept_by(10 * SECOND, 50 * SECOND, || unreachable!("set back")), None);
    }

    /// The system's own figures, where it has them: two looks at once differ by no sleep.
    #[test]
    fn this_computer_is_awake() {
        let mut suspend = Suspend::begin(0);
        assert_eq!(suspend.slept(0), None);
    }
}

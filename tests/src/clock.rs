//! Time that does not count what other programs take.

use std::{sync::LazyLock, time::Instant};

/// Calls between two looks at the clock.
const CALLS_COUNT: u32 = 32;

/// Time that this thread has been at work, s: what other programs take must not look like slowness. Where the system
/// does not tell, the time of day.
pub fn busy_s() -> f64 {
    static START: LazyLock<Instant> = LazyLock::new(Instant::now);
    let told = std::fs::read_to_string("/proc/thread-self/schedstat").ok();
    let nanoseconds = told.and_then(|text| text.split(' ').next()?.parse::<f64>().ok());
    nanoseconds.map_or_else(|| START.elapsed().as_secs_f64(), |ns| 1e-9 * ns)
}

/// Processor time that one call of `work` takes, s: the quickest of `rounds_count` rounds of at least `round_s` each, for what
/// disturbs a measurement only ever adds.
pub fn quickest_s(rounds_count: u32, round_s: f64, mut work: impl FnMut()) -> f64 {
    let round = |_| {
        let start_s = busy_s();
        let mut calls_count = 0_u32;
        loop {
            // The clock is asked seldom, so that asking is not what is measured.
            for _ in 0..CALLS_COUNT {
                work();
            }
            calls_count += CALLS_COUNT;
            let spent_s = busy_s() - start_s;
            if spent_s >= round_s {
                return spent_s / f64::from(calls_count);
            }
        }
    };
    (0..rounds_count).map(round).fold(f64::INFINITY, f64::min)
}

//! The processor's clock of one thread.

use rustix::time::{ClockId, clock_gettime};

/// CPU seconds of this thread.
pub fn thread_s() -> f64 {
    let time = clock_gettime(ClockId::ThreadCPUTime);
    time.tv_sec as f64 + time.tv_nsec as f64 / 1e9
}

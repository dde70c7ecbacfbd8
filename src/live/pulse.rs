//! What an audio callback tells the rest of the program, in a few atomics: that it lives, when
//! which frame is heard, what went wrong. Nothing here waits.

use std::sync::atomic::{AtomicBool, AtomicI64, AtomicU32, AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// Signs of life of one deck.
#[derive(Debug)]
#[cfg_attr(not(feature = "live"), allow(dead_code))] // what only a device needs
pub struct Pulse {
    /// The instant from which the times here count.
    epoch: Instant,
    beats: AtomicU64,
    /// When frame 0 would have been heard, ns after the epoch.
    origin_ns: AtomicI64,
    /// When the last frames were delivered, ns after the epoch, and which frame came next.
    delivered_ns: AtomicI64,
    next_frame: AtomicU64,
    latency_us: AtomicU32,
    underruns: AtomicU32,
    failed: AtomicBool,
}

#[cfg_attr(not(feature = "live"), allow(dead_code))] // what only a device needs
impl Pulse {
    /// One that has not beaten yet.
    pub fn new() -> Self {
        Self {
            epoch: Instant::now(),
            beats: AtomicU64::new(0),
            origin_ns: AtomicI64::new(0),
            delivered_ns: AtomicI64::new(0),
            next_frame: AtomicU64::new(0),
            latency_us: AtomicU32::new(0),
            underruns: AtomicU32::new(0),
            failed: AtomicBool::new(false),
        }
    }

    fn ns(&self, at: Instant) -> i64 {
        // A program runs for less than the 292 years that this holds.
        at.saturating_duration_since(self.epoch).as_nanos() as i64
    }

    /// A callback has begun; its first frame will be heard after `latency`.
    pub fn beat(&self, frame: u64, now: Instant, latency: Duration, rate_hz: f64) {
        let latency_ns = latency.as_nanos().min(10_000_000_000) as i64;
        let since_zero_ns = (frame as f64 / rate_hz * 1e9) as i64;
        self.origin_ns
            .store(self.ns(now) + latency_ns - since_zero_ns, Ordering::Relaxed);
        self.latency_us
            .store((latency_ns / 1000) as u32, Ordering::Relaxed);
        self.beats.fetch_add(1, Ordering::Relaxed);
    }

    /// A callback has delivered all that was asked for.
    pub fn delivered(&self, next_frame: u64, now: Instant) {
        self.next_frame.store(next_frame, Ordering::Relaxed);
        self.delivered_ns.store(self.ns(now), Ordering::Relaxed);
    }

    /// How many callbacks there were.
    pub fn beats(&self) -> u64 {
        self.beats.load(Ordering::Relaxed)
    }

    /// When frames were last delivered, and which frame came next.
    pub fn last_delivery(&self) -> (Instant, u64) {
        let ns = self.delivered_ns.load(Ordering::Relaxed).max(0) as u64;
        (
            self.epoch + Duration::from_nanos(ns),
            self.next_frame.load(Ordering::Relaxed),
        )
    }

    /// The frame that is heard at an instant, as long as the clock runs.
    pub fn heard_frame(&self, at: Instant, rate_hz: f64) -> f64 {
        let ns = self.ns(at) - self.origin_ns.load(Ordering::Relaxed);
        ns as f64 / 1e9 * rate_hz
    }

    /// From a frame's making to its being heard, as the device says.
    pub fn latency(&self) -> Duration {
        Duration::from_micros(self.latency_us.load(Ordering::Relaxed).into())
    }

    /// The device had no frames in time.
    pub fn underrun(&self) {
        self.underruns.fetch_add(1, Ordering::Relaxed);
    }

    /// How often that was.
    pub fn underruns(&self) -> u32 {
        self.underruns.load(Ordering::Relaxed)
    }

    /// The stream does not go on. Whether this is news.
    pub fn fail(&self) -> bool {
        !self.failed.swap(true, Ordering::Relaxed)
    }

    /// Whether the stream said so since this was asked last.
    pub fn take_failure(&self) -> bool {
        self.failed.swap(false, Ordering::Relaxed)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_frame_is_heard_its_latency_after_it_was_made() {
        let pulse = Pulse::new();
        let now = pulse.epoch + Duration::from_secs(10);
        pulse.beat(48_000, now, Duration::from_millis(20), 48_000.0);
        let later = now + Duration::from_millis(520);
        assert!((pulse.heard_frame(later, 48_000.0) - 72_000.0).abs() < 1.0);
        assert_eq!(pulse.latency(), Duration::from_millis(20));
    }
}

//! What an audio callback tells the rest of the program, in a few atomics: that it lives, when
//! which frame is heard, what went wrong. Nothing here waits.

use std::sync::atomic::{AtomicBool, AtomicI64, AtomicU32, AtomicU64, Ordering};
use std::time::{Duration, Instant};

/// A beat that far from the one before is odd, and true only when beats have said so this long.
const ODD_NS: u64 = 30_000_000;
const CREDIBLE_NS: i64 = 400_000_000;

/// Signs of life of one deck.
#[derive(Debug)]
#[cfg_attr(not(feature = "live"), allow(dead_code))] // what only a device needs
pub struct Pulse {
    /// The instant from which the times here count.
    epoch: Instant,
    beats: AtomicU64,
    /// When frame 0 would have been heard, ns after the epoch.
    origin_ns: AtomicI64,
    /// Since when beats say otherwise, ns after the epoch; [`i64::MAX`] while they do not.
    doubted_ns: AtomicI64,
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
            doubted_ns: AtomicI64::new(i64::MAX),
            latency_us: AtomicU32::new(0),
            underruns: AtomicU32::new(0),
            failed: AtomicBool::new(false),
        }
    }

    fn ns(&self, at: Instant) -> i64 {
        // A program runs for less than the 292 years that this holds.
        at.saturating_duration_since(self.epoch).as_nanos() as i64
    }

    /// A callback has begun; `frame` will be heard after `latency`. `goes_on`: every frame since
    /// the last beat followed the one before, so that what it says should agree with that beat. A
    /// device that is about to fail takes its buffer at once and says that nothing waits in it.
    pub fn beat(&self, frame: u64, now: Instant, latency: Duration, rate_hz: f64, goes_on: bool) {
        self.beats.fetch_add(1, Ordering::Relaxed);
        let now_ns = self.ns(now);
        let latency_ns = latency.as_nanos().min(10_000_000_000) as i64;
        let since_zero_ns = (frame as f64 / rate_hz * 1e9) as i64;
        let origin_ns = now_ns + latency_ns - since_zero_ns;
        let agrees = origin_ns.abs_diff(self.origin_ns.load(Ordering::Relaxed)) < ODD_NS;
        if goes_on && !agrees {
            // The callback alone writes here.
            let since_ns = self.doubted_ns.load(Ordering::Relaxed).min(now_ns);
            self.doubted_ns.store(since_ns, Ordering::Relaxed);
            if now_ns - since_ns < CREDIBLE_NS {
                return;
            }
        }
        self.doubted_ns.store(i64::MAX, Ordering::Relaxed);
        self.origin_ns.store(origin_ns, Ordering::Relaxed);
        self.latency_us
            .store((latency_ns / 1000) as u32, Ordering::Relaxed);
    }

    /// How many callbacks there were.
    pub fn beats(&self) -> u64 {
        self.beats.load(Ordering::Relaxed)
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
        pulse.beat(48_000, now, Duration::from_millis(20), 48_000.0, false);
        let later = now + Duration::from_millis(520);
        assert!((pulse.heard_frame(later, 48_000.0) - 72_000.0).abs() < 1.0);
        assert_eq!(pulse.latency(), Duration::from_millis(20));
    }

    #[test]
    fn a_device_that_is_failing_is_not_believed_and_one_that_goes_on_is() {
        let pulse = Pulse::new();
        let ms = Duration::from_millis;
        let begun = pulse.epoch + ms(10_000);
        let heard = |pulse: &Pulse, at: u64| pulse.heard_frame(begun + ms(at), 1000.0).round();
        pulse.beat(5_300, begun, ms(300), 1000.0, false);
        pulse.beat(5_400, begun + ms(100), ms(300), 1000.0, true);
        // All of the buffer at once, and nothing waits in it.
        pulse.beat(5_500, begun + ms(110), ms(0), 1000.0, true);
        pulse.beat(5_600, begun + ms(120), ms(0), 1000.0, true);
        assert_eq!(heard(&pulse, 200), 5_200.0);
        // A server that has found another latency, and keeps to it.
        for at in (200..=600).step_by(100) {
            pulse.beat(5_400 + at, begun + ms(at), ms(200), 1000.0, true);
        }
        assert_eq!(heard(&pulse, 700), 5_900.0);
        // Another place: the clock was sent there.
        pulse.beat(90_000, begun + ms(800), ms(200), 1000.0, false);
        assert_eq!(heard(&pulse, 1000), 90_000.0);
    }
}

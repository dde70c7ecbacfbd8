//! What `css` found, as JSON and in words.

use serde::Serialize;

use crate::analysis::Estimate;
use crate::analysis::css::{AllOutSwim, CriticalSpeed};
use crate::cli::shared::report::{Estimated, Report};
use crate::cli::shared::words::Page;

/// What `css` found. An interval that is not there has no key.
#[derive(Debug, Serialize)]
pub struct CssReport {
    critical_speed_m_s: Estimated,
    pace_s_per_100m: f64,
    intercept_m: f64,
    intercept_reliable: bool,
    doubts: Vec<String>,
    caution: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    pace_ci95_s_per_100m: Option<(f64, f64)>,
    #[serde(skip_serializing_if = "Option::is_none")]
    intercept_ci95_m: Option<(f64, f64)>,
    #[serde(skip)]
    in_yards: bool,
}

impl CssReport {
    /// What was found of these swims.
    pub fn new(swims: &[AllOutSwim], found: CriticalSpeed) -> Self {
        let pace = pace(found.speed_m_s, 100.0);
        Self {
            critical_speed_m_s: Estimated(found.speed_m_s),
            pace_s_per_100m: pace.value,
            intercept_m: found.intercept_m.value,
            intercept_reliable: false,
            doubts: found.doubts,
            caution: CAUTION,
            pace_ci95_s_per_100m: pace.interval,
            intercept_ci95_m: found.intercept_m.interval,
            in_yards: swims.iter().any(|swim| swim.distance.in_yards()),
        }
    }
}

impl Report for CssReport {
    fn words(&self, to: &mut Page) {
        let speed = self.critical_speed_m_s.0;
        let pace = |metres: f64, per: &str| {
            let pace = pace(speed, metres);
            let ends = between(pace.interval, &clock);
            format!("{} / {per}{ends}", clock(pace.value))
        };
        // Nothing is nothing, from either side.
        let metres = |value: f64| format!("{:.1} m", (value * 10.0).round() / 10.0 + 0.0);
        let ends = between(speed.interval, &|value| format!("{value:.3}"));
        to.line(format_args!(
            "Critical speed     {:.3} m/s{ends}",
            speed.value
        ));
        to.line(format_args!("Pace               {}", pace(100.0, "100 m")));
        if self.in_yards {
            to.line(format_args!("                   {}", pace(91.44, "100 yd")));
        }
        let intercept = metres(self.intercept_m);
        let ends = between(self.intercept_ci95_m, &metres);
        to.line(format_args!(
            "Intercept          {intercept}{ends} (unreliable)"
        ));
        to.gap();
        to.fill(if speed.interval.is_none() {
            "Two distances give no interval. Tested twice, critical speed comes back within about \
             0.04 m/s; the intercept does not come back."
        } else {
            "The ranges are 95 % intervals. The intercept does not repeat from test to test."
        });
        to.fill(ABOVE_STEADY);
        for doubt in &self.doubts {
            to.fill(format!("Doubtful: {doubt}."));
        }
        to.gap();
        to.fill(CAUTION);
    }
}

fn between(ends: Option<(f64, f64)>, form: &dyn Fn(f64) -> String) -> String {
    ends.map_or_else(String::new, |(lo, hi)| {
        format!(", {} to {}", form(lo), form(hi))
    })
}

/// Seconds for so many metres. An interval of speeds that reaches down to standing still has no
/// slowest pace, and leaves none.
fn pace(speed: Estimate, metres: f64) -> Estimate {
    let interval = speed.interval.filter(|(lo, _)| *lo > 0.0);
    Estimate { interval, ..speed }.map(|speed| metres / speed)
}

/// What the pace is not.
const ABOVE_STEADY: &str = "Critical speed lies above the pace of a long steady swim: take that one \
    slower (from memory).";

/// The caution that follows a pace which drives training.
const CAUTION: &str = "A pace is a wish, not an order: an all-out swim and the training paced by it \
    are for swimmers in good health; ill, dizzy or with pain in the chest or shoulder, stop, and \
    ask your coach or doctor.";

/// `1:33.0`, `45.5 s`.
fn clock(s: f64) -> String {
    let tenths = (s * 10.0).round() as i64;
    if tenths < 600 {
        return format!("{}.{} s", tenths / 10, tenths % 10);
    }
    format!("{}:{:02}.{}", tenths / 600, tenths / 10 % 60, tenths % 10)
}

#[cfg(test)]
mod tests {
    use super::clock;

    #[test]
    fn a_pace_prints_to_the_tenth() {
        assert_eq!(clock(93.0), "1:33.0");
        assert_eq!(clock(59.96), "1:00.0");
        assert_eq!(clock(9.04), "9.0 s");
    }
}

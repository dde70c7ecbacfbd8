//! `css`: critical speed from all-out swims.

use serde_json::json;
use std::fmt::Write as _;

use super::out;
use super::water::{estimate, fill, quantity};
use crate::analysis::Estimate;
use crate::analysis::css::{CriticalSpeed, Swim, critical_speed};
use crate::error::{Error, Result};
use crate::units::{Length, Time, exact};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane css 200m=2:50 400m=5:56\n  cuelane css 100m=1:19 200m=2:50 400m=5:56 --json\n\n\
                  Swim each distance all-out, rested, within a few days. From three distances on there\n\
                  is an interval."
)]
pub struct CssArgs {
    /// All-out swims, as DISTANCE=TIME
    #[arg(value_name = "DISTANCE=TIME", required = true)]
    pub swims: Vec<String>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Runs `css`.
pub fn run(args: &CssArgs) -> Result<()> {
    let swims = args
        .swims
        .iter()
        .map(|word| swim(word))
        .collect::<Result<Vec<_>>>()?;
    let found = critical_speed(&swims)?;
    if args.json {
        print_json(&found)
    } else {
        out::result(&in_words(&swims, &found))
    }
}

fn swim(word: &str) -> Result<Swim> {
    let Some((distance, time)) = word.split_once('=') else {
        return Err(Error::input(format!("found {word:?}, without an ="))
            .accepted("all-out swims as DISTANCE=TIME")
            .example("cuelane css 200m=2:50 400m=5:56"));
    };
    let swim = Swim {
        distance: quantity::<Length>(word, distance).map_err(|error| error.example("200m=2:50"))?,
        time: quantity::<Time>(word, time).map_err(|error| error.example("200m=2:50"))?,
    };
    if *swim.distance.metres() > exact(0) && *swim.time.s() > exact(0) {
        Ok(swim)
    } else {
        Err(Error::input("found nothing or less")
            .at(word)
            .accepted("a distance and a time above zero")
            .example("200m=2:50"))
    }
}

fn print_json(found: &CriticalSpeed) -> Result<()> {
    let pace = pace(found.speed_m_s, 100.0);
    let mut value = json!({
        "format": 1,
        "critical_speed_m_s": estimate(&found.speed_m_s),
        "pace_s_per_100m": pace.value,
        "intercept_m": found.intercept_m.value,
        "intercept_reliable": false,
        "doubts": found.doubts,
        "caution": CAUTION,
    });
    // As `ci95_cycle` of `timing`: an interval that is not there has no key.
    for (key, interval) in [
        ("pace_ci95_s_per_100m", pace.interval),
        ("intercept_ci95_m", found.intercept_m.interval),
    ] {
        if let Some((lo, hi)) = interval {
            value[key] = json!([lo, hi]);
        }
    }
    out::json(&value)
}

/// Seconds for so many metres. An interval of speeds that reaches down to standing still has no
/// slowest pace, and leaves none.
fn pace(speed: Estimate, metres: f64) -> Estimate {
    let interval = speed.interval.filter(|(lo, _)| *lo > 0.0);
    Estimate { interval, ..speed }.map(|speed| metres / speed)
}

fn in_words(swims: &[Swim], found: &CriticalSpeed) -> String {
    let between = |ends: Option<(f64, f64)>, form: &dyn Fn(f64) -> String| match ends {
        Some((lo, hi)) => format!(", {} to {}", form(lo), form(hi)),
        None => String::new(),
    };
    let speed = found.speed_m_s;
    let pace = |metres: f64, per: &str| {
        let pace = pace(speed, metres);
        let ends = between(pace.interval, &clock);
        format!("{} / {per}{ends}", clock(pace.value))
    };
    // Nothing is nothing, from either side.
    let metres = |value: f64| format!("{:.1} m", (value * 10.0).round() / 10.0 + 0.0);
    let mut text = format!(
        "Critical speed     {:.3} m/s{}\n",
        speed.value,
        between(speed.interval, &|value| format!("{value:.3}"))
    );
    let _ = writeln!(text, "Pace               {}", pace(100.0, "100 m"));
    if swims.iter().any(|swim| swim.distance.in_yards()) {
        let _ = writeln!(text, "                   {}", pace(91.44, "100 yd"));
    }
    let _ = writeln!(
        text,
        "Intercept          {}{} (unreliable)\n",
        metres(found.intercept_m.value),
        between(found.intercept_m.interval, &metres)
    );
    if speed.interval.is_none() {
        text.push_str(&fill("Two distances give no interval. Tested twice, critical speed comes back within about 0.04 m/s; the intercept does not come back."));
        text.push('\n');
    } else {
        text.push_str(
            "The ranges are 95 % intervals. The intercept does not repeat from test to test.\n",
        );
    }
    for doubt in &found.doubts {
        let _ = writeln!(text, "{}", fill(&format!("Doubtful: {doubt}.")));
    }
    let _ = writeln!(text, "\n{}", fill(CAUTION));
    text
}

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

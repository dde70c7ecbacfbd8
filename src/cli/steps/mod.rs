//! `steps`: a rate step test.

use std::fmt::Write as _;
use std::path::PathBuf;

use serde_json::json;

use crate::analysis::Estimate;
use crate::analysis::steps::{Best, Step, StepTest, step_test};
use crate::chart::lines::steps_chart;
use crate::cli::shared::out;
use crate::cli::shared::picked::{Picked, WantedRows};
use crate::cli::shared::save::save;
use crate::cli::shared::swum::{broken, estimate, say_broken};
use crate::cli::shared::words::fill;
use crate::error::{Error, Result};
use crate::files::{StepFile, read_steps};
use crate::model::log::Broken;
use crate::model::words;

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane steps steps.csv --chart steps.svg\n  \
                  cuelane steps log.csv --set Steps --from 2026-03-14\n\n\
                  A step test: the same distance at the same effort, a few strokes a minute faster each\n\
                  time. FILE is a log, or CSV with the header rate_spm,speed_m_s or\n\
                  rate_spm,time_s,distance_m; rates count both arms. The filters are for a log."
)]
pub struct StepsArgs {
    /// A log, or CSV with rates and speeds (- is standard input)
    pub file: String,
    /// Write a picture
    #[arg(long, value_name = "FILE.svg")]
    pub chart: Option<PathBuf>,
    /// Add the curve itself and the robust slope
    #[arg(long)]
    pub detail: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
    #[command(flatten)]
    pub wanted: WantedRows,
}

/// Runs `steps`.
pub fn run(args: &StepsArgs) -> Result<()> {
    let (mut steps, left_out) = read(args)?;
    if steps.is_empty() {
        return Err(Error::input("no swim has both a rate and a speed")
            .at(&args.file)
            .accepted("rows with distance, time and strokes; or CSV rate_spm,speed_m_s"));
    }
    steps.sort_by(|a, b| a.rate_spm.total_cmp(&b.rate_spm));
    let test = step_test(&steps);
    if let Some(path) = &args.chart {
        save(path, &steps_chart(&steps, &test)?)?;
    }
    if args.json {
        print_json(&steps, &test, &left_out)
    } else {
        out::result(&in_words(&steps, &test, args))
    }
}

fn read(args: &StepsArgs) -> Result<(Vec<Step>, Vec<Broken>)> {
    match read_steps(&args.file)? {
        StepFile::Numbers(numbers, broken, notes) => {
            for note in notes {
                out::note(&format!("note: {}: {note}", args.file));
            }
            say_broken(&args.file, &broken);
            let step = |row: crate::files::RateSpeed| Step::new(row.rate_spm, row.speed_m_s);
            Ok((numbers.into_iter().map(step).collect(), broken))
        }
        StepFile::Log(mut rows) => {
            let picked = Picked::new(&args.wanted)?;
            let (mut steps, mut silent) = (Vec::new(), 0);
            while let Some(line) = picked.read(&mut rows)? {
                match Step::of(&line.row.swum(&picked.swam.water)) {
                    Some(step) => steps.push(step),
                    None => silent += 1,
                }
            }
            if silent > 0 {
                out::note(&format!(
                    "{}: {silent} rows without distance, time and strokes left out",
                    rows.file
                ));
            }
            out::note(&fill(&picked.swam.in_words()));
            Ok((steps, rows.broken))
        }
    }
}

fn print_json(steps: &[Step], test: &StepTest, left_out: &[Broken]) -> Result<()> {
    let (rate, speed, why) = match &test.best {
        Best::Reached {
            rate_spm,
            speed_m_s,
        } => (estimate(rate_spm), estimate(speed_m_s), None),
        other => (json!(null), json!(null), Some(not_reached(other))),
    };
    let mut value = json!({
        "format": 1,
        "best_rate_spm": rate,
        "best_speed_m_s": speed,
        "quadratic": test.speed.map(|fit| fit.coefficients),
        "steps": steps.iter().map(|step| json!({
            "rate_spm": step.rate_spm,
            "speed_m_s": step.speed_m_s,
            "distance_per_stroke_m": step.stroke_length_m,
        })).collect::<Vec<_>>(),
        "left_out": broken(left_out),
        "caution": words::RATE_CAUTION,
    });
    if let Some(why) = why {
        value["not_reached"] = json!(why);
    }
    if let Some(fit) = &test.length {
        value["length_on_rate"] = json!({
            "slope_m_per_spm": estimate(&fit.slope),
            "intercept_m": estimate(&fit.intercept),
            "robust_slope_m_per_spm": test.robust_length_slope,
        });
    }
    out::json(&value)
}

fn not_reached(best: &Best) -> &'static str {
    match best {
        Best::Reached { .. } => "reached",
        Best::StillRising => "not reached: speed was still rising at the highest rate swum",
        Best::AlreadyFalling => "not reached: speed was falling from the lowest rate on",
        Best::CannotBeTold => {
            "not reached: these swims do not show where speed bends; more of them, further apart \
             in rate and alike in effort, would"
        }
    }
}

fn in_words(steps: &[Step], test: &StepTest, args: &StepsArgs) -> String {
    let mut text = String::from("    rate   speed  distance per stroke\n");
    for step in steps {
        let _ = writeln!(
            text,
            "{:>5.1} spm  {:.3} m/s  {:.2} m",
            step.rate_spm, step.speed_m_s, step.stroke_length_m
        );
    }
    text.push('\n');
    let between = |estimate: &Estimate, places: usize| match estimate.interval {
        Some((lo, hi)) => format!(" ({lo:.places$} to {hi:.places$})"),
        None => String::new(),
    };
    let best = match &test.best {
        Best::Reached {
            rate_spm,
            speed_m_s,
        } => {
            let fastest = steps.last().map_or(0.0, |step| step.rate_spm);
            let beyond = rate_spm.interval.is_some_and(|(_, hi)| hi > fastest);
            format!(
                "Rate of best speed: {:.1} spm{}, at {:.2} m/s{}.{}{}",
                rate_spm.value,
                between(rate_spm, 1),
                speed_m_s.value,
                between(speed_m_s, 2),
                if rate_spm.interval.is_none() {
                    " Three swims give no interval: swim more."
                } else {
                    ""
                },
                if beyond {
                    " The interval reaches beyond the rates swum."
                } else {
                    ""
                },
            )
        }
        other => format!("Rate of best speed {}.", not_reached(other)),
    };
    let _ = writeln!(text, "{}", fill(&best));
    if let Some(fit) = &test.length {
        let change = fit.slope.map(|slope| slope * 200.0);
        let _ = writeln!(
            text,
            "{}",
            fill(&format!(
                "With each 2 spm more, a stroke gives {:+.1} cm{}. That is this swimmer's own line: \
                 a longer stroke at the same rate and effort is better, a shorter one at a higher \
                 rate is only to be expected.",
                change.value,
                match change.interval {
                    Some((lo, hi)) => format!(" ({lo:+.1} to {hi:+.1})"),
                    None => String::new(),
                },
            ))
        );
    }
    if args.detail {
        if let Some(fit) = &test.speed {
            let [a, b, c] = fit.coefficients;
            let _ = writeln!(text, "speed = {a:.6} rate² {b:+.5} rate {c:+.4}");
        }
        if let Some((fit, robust)) = test.length.zip(test.robust_length_slope) {
            let _ = writeln!(
                text,
                "distance per stroke = {:.4} {:+.6} rate; median of all slopes {robust:+.6}",
                fit.intercept.value, fit.slope.value
            );
        }
    }
    if steps.iter().any(|step| step.speed_m_s > 2.5) {
        text.push_str(
            "A speed over 2.5 m/s is faster than anybody swims: check the file's units.\n",
        );
    }
    if let Some(path) = &args.chart {
        let _ = writeln!(text, "Wrote {}", path.display());
    }
    let _ = writeln!(text, "\n{}", fill(words::RATE_CAUTION));
    text
}

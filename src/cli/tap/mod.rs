//! `tap`: a rate from taps, at the keyboard or from a list of times.

use crate::cli::shared::args::EachArg;
use std::fmt::Write as _;
use std::io::{self, IsTerminal};
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use crossterm::event::{Event, KeyCode, KeyEventKind, KeyModifiers, poll, read};
use crossterm::terminal::{disable_raw_mode, enable_raw_mode};
use serde_json::json;

use crate::analysis::taps::{ENOUGH_SPM, Each, FEWEST, Taps, read_taps};
use crate::cli::shared::out;
use crate::cli::shared::swum::estimate;
use crate::cli::shared::words::fill;
use crate::error::{Error, Result};
use crate::files::read_tap_times;
use crate::model::words;
use crate::units::Rate;

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane tap\n  cuelane tap --each stroke\n  cuelane tap --times taps.txt --json\n\n\
                  Tap any key at each entry of one hand; Backspace takes the last tap back, Enter ends."
)]
pub struct TapArgs {
    /// Tap each entry of one arm (cycle), or of both (stroke)
    #[arg(long, default_value = "cycle")]
    pub each: EachArg,
    /// Times of taps in s, separated by white space or commas, instead of the keyboard
    #[arg(long, value_name = "FILE|-")]
    pub times: Option<String>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Runs `tap`.
pub fn run(args: &TapArgs) -> Result<()> {
    let each = match args.each {
        EachArg::Cycle => Each::Cycle,
        EachArg::Stroke => Each::Stroke,
    };
    let times = match &args.times {
        Some(file) => read_tap_times(file, |note| out::note(&format!("note: {note}")))?,
        None if io::stdin().is_terminal() => tapped(each)?,
        None => {
            return Err(Error::input("standard input is no terminal to tap at")
                .accepted("a terminal, or --times with the times of taps in s")
                .example("cuelane tap --times -"));
        }
    };
    let taps = read_taps(&times, each);
    if let Some(rate) = taps
        .rate_spm
        .filter(|rate| !Rate::RANGE_SPM.contains(&rate.value))
    {
        let other = match each {
            Each::Cycle => "--each stroke",
            Each::Stroke => "--each cycle",
        };
        return Err(Error::input(format!(
            "these taps, one a {}, make {}, outside 10 to 160 spm",
            each.word(),
            Rate::outside(rate.value)
        ))
        .accepted(format!(
            "taps at the entries of one arm, or of both; is it {other}?"
        )));
    }
    if args.json {
        print_json(&times, &taps, each)
    } else {
        out::result(&in_words(&times, &taps, each))
    }
}

/// A signal from outside asked us to stop.
static STOPPED: AtomicBool = AtomicBool::new(false);

/// The terminal gives single keys while this lives, and is as it was afterwards, whatever ends it.
struct SingleKeys;

impl SingleKeys {
    fn new() -> Result<Self> {
        let failed = |error: io::Error| Error::io("gives no single keys", "the terminal", &error);
        enable_raw_mode().map_err(failed)?;
        Ok(Self)
    }
}

impl Drop for SingleKeys {
    fn drop(&mut self) {
        // There is nobody to tell if even that fails.
        let _ = disable_raw_mode();
        out::note("");
    }
}

/// Times of taps at the keyboard, in s since the first; shows the rate so far.
fn tapped(each: Each) -> Result<Vec<f64>> {
    let failed = |error: io::Error| Error::io("cannot be read", "the terminal", &error);
    let what = match each {
        Each::Cycle => "Tap a key each time the same hand goes in",
        Each::Stroke => "Tap a key each time a hand goes in, left and right",
    };
    out::note(&format!(
        "{what}.\nBackspace: take a tap back. Enter: done."
    ));
    // Without a handler a signal leaves the terminal as it is: said by nobody, but no harm to data.
    let _ = ctrlc::set_handler(|| STOPPED.store(true, Ordering::Relaxed));
    let keys = SingleKeys::new()?;
    let begin = Instant::now();
    let mut times: Vec<f64> = Vec::new();
    while !STOPPED.load(Ordering::Relaxed) {
        if !poll(Duration::from_millis(100)).map_err(failed)? {
            continue;
        }
        let now = begin.elapsed().as_secs_f64();
        let Event::Key(key) = read().map_err(failed)? else {
            continue;
        };
        if key.kind != KeyEventKind::Press {
            continue;
        }
        let control = key.modifiers.contains(KeyModifiers::CONTROL);
        match key.code {
            KeyCode::Enter | KeyCode::Esc => break,
            KeyCode::Char('c' | 'd') if control => break,
            KeyCode::Backspace => drop(times.pop()),
            _ => times.push(now),
        }
        out::line(&progress(&times, each));
    }
    drop(keys);
    let first = times.first().copied().unwrap_or(0.0);
    Ok(times.iter().map(|time| time - first).collect())
}

fn progress(times: &[f64], each: Each) -> String {
    let taps = read_taps(times, each);
    let counted = format!("{} taps", times.len());
    match taps.rate_spm {
        None if times.len() < FEWEST => format!("{counted}: {} more", FEWEST - times.len()),
        None => format!("{counted}: nothing regular yet"),
        Some(rate) => {
            let half = rate
                .interval
                .map(|(lo, hi)| format!(" ± {:.1}", (hi - lo) / 2.0));
            let enough = if taps.enough() { "  enough" } else { "" };
            format!(
                "{counted}: {:.1} spm{}{enough}",
                rate.value,
                half.unwrap_or_default()
            )
        }
    }
}

fn print_json(times: &[f64], taps: &Taps, each: Each) -> Result<()> {
    let mut value = json!({ "format": 1, "each": each.word(), "taps": times.len() });
    if let Some(rate) = &taps.rate_spm {
        value["rate_spm"] = estimate(rate);
        value["cycle_time_s"] = estimate(&rate.map(|spm| 120.0 / spm));
    }
    value["enough"] = json!(taps.enough());
    value["doubles"] = json!(taps.doubles);
    let gap = |(after, missing): &(usize, usize)| json!({ "after_tap": after, "missing": missing });
    value["gaps"] = taps.gaps.iter().map(gap).collect();
    value["pauses_after_tap"] = json!(taps.pauses);
    value["caution"] = json!(words::RATE_CAUTION);
    out::json(&value)
}

fn in_words(times: &[f64], taps: &Taps, each: Each) -> String {
    let mut text = String::new();
    match &taps.rate_spm {
        None => {
            let _ = writeln!(
                text,
                "{} taps: too few for a rate, or nothing regular in them. From the fourth on there is one.",
                times.len()
            );
        }
        Some(rate) => {
            let between = rate
                .interval
                .map(|(lo, hi)| format!(", {lo:.1} to {hi:.1} (95 %)"));
            let _ = writeln!(
                text,
                "Rate {:.1} spm ({:.1} cycles/min){}; cycle {:.2} s",
                rate.value,
                rate.value / 2.0,
                between.unwrap_or_default(),
                120.0 / rate.value
            );
            let enough = if taps.enough() {
                format!("Enough: known to within {ENOUGH_SPM:.0} spm.")
            } else {
                format!("Tap on to know it within {ENOUGH_SPM:.0} spm.")
            };
            let _ = writeln!(
                text,
                "{} taps, one a {}. {enough}",
                times.len(),
                each.word()
            );
        }
    }
    let listed = |numbers: &[usize]| {
        let words: Vec<String> = numbers.iter().take(12).map(usize::to_string).collect();
        words.join(", ") + if numbers.len() > 12 { ", ..." } else { "" }
    };
    if !taps.doubles.is_empty() {
        text.push_str(&fill(&format!(
            "Set aside as doubles: tap {}.",
            listed(&taps.doubles)
        )));
        text.push('\n');
    }
    if !taps.gaps.is_empty() {
        let missing: usize = taps.gaps.iter().map(|(_, missing)| missing).sum();
        let after: Vec<usize> = taps.gaps.iter().map(|(after, _)| *after).collect();
        text.push_str(&fill(&format!(
            "Missing: {missing}, after tap {}; counted over.",
            listed(&after)
        )));
        text.push('\n');
    }
    if !taps.pauses.is_empty() {
        text.push_str(&fill(&format!(
            "Paused after tap {}.",
            listed(&taps.pauses)
        )));
        text.push('\n');
    }
    if taps.rate_spm.is_some() {
        let _ = writeln!(text, "\n{}", fill(words::RATE_CAUTION));
    }
    text
}

//! Taps at the keyboard.

use std::io;
use std::time::{Duration, Instant};

use crossterm::event::{Event, KeyCode, KeyEventKind, KeyModifiers, poll, read};
use crossterm::terminal::{disable_raw_mode, enable_raw_mode};

use crate::analysis::taps::{Each, FEWEST, read_taps};
use crate::cli::shared::{out, stop};
use crate::error::{Error, Result};

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
pub fn tapped(each: Each) -> Result<Vec<f64>> {
    let failed = |error: io::Error| Error::io("cannot be read", "the terminal", &error);
    let what = match each {
        Each::Cycle => "Tap a key each time the same hand goes in",
        Each::Stroke => "Tap a key each time a hand goes in, left and right",
    };
    out::note(&format!(
        "{what}.\nBackspace: take a tap back. Enter: done."
    ));
    stop::listen();
    let keys = SingleKeys::new()?;
    let begin = Instant::now();
    let mut times: Vec<f64> = Vec::new();
    while !stop::is_wished() {
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
            let half = rate.half_width().map(|half| format!(" ± {half:.1}"));
            let half = half.unwrap_or_default();
            let enough = if taps.enough() { "  enough" } else { "" };
            format!("{counted}: {:.1} spm{half}{enough}", rate.value)
        }
    }
}

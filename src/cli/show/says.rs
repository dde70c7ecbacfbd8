//! What a track says, on the screen, among the events, and as JSON.

use std::fmt::Write as _;
use std::io::{self, Write};

use serde_json::{Value, json};

use crate::cli::shared::out;
use crate::export::Job;
use crate::timeline::Say;
use crate::units::{Time, fraction};

/// Announcements that the usual view lists.
const LISTED: usize = 8;

/// What is said and when, one line each.
pub fn table(job: &Job, detail: bool) -> String {
    let said = &job.spoken.said;
    if said.says.is_empty() && said.notes.is_empty() {
        return String::new();
    }
    let mut text = String::from("\nSays\n");
    let listed = if detail { said.says.len() } else { LISTED };
    for say in said.says.iter().take(listed) {
        let clock = Time::from_s(fraction(say.at_ms as i64, 1000)).rounded();
        let first = format!("  {clock:>6}  ");
        let options = textwrap::Options::new(79)
            .initial_indent(&first)
            .subsequent_indent("          ");
        let _ = writeln!(text, "{}", textwrap::fill(&say.text, options));
    }
    let more = said.says.len().saturating_sub(listed);
    if more > 0 {
        let _ = writeln!(text, "  and {more} more times (--detail)");
    }
    for note in &said.notes {
        let options = textwrap::Options::new(79)
            .initial_indent("Note: ")
            .subsequent_indent("  ");
        let _ = writeln!(text, "{}", textwrap::fill(note, options));
    }
    text
}

/// The same for programs.
pub fn in_json(job: &Job) -> Value {
    let seconds = |ms: u64| out::micro(ms as f64 / 1000.0);
    let one = |say: &Say| {
        json!({
            "at_s": seconds(say.at_ms),
            "length_s": seconds(say.length_ms),
            "set": say.set,
            "repeat": say.repeat,
            "text": say.text,
        })
    };
    job.spoken.said.says.iter().map(one).collect()
}

/// Writes the rows of what is said before `frame`, from number `next` on, and gives the number
/// of the row after them.
///
/// # Errors
/// Of the writer.
pub fn rows(job: &Job, out: &mut impl Write, mut next: usize, frame: u64) -> io::Result<usize> {
    let rate_hz = job.timeline.sample_rate_hz();
    while let Some(say) = job.spoken.said.says.get(next) {
        let at = say.frame(rate_hz);
        if at > frame {
            break;
        }
        let time_s = at as f64 / f64::from(rate_hz);
        let (set, repeat) = (say.set, say.repeat);
        writeln!(out, "{at},{time_s:.6},say,both,{set},{repeat},,")?;
        next += 1;
    }
    Ok(next)
}

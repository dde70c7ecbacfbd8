//! What a track says, on the screen, among the events, and as JSON.

use std::io::{self, Write};

use serde::Serialize;

use crate::cli::shared::report::Micro;
use crate::cli::shared::words::Page;
use crate::export::Job;
use crate::timeline::Say;
use crate::units::{Time, fraction};

/// Announcements that the usual view lists.
const LISTED: usize = 8;

/// An announcement.
#[derive(Serialize)]
pub struct SayShown<'a> {
    at_s: Micro,
    length_s: Micro,
    set: u32,
    repeat: u32,
    text: &'a str,
    #[serde(skip)]
    at_ms: u64,
}

impl<'a> SayShown<'a> {
    /// All of a job, in order.
    pub fn of(job: &'a Job) -> Vec<Self> {
        let seconds = |ms: u64| (ms as f64 / 1000.0).into();
        let one = |say: &'a Say| Self {
            at_s: seconds(say.at_ms),
            length_s: seconds(say.length_ms),
            set: say.set,
            repeat: say.repeat,
            text: &say.text,
            at_ms: say.at_ms,
        };
        job.spoken.said.says.iter().map(one).collect()
    }
}

/// What is said and when, one line each, and what was shortened or left out.
pub fn words(says: &[SayShown], notes: &[String], detail: bool, to: &mut Page) {
    if says.is_empty() && notes.is_empty() {
        return;
    }
    to.line("\nSays");
    let listed = if detail { says.len() } else { LISTED };
    for say in says.iter().take(listed) {
        let clock = Time::from_s(fraction(say.at_ms as i64, 1000)).rounded();
        to.hang(&format!("  {clock:>6}  "), "          ", say.text);
    }
    let more = says.len().saturating_sub(listed);
    if more > 0 {
        to.line(format_args!("  and {more} more (--detail)"));
    }
    for note in notes {
        to.hang("Note: ", "  ", note);
    }
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

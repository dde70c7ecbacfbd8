//! The questions of `log add`, on deck.

use super::args::AddArgs;
use super::typed::{given, one_of, refused, set_of, time_of, times_for};
use crate::cli::shared::out;
use crate::cli::shared::swum::Swam;
use crate::error::{Error, Result};
use crate::files::{open_log, set_field};
use crate::model::log::Row;
use crate::units::{Length, Rate, with_unit};

/// Asks for what was not given. An answer that does not hold is said and asked for again, so that
/// a slip in the last of them costs none of the others.
pub fn ask_for_the_rest(args: &mut AddArgs, swam: &Swam) -> Result<()> {
    let last = last_cued(args, swam)?;
    let repeats = ask_for_the_times(args, &swam.water.pool)?;
    let field = |column: &'static str| {
        move |answer: &str| {
            (0..repeats).try_for_each(|index| {
                let one = one_of(answer, index, repeats, column)?;
                set_field(&mut Row::default(), column, &one).map_err(|why| refused(column, &why))
            })
        }
    };
    let once = |column: &'static str| {
        move |answer: &str| {
            set_field(&mut Row::default(), column, answer).map_err(|why| refused(column, &why))
        }
    };
    let strokes = "Strokes of both arms, such as 44 or 22/length";
    let kept =
        "Did the kick follow the cue: yes, part, no; as you felt it: felt-yes, felt-part, felt-no";
    for (what, column, answer) in [
        (strokes, "strokes", &mut args.strokes),
        (kept, "kept", &mut args.kept),
        ("Effort, 0 to 10", "effort", &mut args.effort),
    ] {
        if given(answer).is_empty() {
            *answer = Some(ask(&format!("{what} (empty: leave open)"), field(column))?);
        }
    }
    if given(&args.rate_cued).is_empty() {
        args.rate_cued = ask_for_the_rate(args.plan.as_deref(), last.as_ref())?;
    }
    for (what, column, answer) in [
        (
            "Pairing cued: same-side, opposite-side",
            "pairing",
            &mut args.pairing,
        ),
        ("The session's name", "session", &mut args.session),
    ] {
        // A plan says both, where it is asked.
        if given(answer).is_empty() && args.plan.is_none() {
            *answer = Some(ask(&format!("{what} (empty: leave open)"), once(column))?);
        }
    }
    Ok(())
}

/// The set and its times; gives how many repeats it has.
fn ask_for_the_times(args: &mut AddArgs, pool: &Length) -> Result<usize> {
    let set = ask("Set, such as 4x50", |answer| set_of(answer, pool).map(drop))?;
    let (repeats, distance) = set_of(&set, pool)?;
    args.set = Some(set);
    let split = |answer: &str| answer.split_whitespace().map(String::from).collect();
    let times = ask(
        "Times in s or min:s, such as 48.1 1:02.4, - for none",
        |answer| {
            let times: Vec<String> = split(answer);
            times_for(&times, repeats, &distance)?;
            (times.iter()).try_for_each(|time| {
                set_field(&mut Row::default(), "time", &time_of(time))
                    .map_err(|why| refused("time", &why))
            })
        },
    )?;
    args.times = split(&times);
    Ok(repeats)
}

/// The rate that was cued; none where nothing sounded, or where the plan says it.
fn ask_for_the_rate(plan: Option<&str>, last: Option<&Rate>) -> Result<Option<String>> {
    let empty = match (plan, last) {
        (Some(plan), _) => format!("empty: as {plan} has it for the day"),
        (None, Some(last)) => format!("empty: {}, the last in the log; - for none", last.short()),
        (None, None) => "empty: leave open".to_string(),
    };
    let answer = ask(
        &format!("Rate cued, in strokes/min of both arms ({empty})"),
        |answer| {
            set_field(&mut Row::default(), "rate_cued", &rate_of(answer))
                .map_err(|why| refused("rate_cued", &why))
        },
    )?;
    Ok(match (answer.as_str(), plan, last) {
        ("", None, Some(last)) => Some(last.short()),
        _ => Some(rate_of(&answer)),
    })
}

/// A rate whose unit the question said; empty for `-`.
fn rate_of(text: &str) -> String {
    match text {
        "-" => String::new(),
        text => with_unit(text, "spm"),
    }
}

/// The rate cued last, by the log: the swimmer's, or anybody's where nobody is named.
fn last_cued(args: &AddArgs, swam: &Swam) -> Result<Option<Rate>> {
    if !std::path::Path::new(&args.log).exists() {
        return Ok(None);
    }
    let name = swam.name.as_ref().map(|name| name.to_lowercase());
    let mut rows = open_log(&args.log)?;
    let mut last = None;
    while let Some(line) = rows.read()? {
        let theirs = (name.as_ref()).is_none_or(|name| line.row.swimmer.to_lowercase() == *name);
        if theirs {
            last = line.row.rate_cued.or(last);
        }
    }
    Ok(last)
}
/// Asks until the answer holds.
fn ask(what: &str, holds: impl Fn(&str) -> Result<()>) -> Result<String> {
    loop {
        let Some(answer) = out::ask(&format!("{what}: "))? else {
            return Err(Error::input("standard input ended before the last answer")
                .accepted("an answer to each question; nothing was written"));
        };
        match holds(&answer) {
            Ok(()) => return Ok(answer),
            Err(error) => out::note(&error.to_string()),
        }
    }
}

//! `log add --from` and `--import`: rows of another file, as often as one likes.

use super::added::{slips, told};
use super::args::AddArgs;
use super::plan_day::match_to_plan;
use crate::cli::shared::out;
use crate::cli::shared::swum::{Swam, say_broken};
use crate::cli::shared::words::{Page, count};
use crate::error::{Error, Result};
use crate::files::{Differing, Rows, TakenIn, open_log, set_open_field, take_in};
use crate::model::log::{LogLine, Row};

/// Takes the rows of a file into the log.
///
/// # Errors
/// When the file cannot be read, a flag does not hold, or the log cannot be written.
pub fn take(args: &AddArgs, rows: Rows, swam: &Swam) -> Result<()> {
    let from = rows.file.clone();
    let (mut lines, unfilled) = filled(rows.in_pool(&swam.water.pool))?;
    let mut said = Vec::new();
    for line in &mut lines {
        fill_up(&mut line.row, args, swam)?;
    }
    if let Some(plan) = &args.plan {
        let rows: Vec<&mut Row> = lines.iter_mut().map(|line| &mut line.row).collect();
        said = match_to_plan(rows, plan, &args.log)?;
    }
    let taken = if lines.is_empty() {
        TakenIn::default()
    } else {
        take_in(&args.log, &lines, &swam.water.pool, args.replace)?
    };
    out::result(&in_words(&from, &args.log, &taken, unfilled, &said, swam))
}

/// The file that `--from` names.
///
/// # Errors
/// When it cannot be read, or is none of ours.
pub fn to_fill(file: &str) -> Result<Rows<'static>> {
    open_log(file).map_err(|error| {
        error.example("cuelane log add --from tracks/week-05-2027-03-29-mon/log-to-fill.csv")
    })
}

/// The rows that say something of a swim, and how many do not yet.
fn filled(mut rows: Rows) -> Result<(Vec<LogLine>, usize)> {
    let (mut lines, mut unfilled) = (Vec::new(), 0);
    while let Some(line) = rows.read()? {
        if line.row.is_filled() {
            lines.push(line);
        } else {
            unfilled += 1;
        }
    }
    for note in &rows.notes {
        out::note(&format!("{}: {note}", rows.file));
    }
    say_broken(&rows.file, &rows.broken);
    Ok((lines, unfilled))
}

/// What the flags say of every row that leaves it open.
fn fill_up(row: &mut Row, args: &AddArgs, swam: &Swam) -> Result<()> {
    for (column, flag, text) in [
        ("date", "--date", &args.date),
        ("swimmer", "--swimmer", &swam.name),
        ("session", "--session", &args.session),
        ("set", "--name", &args.name),
        ("rate_cued", "--rate-cued", &args.rate_cued),
        ("pairing", "--pairing", &args.pairing),
        ("kick", "--kick", &args.kick),
        ("trial", "--trial", &args.trial),
        ("note", "--note", &args.note),
    ] {
        let text = text.as_deref().unwrap_or_default();
        set_open_field(row, column, text).map_err(|why| Error::input(why).at(flag))?;
    }
    Ok(())
}

fn in_words(
    from: &str,
    log: &str,
    taken: &TakenIn,
    unfilled: usize,
    said: &[String],
    swam: &Swam,
) -> String {
    let mut page = Page::default();
    let mut parts = vec![format!("{} added", count(taken.added.len(), "row"))];
    for (number, what) in [
        (taken.replaced.len(), "replaced"),
        (taken.there, "there already"),
        (taken.refused.len(), "not taken"),
        (unfilled, "not filled in"),
    ] {
        if number > 0 {
            parts.push(format!("{number} {what}"));
        }
    }
    page.fill(format!("From {from} into {log}: {}.", parts.join(", ")));
    for row in &taken.added {
        let swum = row.swum(&swam.water);
        page.line(told(row, &swum));
        for slip in slips(row, &swum) {
            page.line(slip);
        }
    }
    for line in said {
        page.fill(line);
    }
    for differing in &taken.replaced {
        page.fill(contradicted(from, log, differing, "replaced"));
    }
    for differing in &taken.refused {
        page.fill(contradicted(from, log, differing, "not taken"));
    }
    if taken
        .refused
        .iter()
        .any(|differing| differing.log_line.is_some())
    {
        page.fill("--replace puts the new values in the place of the old ones.");
    }
    page.text()
}

/// `fill.csv:4: not taken: log.csv:9 has this swim, with time 48.4 s, not 48.1 s`
fn contradicted(from: &str, log: &str, differing: &Differing, what: &str) -> String {
    let Differing {
        line,
        log_line,
        fields,
    } = differing;
    let place = match log_line {
        Some(there) => format!("{log}:{there}"),
        None => "a line before it".to_string(),
    };
    let fields = fields.iter().map(|(column, old, new)| match old.as_str() {
        "" => format!("no {column}, here {new}"),
        old => format!("{column} {old}, here {new}"),
    });
    let fields: Vec<String> = fields.collect();
    format!(
        "{from}:{line}: {what}: {place} has this swim, with {}",
        fields.join("; ")
    )
}

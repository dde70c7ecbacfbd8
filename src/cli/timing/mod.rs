//! `timing`: stroke timing from the marks of a film.

mod args;
mod came;
mod cued;
mod detail;
mod report;
mod row;
mod saved;
mod words;

pub use self::args::TimingArgs;
use self::cued::{Cued, Heard};
use self::report::{Findings, TimingReport};
use self::row::Logged;
use self::saved::Saved;
use crate::analysis::marked_twice::MarkingError;
use crate::analysis::timing::Timing;
use crate::chart::{came_chart, cycle_circle};
use crate::cli::shared::report::tell;
use crate::cli::shared::save::save;
use crate::error::{Error, Result};
use crate::files::{read_marks, read_swimmer};

/// Runs `timing`.
pub fn run(args: &TimingArgs) -> Result<()> {
    let marks = read_marks(&args.marks, args.fps.as_deref())?;
    let swimmer = args.swimmer.as_deref().map(read_swimmer).transpose()?;
    let again = match &args.again {
        None => None,
        Some(file) => {
            let second = read_marks(file, args.fps.as_deref())?;
            Some(MarkingError::of(&marks, &second).ok_or_else(|| {
                Error::input(format!(
                    "fewer than two of its marks are near the same event in {}",
                    args.marks
                ))
                .at(file)
                .accepted("a second marking of the same film, on the same clock")
            })?)
        }
    };
    let habits = again.map(|again| again.habits()).unwrap_or_default();
    let timing = Timing::with_habits(&marks, &habits)?;
    let heard = cued::heard(args, swimmer.as_ref(), &marks)?;
    let cued = (heard.as_ref())
        .map(|heard| cued::read(heard, &timing, &habits))
        .transpose()?
        .flatten();
    let name = swimmer.as_ref().map(|swimmer| swimmer.name.as_str());
    if let Some(file) = &args.chart {
        let picture = match &cued {
            Some(Cued { came, .. }) => came_chart(came.hands.as_ref(), came.feet.as_ref())?,
            None => cycle_circle(&timing, name),
        };
        save(file, &picture)?;
    }
    let logged = (args.log.as_deref().zip(args.row.as_deref()))
        .map(|(log, row)| Logged::write(log, row, &timing, cued.as_ref()))
        .transpose()?;
    let own = args.swimmer.as_deref().zip(swimmer.as_ref());
    let saved = (own.filter(|_| args.save))
        .map(|(file, before)| Saved::write(file, before, &timing))
        .transpose()?;
    let findings = Findings {
        timing,
        again,
        cued,
        film: heard.and_then(Heard::film),
        swimmer: name,
        detail: args.detail,
        saved,
        logged,
    };
    tell(&TimingReport::new(&findings), args.json)
}

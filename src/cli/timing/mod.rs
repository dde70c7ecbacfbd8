//! `timing`: stroke timing from the marks of a film.

mod cued;
mod detail;
mod report;
mod row;
mod saved;
mod words;

use std::path::PathBuf;

use clap::Args as ClapArgs;

use self::cued::CuedArgs;
use self::report::{Findings, TimingReport};
use self::row::Logged;
use self::saved::Saved;
use crate::analysis::marked_twice::{MarkingError, is_copy};
use crate::analysis::timing::Timing;
use crate::chart::{came_chart, cycle_circle};
use crate::cli::shared::cued::{self as swum, ByCues, Cued};
use crate::cli::shared::film_name::other_film;
use crate::cli::shared::heard::HeardFilm;
use crate::cli::shared::report::tell;
use crate::cli::shared::save::save;
use crate::error::{Error, Result};
use crate::files::{read_marks, read_swimmer};
use crate::model::record::Marks;

#[derive(Debug, ClapArgs)]
#[command(after_help = "Examples:\n  cuelane timing marks.csv --fps 60\n  \
                  cuelane timing marks.csv --fps 60 --swimmer alex.toml --save --chart cycle.svg\n  \
                  cuelane timing cued.csv --session evening.toml --swimmer alex.toml --sync 4.20\n  \
                  cuelane timing cued.csv --session evening.toml --swimmer alex.toml --film clip.mp4")]
pub struct TimingArgs {
    /// The marks: CSV with time or frame, event, and optionally pass (- is standard input)
    pub marks: String,
    /// The film's frames a second; needed for frame numbers and time code
    #[arg(long, value_name = "N", allow_hyphen_values = true)]
    pub fps: Option<String>,
    /// The swimmer's file
    #[arg(long, value_name = "FILE")]
    pub swimmer: Option<String>,
    /// Write what was measured into the swimmer's file; what is cued stays as it is
    #[arg(long, requires = "swimmer")]
    pub save: bool,
    /// Draw the cycle as a circle; with --session, how far hands and feet come behind their cues
    #[arg(long, value_name = "FILE.svg")]
    pub chart: Option<PathBuf>,
    /// A second marking of the same film: how exact is the marking itself?
    #[arg(long, value_name = "FILE")]
    pub again: Option<String>,
    #[command(flatten)]
    pub cued: CuedArgs,
    /// A log: whether the kick was kept is written into the swim's row
    #[arg(long, value_name = "FILE", requires = "session", requires = "row")]
    pub log: Option<String>,
    /// What names that row, such as "date=2026-10-04, set=Hold, repeat=3"
    #[arg(long, value_name = "NAMES", requires = "log")]
    pub row: Option<String>,
    /// Add scatter, steadiness, coordination and what the numbers rest on
    #[arg(long, conflicts_with = "json")]
    pub detail: bool,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

/// Runs `timing`.
pub fn run(args: &TimingArgs) -> Result<()> {
    let marks = read_marks(&args.marks, args.fps.as_deref())?;
    let swimmer = args.swimmer.as_deref().map(read_swimmer).transpose()?;
    let again = (args.again.as_deref())
        .map(|file| marked_again(args, &marks, file))
        .transpose()?;
    let habits = again.map(|again| again.habits()).unwrap_or_default();
    let mut timing = Timing::with_habits(&marks, &habits)?;
    let film = args.cued.film.as_deref();
    let other = film.and_then(|film| other_film(marks.film.name.as_deref(), film));
    timing.notes.extend(other);
    let heard = cued::heard(&args.cued, swimmer.as_ref(), &marks)?;
    timing
        .notes
        .extend(heard.as_ref().and_then(|heard| heard.note.clone()));
    let by_cues = match &heard {
        Some(heard) => swum::read(heard, &timing, &habits)?,
        None => ByCues::default(),
    };
    timing.doubts.extend(by_cues.doubt.clone());
    let name = swimmer.as_ref().map(|swimmer| swimmer.name.as_str());
    if let Some(file) = &args.chart {
        let picture = match &by_cues.cued {
            Some(Cued { came, .. }) => came_chart(came.hands.as_ref(), came.feet.as_ref())?,
            None => cycle_circle(&timing, name),
        };
        if heard.is_some() && by_cues.cued.is_none() {
            timing.notes.push(format!(
                "Nothing is told beside the cues: {} shows the cycle.",
                file.display()
            ));
        }
        save(file, &picture)?;
    }
    let own = args.swimmer.as_deref().zip(swimmer.as_ref());
    let saved = (own.filter(|_| args.save))
        .map(|(file, before)| Saved::write(file, before, &timing))
        .transpose();
    let logged = (args.log.as_deref().zip(args.row.as_deref()))
        .map(|row| Logged::write(row, name, &timing, &by_cues))
        .transpose();
    // What was found is told whether or not it could be written, and what was written as well.
    let (saved, not_saved) = parted(saved);
    let (logged, not_logged) = parted(logged);
    let findings = Findings {
        timing,
        again,
        cued: by_cues.cued,
        film: heard.and_then(HeardFilm::film),
        swimmer: name,
        detail: args.detail,
        saved,
        logged: logged.flatten(),
    };
    tell(&TimingReport::new(&findings), args.json)?;
    not_saved.or(not_logged).map_or(Ok(()), Err)
}

/// How far a second marking of the same film differs from the first.
fn marked_again(args: &TimingArgs, marks: &Marks, file: &str) -> Result<MarkingError> {
    let second = read_marks(file, args.fps.as_deref())?;
    let refuse = |what: &str| {
        Error::input(format!("{what} {}", args.marks))
            .at(file)
            .accepted("a second marking of the same film, on the same clock")
            .example("cuelane timing marks.csv --again second.csv")
    };
    if is_copy(marks, &second) {
        return Err(refuse("it has the very marks of"));
    }
    MarkingError::of(marks, &second)
        .ok_or_else(|| refuse("fewer than two of its marks are near the same event in"))
}

/// What came of a write, and why it did not.
fn parted<T>(result: Result<Option<T>>) -> (Option<T>, Option<Error>) {
    match result {
        Ok(written) => (written, None),
        Err(error) => (None, Some(error)),
    }
}

//! The log of a session on deck: rows written at once, replaced, taken away. A thread of its own
//! writes, so that no key waits for a disk or for another writer.

use std::collections::BTreeMap;
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread::JoinHandle;

use crate::cli::shared::date::today;
use crate::error::{Error, Result};
use crate::files::{Amended, amend, append};
use crate::live::clock_tenths;
use crate::model::log::Row;
use crate::model::resolve::Resolved;
use crate::model::session::RepeatSwim;
use crate::tui::{KeptResult, SwumResult};
use crate::units::{Rate, Time, decimal, to_f64};

/// What tells a result from all others: the swim and the swimmer.
type Of = (u32, usize);

/// The log, and whoever writes it.
pub struct Book {
    jobs: Option<Sender<KeptResult>>,
    told: Receiver<String>,
    writer: Option<JoinHandle<Result<()>>>,
}

impl Book {
    /// Opens a log for a session and its swimmers, in the order of leaving.
    ///
    /// # Errors
    /// When the log cannot take rows: better known before the swim.
    pub fn open(file: &str, session: &Resolved, swimmers: &[String]) -> Result<Self> {
        append(file, &[])?;
        let (jobs, wanted) = channel();
        let (tells, told) = channel();
        let pages = Pages {
            file: file.to_string(),
            session: session.clone(),
            swimmers: swimmers.to_vec(),
            written: BTreeMap::new(),
            waiting: BTreeMap::new(),
        };
        let writer = std::thread::Builder::new()
            .name("log".into())
            .spawn(move || pages.write_all(&wanted, &tells))
            .map_err(|error| Error::failed(format!("no thread for the log: {error}")))?;
        Ok(Self {
            jobs: Some(jobs),
            told,
            writer: Some(writer),
        })
    }

    /// Has a result written.
    pub fn keep(&self, kept: KeptResult) {
        if let Some(jobs) = &self.jobs {
            // A writer that is gone says why at the end.
            let _ = jobs.send(kept);
        }
    }

    /// What became of a result.
    pub fn told(&self) -> Option<String> {
        self.told.try_recv().ok()
    }

    /// Waits for the last row.
    ///
    /// # Errors
    /// When a result could not be written in the end; it is named.
    pub fn close(mut self) -> Result<()> {
        self.jobs.take();
        match self.writer.take().map(JoinHandle::join) {
            None | Some(Ok(Ok(()))) => Ok(()),
            Some(Ok(Err(error))) => Err(error),
            Some(Err(_)) => Err(Error::failed("the thread of the log ended")),
        }
    }
}

/// A row as it was written, and the row that a trial had laid out in its place.
struct Written {
    row: Row,
    laid_out: Option<Row>,
}

struct Pages {
    file: String,
    session: Resolved,
    swimmers: Vec<String>,
    written: BTreeMap<Of, Written>,
    /// What could not be written yet.
    waiting: BTreeMap<Of, Option<SwumResult>>,
}

impl Pages {
    fn write_all(mut self, wanted: &Receiver<KeptResult>, tells: &Sender<String>) -> Result<()> {
        while let Ok(kept) = wanted.recv() {
            self.waiting.insert(kept.of, kept.swum);
            let said = self.write_waiting();
            // The screen may have gone.
            let _ = tells.send(said.unwrap_or_else(|error| {
                let error = error.to_string().lines().collect::<Vec<_>>().join("; ");
                format!("NOT WRITTEN, it is tried again: {error}")
            }));
        }
        if self.waiting.is_empty() {
            return Ok(());
        }
        self.write_waiting().map(drop).map_err(|error| {
            let rows: Vec<String> = (self.waiting.iter())
                .filter_map(|(of, swum)| Some(self.in_words(*of, swum.as_ref()?)))
                .collect();
            error.accepted(format!("not written: {}", rows.join("; ")))
        })
    }

    /// Writes what waits; says what became of the last of it.
    fn write_waiting(&mut self) -> Result<String> {
        let mut said = String::new();
        while let Some((of, swum)) = self.waiting.iter().next() {
            let (of, swum) = (*of, swum.clone());
            said = self.write(of, swum.as_ref())?;
            self.waiting.remove(&of);
        }
        Ok(said)
    }

    fn write(&mut self, of: Of, swum: Option<&SwumResult>) -> Result<String> {
        let before = self.written.get(&of);
        let row = swum.map(|swum| row(&self.session, &self.swimmers[of.1], swum));
        let laid_out = before.and_then(|before| before.laid_out.clone());
        let mut row = row.map(|row| match &laid_out {
            Some(laid) => Row {
                trial: laid.trial.clone(),
                trial_looks: laid.trial_looks.clone(),
                other: laid.other.clone(),
                ..row
            },
            None => row,
        });
        let new = row.as_ref().or(laid_out.as_ref());
        let amended = amend(&self.file, before.map(|before| &before.row), new)?;
        let whose = swum.map(|swum| self.in_words(of, swum));
        let laid_out = match &amended {
            Amended::Filled(laid) => {
                row = row.map(|row| Row {
                    trial: laid.trial.clone(),
                    trial_looks: laid.trial_looks.clone(),
                    other: laid.other.clone(),
                    ..row
                });
                Some((**laid).clone())
            }
            _ => laid_out,
        };
        let said = match (&whose, &amended, before.is_some()) {
            (Some(whose), Amended::Added, true) => {
                format!("Written anew: {whose}. Somebody has changed the row of before.")
            }
            (Some(whose), ..) => format!("Written: {whose}."),
            (None, Amended::Added, _) => "Somebody has changed that row: it stays.".into(),
            (None, ..) => "Its row is taken out of the log.".into(),
        };
        match row {
            Some(row) => drop(self.written.insert(of, Written { row, laid_out })),
            None => drop(self.written.remove(&of)),
        }
        Ok(said)
    }

    fn in_words(&self, of: Of, swum: &SwumResult) -> String {
        let time = swum
            .time
            .as_ref()
            .map(|time| clock_tenths(to_f64(time.s())));
        let time = time.unwrap_or_else(|| "no time".into());
        let set = &self.session.sets[swum.set].name;
        format!(
            "{}, {set}, repeat {}, {time}",
            self.swimmers[of.1], swum.repeat
        )
    }
}

/// A row of the log: what was measured and seen, and what was sounded.
fn row(session: &Resolved, swimmer: &str, swum: &SwumResult) -> Row {
    let set = &session.sets[swum.set];
    let notes = [
        (swum.again, "again"),
        (swum.stopped, "stopped"),
        (!swum.entered.note.is_empty(), swum.entered.note),
    ];
    let notes = notes.into_iter().filter(|(holds, _)| *holds);
    let note: Vec<&str> = notes.map(|(_, note)| note).collect();
    Row {
        date: Some(today()),
        swimmer: swimmer.to_string(),
        session: session.title.clone(),
        set: set.name.clone(),
        repeat: Some(swum.repeat),
        // How far a swimmer came who was stopped, nobody has measured.
        distance: match &set.swim {
            RepeatSwim::Distance(distance) if !swum.stopped => Some(distance.clone()),
            _ => None,
        },
        time: swum.time.clone(),
        strokes: swum.entered.strokes.clone(),
        rate_cued: rate_of(swum.cued.spm).ok(),
        pairing: Some(swum.cued.pairing),
        kick: Some(swum.cued.kick),
        effort: swum.entered.effort,
        kept: swum.entered.kept,
        trial: session.trial.clone().unwrap_or_default(),
        splits: (swum.splits.iter())
            .filter_map(|split| decimal(&format!("{split:.2}")).ok())
            .map(Time::from_s)
            .collect(),
        note: note.join(", "),
        ..Row::default()
    }
}

/// A rate as a decimal of two places.
///
/// # Errors
/// When it is outside what a rate may be.
pub fn rate_of(spm: f64) -> Result<Rate> {
    decimal(&format!("{spm:.2}"))
        .and_then(Rate::from_spm)
        .map_err(Error::failed)
}

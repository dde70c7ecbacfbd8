//! Many training days written at once: a few workers, each with one day at a time.
//!
//! A day is one worker's from its first track to its sheet, so the tracks of a folder come in
//! playing order; folders are made in order beforehand. What a worker holds is one laid-out
//! session and one track's buffers, so memory grows with the workers and not with the squad.

use std::path::PathBuf;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use super::prepare::{Depth, Prepared, SESSION, SHEET, folder_name, prepare};
use super::tidy::{remove, remove_tracks};
use crate::cli::shared::args::SpeechArgs;
use crate::error::{Error, Result};
use crate::export::{Folder, WriteError, bytes_apart, publish, write_folder};
use crate::model::plan::{Day, TrainingPlan};
use crate::model::swimmer::Swimmer;
use crate::model::wishes::Session;

/// A swimmer of the squad, with the days that are wanted.
pub struct Athlete {
    pub plan: TrainingPlan,
    pub swimmer: Swimmer,
    pub sessions: Vec<Session>,
    /// Where its days go, held for the whole run.
    pub folder: Folder,
    pub days: Vec<Day>,
    pub speech: SpeechArgs,
}

impl Athlete {
    /// The folder of a training day.
    pub fn folder_of(&self, day: &Day) -> PathBuf {
        self.folder.path().join(folder_name(day))
    }
}

/// One day of one swimmer.
#[derive(Debug, Clone, Copy)]
pub struct Task {
    pub athlete: usize,
    pub day: usize,
}

/// What became of it.
#[derive(Debug, Clone)]
pub struct SquadOutcome {
    /// Whether anything had to be written.
    pub changed: bool,
    pub files: usize,
    pub bytes: u64,
}

/// Set by a signal, read between blocks.
static STOPPED: AtomicBool = AtomicBool::new(false);

/// Writes every task, at most `cores` at a time; outcomes in the order of the tasks. One that
/// fails does not stop the others; a signal stops all.
///
/// # Errors
/// When the disk has no room for all of them, before the first byte.
pub fn write_all(
    athletes: &[Result<Athlete>],
    tasks: &[Task],
    cores: usize,
) -> Result<Vec<Result<SquadOutcome>>> {
    // Without a handler a signal ends the process, which leaves no half track either.
    let _ = ctrlc::set_handler(|| STOPPED.store(true, Ordering::Relaxed));
    let sizes = work(tasks, cores, |task| size(athletes, task));
    check_room(athletes, tasks, &sizes)?;
    for (task, size) in tasks.iter().zip(&sizes) {
        if let (Ok(athlete), Ok(bytes)) = (&athletes[task.athlete], size)
            && *bytes > 0
        {
            // Whoever cannot have a folder hears of it from the writer.
            let _ = std::fs::create_dir_all(athlete.folder_of(&athlete.days[task.day]));
        }
    }
    Ok(work(tasks, cores, |task| match &athletes[task.athlete] {
        Err(error) => Err(error.clone()),
        Ok(athlete) => write(athlete, &athlete.days[task.day]),
    }))
}

/// Does something for every task on a few threads; the results in the order of the tasks.
fn work<T: Send>(tasks: &[Task], cores: usize, act: impl Fn(Task) -> T + Sync) -> Vec<T> {
    let next = AtomicUsize::new(0);
    let done: Mutex<Vec<(usize, T)>> = Mutex::new(Vec::with_capacity(tasks.len()));
    std::thread::scope(|scope| {
        for _ in 0..cores.clamp(1, tasks.len().max(1)) {
            scope.spawn(|| {
                loop {
                    let at = next.fetch_add(1, Ordering::Relaxed);
                    let Some(task) = tasks.get(at) else { break };
                    let result = act(*task);
                    // A worker that panicked leaves whole entries only.
                    let mut done = done.lock().unwrap_or_else(PoisonError::into_inner);
                    done.push((at, result));
                }
            });
        }
    });
    let mut done = done.into_inner().unwrap_or_else(PoisonError::into_inner);
    done.sort_by_key(|(at, _)| *at);
    done.into_iter().map(|(_, result)| result).collect()
}

fn prepared(athlete: &Athlete, day: &Day, depth: Depth) -> Result<Prepared> {
    let Athlete {
        plan,
        swimmer,
        sessions,
        speech,
        ..
    } = athlete;
    prepare(plan, swimmer, sessions, day, speech, depth)
}

/// The bytes that a task will write; none where its tracks stand already.
fn size(athletes: &[Result<Athlete>], task: Task) -> Result<u64> {
    let athlete = athletes[task.athlete].as_ref().map_err(Error::clone)?;
    let day = &athlete.days[task.day];
    let prepared = prepared(athlete, day, Depth::Sizes)?;
    if prepared.stands_in(&athlete.folder_of(day)) {
        Ok(0)
    } else {
        Ok(prepared.bytes())
    }
}

/// Refuses, disk by disk, what does not fit beside what is there.
fn check_room(athletes: &[Result<Athlete>], tasks: &[Task], sizes: &[Result<u64>]) -> Result<()> {
    let needed: u64 = sizes.iter().flatten().sum();
    let folders = (tasks.iter()).filter_map(|task| athletes[task.athlete].as_ref().ok());
    for athlete in folders {
        let free = fs4::available_space(athlete.folder.path()).ok();
        if let Some(free) = free.filter(|free| *free < needed) {
            return Err(Error::failed(format!(
                "the tracks need {}, and this disk has {} free",
                bytes_apart(needed, free),
                bytes_apart(free, needed)
            ))
            .at(athlete.folder.path().display())
            .accepted("a disk with room, fewer weeks, or old weeks cleared first")
            .example("--week 5 --tidy"));
        }
    }
    Ok(())
}

fn write(athlete: &Athlete, day: &Day) -> Result<SquadOutcome> {
    if STOPPED.load(Ordering::Relaxed) {
        return Err(Error::failed("stopped by a signal"));
    }
    let prepared = prepared(athlete, day, Depth::Sound)?;
    let folder = athlete.folder_of(day);
    let files = prepared.parts.len();
    let bytes = prepared.bytes();
    if prepared.stands_in(&folder) {
        return Ok(SquadOutcome {
            changed: false,
            files,
            bytes,
        });
    }
    let held = Folder::hold(&folder)?;
    // The session's file goes first and comes last: while it is not there, the folder is not done.
    remove(&folder.join(SESSION))?;
    let names: Vec<&str> = prepared
        .parts
        .iter()
        .map(|part| part.name.as_str())
        .collect();
    remove_tracks(&folder, &names)?;
    let mut progress = |_: u64| {
        if STOPPED.load(Ordering::Relaxed) {
            Err(Error::failed("stopped by a signal"))
        } else {
            Ok(())
        }
    };
    let sheet = (SHEET, prepared.sheet.as_str());
    write_folder(
        &prepared.job,
        &prepared.parts,
        &prepared.form,
        &held,
        sheet,
        false,
        &mut progress,
    )?;
    publish(&folder, SESSION, |file| {
        use std::io::Write;
        file.write_all(prepared.text.as_bytes())
            .map_err(WriteError::Io)
    })
    .map_err(|error| match error {
        WriteError::Io(error) => {
            Error::io("cannot be written", folder.join(SESSION).display(), &error)
        }
        WriteError::Stopped(error) => error,
    })?;
    Ok(SquadOutcome {
        changed: true,
        files,
        bytes,
    })
}

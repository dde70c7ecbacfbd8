//! Many training days written at once: a few workers, each with one day at a time.
//!
//! A day is one worker's from its first track to its sheet, so the tracks of a folder come in
//! playing order; folders are made in order beforehand. What a worker holds is one laid-out
//! session and one track's buffers, so memory grows with the workers and not with the squad.

use std::path::Path;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::sync::{Mutex, PoisonError};

use serde::Serialize;

use super::old_weeks::remove_tracks;
use super::prepare::{Athlete, Depth, Prepared, SESSION, prepare};
use crate::cli::shared::room::room_for;
use crate::cli::shared::save::{remove, save};
use crate::cli::shared::stop;
use crate::error::{Error, Result};
use crate::export::{Effort, Folder, SHEET, bytes_in_words, write_folder};
use crate::model::plan::Day;
use crate::units::Time;

/// One day of one swimmer.
#[derive(Debug, Clone, Copy)]
pub struct Task {
    pub athlete: usize,
    pub day: usize,
}

/// What became of it.
#[derive(Debug, Clone, Serialize)]
pub struct SquadOutcome {
    /// Whether anything had to be written.
    pub changed: bool,
    pub files: usize,
    pub bytes: u64,
    /// Whether somebody has begun to fill in its log-to-fill.csv, which is left as it is.
    pub filled_in: bool,
}

/// Writes every task, at most `cores` at a time; outcomes in the order of the tasks. One that
/// fails does not stop the others; a signal stops all. `tell` hears beforehand how much it will be.
///
/// # Errors
/// When the disk has no room for all of them, before the first byte.
pub fn write_all(
    athletes: &[Result<Athlete>],
    tasks: &[Task],
    cores: usize,
    tell: impl FnOnce(&str),
) -> Result<Vec<Result<SquadOutcome>>> {
    stop::listen();
    let sizes = work(tasks, cores, |task| size(athletes, task));
    check_room(athletes, tasks, &sizes)?;
    let bytes: u64 = sizes.iter().flatten().sum();
    if bytes > 0 {
        tell(&copying(bytes));
    }
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

/// Bytes a second that reach a player over its cable (common practice, no source).
const COPIED_BYTES_S: u64 = 3_000_000;

/// What is about to be written, and how long it takes to copy.
fn copying(bytes: u64) -> String {
    let time = Time::whole_s(bytes.div_ceil(COPIED_BYTES_S) as i64).rounded();
    format!(
        "Writing up to {}; copying that to a player takes about {time} at 3 MB/s.",
        bytes_in_words(bytes)
    )
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

/// The bytes that a task will write; none where its tracks stand already.
fn size(athletes: &[Result<Athlete>], task: Task) -> Result<u64> {
    let athlete = athletes[task.athlete].as_ref().map_err(Error::clone)?;
    let day = &athlete.days[task.day];
    let prepared = prepare(athlete, day, Depth::Sizes)?;
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
    let fewer = "a disk with room, fewer weeks, or old weeks cleared first";
    for athlete in folders {
        room_for(athlete.folder.path(), needed, fewer, "--week 5 --tidy")?;
    }
    Ok(())
}

fn write(athlete: &Athlete, day: &Day) -> Result<SquadOutcome> {
    stop::unless_wished()?;
    let prepared = prepare(athlete, day, Depth::Sound)?;
    let folder = athlete.folder_of(day);
    let changed = !prepared.stands_in(&folder);
    if changed {
        replace(&folder, &prepared)?;
    }
    let filled_in = prepared.paper.put(&folder)?;
    Ok(SquadOutcome {
        changed,
        files: prepared.parts.len(),
        bytes: prepared.bytes(),
        filled_in,
    })
}

/// Puts a day in the place of what its folder holds.
fn replace(folder: &Path, prepared: &Prepared) -> Result<()> {
    let Prepared {
        job,
        parts,
        form,
        sheet,
        text,
        ..
    } = prepared;
    let held = Folder::hold(folder)?;
    // The session's file goes first and comes last: while it is not there, the folder is not done.
    let session = folder.join(SESSION);
    remove(&session)?;
    let names: Vec<&str> = parts.iter().map(|part| part.name.as_str()).collect();
    remove_tracks(folder, &names)?;
    // Other days are made beside this one.
    let effort = Effort {
        measure: false,
        cores: 1,
    };
    let mut progress = |_: u64| stop::unless_wished();
    write_folder(
        job,
        parts,
        form,
        &held,
        (SHEET, sheet),
        effort,
        &mut progress,
    )?;
    save(&session, text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_week_is_told_with_the_time_that_copying_takes() {
        // 270 MB at 3 MB/s are 90 s.
        let told = copying(270_000_000);
        assert!(told.contains("270.0 MB") && told.contains("1:30"), "{told}");
    }
}

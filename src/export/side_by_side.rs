//! Work on several things at once, taken in their order.

use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::sync::mpsc::{Sender, channel};
use std::thread;

use super::wav::WriteError;
use crate::error::{Error, Result};

/// What a worker tells.
enum Told<T> {
    /// How much more is done.
    Done(u64),
    /// A thing is made, or has failed.
    Made(usize, Result<T, WriteError>),
}

/// Makes `count` things on so many threads, and gives each to `take` once it and all before it
/// are there. `progress` hears how much is done, and may stop the work.
///
/// # Errors
/// The first of `take`, which hears of what went wrong in `make` or `progress` and ends the work.
pub fn side_by_side<T: Send>(
    count: usize,
    workers: usize,
    make: impl Fn(usize, &mut dyn FnMut(u64) -> Result<()>) -> Result<T, WriteError> + Sync,
    progress: &mut dyn FnMut(u64) -> Result<()>,
    mut take: impl FnMut(usize, Result<T, WriteError>) -> Result<()>,
) -> Result<()> {
    let (stopped, next) = (AtomicBool::new(false), AtomicUsize::new(0));
    let (tell, told) = channel();
    let worker = |tell: Sender<Told<T>>| {
        loop {
            let at = next.fetch_add(1, Ordering::Relaxed);
            if at >= count || stopped.load(Ordering::Relaxed) {
                break;
            }
            let made = make(at, &mut |done| {
                // Nobody listens any more where the work has been stopped.
                let _ = tell.send(Told::Done(done));
                if stopped.load(Ordering::Relaxed) {
                    Err(Error::failed("stopped"))
                } else {
                    Ok(())
                }
            });
            let _ = tell.send(Told::Made(at, made));
        }
    };
    thread::scope(|scope| {
        for _ in 0..workers.clamp(1, count.max(1)) {
            let (tell, worker) = (tell.clone(), &worker);
            scope.spawn(move || worker(tell));
        }
        drop(tell);
        let mut waiting: Vec<Option<Result<T, WriteError>>> = (0..count).map(|_| None).collect();
        let mut taken = 0;
        let mut outcome = Ok(());
        for told in told {
            if outcome.is_err() {
                continue;
            }
            match told {
                Told::Done(done) => {
                    if let Err(why) = progress(done) {
                        outcome = take(taken, Err(WriteError::Stopped(why)));
                    }
                }
                Told::Made(at, made) => waiting[at] = Some(made),
            }
            while let Some(made) = waiting.get_mut(taken).and_then(Option::take)
                && outcome.is_ok()
            {
                outcome = take(taken, made);
                taken += 1;
            }
            stopped.store(outcome.is_err(), Ordering::Relaxed);
        }
        outcome
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn things_are_taken_in_order_whatever_is_made_first() {
        for workers in [1, 2, 7, 100] {
            let mut taken = Vec::new();
            let mut heard = 0;
            let made = side_by_side(
                20,
                workers,
                |at, progress| {
                    progress(at as u64).map_err(WriteError::Stopped)?;
                    Ok(at * at)
                },
                &mut |done| {
                    heard += done;
                    Ok(())
                },
                |at, made| {
                    taken.push((at, made.expect("made")));
                    Ok(())
                },
            );
            made.expect("nothing failed");
            let expected: Vec<_> = (0..20).map(|at| (at, at * at)).collect();
            assert_eq!((taken, heard), (expected, 190), "{workers}");
        }
    }

    #[test]
    fn what_fails_ends_the_work_after_all_before_it() {
        for workers in [1, 3] {
            let mut taken = Vec::new();
            let outcome = side_by_side(
                9,
                workers,
                |at, _| match at {
                    5 => Err(WriteError::Stopped(Error::failed("five"))),
                    _ => Ok(at),
                },
                &mut |_| Ok(()),
                |_, made| match made {
                    Ok(at) => {
                        taken.push(at);
                        Ok(())
                    }
                    Err(WriteError::Stopped(why)) => Err(why),
                    Err(WriteError::Io(error)) => panic!("{error}"),
                },
            );
            let message = outcome.expect_err("the fifth fails").to_string();
            assert!(message.contains("five"), "{message}");
            assert_eq!(taken, [0, 1, 2, 3, 4], "{workers}");
        }
    }

    #[test]
    fn whoever_hears_of_progress_can_stop_the_work() {
        let outcome = side_by_side(
            3,
            2,
            |_, progress| {
                // It ends by being stopped alone.
                loop {
                    progress(1).map_err(WriteError::Stopped)?;
                }
            },
            &mut |_| Err(Error::failed("enough")),
            |at, made: Result<(), WriteError>| match made {
                Err(WriteError::Stopped(why)) if at == 0 => Err(why),
                other => panic!("{at}: {other:?}"),
            },
        );
        let message = outcome.expect_err("stopped").to_string();
        assert!(message.contains("enough"), "{message}");
    }
}

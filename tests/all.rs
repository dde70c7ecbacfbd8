//! What a user would see, in one program: commands, files read back by readers that are not ours,
//! pages, pipes, parsers. The tests that listen are apart, in `live.rs`: they run by the clock.
#![allow(dead_code)] // of `support`, which `live.rs` shares
#![allow(clippy::too_many_lines)] // a test tells what a user does from start to end

mod support;

mod arms;
mod at_the_pool;
mod broken_tracks;
mod circles;
mod compare;
mod course;
mod deck_log;
mod deck_saved;
mod ears;
mod faults;
mod faults_swimmer;
mod film_marks;
mod film_sound;
mod film_sync;
mod folders;
mod formats;
mod fuzz;
mod interrupt;
mod log;
mod log_import;
mod log_take_in;
mod log_writers;
mod mark;
mod measure;
mod measure_simulation;
mod mutations;
mod own_sounds;
#[cfg(feature = "phone")]
mod phone;
mod pictures;
mod pinned;
mod pipes;
mod plan;
mod plan_simulation;
mod readme;
mod rooms;
mod shown;
mod speech;
mod timing;
mod timing_doubts;
mod timing_simulation;
mod track_names;
mod trial;
mod trial_looks;
mod trial_simulation;
mod unreadable;
mod voices;
mod wrong_tracks;

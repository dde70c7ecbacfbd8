//! Files a person keeps: TOML in, the model out. The only room that knows TOML.
//!
//! Every error names file, line, column, what was found, what is accepted and an example.
//! Decimals are taken from their digits, so that `0.3` is three tenths and no float.
//! A file is never read before its size is known to be reasonable.

mod append;
mod csv;
mod document;
mod examples;
mod import;
mod inline_tables;
mod key_value;
mod keys;
mod log;
mod marks;
mod measured;
pub mod phrases;
mod plan;
mod plan_text;
mod presets;
mod session;
mod session_text;
mod squad;
mod steps;
mod swimmer;
mod take_in;
mod taps;
mod timecode;
mod value;
pub mod voices;

pub use append::{
    Amended, RowName, amend, append, in_words, log_csv, rows_named, several_named, write_kept,
};
pub use import::{Mapped, import_log};
pub use log::{Rows, open_log, parse_log, set_field, set_open_field};
pub use marks::{parse_marks, read_film_time, read_marks};
pub use measured::{read_swimmer_text, with_measured};
pub use plan::{
    DATE_ACCEPTED, DAYS_ACCEPTED, check_end, iso_date, parse_plan, read_plan, time_of_day,
    training_days, with_decision, zone_name,
};
pub use plan_text::{NewPlan, new_course, new_plan};
pub use presets::{PRESETS, Preset, SWIMMERS, preset, preset_swimmer};
pub use session::{load_session, parse_session, read_session};
pub use session_text::session_text;
pub use squad::{Member, parse_squad, read_squad};
pub use steps::{RateSpeed, StepFile, read_steps};
pub use swimmer::{NewSwimmer, new_swimmer, parse_swimmer, read_swimmer};
pub use take_in::{Differing, TakenIn, take_in};
pub use taps::read_tap_times;

use std::fs::File;
use std::io::Read;

use crate::error::{Error, Result};

/// The largest TOML file that is read, in bytes: a session of 5000 sets is smaller.
const LARGEST_BYTES: u64 = 1 << 20;

/// What messages call `-`, and what it is called from here on.
const STANDARD_INPUT: &str = "standard input";

/// The name of a file for messages.
fn name_of(file: &str) -> &str {
    if file == "-" { STANDARD_INPUT } else { file }
}

/// Reads a text file that a person wrote, or [`STANDARD_INPUT`]. A byte-order mark is dropped.
fn read_text(file: &str) -> Result<String> {
    let bytes = match file {
        STANDARD_INPUT => read_limited(std::io::stdin().lock(), file)?,
        _ => {
            let open = File::open(file).map_err(|error| unreadable(file, &error))?;
            let about = open.metadata().map_err(|error| unreadable(file, &error))?;
            if about.is_dir() {
                return Err(Error::input("this is a folder, not a file")
                    .at(file)
                    .accepted("the path of a .toml file in it")
                    .example("./evening.toml"));
            }
            if about.len() > LARGEST_BYTES {
                return Err(too_large(file, &format!("{} bytes", about.len())));
            }
            read_limited(open, file)?
        }
    };
    text_of(bytes, file)
}

/// Reads at most one byte more than is accepted: a pipe or a device has no size to ask for.
fn read_limited(from: impl Read, file: &str) -> Result<Vec<u8>> {
    let mut bytes = Vec::new();
    (from.take(LARGEST_BYTES + 1).read_to_end(&mut bytes))
        .map_err(|error| unreadable(file, &error))?;
    if bytes.len() as u64 > LARGEST_BYTES {
        Err(too_large(file, "more than 1 MiB"))
    } else {
        Ok(bytes)
    }
}

fn text_of(bytes: Vec<u8>, file: &str) -> Result<String> {
    let text = String::from_utf8(bytes).map_err(|error| {
        let valid = error.utf8_error().valid_up_to();
        let before = String::from_utf8_lossy(&error.as_bytes()[..valid]);
        let line_start = before.rfind('\n').map_or(0, |at| at + 1);
        let line = 1 + before.matches('\n').count();
        let column = 1 + before[line_start..].chars().count();
        Error::input(format!(
            "byte 0x{:02x} is not UTF-8 text",
            error.as_bytes()[valid]
        ))
        .at(format!("{file}:{line}:{column}"))
        .accepted("a text file saved as UTF-8")
        .example("title = \"Évian\" saved as UTF-8, which most editors do")
    })?;
    Ok(match text.strip_prefix('\u{feff}') {
        Some(rest) => rest.to_string(),
        None => text,
    })
}

fn unreadable(file: &str, error: &std::io::Error) -> Error {
    Error::input(format!("cannot be read: {error}"))
        .at(file)
        .accepted("the path of a .toml file, or - for standard input")
        .example("./evening.toml")
}

fn too_large(file: &str, found: &str) -> Error {
    Error::input(format!(
        "found {found}; no session or swimmer is that large"
    ))
    .at(file)
    .accepted("a TOML file of at most 1 MiB")
    .example("./evening.toml")
}

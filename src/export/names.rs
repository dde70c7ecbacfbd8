//! File names: purpose first, legal and in playing order on every player and system.

use crate::model::resolve::{Resolved, Set};
use crate::model::session::Swim;
use crate::model::swimmer::Division;
use crate::units::{Time, exact};

/// The longest name without its ending, unless the player asks for shorter ones.
const USUAL_LENGTH: usize = 60;
const ENDING: &str = ".wav";

/// Names that Windows keeps for devices, whatever their ending.
const RESERVED: [&str; 4] = ["con", "prn", "aux", "nul"];

/// The name of one file: `set` and `repeat` count from 1 and are those of the part.
/// Lower-case ASCII letters, digits and dashes, then `.wav`; at most `longest` characters.
pub fn file_name(
    session: &Resolved,
    division: Division,
    set: u32,
    repeat: u32,
    longest: Option<usize>,
) -> String {
    let room = longest.map_or(USUAL_LENGTH, |most| most - ENDING.len());
    let set_of = |set: u32| &session.sets[set as usize - 1];
    let (front, middle, back) = match division {
        Division::One => (
            String::new(),
            plain(&session.title, "session"),
            String::new(),
        ),
        Division::PerSet => (
            format!("{}-", numbered(set.into(), session.sets.len() as u64, 2)),
            plain(&set_of(set).name, "set"),
            format!("-{}", swims(set_of(set), set_of(set).repeats)),
        ),
        Division::PerRepeat => (
            format!("{}-", numbered(set.into(), session.sets.len() as u64, 2)),
            plain(&set_of(set).name, "set"),
            format!(
                "-r{}-{}",
                numbered(repeat.into(), set_of(set).repeats, 1),
                swims(set_of(set), 1)
            ),
        ),
    };
    // The numbers in front and behind tell files apart; the words between may be cut.
    let room_for_words = room.saturating_sub(front.len() + back.len());
    let mut words: String = middle.chars().take(room_for_words).collect();
    words.truncate(words.trim_end_matches('-').len());
    let back = match words.is_empty() {
        true => back.trim_start_matches('-'),
        false => &back,
    };
    let mut name = format!("{front}{words}{back}");
    if name.len() > room {
        name.truncate(room);
    }
    let is_device = RESERVED.contains(&name.as_str())
        || (name.len() == 4 && (name.starts_with("com") || name.starts_with("lpt")));
    if is_device {
        name.push_str("-cues");
    }
    name + ENDING
}

/// With zeros in front, so that the order of names is the order of playing.
fn numbered(number: u64, most: u64, least_digits: usize) -> String {
    let digits = most.to_string().len().max(least_digits);
    format!("{number:0digits$}")
}

/// `4x50m`, or `50m` for a single one.
fn swims(set: &Set, repeats: u64) -> String {
    let swim = match &set.swim {
        Swim::Distance(length) => plain(&length.to_string().replace(' ', ""), "swim"),
        Swim::Time(time) => spoken_time(time),
    };
    match repeats {
        1 => swim,
        n => format!("{n}x{swim}"),
    }
}

/// `45s`, `6min`, `1min30s`.
fn spoken_time(time: &Time) -> String {
    let sixty = exact(60);
    let minutes = (time.s() / &sixty).floor();
    let seconds = time.s() - &minutes * &sixty;
    let minutes = minutes.to_integer();
    let seconds = plain(&Time::from_s(seconds).to_string().replace(' ', ""), "");
    match (minutes == 0.into(), seconds == "0s") {
        (true, _) => seconds,
        (false, true) => format!("{minutes}min"),
        (false, false) => format!("{minutes}min{seconds}"),
    }
}

/// Words as a name may hold them: ASCII, lower case, dashes between.
fn plain(words: &str, otherwise: &str) -> String {
    let mut name = String::new();
    for c in deunicode::deunicode(words).to_lowercase().chars() {
        match c {
            'a'..='z' | '0'..='9' => name.push(c),
            '\'' => {}
            _ if !name.ends_with('-') && !name.is_empty() => name.push('-'),
            _ => {}
        }
    }
    let name = name.trim_matches('-');
    match name.is_empty() {
        true => otherwise.into(),
        false => name.into(),
    }
}

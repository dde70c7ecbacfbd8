//! File names: purpose first, legal and in playing order on every player and system.

use crate::model::resolve::{Resolved, Set};
use crate::model::session::RepeatSwim;
use crate::model::track_format::{Division, Format};
use crate::units::{Time, exact};

/// The longest name without its ending, unless the player asks for shorter ones.
const USUAL_LENGTH: usize = 60;

/// Names that Windows keeps for devices, whatever their ending.
const RESERVED: [&str; 4] = ["con", "prn", "aux", "nul"];

/// The name of one file: `set` and `repeat` count from 1 and are those of the part.
/// Lower-case ASCII letters, digits and dashes, then the format's ending; at most `longest` characters.
pub fn file_name(
    session: &Resolved,
    division: Division,
    format: Format,
    (set, repeat): (u32, u32),
    longest: Option<usize>,
) -> String {
    let ending = format.ending();
    let room = longest.map_or(USUAL_LENGTH, |most| most - ending.len());
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
    let back = if words.is_empty() {
        back.trim_start_matches('-')
    } else {
        &back
    };
    let mut name = format!("{front}{words}{back}");
    name.truncate(room);
    name.truncate(name.trim_end_matches('-').len());
    let is_device = RESERVED.contains(&name.as_str())
        || (name.len() == 4 && (name.starts_with("com") || name.starts_with("lpt")));
    if is_device {
        name.push_str("-cues");
    }
    name + ending
}

/// With zeros in front, so that the order of names is the order of playing.
fn numbered(number: u64, most: u64, least_digits: usize) -> String {
    let digits = most.to_string().len().max(least_digits);
    format!("{number:0digits$}")
}

/// `4x50m`, or `50m` for a single one.
fn swims(set: &Set, repeats: u64) -> String {
    let swim = match &set.swim {
        RepeatSwim::Distance(length) => joined(&length.to_string()),
        RepeatSwim::Time(time) => spoken_time(time),
    };
    match repeats {
        1 => swim,
        n => format!("{n}x{swim}"),
    }
}

/// `33 1/3 m` as `33-1-3m`: the unit follows its number.
fn joined(quantity: &str) -> String {
    let (number, unit) = quantity.rsplit_once(' ').unwrap_or((quantity, ""));
    plain(number, "") + unit
}

/// `45s`, `6min`, `1min30s`.
fn spoken_time(time: &Time) -> String {
    let minutes = (time.s() / exact(60)).whole_below();
    let seconds = time.s() - exact(60).times(minutes);
    let seconds = joined(&Time::from_s(seconds).to_string());
    match (minutes == 0, seconds == "0s") {
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
    if name.is_empty() {
        otherwise.into()
    } else {
        name.into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::parse_session;
    use crate::model::resolve::resolve;
    use crate::model::wishes::Wishes;

    fn session(title: &str, name: &str, repeats: u32, swim: &str) -> Resolved {
        let quoted = |text: &str| text.replace('\\', "\\\\").replace('"', "\\\"");
        let text = format!(
            "title = \"{}\"\n[[set]]\nname = \"{}\"\nrepeats = {repeats}\nswim = \"{swim}\"\n\
             rate = \"60 spm\"\npace = \"2:00 / 100 m\"\n",
            quoted(title),
            quoted(name)
        );
        let session = parse_session("test.toml", &text).expect("parses");
        resolve(&session, None, &Wishes::default()).expect("resolves")
    }

    /// The name of a WAV file.
    fn file_name(
        session: &Resolved,
        division: Division,
        set: u32,
        repeat: u32,
        longest: Option<usize>,
    ) -> String {
        super::file_name(session, division, Format::Wav, (set, repeat), longest)
    }

    #[test]
    fn names_say_the_purpose_first() {
        let settle = session("Evening", "Settle", 4, "50 m");
        assert_eq!(
            file_name(&settle, Division::PerSet, 1, 1, None),
            "01-settle-4x50m.wav"
        );
        assert_eq!(
            file_name(&settle, Division::PerRepeat, 1, 2, None),
            "01-settle-r2-50m.wav"
        );
        assert_eq!(file_name(&settle, Division::One, 1, 1, None), "evening.wav");
        let many = session("Evening", "Settle", 12, "1:30");
        assert_eq!(
            file_name(&many, Division::PerRepeat, 1, 2, None),
            "01-settle-r02-1min30s.wav"
        );
        assert_eq!(
            file_name(
                &session("E", "Hold", 1, "6 min"),
                Division::PerSet,
                1,
                1,
                None
            ),
            "01-hold-6min.wav"
        );
        assert_eq!(
            file_name(
                &session("E", "Go", 1, "33 1/3 m"),
                Division::PerSet,
                1,
                1,
                None
            ),
            "01-go-33-1-3m.wav"
        );
    }

    #[test]
    fn any_title_makes_a_legal_name() {
        let long = "x".repeat(300);
        for title in [
            "../../etc",
            "a/b\\c:d*e?f\"g<h>i|j",
            "🏊🏊",
            "...",
            "con",
            "NUL",
            "com1",
            "Übung für Ärmel",
            "日本",
            &long,
            "a.",
            "-rf",
            "' '",
        ] {
            for (division, name) in [
                (Division::One, "Set"),
                (Division::PerSet, title),
                (Division::PerRepeat, title),
            ] {
                let session = session(title, name, 3, "50 m");
                for longest in [None, Some(14), Some(20)] {
                    let file = file_name(&session, division, 1, 3, longest);
                    let stem = file.strip_suffix(".wav").expect("ends in .wav");
                    let legal = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
                    assert!(
                        !stem.is_empty() && stem.chars().all(legal),
                        "{title}: {file}"
                    );
                    assert!(
                        !stem.starts_with('-') && !stem.ends_with('-'),
                        "{title}: {file}"
                    );
                    assert!(
                        !RESERVED.contains(&stem) && stem != "com1",
                        "{title}: {file}"
                    );
                    assert!(
                        file.len() <= longest.unwrap_or(70).max(14),
                        "{title}: {file}"
                    );
                }
            }
        }
    }
}

//! A set as it is typed on deck: the rows that it comes to.

use super::args::AddArgs;
use crate::cli::shared::date::today;
use crate::cli::shared::swum::Swam;
use crate::error::{Error, Result};
use crate::files::set_field;
use crate::model::log::Row;
use crate::units::{Length, Quantity, exact, with_unit};

/// A flag's text; empty where it is not there.
pub fn given(flag: &Option<String>) -> &str {
    flag.as_deref().unwrap_or_default()
}

/// A time for each repeat.
pub fn times_for(times: &[String], repeats: usize, distance: &Length) -> Result<()> {
    if times.len() == repeats {
        Ok(())
    } else {
        Err(Error::input(format!(
            "found {} times for {repeats} repeats of {distance}",
            times.len()
        ))
        .accepted("a time for each repeat; - where none was taken")
        .example("cuelane log add 4x50 48.1 48.4 - 49.2"))
    }
}

/// The rows of a set: what is said once holds for every repeat.
pub fn rows(args: &AddArgs, swam: &Swam) -> Result<Vec<Row>> {
    let (repeats, distance) = set_of(given(&args.set), &swam.water.pool)?;
    times_for(&args.times, repeats, &distance)?;
    let date = (args.date.clone()).unwrap_or_else(|| today().to_string());
    let row = |index: usize| {
        let mut row = Row {
            repeat: Some(index as u64 + 1),
            distance: Some(distance.clone()),
            ..Row::default()
        };
        let one = |text, flag| one_of(given(text), index, repeats, flag);
        let (time, strokes) = (
            time_of(&args.times[index]),
            one(&args.strokes, "--strokes")?,
        );
        let (effort, kept) = (one(&args.effort, "--effort")?, one(&args.kept, "--kept")?);
        for (column, text) in [
            ("date", date.as_str()),
            ("swimmer", given(&swam.name)),
            ("session", given(&args.session)),
            ("set", given(&args.name)),
            ("time", &time),
            ("strokes", &strokes),
            ("rate_cued", given(&args.rate_cued)),
            ("pairing", given(&args.pairing)),
            ("kick", given(&args.kick)),
            ("effort", &effort),
            ("kept", &kept),
            ("trial", given(&args.trial)),
            ("note", given(&args.note)),
        ] {
            set_field(&mut row, column, text).map_err(|why| refused(column, &why))?;
        }
        Ok(row)
    };
    (0..repeats).map(row).collect()
}

/// A field that does not hold, with an example of its own.
pub fn refused(column: &str, why: &str) -> Error {
    let example = match column {
        "date" => "--date 2026-03-14",
        "time" => "cuelane log add 4x50 48.1 48.4 48.0 49.2",
        "strokes" => "--strokes 22/length",
        "rate_cued" => "--rate-cued \"54 spm\"",
        "pairing" => "--pairing same-side",
        "kick" => "--kick two-beat",
        "effort" => "--effort 6",
        _ => "--kept yes",
    };
    Error::input(why).example(example)
}

/// `4x50`, `8 x 25yd`, `400m`: how many, and how far; the pool's unit where none is said.
pub fn set_of(text: &str, pool: &Length) -> Result<(usize, Length)> {
    let refuse = |why: String| {
        Error::input(why)
            .accepted("REPEATSxDISTANCE or DISTANCE, up to 200 repeats")
            .example("cuelane log add 4x50 48.1 48.4 48.0 49.2")
    };
    let lower = text.to_lowercase().replace('×', "x");
    let (repeats, distance) = lower.split_once('x').unwrap_or(("1", &lower));
    let repeats: usize = (repeats.trim().parse().ok())
        .filter(|repeats| (1..=200).contains(repeats))
        .ok_or_else(|| refuse(format!("found {text:?}, which is not a set")))?;
    let unit = if pool.in_yards() { "yd" } else { "m" };
    let distance = Length::parse(&with_unit(distance, unit)).map_err(refuse)?;
    if *distance.metres() > exact(0) {
        Ok((repeats, distance))
    } else {
        Err(refuse(format!("found {text:?}, no distance at all")))
    }
}

/// A time on deck: seconds where no unit is said, empty for `-`.
pub fn time_of(text: &str) -> String {
    match text.trim() {
        "-" => String::new(),
        text => with_unit(text, "s"),
    }
}

/// One value for all, or the one of this repeat out of a list.
pub fn one_of(text: &str, index: usize, repeats: usize, flag: &str) -> Result<String> {
    let parts: Vec<&str> = text.split(',').map(str::trim).collect();
    match parts.len() {
        1 => Ok(parts[0].to_string()),
        // As with times, - is what was not noted.
        found if found == repeats && parts[index] == "-" => Ok(String::new()),
        found if found == repeats => Ok(parts[index].to_string()),
        found => Err(
            Error::input(format!("found {found} values for {repeats} repeats"))
                .at(flag)
                .accepted("one for all, or one for each repeat, separated by commas"),
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_set_is_read_as_it_is_said_on_deck() {
        let metres = Length::parse("25 m").expect("25 m");
        let yards = Length::parse("25 yd").expect("25 yd");
        for (text, pool, repeats, distance) in [
            ("4x50", &metres, 4, "50 m"),
            ("4x50", &yards, 4, "50 yd"),
            ("8 X 25yd", &metres, 8, "25 yd"),
            ("400m", &metres, 1, "400 m"),
            ("100", &metres, 1, "100 m"),
            ("4x12.5", &metres, 4, "12.5 m"),
        ] {
            let (found, length) = set_of(text, pool).expect(text);
            assert_eq!(
                (found, length.to_string().as_str()),
                (repeats, distance),
                "{text}"
            );
        }
        for text in ["", "x50", "4x", "0x50", "4x0", "201x50", "4x50 spm", "fast"] {
            assert!(set_of(text, &metres).is_err(), "{text}");
        }
    }
}

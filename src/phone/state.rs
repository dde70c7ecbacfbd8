//! How everything is, as the page is told it: from a face of the screen to JSON.

use serde::Serialize;

use crate::analysis::taps::Each;
use crate::model::kick::Pairing;
use crate::tui::{DeckStanding, Face};

/// What a screen has between two columns.
const COLUMNS: &str = "   ";

/// Everything that the page shows.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(tag = "is", rename = "state")]
pub struct Shown {
    doing: &'static str,
    running: bool,
    over: bool,
    rate_spm: String,
    going_to_spm: Option<f64>,
    feet: [String; 2],
    kick: String,
    waiting: Option<String>,
    clock: String,
    heading: String,
    settings: String,
    sound: String,
    happened: Option<String>,
    same_side: bool,
    hands_silent: bool,
    feet_silent: bool,
    taps: String,
    tapped_spm: Option<f64>,
    starts: u32,
    swimmers: Vec<Arrival>,
    results: Option<Results>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Arrival {
    name: String,
    time: Option<String>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct Results {
    swim: u32,
    heading: String,
    rows: Vec<ResultRow>,
}

#[derive(Debug, Clone, PartialEq, Serialize)]
struct ResultRow {
    swimmer: usize,
    name: String,
    time: String,
    strokes: String,
    kept: String,
    effort: String,
}

impl Shown {
    /// Of a face and what it has no field for. Swimmers are called by their first names.
    pub fn new(face: &Face, standing: &DeckStanding) -> Self {
        let all: Vec<&str> = (standing.swimmers.iter())
            .map(|(name, _)| &**name)
            .collect();
        let names = FirstNames::of(&all);
        let results = standing.results.as_ref().map(|swim| Results {
            swim: swim.swim,
            heading: swim.heading.clone(),
            rows: (swim.rows.iter())
                .map(|seen| ResultRow {
                    swimmer: seen.swimmer,
                    name: names.shortened(&seen.name),
                    time: seen.time.clone(),
                    strokes: seen.strokes.clone(),
                    kept: seen.kept.clone(),
                    effort: seen.effort.clone(),
                })
                .collect(),
        });
        Self {
            doing: face.doing,
            running: standing.running,
            over: standing.over,
            rate_spm: face.rate.said.clone(),
            going_to_spm: face.going_to_spm,
            feet: face.feet.clone(),
            kick: face.kick.clone(),
            waiting: face.waiting.clone(),
            clock: names.shortened(&in_a_row(&face.clock)),
            heading: one_space(&in_a_row(&face.heading)),
            settings: face.settings.clone(),
            sound: face.sound.clone(),
            happened: (face.happened.as_ref()).map(|(text, _)| names.shortened(text)),
            same_side: standing.pairing == Pairing::SameSide,
            hands_silent: standing.muted[0],
            feet_silent: standing.muted[1],
            taps: (standing.taps.as_ref()).map_or_else(
                || what_to_tap(standing.each).into(),
                |(words, _)| words.clone(),
            ),
            tapped_spm: standing.taps.as_ref().and_then(|(_, spm)| *spm),
            starts: standing.starts,
            swimmers: (standing.swimmers.iter())
                .map(|(name, time)| Arrival {
                    name: names.shortened(name),
                    time: time.clone(),
                })
                .collect(),
            results,
        }
    }
}

/// What is asked for where nothing was tapped yet.
fn what_to_tap(each: Each) -> &'static str {
    match each {
        Each::Cycle => "Tap each entry of the hand that starts; four taps give a rate.",
        Each::Stroke => "Tap each entry of either hand; four taps give a rate.",
    }
}

/// Names with what they are shortened to.
struct FirstNames(Vec<(String, String)>);

impl FirstNames {
    /// The first word of each name; where others begin with it, with as many of the letters that
    /// follow as tell it from them.
    fn of(names: &[&str]) -> Self {
        let names: Vec<String> = names.iter().map(|name| one_space(name)).collect();
        let parts = |name: &str| {
            let (first, rest) = name.split_once(' ').unwrap_or((name, ""));
            (first.to_string(), rest.to_string())
        };
        let short = |name: &String| {
            let (first, rest) = parts(name);
            let others: Vec<String> = (names.iter().filter(|other| *other != name))
                .map(|other| parts(other))
                .filter_map(|(other, rest)| (other == first).then_some(rest))
                .collect();
            if others.is_empty() || rest.is_empty() {
                return first;
            }
            let ends = rest.char_indices().skip(1).map(|(at, _)| at);
            let tells_apart =
                |end: &usize| !others.iter().any(|one| one.starts_with(&rest[..*end]));
            match ends.into_iter().find(tells_apart) {
                Some(end) => format!("{first} {}.", rest[..end].trim_end()),
                None => name.clone(),
            }
        };
        let mut all: Vec<(String, String)> = (names.iter())
            .map(|name| (name.clone(), short(name)))
            .collect();
        // A name that is part of another comes after it.
        all.sort_by_key(|(name, _)| std::cmp::Reverse(name.len()));
        Self(all)
    }

    /// A text with each whole name shortened, in letters that stand alone.
    fn shortened(&self, text: &str) -> String {
        let names = self.0.iter().filter(|(name, _)| !name.is_empty());
        names.fold(one_space(text), |text, (name, short)| {
            text.replace(name, short)
        })
    }
}

/// What stands in columns on a screen, with commas between.
fn in_a_row(text: &str) -> String {
    text.replace(COLUMNS, ", ")
}

/// A text without the spaces that hold a screen's columns together.
fn one_space(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn columns_of_the_screen_are_parted_by_more_than_a_space() {
        assert_eq!(
            one_space(&in_a_row("Start in 0:24   0:19\u{a0}early")),
            "Start in 0:24, 0:19 early"
        );
    }

    #[test]
    fn only_first_names_are_told_and_two_of_the_same_are_told_apart() {
        let names = FirstNames::of(&["Alex Example", "Bo", "Alex Other", "Cy Test"]);
        let text = "Alex Other in: 49.3 s.  Bo leaves in 0:03  Alex Example, Cy Test";
        assert_eq!(
            names.shortened(text),
            "Alex O. in: 49.3 s. Bo leaves in 0:03 Alex E., Cy"
        );
        assert_eq!(
            FirstNames::of(&["Alex Example"]).shortened("Alex Example in"),
            "Alex in"
        );
    }

    #[test]
    fn as_many_letters_are_told_as_tell_two_of_the_same_first_name_apart() {
        let all = [
            (&["Alex Evans", "Alex Example"][..], "Alex Ev.; Alex Ex."),
            (
                &["Alex Ev", "Alex Evans", "Alex"],
                "Alex Ev; Alex Eva.; Alex",
            ),
            (
                &["Ana Maria Lopez", "Ana Maria Ruiz"],
                "Ana Maria L.; Ana Maria R.",
            ),
            (
                &["Åsa Öberg", "Åsa Ögren", "Bo Test"],
                "Åsa Öb.; Åsa Ög.; Bo",
            ),
            // However its words are parted in the file.
            (&["Bo  Longname", "Cy\u{a0}Hidden"], "Bo; Cy"),
        ];
        for (names, told) in all {
            let text = names.join("; ");
            assert_eq!(FirstNames::of(names).shortened(&text), told);
        }
    }
}

//! The log: what was swum, one row a repeat, as plain data.
//!
//! In: rows as a person filled them in; almost every field may be empty. Out: what follows from
//! a row (speed, rate swum, distance per stroke), by the formulas of [`Row`] and [`Swum`]. Strokes count
//! both arms everywhere. Estimates are floats: nothing here is sounded.

use std::fmt;

use jiff::civil::Date;

use super::kick::{Kick, Pairing};
use super::trial_looks::TrialLooks;
use super::wishes::Wishes;
use crate::units::{Fix, Length, Rate, Time, ceil_u64, decimal, exact, print_decimal, to_f64};

/// The columns of a log, in the order in which a new one is written.
pub const COLUMNS: [&str; 15] = [
    "date",
    "swimmer",
    "session",
    "set",
    "repeat",
    "distance",
    "time",
    "strokes",
    "rate_cued",
    "pairing",
    "kick",
    "effort",
    "kept",
    "trial",
    "note",
];

/// A column that only the log of a trial has, behind the others.
pub const LOOKS_COLUMN: &str = "trial_looks";

/// The column of splits, which a log has from the first split on.
pub const SPLITS: &str = "splits";

/// A log as read: the rows that hold, the lines that do not.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Log {
    /// The file, as the person named it.
    pub file: String,
    /// Rows that hold, in written order.
    pub rows: Vec<LogLine>,
    /// Lines that do not hold. They stay in the file as they are.
    pub broken: Vec<Broken>,
    /// What was accepted and is worth saying (decimal commas, a column that is not ours).
    pub notes: Vec<String>,
}

/// A row and its line in the file, from 1.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct LogLine {
    /// The line on which the row begins, from 1.
    pub line: usize,
    /// What it says.
    pub row: Row,
}

/// A line that does not hold, from 1, and why.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Broken {
    /// The line, from 1.
    pub line: usize,
    /// What is wrong with it, as a sentence without its end.
    pub why: String,
}

/// One repeat. An empty field is `None` or an empty text.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Row {
    /// The day.
    pub date: Option<Date>,
    /// Who swam.
    pub swimmer: String,
    /// The session's name.
    pub session: String,
    /// The set's name.
    pub set: String,
    /// Which repeat of its set, from 1.
    pub repeat: Option<u64>,
    /// Distance swum, above zero.
    pub distance: Option<Length>,
    /// Time by the clock, above zero.
    pub time: Option<Time>,
    /// Strokes, both arms.
    pub strokes: Option<Strokes>,
    /// The rate that was cued; none where nothing sounded.
    pub rate_cued: Option<Rate>,
    /// The pairing that was cued.
    pub pairing: Option<Pairing>,
    /// The kick that was cued.
    pub kick: Option<Kick>,
    /// Effort, 0 to 10.
    pub effort: Option<Fix>,
    /// Whether the kick followed the cue, by video, a coach's eye, or as the swimmer felt it.
    pub kept: Option<Kept>,
    /// Which trial the row belongs to, as `trial new` wrote it.
    pub trial: String,
    /// Anything.
    pub note: String,
    /// After how many pairs its trial is looked at, as `trial new` wrote it.
    pub trial_looks: Option<TrialLooks>,
    /// Times since the start inside the swim, ascending.
    pub splits: Vec<Time>,
    /// Columns that are not ours, by name, empty ones left out. They are kept.
    pub other: Vec<(String, String)>,
}

/// A count of strokes, both arms: of the whole repeat, or of each length.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Strokes {
    /// Of the whole repeat: `44`.
    Whole(Fix),
    /// Of each length: `22/length`.
    PerLength(Fix),
}

impl Strokes {
    /// What is accepted, as one line for a message.
    pub const ACCEPTED: &'static str =
        "strokes of both arms, as a number: 44 for the whole swim, 22/length for each length";

    /// Reads `44` or `22/length`.
    ///
    /// # Errors
    /// When it is neither, or not above zero.
    pub fn parse(text: &str) -> Result<Self, String> {
        let text = text.trim();
        let (number, per_length) = match text.split_once('/') {
            None => (text, false),
            Some((number, unit)) if unit.trim() == "length" => (number.trim(), true),
            Some(_) => return Err(format!("found {text:?}, which is not a count of strokes")),
        };
        let count = decimal(number)?;
        if count <= exact(0) || count > exact(LARGEST_COUNT) {
            return Err(format!(
                "found {number} strokes, outside 1 to {LARGEST_COUNT}"
            ));
        }
        Ok(if per_length {
            Self::PerLength(count)
        } else {
            Self::Whole(count)
        })
    }

    /// Strokes of a repeat of so many lengths.
    pub fn total(&self, lengths: u64) -> Fix {
        match self {
            Self::Whole(count) => *count,
            Self::PerLength(count) => count * Fix::from_integer(lengths.into()),
        }
    }
}

/// Far beyond a marathon swim counted on both arms.
const LARGEST_COUNT: i64 = 100_000;

impl fmt::Display for Strokes {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = |count: &Fix| print_decimal(count).unwrap_or_else(|| count.to_string());
        match self {
            Self::Whole(count) => f.write_str(&text(count)),
            Self::PerLength(count) => write!(f, "{}/length", text(count)),
        }
    }
}

/// Whether the kick followed the cue: seen, by video or a coach's eye, or felt, by a swimmer alone.
/// What was felt is enough for a course, and never for a verdict of a trial, a plan or the timing.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kept {
    /// It did.
    Yes,
    /// For a part of the swim.
    Part,
    /// It did not.
    No,
    /// Most kicks felt on the sound.
    FeltYes,
    /// About half of them did.
    FeltPart,
    /// Few did.
    FeltNo,
}

impl Kept {
    /// What a coach or a video can say.
    pub const SEEN: [Self; 3] = [Self::Yes, Self::Part, Self::No];
    /// Every answer.
    pub const ALL: [Self; 6] = [
        Self::Yes,
        Self::Part,
        Self::No,
        Self::FeltYes,
        Self::FeltPart,
        Self::FeltNo,
    ];

    /// The word in files and flags.
    pub fn word(self) -> &'static str {
        match self {
            Self::Yes => "yes",
            Self::Part => "part",
            Self::No => "no",
            Self::FeltYes => "felt-yes",
            Self::FeltPart => "felt-part",
            Self::FeltNo => "felt-no",
        }
    }

    /// Whether it is a swimmer's own word.
    pub fn is_felt(self) -> bool {
        !Self::SEEN.contains(&self)
    }
}

/// The water a row was swum in: what a length and a push-off are worth.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Water {
    /// The pool's length, above zero.
    pub pool: Length,
    /// Time of a push-off, from the wall to the first entry.
    pub push_off: Time,
    /// Distance of a push-off.
    pub glide: Length,
}

impl Default for Water {
    /// 25 m, 3 s and 4 m (common practice, no source).
    fn default() -> Self {
        Self {
            pool: Length::from_metres(exact(25)),
            push_off: Time::whole_s(3),
            glide: Length::from_metres(exact(4)),
        }
    }
}

impl Water {
    /// The water that wishes say, the usual guess where they say none.
    pub fn of(wishes: &Wishes) -> Self {
        let usual = Self::default();
        Self {
            pool: (wishes.pool.as_ref()).map_or(usual.pool, |said| said.value.clone()),
            push_off: (wishes.push_off.as_ref()).map_or(usual.push_off, |said| said.value.clone()),
            glide: (wishes.glide.as_ref()).map_or(usual.glide, |said| said.value.clone()),
        }
    }

    /// Lengths of a distance: the pools begun, since a push-off starts each.
    pub fn lengths(&self, distance: &Length) -> u64 {
        ceil_u64(&(distance.metres() / self.pool.metres())).unwrap_or(u64::MAX)
    }
}

/// A split so near to the time of the swim is that time, s.
const AT_THE_END_S: f64 = 0.3;

/// What follows from a row; nothing where it does not say enough.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Swum {
    /// Distance over time by the clock, push-offs included, m/s.
    pub speed_m_s: Option<f64>,
    /// Strokes / (time - lengths x push_off), strokes/min.
    pub rate_spm: Option<f64>,
    /// Distance per stroke, push-offs out: (distance - lengths x glide) / strokes, m.
    pub stroke_length_m: Option<f64>,
    /// Distance per stroke, plain: distance / strokes, m.
    pub plain_stroke_length_m: Option<f64>,
    /// Speed x distance per stroke (Costill et al. 1985, from memory), m²/s.
    pub stroke_index_m2_s: Option<f64>,
}

impl Row {
    /// Whether it says anything that is known only once it was swum.
    pub fn is_filled(&self) -> bool {
        self.time.is_some()
            || self.strokes.is_some()
            || self.effort.is_some()
            || self.kept.is_some()
    }

    /// The mean speed of each part of the swim between its splits, m/s. The parts are taken to be
    /// equal, and so there are none unless each is a number of whole lengths.
    pub fn part_speeds_m_s(&self, water: &Water) -> Vec<f64> {
        let Some(distance) = self.distance.as_ref().filter(|_| !self.splits.is_empty()) else {
            return Vec::new();
        };
        let mut ends: Vec<f64> = self.splits.iter().map(|split| to_f64(split.s())).collect();
        // A last split at the end is the end.
        if let Some(time) = self.time.as_ref().map(|time| to_f64(time.s())) {
            ends.retain(|end| *end < time - AT_THE_END_S);
            ends.push(time);
        }
        let parts = ends.len();
        if parts < 2 || !water.lengths(distance).is_multiple_of(parts as u64) {
            return Vec::new();
        }
        let part_m = to_f64(distance.metres()) / parts as f64;
        let starts = std::iter::once(0.0).chain(ends.iter().copied());
        (starts.zip(&ends))
            .map(|(start, end)| part_m / (end - start))
            .collect()
    }

    /// What follows from the row in such water.
    pub fn swum(&self, water: &Water) -> Swum {
        let Some(distance) = &self.distance else {
            return Swum::default();
        };
        let lengths = water.lengths(distance);
        let walls = to_f64(&Fix::from_integer(lengths.into()));
        let (metres, time) = (
            to_f64(distance.metres()),
            self.time.as_ref().map(|t| to_f64(t.s())),
        );
        let strokes = self
            .strokes
            .as_ref()
            .map(|strokes| to_f64(&strokes.total(lengths)));
        let positive = |value: f64| (value > 0.0 && value.is_finite()).then_some(value);

        let speed_m_s = time.and_then(|time| positive(metres / time));
        let swimming_s = time.and_then(|time| positive(time - walls * to_f64(water.push_off.s())));
        let swimming_m = positive(metres - walls * to_f64(water.glide.metres()));
        let stroke_length_m = swimming_m
            .zip(strokes)
            .map(|(metres, strokes)| metres / strokes);
        Swum {
            speed_m_s,
            rate_spm: swimming_s
                .zip(strokes)
                .map(|(s, strokes)| strokes / s * 60.0),
            stroke_length_m,
            plain_stroke_length_m: strokes.map(|strokes| metres / strokes),
            stroke_index_m2_s: speed_m_s
                .zip(stroke_length_m)
                .map(|(speed, length)| speed * length),
        }
    }
}

/// The commonest slip of counting: one arm counted for two, or two for one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CountedWrong {
    /// The rate swum is near half of the rate cued.
    Half,
    /// The rate swum is near double the rate cued.
    Double,
}

impl CountedWrong {
    /// Compares a rate swum with the rate cued, both in strokes/min. The bands reach a fifth to
    /// either side: nobody follows a cue that badly, and everybody follows it that well.
    pub fn of(swum_spm: f64, cued_spm: f64) -> Option<Self> {
        match swum_spm / cued_spm {
            ratio if (0.4..=0.6).contains(&ratio) => Some(Self::Half),
            ratio if (1.6..=2.4).contains(&ratio) => Some(Self::Double),
            _ => None,
        }
    }

    /// What to say about it.
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Half => "half the rate cued; was only one arm counted?",
            Self::Double => "double the rate cued; were strokes counted twice?",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::Quantity;

    fn row(distance: &str, time: &str, strokes: &str) -> Row {
        Row {
            distance: Some(Length::parse(distance).expect(distance)),
            time: Some(Time::parse(time).expect(time)),
            strokes: Some(Strokes::parse(strokes).expect(strokes)),
            ..Row::default()
        }
    }

    #[test]
    fn a_row_gives_the_figures_of_the_design() {
        // By hand: 50 m in 2 lengths, 50 s, 44 strokes; 44 s and 42 m without the push-offs.
        let swum = row("50 m", "50 s", "22/length").swum(&Water::default());
        let close = |found: Option<f64>, wanted: f64| {
            assert!(
                (found.expect("the row says enough") - wanted).abs() < 1e-12,
                "{wanted}"
            );
        };
        close(swum.speed_m_s, 1.0);
        close(swum.rate_spm, 60.0);
        close(swum.stroke_length_m, 42.0 / 44.0);
        close(swum.plain_stroke_length_m, 50.0 / 44.0);
        close(swum.stroke_index_m2_s, 42.0 / 44.0);
    }

    #[test]
    fn a_row_that_says_too_little_gives_nothing() {
        let mut short = row("50 m", "5 s", "44");
        assert_eq!(
            short.swum(&Water::default()).rate_spm,
            None,
            "less than its push-offs"
        );
        short.strokes = None;
        assert_eq!(short.swum(&Water::default()).stroke_length_m, None);
        short.distance = None;
        assert_eq!(short.swum(&Water::default()), Swum::default());
        let glide = row("6 m", "5 s", "2").swum(&Water {
            glide: Length::parse("7 m").expect("7 m"),
            ..Water::default()
        });
        assert_eq!(glide.stroke_length_m, None, "shorter than its push-off");
    }

    #[test]
    fn splits_tell_how_speed_fades_where_the_parts_are_whole_lengths() {
        let with = |time: &str, splits: &[&str]| {
            let splits = splits.iter().map(|text| Time::parse(text).expect(text));
            let row = Row {
                splits: splits.collect(),
                ..row("100 m", time, "88")
            };
            row.part_speeds_m_s(&Water::default())
        };
        // By hand: 50 m in 40 s, then in 50 s.
        assert_eq!(with("90 s", &["40 s"]), [1.25, 1.0]);
        assert_eq!(with("90 s", &["40 s", "90 s"]), [1.25, 1.0]);
        // Thirds of four lengths are none.
        assert!(with("90 s", &["40 s", "60 s"]).is_empty());
        assert!(with("90 s", &[]).is_empty());
    }

    #[test]
    fn strokes_read_back() {
        for text in ["44", "22/length", "21.5/length"] {
            assert_eq!(Strokes::parse(text).expect(text).to_string(), text);
        }
        for text in ["", "0", "-3", "44 spm", "22/lap", "many", "1e9", "44/"] {
            assert!(Strokes::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn one_arm_counted_for_two_shows_against_the_cue() {
        assert_eq!(CountedWrong::of(27.0, 54.0), Some(CountedWrong::Half));
        assert_eq!(CountedWrong::of(108.0, 54.0), Some(CountedWrong::Double));
        for near in [40.0, 54.0, 70.0] {
            assert_eq!(CountedWrong::of(near, 54.0), None);
        }
    }
}

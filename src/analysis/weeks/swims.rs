//! The rows of a log as a plan needs them, and the rows that it cannot use.

use std::collections::HashSet;

use jiff::civil::Date;

use crate::model::log::{CountedWrong, Kept, Row, Water};
use crate::units::to_f64;

/// A swim of the plan's swimmer.
#[derive(Debug, Clone, PartialEq)]
pub struct LoggedSwim {
    /// The day.
    pub date: Date,
    /// Distance, m.
    pub distance_m: f64,
    /// The rate cued, strokes/min; none without cues.
    pub cued_spm: Option<f64>,
    /// Strokes, both arms.
    pub strokes: Option<f64>,
    /// The rate swum, push-offs out.
    pub rate_spm: Option<f64>,
    /// Speed by the clock, m/s.
    pub speed_m_s: Option<f64>,
    /// Distance per stroke, push-offs out, m.
    pub length_m: Option<f64>,
    /// Effort, 0 to 10.
    pub effort: Option<f64>,
    /// Whether the kick followed the cue.
    pub kept: Option<Kept>,
    /// Whether the note tells of illness.
    pub ill: bool,
    /// Whether the note tells of pain.
    pub pain: bool,
}

impl LoggedSwim {
    /// What a row of a day says.
    pub fn of(row: &Row, date: Date, water: &Water) -> Self {
        let swum = row.swum(water);
        let note = row.note.to_lowercase();
        let says = |words: &[&str]| {
            (note.split(|c: char| !c.is_alphanumeric())).any(|word| words.contains(&word))
        };
        Self {
            date,
            distance_m: row.distance.as_ref().map_or(0.0, |d| to_f64(d.metres())),
            cued_spm: row.rate_cued.as_ref().map(|rate| to_f64(rate.spm())),
            strokes: (row.strokes.as_ref().zip(row.distance.as_ref()))
                .map(|(strokes, distance)| to_f64(&strokes.total(water.lengths(distance)))),
            rate_spm: swum.rate_spm,
            speed_m_s: swum.speed_m_s,
            length_m: swum.stroke_length_m,
            effort: row.effort.as_ref().map(to_f64),
            kept: row.kept,
            ill: says(&ILL),
            pain: says(&PAIN),
        }
    }

    /// Whether the strokes look like those of one arm, or counted twice, against the cue.
    pub fn slip(&self) -> Option<CountedWrong> {
        CountedWrong::of(self.rate_spm?, self.cued_spm?)
    }
}

/// Rows that are not used, and why.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Untaken {
    /// Names of other swimmers, each once, as written.
    pub others: Vec<String>,
    /// Rows of other swimmers.
    pub of_others: usize,
    /// Rows without a date.
    pub undated: usize,
}

/// Words of a note that tell of illness, and of pain. Whole words, in lower case.
const ILL: [&str; 6] = ["ill", "illness", "sick", "sickness", "fever", "flu"];
const PAIN: [&str; 6] = ["pain", "painful", "hurt", "hurts", "sore", "dizzy"];

/// The rows of a swimmer, taken one after another. A row without a name is theirs.
pub struct OfLog<'a> {
    name: String,
    water: &'a Water,
    swims: Vec<LoggedSwim>,
    untaken: Untaken,
    seen: HashSet<String>,
}

impl<'a> OfLog<'a> {
    /// Nothing yet.
    pub fn new(name: &str, water: &'a Water) -> Self {
        Self {
            name: name.to_lowercase(),
            water,
            swims: Vec::new(),
            untaken: Untaken::default(),
            seen: HashSet::new(),
        }
    }

    /// Takes the next row.
    pub fn take(&mut self, row: &Row) {
        if !row.swimmer.is_empty() && row.swimmer.to_lowercase() != self.name {
            self.untaken.of_others += 1;
            if !self.seen.contains(&row.swimmer) {
                self.seen.insert(row.swimmer.clone());
                self.untaken.others.push(row.swimmer.clone());
            }
            return;
        }
        match row.date {
            Some(date) => self.swims.push(LoggedSwim::of(row, date, self.water)),
            None => self.untaken.undated += 1,
        }
    }

    /// All that were taken, in order of date, and what was not.
    pub fn in_order(mut self) -> (Vec<LoggedSwim>, Untaken) {
        self.swims.sort_by_key(|swim| swim.date);
        (self.swims, self.untaken)
    }
}

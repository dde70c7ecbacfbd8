//! The rows of a log as a plan needs them, and the rows that it cannot use.

use jiff::civil::Date;

use crate::model::log::{CountedWrong, Kept, Log, Row, Water};
use crate::units::to_f64;

/// A swim of the plan's swimmer.
#[derive(Debug, Clone, PartialEq)]
pub struct Swim {
    /// The day.
    pub date: Date,
    /// Distance, m.
    pub distance_m: f64,
    /// The rate cued, strokes/min; none without cues.
    pub cued_spm: Option<f64>,
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

impl Swim {
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

/// The rows of a swimmer, in order of date. A row without a name is theirs.
pub fn of_log(log: &Log, name: &str, water: &Water) -> (Vec<Swim>, Untaken) {
    let mut untaken = Untaken::default();
    let mut swims = Vec::new();
    for line in &log.rows {
        let row = &line.row;
        if !row.swimmer.is_empty() && row.swimmer.to_lowercase() != name.to_lowercase() {
            untaken.of_others += 1;
            if !untaken.others.contains(&row.swimmer) {
                untaken.others.push(row.swimmer.clone());
            }
            continue;
        }
        let Some(date) = row.date else {
            untaken.undated += 1;
            continue;
        };
        swims.push(Swim::of(row, date, water));
    }
    swims.sort_by_key(|swim| swim.date);
    (swims, untaken)
}

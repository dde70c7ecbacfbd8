//! What a track may say: phrases as a table gives them, numbers and quantities in words.
//!
//! A phrase becomes [`PhrasePart`]s, each of them one clip, a pause or a sound. Nothing here knows
//! which clips there are, how long they last, or the words of any language.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use super::cue::{Side, Voice};
use super::session::RepeatSwim;
use crate::units::{Fix, Time, exact};

/// Every phrase that a table must have.
pub const KEYS: [&str; 43] = [
    "left",
    "right",
    "hand",
    "foot",
    "safety",
    "safety_dry",
    "bed",
    "set",
    "repeats",
    "once",
    "to_go",
    "last",
    "rate",
    "rising",
    "falling",
    "compare",
    "left_arm",
    "right_arm",
    "right_catch",
    "left_catch",
    "left_entry",
    "right_entry",
    "two_beat",
    "four_beat_left",
    "four_beat_right",
    "six_beat",
    "pull",
    "no_cues",
    "fade",
    "by_time",
    "by_time_dry",
    "breath",
    "late",
    "metres",
    "metre",
    "yards",
    "yard",
    "hours",
    "hour",
    "minutes",
    "minute",
    "seconds",
    "second",
];

/// A stretch of a template.
#[derive(Debug, Clone, PartialEq, Eq)]
enum Piece {
    Words(String),
    Slot,
    Pause,
}

/// The phrases of one language.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Phrases {
    templates: BTreeMap<String, Vec<Piece>>,
    numbers: Numbers,
}

/// The words that numbers are joined from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Numbers {
    /// Zero to nineteen.
    pub units: Vec<String>,
    /// Twenty to ninety.
    pub tens: Vec<String>,
    /// After the number of hundreds.
    pub hundred: String,
    /// After the number of thousands.
    pub thousand: String,
    /// Before decimals.
    pub point: String,
}

/// One thing after another that is heard.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum PhrasePart {
    /// The clip of these words, in one ear or both.
    Words {
        /// The words; [`slug`] names their clip.
        words: String,
        /// Whose ear; none is both.
        ear: Option<Side>,
    },
    /// Silence, ms.
    Pause(u64),
    /// A sound of the cues, in its own ear.
    Cue(Voice),
}

/// Between two clauses, ms: long enough to part them, short enough to stay one message (common
/// practice, no source).
pub const CLAUSE_MS: u64 = 250;

impl PhrasePart {
    /// Words in both ears.
    pub fn words(words: impl Into<String>) -> Self {
        Self::Words {
            words: words.into(),
            ear: None,
        }
    }

    /// The name of the clip, or of the sound; pauses have none.
    pub fn clip(&self) -> Option<String> {
        match self {
            Self::Words { words, .. } => Some(slug(words)),
            Self::Cue(voice) => Some(format!("={voice}")),
            Self::Pause(_) => None,
        }
    }
}

/// The name of the clip of some words: lower case, letters and digits, dashes between.
pub fn slug(words: &str) -> String {
    let mut name = String::new();
    for c in words.chars().flat_map(char::to_lowercase) {
        match c.is_alphanumeric() {
            true => name.push(c),
            false if name.ends_with('-') || name.is_empty() => {}
            false => name.push('-'),
        }
    }
    name.truncate(name.trim_end_matches('-').len());
    name
}

/// Parts as a person reads them.
pub fn in_words(parts: &[PhrasePart]) -> String {
    let mut text = String::new();
    let mut new_clause = false;
    for part in parts {
        match part {
            PhrasePart::Pause(_) => new_clause = true,
            PhrasePart::Cue(voice) => {
                let _ = write!(text, " ({voice})");
            }
            PhrasePart::Words { words, .. } => {
                if new_clause && !text.is_empty() && !text.ends_with(['.', '!', '?', ',']) {
                    text.push(',');
                }
                // "fifty-" and "four" are one number.
                if !text.is_empty() && !text.ends_with('-') {
                    text.push(' ');
                }
                text.push_str(words);
                new_clause = false;
            }
        }
    }
    text
}

impl Phrases {
    /// A table of templates by key, and the words of numbers.
    ///
    /// # Errors
    /// Which key is missing, or what is wrong with a template or list.
    pub fn new(templates: BTreeMap<String, String>, numbers: Numbers) -> Result<Self, String> {
        if let Some(missing) = KEYS.iter().find(|key| !templates.contains_key(**key)) {
            return Err(format!("the phrase {missing} is missing"));
        }
        if (numbers.units.len(), numbers.tens.len()) != (20, 8) {
            return Err(format!(
                "found {} units and {} tens, not 20 and 8",
                numbers.units.len(),
                numbers.tens.len()
            ));
        }
        let templates = (templates.into_iter())
            .map(|(key, text)| Ok((key, pieces(&text)?)))
            .collect::<Result<_, String>>()?;
        Ok(Self { templates, numbers })
    }

    /// Every stretch of words that is one clip.
    pub fn clips(&self) -> Vec<&str> {
        let of_templates = self.templates.values().flatten();
        let of_templates = of_templates.filter_map(|piece| match piece {
            Piece::Words(words) => Some(words.as_str()),
            Piece::Slot | Piece::Pause => None,
        });
        let numbers = &self.numbers;
        let of_numbers = numbers.units.iter().chain(&numbers.tens).chain([
            &numbers.hundred,
            &numbers.thousand,
            &numbers.point,
        ]);
        of_templates.chain(of_numbers.map(String::as_str)).collect()
    }

    /// A phrase, its slots filled in order.
    pub fn say(&self, key: &str, fills: &[Vec<PhrasePart>]) -> Vec<PhrasePart> {
        let mut fills = fills.iter();
        let mut parts = Vec::new();
        for piece in self.templates.get(key).into_iter().flatten() {
            match piece {
                Piece::Words(words) => parts.push(PhrasePart::words(words)),
                Piece::Slot => parts.extend(fills.next().into_iter().flatten().cloned()),
                Piece::Pause => parts.push(PhrasePart::Pause(CLAUSE_MS)),
            }
        }
        parts
    }

    /// A number in words, rounded to two decimals: 54.25 is fifty-four point two five.
    pub fn number(&self, value: &Fix) -> Vec<PhrasePart> {
        let hundredths = u64::try_from((value * exact(100)).nearest()).unwrap_or(0);
        let mut words = self.whole(hundredths / 100);
        let (tenth, hundredth) = (hundredths / 10 % 10, hundredths % 10);
        if tenth + hundredth > 0 {
            words.push(self.numbers.point.clone());
            words.push(self.unit(tenth));
        }
        if hundredth > 0 {
            words.push(self.unit(hundredth));
        }
        words.into_iter().map(PhrasePart::words).collect()
    }

    fn unit(&self, value: u64) -> String {
        let unit = self.numbers.units.get(value as usize);
        unit.cloned().unwrap_or_default()
    }

    fn whole(&self, value: u64) -> Vec<String> {
        match value {
            0..20 => vec![self.unit(value)],
            20..100 => {
                let tens = &self.numbers.tens[value as usize / 10 - 2];
                match value % 10 {
                    0 => vec![tens.clone()],
                    units => vec![format!("{tens}-"), self.unit(units)],
                }
            }
            100..1000 => self.joined(value, 100, &self.numbers.hundred),
            _ => self.joined(value, 1000, &self.numbers.thousand),
        }
    }

    fn joined(&self, value: u64, of: u64, word: &str) -> Vec<String> {
        let mut words = self.whole(value / of);
        words.push(word.to_string());
        if !value.is_multiple_of(of) {
            words.extend(self.whole(value % of));
        }
        words
    }

    /// A distance or a time in words.
    pub fn swim(&self, swim: &RepeatSwim) -> Vec<PhrasePart> {
        match swim {
            RepeatSwim::Distance(length) if length.in_yards() => {
                let yards = length.metres() / Fix::new(9144.into(), 10_000.into());
                self.counted(&yards, "yard", "yards")
            }
            RepeatSwim::Distance(length) => self.counted(length.metres(), "metre", "metres"),
            RepeatSwim::Time(time) => self.time(time),
        }
    }

    /// A time in words: one minute thirty seconds.
    pub fn time(&self, time: &Time) -> Vec<PhrasePart> {
        let sixty = exact(60);
        let whole_minutes = (time.s() / sixty).floor();
        let hours = (whole_minutes / sixty).floor();
        let minutes = whole_minutes - hours * sixty;
        let seconds = time.s() - whole_minutes * sixty;
        let mut parts = Vec::new();
        for (value, one, many) in [
            (&hours, "hour", "hours"),
            (&minutes, "minute", "minutes"),
            (&seconds, "second", "seconds"),
        ] {
            if !value.is_zero() {
                parts.extend(self.counted(value, one, many));
            }
        }
        parts
    }

    fn counted(&self, value: &Fix, one: &str, many: &str) -> Vec<PhrasePart> {
        let key = if *value == exact(1) { one } else { many };
        self.say(key, &[self.number(value)])
    }
}

fn pieces(template: &str) -> Result<Vec<Piece>, String> {
    let mut pieces = Vec::new();
    let mut rest = template;
    while let Some(at) = rest.find(['{', '|']) {
        push_words(&mut pieces, &rest[..at]);
        rest = if rest[at..].starts_with('|') {
            pieces.push(Piece::Pause);
            &rest[at + 1..]
        } else {
            let end = rest[at..]
                .find('}')
                .ok_or_else(|| format!("found {template:?}, in which a brace stays open"))?;
            pieces.push(Piece::Slot);
            &rest[at + end + 1..]
        };
    }
    push_words(&mut pieces, rest);
    Ok(pieces)
}

fn push_words(pieces: &mut Vec<Piece>, words: &str) {
    if !slug(words).is_empty() {
        pieces.push(Piece::Words(words.trim().to_string()));
    }
}

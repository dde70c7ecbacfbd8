//! What a set may ask for, as plain values.

use std::fmt;

use super::cue::{CUE_KINDS, CueKind, Side};
use crate::units::{
    Length, Pace, Quantity, Rate, RateWish, StrokeLength, Time, counts_lengths, exact, split_unit,
};

/// What one repeat swims.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RepeatSwim {
    /// A distance: its time is predicted.
    Distance(Length),
    /// A time.
    Time(Time),
}

/// What a set asks one repeat to swim.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum SwimWish {
    /// So many lengths of the set's pool, 1 to `MOST_LENGTHS`.
    Lengths(u32),
    /// A distance or a time, whatever the pool.
    Swim(RepeatSwim),
}

/// Far more than 12 h of swimming.
const MOST_LENGTHS: u32 = 100_000;

impl fmt::Display for SwimWish {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Lengths(1) => f.write_str("1 length"),
            Self::Lengths(n) => write!(f, "{n} lengths"),
            Self::Swim(swim) => swim.fmt(f),
        }
    }
}

impl Quantity for SwimWish {
    const ACCEPTED: &'static str = "a distance such as 50 m or 25 yd, whole lengths of the pool such as 2 lengths, \
         or a time such as 45 s or 1:30";
    const EXAMPLE: &'static str = "50 m";

    fn parse(text: &str) -> Result<Self, String> {
        let (number, unit) = split_unit(text);
        if !counts_lengths(&unit) {
            return RepeatSwim::parse(text).map(Self::Swim);
        }
        match number.parse() {
            Ok(n @ 1..=MOST_LENGTHS) => Ok(Self::Lengths(n)),
            _ => Err(format!(
                "found {text:?}, but lengths are counted whole, from 1 to {MOST_LENGTHS}"
            )),
        }
    }
}

impl fmt::Display for RepeatSwim {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Distance(length) => length.fmt(f),
            Self::Time(time) => time.fmt(f),
        }
    }
}

impl Quantity for RepeatSwim {
    const ACCEPTED: &'static str =
        "a distance such as 50 m or 25 yd, or a time such as 45 s or 1:30";
    const EXAMPLE: &'static str = "50 m";

    fn parse(text: &str) -> Result<Self, String> {
        let is_number = |c: char| c.is_ascii_digit() || matches!(c, '.' | '+' | '-');
        if !text.is_empty() && text.chars().all(is_number) {
            return Err(format!(
                "found {text}, a bare number; it could have meant \"{text} m\", \"{text} yd\", \
                 \"{text} s\" or \"{text} min\""
            ));
        }
        let swim =
            match Length::parse(text) {
                Ok(distance) => Self::Distance(distance),
                Err(why) if counts_lengths(&split_unit(text).1) => return Err(why),
                Err(_) => Self::Time(Time::parse(text).map_err(|_| {
                    format!("found {text:?}, which is neither a distance nor a time")
                })?),
            };
        let nothing = match &swim {
            Self::Distance(distance) => *distance.metres() <= exact(0),
            Self::Time(time) => *time.s() <= exact(0),
        };
        if nothing {
            Err(format!("found {text:?}, no swim at all"))
        } else {
            Ok(swim)
        }
    }
}

/// How the time of a distance is predicted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Going {
    /// By the clock, push-offs included.
    Pace(Pace),
    /// By what each stroke gives, at the set's rate.
    StrokeLength(StrokeLength),
}

impl fmt::Display for Going {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Pace(pace) => pace.fmt(f),
            Self::StrokeLength(length) => f.write_str(&length.both_ways()),
        }
    }
}

/// What lies between two repeats.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Gap {
    /// From one swim's end to the next start.
    Rest(Time),
    /// From one start to the next; rest is what is left of it.
    SendOff(Time),
}

/// What a rate may change by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum RampBy {
    /// From repeat to repeat.
    Repeat,
    /// Inside every repeat, linear in time.
    Time,
}

/// A rate as written: steady or changing. `R` is [`RateWish`] as written, [`Rate`] once resolved.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RatePlan<R> {
    /// One rate throughout.
    Steady(R),
    /// From one rate to another.
    Ramp {
        /// The first rate.
        from: R,
        /// The last rate.
        to: R,
        /// What it changes by.
        by: RampBy,
    },
}

impl<R> RatePlan<R> {
    /// Both ends of the plan.
    pub fn ends(&self) -> (&R, &R) {
        match self {
            Self::Steady(rate) => (rate, rate),
            Self::Ramp { from, to, .. } => (from, to),
        }
    }

    /// The same plan in other words.
    pub fn map<S>(&self, change: impl Fn(&R) -> S) -> RatePlan<S> {
        match self {
            Self::Steady(rate) => RatePlan::Steady(change(rate)),
            Self::Ramp { from, to, by } => RatePlan::Ramp {
                from: change(from),
                to: change(to),
                by: *by,
            },
        }
    }

    /// The same plan with other rates.
    ///
    /// # Errors
    /// The first that `change` gives.
    pub fn try_map<S, E>(&self, change: impl Fn(&R) -> Result<S, E>) -> Result<RatePlan<S>, E> {
        Ok(match self {
            Self::Steady(rate) => RatePlan::Steady(change(rate)?),
            Self::Ramp { from, to, by } => RatePlan::Ramp {
                from: change(from)?,
                to: change(to)?,
                by: *by,
            },
        })
    }
}

impl RatePlan<Rate> {
    /// For a table: `54 spm`, `52 to 60 spm by repeat`.
    pub fn short(&self) -> String {
        match self {
            Self::Steady(rate) => rate.short(),
            Self::Ramp { from, to, by } => {
                let from = from.short();
                let from = from.trim_end_matches(" spm");
                format!("{from} to {} {}", to.short(), by.in_words())
            }
        }
    }
}

impl RampBy {
    /// The word in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Repeat => "repeat",
            Self::Time => "time",
        }
    }

    fn in_words(self) -> &'static str {
        match self {
            Self::Repeat => "by repeat",
            Self::Time => "inside each swim",
        }
    }
}

impl<R: fmt::Display> fmt::Display for RatePlan<R> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Steady(rate) => rate.fmt(f),
            Self::Ramp { from, to, by } => write!(f, "{from} to {to}, {}", by.in_words()),
        }
    }
}

/// A rate as a file or flag asks for it.
pub type WishedRate = RatePlan<RateWish>;

/// What the cues do at a predicted wall.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Walls {
    /// They run on; the swimmer falls in again after the push-off.
    Through,
    /// They stop for the push-off and start anew with the first arm.
    Pause,
}

impl Walls {
    /// The word in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Through => "through",
            Self::Pause => "pause",
        }
    }
}

/// What the three counts before a start carry.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Count {
    /// The stroke rate: from count to count is one stroke.
    Rate,
    /// Seconds.
    Seconds,
}

impl Count {
    /// The word in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Rate => "rate",
            Self::Seconds => "seconds",
        }
    }
}

/// Breathing cues: every so many strokes, first to `side`.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Breath {
    /// Strokes from one breath to the next, 2 to 5. Odd numbers alternate sides.
    pub every: u32,
    /// The side of the first breath.
    pub side: Side,
}

impl fmt::Display for Breath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let first = if self.every % 2 == 1 { "first " } else { "" };
        write!(
            f,
            "every {} strokes, {first}to the {}",
            self.every, self.side
        )
    }
}

/// What a fade counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FadePer {
    /// Cycles.
    Cycle,
    /// Lengths of the pool.
    Length,
}

impl FadePer {
    /// The word in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Cycle => "cycle",
            Self::Length => "length",
        }
    }
}

/// Cues that sound for a while and fall silent for a while.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Fade {
    /// How many sound, at least 1.
    pub on: u32,
    /// How many are silent, at least 1.
    pub off: u32,
    /// Of what.
    pub per: FadePer,
}

impl Fade {
    /// Whether cycle or length number `count` (from 0) sounds.
    pub fn sounds(self, count: u64) -> bool {
        count % (u64::from(self.on) + u64::from(self.off)) < u64::from(self.on)
    }
}

impl fmt::Display for Fade {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let unit = |n: u32| match (self.per, n) {
            (FadePer::Cycle, 1) => "cycle",
            (FadePer::Cycle, _) => "cycles",
            (FadePer::Length, 1) => "length",
            (FadePer::Length, _) => "lengths",
        };
        write!(
            f,
            "{} {} of cues, {} silent",
            self.on,
            unit(self.on),
            self.off
        )
    }
}

/// A bed under the cues, as it is asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BedWish {
    /// The file, its path taken from the session's folder.
    pub file: String,
    /// Whether it is played once; else it starts anew until the track ends.
    pub once: bool,
}

/// Which cues sound. Signals (count, start, end) always do.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct CueSet(u8);

impl CueSet {
    /// No cues at all: signals only.
    pub const NONE: Self = Self(0);

    /// With one more kind of cue.
    #[must_use]
    pub fn with(self, kind: CueKind) -> Self {
        Self(self.0 | 1 << kind as u8)
    }

    /// Without one kind of cue.
    #[must_use]
    pub fn without(self, kind: CueKind) -> Self {
        Self(self.0 & !(1 << kind as u8))
    }

    /// What both have.
    #[must_use]
    pub fn only(self, other: Self) -> Self {
        Self(self.0 & other.0)
    }

    /// Whether events of this kind sound: a chosen cue, or a signal.
    pub fn has(self, kind: CueKind) -> bool {
        !CUE_KINDS.contains(&kind) || self.0 & (1 << kind as u8) != 0
    }

    /// Everything that either has.
    #[must_use]
    pub fn union(self, other: Self) -> Self {
        Self(self.0 | other.0)
    }
}

impl fmt::Display for CueSet {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let words: Vec<&str> = (CUE_KINDS.into_iter())
            .filter(|kind| self.has(*kind))
            .map(CueKind::word)
            .collect();
        if words.is_empty() {
            f.write_str("signals only")
        } else {
            f.write_str(&words.join(", "))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fade_sounds_then_rests() {
        let fade = Fade {
            on: 8,
            off: 4,
            per: FadePer::Cycle,
        };
        let sounding: Vec<u64> = (0..26).filter(|&cycle| fade.sounds(cycle)).collect();
        assert_eq!(
            sounding,
            [
                0, 1, 2, 3, 4, 5, 6, 7, 12, 13, 14, 15, 16, 17, 18, 19, 24, 25
            ]
        );
    }

    #[test]
    fn lengths_are_counted_whole_in_any_case() {
        for text in ["2 lengths", "2 Lengths", "2 LENGTHS", " 2lengths "] {
            assert_eq!(SwimWish::parse(text), Ok(SwimWish::Lengths(2)), "{text}");
        }
        for text in ["0 Lengths", "1.5 Lengths", "-2 Lengths"] {
            assert!(SwimWish::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn signals_sound_whatever_the_cues() {
        assert!(CueSet::NONE.has(CueKind::Start) && CueSet::NONE.has(CueKind::Count));
        assert!(!CueSet::NONE.has(CueKind::Arm) && !CueSet::NONE.has(CueKind::Wall));
        let cues = CueSet::NONE.with(CueKind::Kick).with(CueKind::Wall);
        assert_eq!(cues.to_string(), "kick, wall");
    }
}

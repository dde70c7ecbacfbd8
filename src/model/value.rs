//! What every kind of value can do; one `impl` a kind, and none for a key.

use super::arms::{ArmCue, Arms};
use super::catch::{CatchWish, MEASURED};
use super::compare::Compare;
use super::cue::{CUE_KINDS, CueKind, PerSide, Side};
use super::kick::{Kick, Pairing};
use super::lead::Lead;
use super::session::{
    BedWish, Breath, Count, CueSet, Fade, FadePer, RampBy, RatePlan, RepeatSwim, SwimWish, Walls,
};
use super::track_format::{Channels, Division, Format};
use crate::units::{Fix, Length, Pace, Rate, RateWish, StrokeLength, Time, to_f64};

/// A kind of value.
pub trait Value {
    /// What it is, for a table: `a time`.
    fn kind() -> String;
    /// The value for people, as `show --explain` has it.
    fn explain(&self) -> String;
}

/// A kind of value that is one of a few words.
pub trait Word: Copy + 'static {
    /// All of them, the commonest first.
    const ALL: &'static [Self];
    /// Its word in files and flags.
    fn word(self) -> &'static str;
}

/// Every word of a kind with what it means.
pub fn words<W: Word>() -> Vec<(&'static str, W)> {
    W::ALL.iter().map(|value| (value.word(), *value)).collect()
}

macro_rules! word {
    ($($kind:ty: $all:expr;)*) => {$(
        impl Word for $kind {
            const ALL: &'static [Self] = &$all;
            fn word(self) -> &'static str {
                <$kind>::word(self)
            }
        }
        impl Value for $kind {
            fn kind() -> String {
                let words: Vec<String> = words::<Self>().iter().map(|(word, _)| format!("\"{word}\"")).collect();
                words.join(", ")
            }
            fn explain(&self) -> String {
                <$kind>::word(*self).into()
            }
        }
    )*};
}
word! {
    Side: Side::BOTH;
    Arms: [Self::Both, Self::Left, Self::Right];
    ArmCue: [Self::Pairing, Self::Catch, Self::Entry];
    Pairing: [Self::SameSide, Self::OppositeSide];
    Kick: [Self::TwoBeat, Self::FourBeat, Self::SixBeat, Self::Pull];
    CueKind: CUE_KINDS;
    Walls: [Self::Through, Self::Pause];
    Count: [Self::Rate, Self::Seconds];
    RampBy: [Self::Repeat, Self::Time];
    FadePer: [Self::Cycle, Self::Length];
    Format: Self::ALL;
    Channels: [Self::Stereo, Self::Mono, Self::Left, Self::Right];
    Division: Self::ALL;
}

macro_rules! shown_as_it_is {
    ($($kind:ty: $name:literal;)*) => {$(
        impl Value for $kind {
            fn kind() -> String {
                $name.into()
            }
            fn explain(&self) -> String {
                self.to_string()
            }
        }
    )*};
}
shown_as_it_is! {
    String: "a text";
    bool: "true or false";
    u16: "a whole number";
    u32: "a whole number";
    u64: "a whole number";
    usize: "a whole number";
    RepeatSwim: "a distance or a time";
    SwimWish: "a distance, lengths or a time";
    Length: "a length";
    Time: "a time";
    Pace: "a pace";
    RatePlan<RateWish>: "a rate, or a table of from, to and by";
    Compare<RateWish>: "a table of rate and at";
    Compare<Rate>: "a table of rate and at";
    CueSet: "a list of cues";
    Breath: "a table of every and side";
    Fade: "a table of on, off and per";
    Lead: "a time, or a table of arm, kick and breath";
}

impl Value for StrokeLength {
    fn kind() -> String {
        "a distance per stroke".into()
    }
    fn explain(&self) -> String {
        self.both_ways()
    }
}

impl Value for Rate {
    fn kind() -> String {
        "a rate".into()
    }
    fn explain(&self) -> String {
        self.both_ways()
    }
}

impl Value for RatePlan<Rate> {
    fn kind() -> String {
        RatePlan::<RateWish>::kind()
    }
    fn explain(&self) -> String {
        match self {
            Self::Steady(rate) => rate.explain(),
            ramp @ Self::Ramp { .. } => ramp.to_string(),
        }
    }
}

impl Value for Fix {
    fn kind() -> String {
        "a number".into()
    }
    fn explain(&self) -> String {
        to_f64(self).to_string()
    }
}

impl Value for BedWish {
    fn kind() -> String {
        "a file, or a table of file and once".into()
    }
    fn explain(&self) -> String {
        self.file.clone()
    }
}

impl<T: Value> Value for (T, T) {
    fn kind() -> String {
        format!("a list of two: {}", T::kind())
    }
    fn explain(&self) -> String {
        format!("{} to {}", self.0.explain(), self.1.explain())
    }
}

impl<T: Value + PartialEq> Value for PerSide<T> {
    fn kind() -> String {
        format!("{}, or a table of left and right", T::kind())
    }
    /// One number where both sides agree.
    fn explain(&self) -> String {
        if self.left == self.right {
            self.left.explain()
        } else {
            let [left, right] = [&self.left, &self.right].map(T::explain);
            format!("left {left}, right {right}")
        }
    }
}

impl Value for CatchWish {
    fn kind() -> String {
        format!("{}, or \"{MEASURED}\"", PerSide::<Fix>::kind())
    }
    fn explain(&self) -> String {
        match self {
            Self::Said(sides) => sides.explain(),
            Self::Measured => MEASURED.into(),
        }
    }
}

/// A key that `"none"` switches off, or that may stay unsaid.
impl<T: Value> Value for Option<T> {
    fn kind() -> String {
        format!("{}, or \"none\"", T::kind())
    }
    fn explain(&self) -> String {
        self.as_ref().map_or_else(|| "none".into(), T::explain)
    }
}

/// How a wish becomes the decided value `D`, and back.
pub trait Wish<D>: Sized {
    /// What holds where this is said, or nobody says it; none if it must be said.
    fn decided(said: Option<Self>) -> Option<D>;
    /// The wish that says a decided value, if it can be said.
    fn of(decided: &D) -> Option<Self>;
}

impl<T: Clone> Wish<T> for T {
    fn decided(said: Option<T>) -> Option<T> {
        said
    }
    fn of(decided: &T) -> Option<T> {
        Some(decided.clone())
    }
}

impl<T: Clone> Wish<Option<T>> for T {
    fn decided(said: Option<T>) -> Option<Option<T>> {
        Some(said)
    }
    fn of(decided: &Option<T>) -> Option<T> {
        decided.clone()
    }
}

impl Wish<RepeatSwim> for SwimWish {
    fn decided(said: Option<Self>) -> Option<RepeatSwim> {
        match said? {
            Self::Swim(swim) => Some(swim),
            Self::Lengths(_) => None,
        }
    }
    fn of(decided: &RepeatSwim) -> Option<Self> {
        Some(Self::Swim(decided.clone()))
    }
}

impl Wish<PerSide<Fix>> for CatchWish {
    fn decided(said: Option<Self>) -> Option<PerSide<Fix>> {
        match said? {
            Self::Said(sides) => Some(sides),
            Self::Measured => None,
        }
    }
    fn of(decided: &PerSide<Fix>) -> Option<Self> {
        Some(Self::Said(decided.clone()))
    }
}

/// The rate that a wish names by itself.
fn absolute(wish: &RateWish) -> Result<Rate, ()> {
    match wish {
        RateWish::Absolute(rate) => Ok(rate.clone()),
        RateWish::Change(_) | RateWish::Share(_) => Err(()),
    }
}

impl Wish<Option<Compare<Rate>>> for Option<Compare<RateWish>> {
    fn decided(said: Option<Self>) -> Option<Option<Compare<Rate>>> {
        match said? {
            None => Some(None),
            Some(compare) => {
                let rate = absolute(&compare.rate).ok()?;
                Some(Some(compare.with(rate)))
            }
        }
    }
    fn of(decided: &Option<Compare<Rate>>) -> Option<Self> {
        let wish = |compare: &Compare<Rate>| {
            let rate = RateWish::Absolute(compare.rate.clone());
            compare.with(rate)
        };
        Some(decided.as_ref().map(wish))
    }
}

impl Wish<RatePlan<Rate>> for RatePlan<RateWish> {
    fn decided(said: Option<Self>) -> Option<RatePlan<Rate>> {
        said?.try_map(absolute).ok()
    }
    fn of(decided: &RatePlan<Rate>) -> Option<Self> {
        Some(decided.map(|rate| RateWish::Absolute(rate.clone())))
    }
}

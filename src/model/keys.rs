//! The keys of a session, a set, a swimmer and a player: one row each, and nowhere a second list.
//!
//! From a row come the wish and the decided value, how a file is read and written, what
//! `show --explain` and a refusal say of it, and its line in the README. What holds between keys
//! is no row: see [`resolve`](super::resolve).

use super::value::Value;

/// The kinds of value that the rows name: `use` them all where a table is read.
pub(crate) mod kinds {
    pub use crate::model::arms::{ArmCue, Arms};
    pub use crate::model::catch::CatchWish;
    pub use crate::model::compare::Compare;
    pub use crate::model::cue::{CueKind, PerSide, Side};
    pub use crate::model::kick::{Kick, Pairing};
    pub use crate::model::lead::Lead;
    pub use crate::model::session::{
        BedWish, Breath, Count, CueSet, Fade, RatePlan, RepeatSwim, SwimWish, Walls,
    };
    pub use crate::model::track_format::{Channels, Division, Format};
    pub use crate::units::{
        Fix, Length, Pace, Rate, RateWish, StrokeLength, Time, exact, fraction,
    };
}
use kinds::*;

/// Where a key may stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Level {
    /// At the top of a session.
    Session,
    /// In a session's `[defaults]`.
    Defaults,
    /// In a `[[set]]`.
    Set,
    /// At the top of a swimmer's file.
    Swimmer,
    /// On the command line.
    Flag,
    /// In a swimmer's `[player]`.
    Player,
    /// In a swimmer's `[measured]`.
    Measured,
}

/// What a key takes, of all that its kind of value can say. Ends are accepted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Takes {
    /// Anything.
    All,
    /// From the least to the most.
    From(&'static str, &'static str),
    /// The same, and how a refusal puts it.
    Within(&'static str, &'static str, &'static str),
    /// One of a few.
    OneOf(&'static [&'static str]),
}

/// One row of a table.
#[derive(Debug, Clone, Copy)]
pub struct Key {
    /// The key as it stands in a file.
    pub name: &'static str,
    /// What it says.
    pub about: &'static str,
    /// Where it may stand.
    pub on: &'static [Level],
    /// What holds where nobody says it, in words.
    pub built_in: fn() -> Option<String>,
    /// What kind of value it is, in words.
    pub kind: fn() -> String,
    /// What of that kind is taken.
    pub takes: Takes,
    /// A line to copy.
    pub example: &'static str,
}

/// The rest where nobody says one, nor a send-off.
pub(super) fn usual_rest() -> Time {
    Time::whole_s(20)
}

/// Play, earpieces, goggles, in.
pub(super) fn usual_lead_in() -> Time {
    Time::whole_s(60)
}

/// Every key of a set: its kind as wished and as decided (`Option` where it may stay unsaid), where
/// it may stand, the built-in value, what it takes, an example. In the order in which they are
/// explained. `Option` as wished is a key that the word `"none"` switches off.
macro_rules! set_keys { ($with:ident) => { $with! {
    /// What it is called
    name: String => String, [Defaults Set Swimmer], None, Takes::All, "\"Settle\"";
    /// How many times it is swum
    repeats: u64 => u64, [Defaults Set], Some(1), Takes::From("1", "4294967295"), "4";
    /// What one repeat swims
    swim: SwimWish => RepeatSwim, [Defaults Set], None, Takes::All, "\"50 m\"";
    /// The pool
    pool: Length => Length, [Defaults Set Swimmer], Some(Length::from_metres(exact(25))),
        Takes::Within("5 m", "1000 m", "a pool of 5 to 1000 m, in m or yd"), "\"25 m\"";
    /// By the clock, push-offs included; or `stroke_length`
    pace: Pace => Option<Pace>, [Defaults Set Swimmer], None, Takes::All, "\"2:05 / 100 m\"";
    /// Metres a stroke, push-offs left out; or `pace`
    stroke_length: StrokeLength => Option<StrokeLength>, [Defaults Set Swimmer], None, Takes::All,
        "\"0.95 m/stroke\"";
    /// From an end to the next start, 5 s or more; or `send_off`
    rest: Time => Option<Time>, [Defaults Set], Some(usual_rest()), Takes::All, "\"20 s\"";
    /// From a start to the next; or `rest`
    send_off: Option<Time> => Option<Time>, [Defaults Set], Some(None), Takes::All, "\"2:00\"";
    /// After the set, where it differs
    rest_after: Time => Option<Time>, [Defaults Set], None, Takes::All, "\"1:00\"";
    /// Stroke rate, both arms counted
    rate: RatePlan<RateWish> => RatePlan<Rate>, [Defaults Set Swimmer Flag], None, Takes::All, "\"54 spm\"";
    /// Repeats at another rate, to compare the others with
    compare: Option<Compare<RateWish>> => Option<Compare<Rate>>, [Defaults Set], Some(None), Takes::All,
        "{ rate = \"54 spm\", at = [3, 6] }";
    /// What a foot's paired beat falls on
    pairing: Pairing => Pairing, [Defaults Set Swimmer Flag], Some(Pairing::SameSide), Takes::All,
        "\"same-side\"";
    /// The kick
    kick: Kick => Kick, [Defaults Set Swimmer Flag], Some(Kick::TwoBeat), Takes::All, "\"two-beat\"";
    /// The side of a four-beat kick's three
    three_on: Side => Side, [Defaults Set Swimmer], Some(Side::Left), Takes::All, "\"left\"";
    /// From a hand's entry to its catch, a share of a cycle, a guess until somebody says it
    // Entry and catch takes about 0.25 to 0.30 of a cycle at distance pace, 0.30 to 0.40 in adult
    // learners (docs/sources.md, "The arm cycle": from memory, and common practice).
    catch_after_entry: CatchWish => PerSide<Fix>, [Defaults Set Swimmer],
        Some(CatchWish::Said(PerSide { left: fraction(30, 100), right: fraction(30, 100) })),
        Takes::From("0", "0.5"), "0.3";
    /// The right hand's entry after the left's, a share of a cycle
    right_entry: Fix => Fix, [Defaults Set Swimmer], Some(fraction(1, 2)), Takes::From("0.35", "0.65"), "0.5";
    /// The arm that enters first
    first_arm: Side => Side, [Defaults Set Swimmer], Some(Side::Left), Takes::All, "\"left\"";
    /// The arms that swim; one that rests stays in front and has no cue
    arms: Arms => Arms, [Defaults Set], Some(Arms::Both), Takes::All, "\"right\"";
    /// From a start or a wall to the first entry
    // Common practice, no source.
    push_off: Time => Time, [Defaults Set Swimmer], Some(Time::whole_s(3)),
        Takes::Within("0 s", "60 s", "a time from 0 to 60 s"), "\"3 s\"";
    /// Metres that a push-off gives without a stroke
    // Common practice, no source.
    glide: Length => Length, [Defaults Set Swimmer], Some(Length::from_metres(exact(4))), Takes::All, "\"4 m\"";
    /// What the cues do at walls
    walls: Walls => Walls, [Defaults Set], Some(Walls::Through), Takes::All, "\"through\"";
    /// Which cues sound; `[]` is signals only
    cues: CueSet => CueSet, [Defaults Set], Some(CueSet::NONE.with(CueKind::Arm).with(CueKind::Kick)), Takes::All,
        "[\"arm\", \"kick\"]";
    /// What the arm cue marks, the pairing's own moment or one of the two
    arm_cue: ArmCue => ArmCue, [Defaults Set], Some(ArmCue::Pairing), Takes::All, "\"catch\"";
    /// Breathing cues
    breath: Option<Breath> => Option<Breath>, [Defaults Set Swimmer], Some(None), Takes::All,
        "{ every = 3, side = \"right\" }";
    /// So many sound, so many are silent
    fade: Option<Fade> => Option<Fade>, [Defaults Set], Some(None), Takes::All,
        "{ on = 8, off = 4, per = \"cycle\" }";
    /// How much earlier cues sound
    lead: Lead => Lead, [Defaults Set Swimmer], Some(Lead::none()), Takes::All, "\"40 ms\"";
    /// What the three counts before a start carry: the stroke rate, or seconds
    count: Count => Count, [Defaults Set], Some(Count::Rate), Takes::All, "\"rate\"";
    /// Spoken before it
    say: String => Option<String>, [Defaults Set], None, Takes::All,
        "\"Easy. Finish the kick on the sound.\"";
} } }

/// Every key that a session has for itself, its name in files beside it.
macro_rules! session_keys { ($with:ident) => { $with! {
    /// What it is called
    title "title": String, [Session], None, Takes::All, "\"Evening\"";
    /// Whom it is for, one line
    for_whom "for": String, [Session], None, Takes::All, "\"swimmers who run ahead of the sound\"";
    /// The trial that it belongs to, as the log has it
    trial "trial": String, [Session], None, Takes::All, "\"spring\"";
    /// To the first start: play, earpieces, goggles, in
    lead_in "lead_in": Time, [Session], Some(usual_lead_in()), Takes::All, "\"60 s\"";
    /// Whether the track opens with its ears, its sounds and the cautions
    opening "opening": bool, [Session], Some(true), Takes::All, "false";
    /// A folder of own sounds and words; the session's stands before the swimmer's
    sounds "sounds": Option<String>, [Session Swimmer], Some(None), Takes::All, "\"my-sounds\"";
    /// A sound under the cues
    bed "bed": BedWish, [Session], None, Takes::All, "\"waves.ogg\"";
} } }

/// Every key of a player; what is unsaid is the exporter's to choose.
macro_rules! player_keys {
    ($with:ident) => {
        $with! {
            /// The format
            format: Format, Takes::All, "\"wav\"";
            /// Audio rate, Hz
            sample_rate_hz: u32, Takes::OneOf(&["44100", "48000"]), "44100";
            /// Bits a sample
            bits: u16, Takes::OneOf(&["16", "24"]), "16";
            /// Channels
            channels: Channels, Takes::All, "\"stereo\"";
            /// Whether the player, or the way it is worn, swaps left and right
            swapped: bool, Takes::All, "false";
            /// How tracks are divided
            files: Division, Takes::All, "\"per-set\"";
            /// The largest file it plays, in MB (1 000 000 bytes)
            largest_mb: u64, Takes::From("1", "1000000"), "1000";
            /// The longest file name it shows or sorts by, in characters, ending included
            name_length: usize, Takes::From("14", "255"), "40";
        }
    };
}

/// Every value that marks from a film gave, with its 95 % interval. Never cued as it stands.
macro_rules! measured_keys { ($with:ident) => { $with! {
    /// ISO date of the film
    date: String, Takes::All, "\"2026-10-04\"";
    /// Rate swum
    rate: Rate, Takes::All, "\"54 spm\"";
    /// Interval of the rate
    rate_interval: (Rate, Rate), Takes::All, "[\"51.6 spm\", \"53.1 spm\"]";
    /// From each hand's entry to its catch, a share of a cycle
    catch_after_entry: PerSide<Fix>, Takes::From("0", "0.5"), "0.3";
    /// Intervals of those
    catch_after_entry_interval: PerSide<(Fix, Fix)>, Takes::From("-0.5", "1"),
        "{ left = [0.32, 0.36], right = [0.29, 0.33] }";
    /// The right hand's entry after the left's, a share of a cycle
    right_entry: Fix, Takes::From("0", "1"), "0.5";
    /// Interval of that
    right_entry_interval: (Fix, Fix), Takes::From("0", "1"), "[0.47, 0.51]";
    /// The pairing the kick was nearer to
    pairing: String, Takes::OneOf(&["same-side", "opposite-side", "undecided"]), "\"same-side\"";
    /// The kick seen
    kick: String, Takes::OneOf(&["two-beat", "four-beat", "six-beat", "pull"]), "\"two-beat\"";
} } }

macro_rules! rows_of_sets {
    ($($(#[doc = $about:literal])* $key:ident: $wish:ty => $decided:ty, [$($on:ident)*], $built_in:expr,
        $takes:expr, $example:literal;)*) => {
        /// Every key of a set, in the order in which they are explained.
        pub const SET_KEYS: &[Key] = &[$(Key {
            name: stringify!($key),
            about: concat!($($about),*),
            on: &[$(Level::$on),*],
            built_in: || { let built_in: Option<$wish> = $built_in; built_in.map(|value| value.explain()) },
            kind: <$wish as Value>::kind,
            takes: $takes,
            example: concat!(stringify!($key), " = ", $example),
        }),*];
    };
}
set_keys!(rows_of_sets);

macro_rules! rows_of_sessions {
    ($($(#[doc = $about:literal])* $field:ident $key:literal: $wish:ty, [$($on:ident)*], $built_in:expr,
        $takes:expr, $example:literal;)*) => {
        /// Every key that a session has for itself.
        pub const SESSION_KEYS: &[Key] = &[$(Key {
            name: $key,
            about: concat!($($about),*),
            on: &[$(Level::$on),*],
            built_in: || { let built_in: Option<$wish> = $built_in; built_in.map(|value| value.explain()) },
            kind: <$wish as Value>::kind,
            takes: $takes,
            example: concat!($key, " = ", $example),
        }),*];
    };
}
session_keys!(rows_of_sessions);

/// The tables in which nothing is built in: their name and where they stand.
macro_rules! rows {
    ($name:ident, $on:ident; $($(#[doc = $about:literal])* $key:ident: $kind:ty, $takes:expr, $example:literal;)*) => {
        const $name: &[Key] = &[$(Key {
            name: stringify!($key),
            about: concat!($($about),*),
            on: &[Level::$on],
            built_in: || None,
            kind: <$kind as Value>::kind,
            takes: $takes,
            example: concat!(stringify!($key), " = ", $example),
        }),*];
    };
}
macro_rules! rows_of_players { ($($row:tt)*) => { rows! { PLAYER, Player; $($row)* } } }
macro_rules! rows_of_films { ($($row:tt)*) => { rows! { MEASURED, Measured; $($row)* } } }
player_keys!(rows_of_players);
measured_keys!(rows_of_films);

/// Every row that may stand at a level, in the order in which a refusal lists them.
pub fn keys_on(level: Level) -> Vec<&'static Key> {
    let tables = [SET_KEYS, SESSION_KEYS, PLAYER, MEASURED];
    let mut rows: Vec<&Key> = (tables.into_iter().flatten())
        .filter(|row| row.on.contains(&level))
        .collect();
    if level == Level::Swimmer {
        // Such a file begins with who, where and how fast, and ends with what the wall and the ear need.
        rows.sort_by_key(|row| match row.name {
            "name" | "pool" | "rate" => 0,
            "push_off" | "glide" | "lead" | "sounds" => 2,
            _ => 1,
        });
    }
    rows
}

pub(crate) use {measured_keys, player_keys, session_keys, set_keys};

//! From layers of wishes to sets in which every value is decided.
//!
//! Built-in < measured < swimmer < session defaults < set < flags: the nearest level that says
//! a thing decides it. Rivals (`pace` and `stroke_length`, `rest` and `send_off`) displace each
//! other the same way; tables replace whole. Each decided value remembers where it came from.

use std::fmt;

use num_traits::Zero;

use super::circle::Stroke;
use super::cue::{Kind, PerSide, Side};
use super::kick::{Kick, Pairing};
use super::layer::{Layer, Said, Session};
use super::session::{
    Breath, Cues, Fade, FadePer, Gap, Going, Lead, RatePlan, Swim, Walls, WishedRate,
};
use super::swimmer::Swimmer;
use crate::error::{Error, Place, Result};
use crate::units::{Exact, Length, Quantity, Rate, RateWish, Time, exact, fraction, to_f64};

/// The built-in values below the swimmer's (design 4). A rate has none.
mod built_in {
    use super::{Exact, Length, Time, exact, fraction};

    /// κ: entry and catch takes about 0.25 to 0.30 of a cycle at distance pace, 0.30 to 0.40 in
    /// adult learners (published-values 1, from memory and practice): a guess until measured.
    pub fn catch_after_entry() -> Exact {
        fraction(30, 100)
    }
    /// ε: arms half a cycle apart.
    pub fn right_entry() -> Exact {
        fraction(1, 2)
    }
    pub fn pool() -> Length {
        Length::from_metres(exact(25))
    }
    /// Common practice, no source.
    pub fn push_off() -> Time {
        Time::whole_s(3)
    }
    /// Common practice, no source.
    pub fn glide() -> Length {
        Length::from_metres(exact(4))
    }
    pub fn rest() -> Time {
        Time::whole_s(20)
    }
    /// Play, earpieces, goggles, in.
    pub fn lead_in() -> Time {
        Time::whole_s(60)
    }
}

/// Which level decided a value.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Origin {
    /// Nobody said it.
    BuiltIn,
    /// The swimmer's marks.
    Measured,
    /// The swimmer's file.
    Swimmer(Option<Place>),
    /// The session's `[defaults]`, or its own keys.
    Defaults(Option<Place>),
    /// The set itself.
    Set(Option<Place>),
    /// A flag of this command.
    Flag,
}

impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let (word, place) = match self {
            Self::BuiltIn => return f.write_str("built in"),
            Self::Measured => return f.write_str("measured, mean of both arms"),
            Self::Flag => return f.write_str("flag"),
            Self::Swimmer(place) => ("swimmer", place),
            Self::Defaults(place) => ("session defaults", place),
            Self::Set(place) => ("set", place),
        };
        match place {
            Some(place) => write!(f, "{word}, {}:{}", place.file, place.line),
            None => f.write_str(word),
        }
    }
}

/// Where one value of a set came from.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Trace {
    /// The key.
    pub key: &'static str,
    /// The value that holds.
    pub value: String,
    /// The level that decided it.
    pub origin: Origin,
}

/// A set in which everything is decided.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Set {
    /// Its name.
    pub name: String,
    /// How many times it is swum, at least 1.
    pub repeats: u64,
    /// What one repeat swims.
    pub swim: Swim,
    /// The pool.
    pub pool: Length,
    /// How a distance's time is predicted; always there for a swim by distance.
    pub going: Option<Going>,
    /// What lies between two repeats.
    pub gap: Gap,
    /// Rest after the set, if it differs.
    pub rest_after: Option<Time>,
    /// The rate.
    pub rate: RatePlan<Rate>,
    /// The pairing.
    pub pairing: Pairing,
    /// The kick.
    pub kick: Kick,
    /// The side of a four-beat kick's three.
    pub three_on: Side,
    /// Entries and catches as cued.
    pub stroke: Stroke,
    /// Whether κ is the built-in guess.
    pub catch_is_guess: bool,
    /// The arm that enters first.
    pub first_arm: Side,
    /// From a start or wall to the first entry.
    pub push_off: Time,
    /// Metres that a push-off gives without a stroke.
    pub glide: Length,
    /// What the cues do at walls.
    pub walls: Walls,
    /// Which cues sound.
    pub cues: Cues,
    /// Breathing cues, if they sound.
    pub breath: Option<Breath>,
    /// Fade.
    pub fade: Option<Fade>,
    /// Lead.
    pub lead: Lead,
    /// What the track says before it.
    pub say: Option<String>,
    /// Where each value came from, in the order of the design.
    pub traces: Vec<Trace>,
    /// Where the set stands in its file.
    pub at: Option<Place>,
    /// Where its swim and its gap were said, for errors that name them.
    pub gap_at: Option<Place>,
}

/// A session in which everything is decided, for one swimmer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Resolved {
    /// The session's file or preset.
    pub source: String,
    /// Its title.
    pub title: String,
    /// Whom it is for.
    pub for_whom: Option<String>,
    /// The swimmer's name, if one was given.
    pub swimmer: Option<String>,
    /// From the first frame to the first start.
    pub lead_in: Time,
    /// Where that was said.
    pub lead_in_at: Option<Place>,
    /// The sets in order.
    pub sets: Vec<Set>,
    /// What a coach should know before swimming it.
    pub warnings: Vec<String>,
}

/// Decides every value of a session.
///
/// # Errors
/// When a needed value is missing, a relative rate has nothing to refer to, rivals stand on one
/// level, or values contradict each other.
pub fn resolve(session: &Session, swimmer: Option<&Swimmer>, flags: &Layer) -> Result<Resolved> {
    let mut warnings = Vec::new();
    let mut sets = Vec::with_capacity(session.sets.len());
    for (index, set) in session.sets.iter().enumerate() {
        let levels = Levels {
            flags,
            set: &set.value,
            defaults: &session.defaults,
            swimmer,
        };
        let number = index + 1;
        let resolved = levels
            .decide(number, set.at.clone())
            .map_err(|error| error.at_place(set.at.as_ref()))?;
        warnings.extend(warn(number, &resolved, swimmer));
        sets.push(resolved);
    }
    Ok(Resolved {
        source: session.source.clone(),
        title: session.title.clone(),
        for_whom: session.for_whom.clone(),
        swimmer: swimmer.map(|swimmer| swimmer.name.clone()),
        lead_in: (session.lead_in.as_ref())
            .map_or_else(built_in::lead_in, |said| said.value.clone()),
        lead_in_at: session.lead_in.as_ref().and_then(|said| said.at.clone()),
        sets,
        warnings,
    })
}

/// The levels that one set stands on.
struct Levels<'a> {
    flags: &'a Layer,
    set: &'a Layer,
    defaults: &'a Layer,
    swimmer: Option<&'a Swimmer>,
}

/// A decided value with its level.
struct Found<'a, T> {
    said: &'a Said<T>,
    origin: Origin,
}

type OriginOf = fn(Option<Place>) -> Origin;

impl<'a> Levels<'a> {
    /// The levels from the nearest on.
    fn nearest_first(&self) -> impl Iterator<Item = (&'a Layer, OriginOf)> + use<'a> {
        let flag: OriginOf = |_| Origin::Flag;
        [
            Some((self.flags, flag)),
            Some((self.set, Origin::Set as OriginOf)),
            Some((self.defaults, Origin::Defaults as OriginOf)),
            (self.swimmer).map(|swimmer| (&swimmer.layer, Origin::Swimmer as OriginOf)),
        ]
        .into_iter()
        .flatten()
    }

    fn find<T>(&self, key: impl Fn(&Layer) -> &Option<Said<T>>) -> Option<Found<'a, T>> {
        self.nearest_first().find_map(|(layer, origin)| {
            let said = key(layer).as_ref()?;
            Some(Found {
                said,
                origin: origin(said.at.clone()),
            })
        })
    }

    fn decide(&self, number: usize, at: Option<Place>) -> Result<Set> {
        let mut traces = Vec::new();
        let mut note = |key, value: String, origin| traces.push(Trace { key, value, origin });
        /// One plain key: the nearest level's value or the built-in one, noted either way.
        macro_rules! plain {
            ($key:ident, $default:expr, $show:expr) => {{
                let found = self.find(|layer| &layer.$key);
                let (value, origin) = match found {
                    Some(Found { said, origin }) => (said.value.clone(), origin),
                    None => ($default, Origin::BuiltIn),
                };
                #[allow(clippy::redundant_closure_call)]
                note(stringify!($key), ($show)(&value), origin);
                value
            }};
        }
        let text = |value: &dyn fmt::Display| value.to_string();

        let name = plain!(name, format!("Set {number}"), String::clone);
        let label = format!("set {number} ({name})");
        let fail = |error: Error| error.within(&label);
        let repeats = plain!(repeats, 1, u64::to_string);
        let Some(swim) = self.find(|layer| &layer.swim) else {
            return Err(fail(Error::input("no swim is given"))
                .accepted("a distance or a time for each repeat")
                .example("swim = \"50 m\""));
        };
        let swim_at = swim.said.at.clone();
        note("swim", swim.said.value.to_string(), swim.origin);
        let swim = swim.said.value.clone();
        let pool = plain!(pool, built_in::pool(), Length::to_string);
        let (going, going_origin) = self.going().map_err(fail)?.unzip();
        if let (Some(going), Some(origin)) = (&going, going_origin) {
            let key = match going {
                Going::Pace(_) => "pace",
                Going::StrokeLength(_) => "stroke_length",
            };
            note(key, going.to_string(), origin);
        }
        let (gap, gap_origin, gap_at) = self.gap().map_err(fail)?;
        match &gap {
            Gap::Rest(time) => note("rest", time.to_string(), gap_origin),
            Gap::SendOff(time) => note("send_off", time.to_string(), gap_origin),
        }
        let rest_after = self.find(|layer| &layer.rest_after);
        if let Some(Found { said, origin }) = &rest_after {
            note("rest_after", said.value.to_string(), origin.clone());
        }
        let rest_after = rest_after.map(|found| found.said.value.clone());
        let (rate, origin) = self.rate().map_err(fail)?;
        note("rate", rate.to_string(), origin);
        let pairing = plain!(pairing, Pairing::SameSide, |v| text(v));
        let kick = plain!(kick, Kick::TwoBeat, |v| text(v));
        let three_on = plain!(three_on, Side::Left, |v| text(v));
        let (catch_after_entry, origin) = self.catch_after_entry();
        let catch_is_guess = origin == Origin::BuiltIn;
        note(
            "catch_after_entry",
            sides_in_words(&catch_after_entry),
            origin,
        );
        let right_entry = plain!(right_entry, built_in::right_entry(), |v: &Exact| {
            to_f64(v).to_string()
        });
        let first_arm = plain!(first_arm, Side::Left, |v| text(v));
        let push_off = plain!(push_off, built_in::push_off(), Time::to_string);
        let glide = plain!(glide, built_in::glide(), Length::to_string);
        let walls = plain!(walls, Walls::Through, |v: &Walls| v.word().into());
        let default_cues = Cues::NONE.with(Kind::Arm).with(Kind::Kick);
        let cues = plain!(cues, default_cues, |v| text(v));
        let or_none = |text: Option<String>| text.unwrap_or_else(|| "none".into());
        let breath = plain!(breath, None, |v: &Option<Breath>| or_none(
            v.as_ref().map(Breath::to_string)
        ));
        let fade = plain!(fade, None, |v: &Option<Fade>| or_none(
            v.as_ref().map(Fade::to_string)
        ));
        let lead = plain!(lead, Lead::none(), |v| text(v));
        let say = self
            .find(|layer| &layer.say)
            .map(|found| found.said.value.clone());

        let set = Set {
            name,
            repeats,
            swim,
            pool,
            going,
            gap,
            rest_after,
            rate,
            pairing,
            kick,
            three_on,
            stroke: Stroke {
                right_entry,
                catch_after_entry,
            },
            catch_is_guess,
            first_arm,
            push_off,
            glide,
            walls,
            cues,
            breath: breath.filter(|_| cues.has(Kind::Breath)),
            fade,
            lead,
            say,
            traces,
            at,
            gap_at: gap_at.or(swim_at),
        };
        self.check(&set).map_err(fail)?;
        Ok(set)
    }

    /// The nearest level that gives pace or stroke length decides.
    fn going(&self) -> Result<Option<(Going, Origin)>> {
        for (layer, origin) in self.nearest_first() {
            return Ok(Some(match (&layer.pace, &layer.stroke_length) {
                (Some(pace), Some(length)) => {
                    return Err(rivals("pace", "stroke_length", later(&pace.at, &length.at)));
                }
                (Some(pace), None) => (Going::Pace(pace.value.clone()), origin(pace.at.clone())),
                (None, Some(length)) => (
                    Going::StrokeLength(length.value.clone()),
                    origin(length.at.clone()),
                ),
                (None, None) => continue,
            }));
        }
        Ok(None)
    }

    /// The nearest level that gives rest or send-off decides; a send-off of "none" leaves the
    /// nearest rest, or 20 s.
    fn gap(&self) -> Result<(Gap, Origin, Option<Place>)> {
        let mut send_off_may_decide = true;
        for (layer, origin) in self.nearest_first() {
            match (&layer.rest, &layer.send_off) {
                (Some(rest), Some(Said { value: Some(_), at })) => {
                    return Err(rivals("rest", "send_off", later(&rest.at, at)));
                }
                (
                    None,
                    Some(Said {
                        value: Some(time),
                        at,
                    }),
                ) if send_off_may_decide => {
                    return Ok((Gap::SendOff(time.clone()), origin(at.clone()), at.clone()));
                }
                (Some(Said { value, at }), _) => {
                    return Ok((Gap::Rest(value.clone()), origin(at.clone()), at.clone()));
                }
                (None, Some(Said { value: None, .. })) => send_off_may_decide = false,
                (None, _) => {}
            }
        }
        Ok((Gap::Rest(built_in::rest()), Origin::BuiltIn, None))
    }

    /// The nearest level's rate, made absolute; the swimmer's own is the farthest level.
    fn rate(&self) -> Result<(RatePlan<Rate>, Origin)> {
        let own = self.swimmer.and_then(|swimmer| swimmer.rate.as_ref());
        let Some(Found { said, origin }) = self.find(|layer| &layer.rate) else {
            return Err(
                Error::input("no rate is given, and there is no default for one")
                    .accepted(
                        "a rate in the set or its defaults, in a swimmer's file (--swimmer FILE), \
                     or --stroke-rate",
                    )
                    .example("--stroke-rate \"54 spm\""),
            );
        };
        let wished: &WishedRate = &said.value;
        let rate = wished.try_map(|wish| wish.resolve(own)).map_err(|why| {
            Error::input(why)
                .within("rate")
                .at_place(said.at.as_ref())
                .accepted(match own {
                    Some(_) => RateWish::ACCEPTED,
                    None => "a rate itself, or a swimmer whose file has one (--swimmer FILE)",
                })
                .example("rate = \"54 spm\"")
        })?;
        Ok((rate, origin))
    }

    /// The coach's κ, else the mean of the measured two, else the guess.
    fn catch_after_entry(&self) -> (PerSide<Exact>, Origin) {
        let both = |value: Exact| PerSide {
            left: value.clone(),
            right: value,
        };
        if let Some(Found { said, origin }) = self.find(|layer| &layer.catch_after_entry) {
            return (said.value.clone(), origin);
        }
        let measured = self.swimmer.and_then(|swimmer| swimmer.measured.as_ref());
        match measured.and_then(|measured| measured.catch_after_entry.as_ref()) {
            Some(PerSide { left, right }) => (both((left + right) / exact(2)), Origin::Measured),
            None => (both(built_in::catch_after_entry()), Origin::BuiltIn),
        }
    }

    /// What holds between the values of one set.
    fn check(&self, set: &Set) -> Result<()> {
        self.check_breath(set)?;
        let by_time = matches!(set.swim, Swim::Time(_));
        let place_of = |said: Option<Option<Place>>| said.flatten();
        if by_time && set.walls == Walls::Pause {
            let at = place_of(self.find(|layer| &layer.walls).map(|f| f.said.at.clone()));
            return Err(Error::input(format!(
                "walls = \"pause\" with a swim by time ({}): its walls cannot be predicted",
                set.swim
            ))
            .at_place(at.as_ref())
            .accepted("\"pause\" with a swim by distance; \"through\" with any swim")
            .example("walls = \"through\""));
        }
        if by_time && set.fade.is_some_and(|fade| fade.per == FadePer::Length) {
            let at = place_of(self.find(|layer| &layer.fade).map(|f| f.said.at.clone()));
            return Err(Error::input(format!(
                "a fade per length with a swim by time ({}): its walls cannot be predicted",
                set.swim
            ))
            .at_place(at.as_ref())
            .accepted("a fade per cycle, or a swim by distance")
            .example("fade = { on = 8, off = 4, per = \"cycle\" }"));
        }
        if by_time {
            let own_cues = self.set.cues.as_ref().filter(|said| {
                // A signal-only kind is always "there"; the wall is a chosen cue.
                said.value.has(Kind::Wall)
            });
            if let Some(said) = own_cues {
                return Err(Error::input(format!(
                    "cues has \"wall\" with a swim by time ({}): its walls cannot be predicted",
                    set.swim
                ))
                .at_place(said.at.as_ref())
                .accepted("\"wall\" with a swim by distance")
                .example("cues = [\"arm\", \"kick\"]"));
            }
            return Ok(());
        }
        if set.going.is_none() {
            return Err(Error::input(format!(
                "the time of {} cannot be predicted: neither pace nor stroke_length is known",
                set.swim
            ))
            .accepted("either of the two, in the swimmer's file, the session's defaults or the set")
            .example("pace = \"2:05 / 100 m\", or stroke_length = \"0.95 m/stroke\""));
        }
        if set.pool.metres().is_zero() || set.glide.metres() >= set.pool.metres() {
            return Err(Error::input(format!(
                "a glide of {} in a pool of {} leaves nothing to swim",
                set.glide, set.pool
            ))
            .accepted("a glide shorter than the pool")
            .example("glide = \"4 m\""));
        }
        Ok(())
    }

    fn check_breath(&self, set: &Set) -> Result<()> {
        let wanted = set.cues.has(Kind::Breath);
        if let Some(Said { value: Some(_), at }) = &self.set.breath
            && !wanted
        {
            return Err(Error::input(
                "a breath table, but cues has no \"breath\": it would never sound",
            )
            .at_place(at.as_ref())
            .accepted("both, or neither")
            .example("cues = [\"arm\", \"kick\", \"breath\"]"));
        }
        if !wanted {
            return Ok(());
        }
        let said = self.find(|layer| &layer.breath);
        let at = said.as_ref().and_then(|found| found.said.at.clone());
        let Some(breath) = set.breath else {
            let cues_at = self
                .find(|layer| &layer.cues)
                .and_then(|f| f.said.at.clone());
            return Err(
                Error::input("cues has \"breath\", but there is no breath table")
                    .at_place(cues_at.as_ref())
                    .accepted("both, or neither")
                    .example("breath = { every = 3, side = \"right\" }"),
            );
        };
        let (from, to) = set.rate.ends();
        let slowest = from.min(to);
        let longest = longest_breath_gap_cycles(&set.stroke, breath) * slowest.cycle_s();
        if longest > exact(BREATH_LIMIT_S) {
            return Err(Error::input(format!(
                "breath every {} strokes at {} is {:.1} s from breath to breath, over {BREATH_LIMIT_S} s; \
                 {BREATH_CAUTION}",
                breath.every,
                slowest.short(),
                to_f64(&longest)
            ))
            .at_place(at.as_ref())
            .accepted("every 2 to 5 strokes, and at most 6 s at the lowest rate of the set")
            .example("breath = { every = 3, side = \"right\" }"));
        }
        Ok(())
    }
}

/// The longest time that a track leaves between two breath cues, in s. A limit of ours, well
/// inside comfort: bodies of the sport warn against breath-holding at any depth (published-values 6).
const BREATH_LIMIT_S: i64 = 6;

/// The caution that goes with every refusal of a long gap.
pub const BREATH_CAUTION: &str = "breath-holding can cause loss of consciousness without warning, \
    in fit swimmers and in any depth: no track asks for it";

/// The longest stretch between two breaths, in cycles: odd numbers end on the other hand.
fn longest_breath_gap_cycles(stroke: &Stroke, breath: Breath) -> Exact {
    let whole = exact((breath.every / 2).into());
    match breath.every % 2 {
        0 => whole,
        _ => {
            let one = &stroke.right_entry;
            whole + one.clone().max(exact(1) - one)
        }
    }
}

fn rivals(one: &str, other: &str, at: Option<Place>) -> Error {
    Error::input(format!(
        "{one} and {other} on one level: only one can decide"
    ))
    .at_place(at.as_ref())
    .accepted(format!(
        "either of them; the other may stand on a farther level"
    ))
    .example(match one {
        "pace" => "pace = \"2:05 / 100 m\"",
        _ => "send_off = \"1:30\"",
    })
}

/// The place further down of two on one level.
fn later(one: &Option<Place>, other: &Option<Place>) -> Option<Place> {
    let key = |place: &Place| (place.line, place.column);
    one.iter()
        .chain(other)
        .max_by_key(|place| key(place))
        .cloned()
}

/// κ for people: one number where both arms agree.
pub fn sides_in_words(sides: &PerSide<Exact>) -> String {
    match sides.left == sides.right {
        true => to_f64(&sides.left).to_string(),
        false => format!(
            "left {}, right {}",
            to_f64(&sides.left),
            to_f64(&sides.right)
        ),
    }
}

/// What a coach should know of one set before it is swum.
fn warn(number: usize, set: &Set, swimmer: Option<&Swimmer>) -> Vec<String> {
    let mut warnings = Vec::new();
    let label = format!("set {number} ({})", set.name);
    if set.cues.has(Kind::Fill) && !set.kick.has_fills() {
        warnings.push(format!(
            "{label}: cues has \"fill\", but a {} has no beats between",
            set.kick.in_words()
        ));
    }
    let silent_kick =
        set.kick == Kick::Pull && set.cues.has(Kind::Kick) && !set.cues.has(Kind::Arm);
    if silent_kick {
        warnings.push(format!(
            "{label}: a pull has no kicks, so no stroke cue will sound"
        ));
    }
    let beats = set.pairing.paired_beats(&set.stroke);
    let gap = super::circle::forward(&beats.left, &beats.right);
    let near = gap.clone().min(exact(1) - gap);
    if near < fraction(15, 100) && set.kick != Kick::Pull {
        warnings.push(format!(
            "{label}: with these catches the two feet kick only {:.2} of a cycle apart",
            to_f64(&near)
        ));
    }
    let measured = swimmer.and_then(|swimmer| swimmer.measured.as_ref());
    if let Some((measured, at)) =
        measured.and_then(|m| Some((m.catch_after_entry.as_ref()?, m.rate.as_ref()?)))
    {
        let tenth = at.spm() / exact(10);
        let (from, to) = set.rate.ends();
        let far = [from, to].into_iter().find(|rate| {
            let off = rate.spm() - at.spm();
            off > tenth || -off > tenth
        });
        if let Some(rate) = far {
            warnings.push(format!(
                "{label}: {} is more than 10 % from {}, where the catch was measured ({}); \
                 the catch comes sooner as the rate rises: film again near this rate",
                rate.short(),
                at.short(),
                sides_in_words(measured),
            ));
        }
    }
    warnings
}

//! From layers of wishes to sets in which every value is decided.
//!
//! Built-in < measured < swimmer < session defaults < set < flags: the nearest level that says
//! a thing decides it. Rivals (`pace` and `stroke_length`, `rest` and `send_off`) displace each
//! other the same way; tables replace whole. Each decided value remembers where it came from.

mod checks;
mod decide;

use std::fmt;

use super::circle::Stroke;
use super::cue::{PerSide, Side};
use super::kick::{Kick, Pairing};
use super::layer::{Layer, Said, Session};
use super::session::{BedWish, Breath, Cues, Fade, Gap, Going, Lead, RatePlan, Swim, Walls};
use super::swimmer::Swimmer;
use crate::error::{Place, Result};
use crate::units::{Exact, Length, Rate, Time, to_f64};

pub use checks::BREATH_CAUTION;

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
}

impl Set {
    /// Where a key's value was written, if a file says it.
    pub fn place_of(&self, key: &str) -> Option<&Place> {
        let trace = self.traces.iter().find(|trace| trace.key == key)?;
        match &trace.origin {
            Origin::Swimmer(place) | Origin::Defaults(place) | Origin::Set(place) => place.as_ref(),
            Origin::BuiltIn | Origin::Measured | Origin::Flag => None,
        }
    }

    /// How messages call set `number`: with its name, if it was given one.
    pub fn label(&self, number: usize) -> String {
        label(number, &self.name)
    }
}

/// What a set without a name is called.
fn unnamed(number: usize) -> String {
    format!("Set {number}")
}

fn label(number: usize, name: &str) -> String {
    match name == unnamed(number) {
        true => format!("set {number}"),
        false => format!("set {number} ({name})"),
    }
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
    /// Whether the track opens with its ears, its sounds and the cautions.
    pub opening: bool,
    /// A folder of own sounds and words: the session's, else the swimmer's.
    pub sounds: Option<Said<String>>,
    /// The file of a bed under the cues.
    pub bed: Option<Said<BedWish>>,
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
    let layers = (session.sets.iter().map(|set| &set.value))
        .chain([&session.defaults])
        .chain(swimmer.map(|swimmer| &swimmer.layer));
    for layer in layers {
        layer.check_rivals()?;
    }
    let mut warnings = Vec::new();
    let mut sets = Vec::with_capacity(session.sets.len());
    for (index, set) in session.sets.iter().enumerate() {
        let levels = decide::Levels {
            flags,
            set: &set.value,
            defaults: &session.defaults,
            swimmer,
        };
        let number = index + 1;
        let resolved = levels
            .decide(number, set.at.clone())
            .map_err(|error| error.at_place(set.at.as_ref()))?;
        warnings.extend(checks::warn(number, &resolved, swimmer));
        sets.push(resolved);
    }
    Ok(Resolved {
        source: session.source.clone(),
        title: session.title.clone(),
        for_whom: session.for_whom.clone(),
        swimmer: swimmer.map(|swimmer| swimmer.name.clone()),
        lead_in: (session.lead_in.as_ref())
            .map_or_else(decide::built_in::lead_in, |said| said.value.clone()),
        lead_in_at: session.lead_in.as_ref().and_then(|said| said.at.clone()),
        opening: session.opening.as_ref().is_none_or(|said| said.value),
        sounds: (session.sounds.clone())
            .or_else(|| swimmer.and_then(|swimmer| swimmer.sounds.clone())),
        bed: session.bed.clone(),
        sets,
        warnings,
    })
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{parse_session, parse_swimmer};
    use crate::model::layer::Said;
    use crate::units::{Quantity, RateWish, fraction};

    const SWIMMER: &str = "name = \"Invented\"\nrate = \"56 spm\"\npace = \"2:00 / 100 m\"\npool = \"25 yd\"\n\
        kick = \"six-beat\"\nbreath = { every = 2 }\nlead = \"20 ms\"\n\
        [measured]\nrate = \"56 spm\"\ncatch_after_entry = { left = 0.34, right = 0.30 }\n";

    fn resolved(session: &str, swimmer: Option<&str>, flags: &Layer) -> Result<Set> {
        let session = parse_session("session.toml", session)?;
        let swimmer = swimmer
            .map(|text| parse_swimmer("swimmer.toml", text))
            .transpose()?;
        resolve(&session, swimmer.as_ref(), flags).map(|mut session| session.sets.remove(0))
    }

    fn set(session: &str) -> Set {
        resolved(session, Some(SWIMMER), &Layer::default()).expect(session)
    }

    fn origin(set: &Set, key: &str) -> String {
        let trace = set.traces.iter().find(|trace| trace.key == key);
        trace
            .map(|trace| trace.origin.to_string())
            .unwrap_or_default()
    }

    #[test]
    fn the_nearest_level_decides() {
        let session = "[defaults]\nkick = \"four-beat\"\n[[set]]\nswim = \"50 m\"\npairing = \"opposite-side\"\n";
        let set = set(session);
        assert_eq!(
            (set.kick, origin(&set, "kick").as_str()),
            (Kick::FourBeat, "session defaults, session.toml:2")
        );
        assert_eq!(origin(&set, "pairing"), "set, session.toml:5");
        assert_eq!(origin(&set, "pool"), "swimmer, swimmer.toml:4");
        assert_eq!(origin(&set, "push_off"), "built in");
        let flags = Layer {
            kick: Some(Said {
                value: Kick::Pull,
                at: None,
            }),
            ..Layer::default()
        };
        let flagged = resolved(session, Some(SWIMMER), &flags).expect("a pull");
        assert_eq!(
            (flagged.kick, origin(&flagged, "kick").as_str()),
            (Kick::Pull, "flag")
        );
    }

    #[test]
    fn rivals_displace_each_other_by_level() {
        let near = set("[[set]]\nswim = \"50 m\"\nstroke_length = \"0.9 m/stroke\"\n");
        assert!(matches!(near.going, Some(Going::StrokeLength(_))));
        let rest =
            set("[defaults]\nsend_off = \"2:00\"\n[[set]]\nswim = \"50 m\"\nrest = \"30 s\"\n");
        assert_eq!(rest.gap, Gap::Rest(Time::whole_s(30)));
        let send_off =
            set("[defaults]\nrest = \"30 s\"\n[[set]]\nswim = \"50 m\"\nsend_off = \"2:00\"\n");
        assert_eq!(send_off.gap, Gap::SendOff(Time::whole_s(120)));
    }

    #[test]
    fn a_send_off_of_none_leaves_the_nearest_rest_or_20_s() {
        let none =
            set("[defaults]\nsend_off = \"2:00\"\n[[set]]\nswim = \"50 m\"\nsend_off = \"none\"\n");
        assert_eq!(none.gap, Gap::Rest(Time::whole_s(20)));
        let rest =
            set("[defaults]\nrest = \"40 s\"\n[[set]]\nswim = \"50 m\"\nsend_off = \"none\"\n");
        assert_eq!(rest.gap, Gap::Rest(Time::whole_s(40)));
    }

    #[test]
    fn rivals_on_one_level_are_refused_wherever_they_stand() {
        for session in [
            "[[set]]\nswim = \"50 m\"\nrest = \"30 s\"\nsend_off = \"2:00\"\n",
            "[defaults]\nrest = \"30 s\"\nsend_off = \"2:00\"\n[[set]]\nswim = \"50 m\"\nrest = \"30 s\"\n",
            "[[set]]\nswim = \"50 m\"\npace = \"2:00 / 100 m\"\nstroke_length = \"0.9 m/stroke\"\n",
        ] {
            let error = resolved(session, Some(SWIMMER), &Layer::default()).expect_err(session);
            assert!(error.to_string().contains("on one level"), "{error}");
        }
    }

    #[test]
    fn tables_replace_whole_and_none_switches_off() {
        let breath = set(
            "[[set]]\nswim = \"50 m\"\ncues = [\"breath\"]\nbreath = { every = 3, side = \"left\" }\n",
        );
        assert_eq!(
            breath.breath,
            Some(Breath {
                every: 3,
                side: Side::Left
            })
        );
        // The side is that of the new table's own default, not the one displaced.
        let side = set(
            "[defaults]\nbreath = { every = 2, side = \"left\" }\ncues = [\"breath\"]\n\
                        [[set]]\nswim = \"50 m\"\nbreath = { every = 3 }\n",
        );
        assert_eq!(
            side.breath,
            Some(Breath {
                every: 3,
                side: Side::Right
            })
        );
        let fade = set(
            "[defaults]\nfade = { on = 2, off = 2 }\n[[set]]\nswim = \"50 m\"\nfade = \"none\"\n",
        );
        assert_eq!(fade.fade, None);
        // The swimmer's breath table is not heard without the cue, and no error either.
        assert_eq!(set("[[set]]\nswim = \"50 m\"\n").breath, None);
    }

    #[test]
    fn measured_is_not_cued_beyond_its_mean() {
        let measured = set("[[set]]\nswim = \"50 m\"\n");
        assert_eq!(measured.stroke.catch_after_entry.left, fraction(32, 100));
        assert_eq!(measured.stroke.catch_after_entry.right, fraction(32, 100));
        assert_eq!(
            origin(&measured, "catch_after_entry"),
            "measured, mean of both arms"
        );
        let coach = set("[[set]]\nswim = \"50 m\"\ncatch_after_entry = 0.25\n");
        assert_eq!(coach.stroke.catch_after_entry.left, fraction(1, 4));
        let guess = resolved(
            "[[set]]\nswim = \"45 s\"\nrate = \"50 spm\"\n",
            None,
            &Layer::default(),
        );
        assert!(guess.is_ok_and(|set| set.catch_is_guess));
    }

    #[test]
    fn a_rate_far_from_the_measured_one_is_warned_of() {
        let warnings = |rate: &str| {
            let text = format!("[[set]]\nswim = \"50 m\"\nrate = \"{rate}\"\n");
            let session = parse_session("session.toml", &text).expect("parses");
            let swimmer = parse_swimmer("swimmer.toml", SWIMMER).expect("parses");
            resolve(&session, Some(&swimmer), &Layer::default())
                .expect("resolves")
                .warnings
        };
        assert!(warnings("61.6 spm").is_empty() && warnings("50.4 spm").is_empty());
        for far in ["61.7 spm", "50.3 spm"] {
            assert!(
                warnings(far)
                    .iter()
                    .any(|warning| warning.contains("more than 10 %")),
                "{far}"
            );
        }
    }

    #[test]
    fn a_flag_may_be_relative_to_the_swimmer() {
        let wish = RateWish::parse("96 %").expect("parses");
        let flags = Layer {
            rate: Some(Said {
                value: RatePlan::Steady(wish),
                at: None,
            }),
            ..Layer::default()
        };
        let set = resolved(
            "[[set]]\nswim = \"50 m\"\nrate = \"70 spm\"\n",
            Some(SWIMMER),
            &flags,
        )
        .expect("resolves");
        assert_eq!(set.rate.to_string(), "53.76 spm");
    }
}

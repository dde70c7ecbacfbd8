//! From layers of wishes to sets in which every value is decided.
//!
//! Built-in < measured < swimmer < session defaults < set < flags: the nearest level that says
//! a thing decides it. Rivals (`pace` and `stroke_length`, `rest` and `send_off`) displace each
//! other the same way; tables replace whole. Each decided value remembers where it came from.

mod checks;
mod decide;
mod hidden_breath;
mod set;

use super::keys::kinds::*;
use super::keys::usual_lead_in;
use super::swimmer::Swimmer;
use super::wishes::{Said, Session, Wishes, said};
use crate::error::{Place, Result};

pub use checks::BREATH_CAUTION;
pub use set::{Origin, Set};

/// A session in which everything is decided, for one swimmer.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Resolved {
    /// The session's file or preset.
    pub source: String,
    /// Its title.
    pub title: String,
    /// Whom it is for.
    pub for_whom: Option<String>,
    /// The trial that it belongs to.
    pub trial: Option<String>,
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
pub fn resolve(session: &Session, swimmer: Option<&Swimmer>, flags: &Wishes) -> Result<Resolved> {
    let layers = (session.sets.iter().map(|set| &set.value))
        .chain([&session.defaults])
        .chain(swimmer.map(|swimmer| &swimmer.wishes));
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
        let resolved = (levels.decide(number, set.at.clone()))
            .and_then(|decided| levels.check(number, decided))
            .map_err(|error| error.at_place(set.at.as_ref()))?;
        warnings.extend(checks::warn(
            number,
            &resolved,
            swimmer,
            session.bed.is_some(),
        ));
        sets.push(resolved);
    }
    if session.bed.is_some() && session.trial.is_some() {
        warnings.push(BED_IN_A_TRIAL.to_string());
    }
    let sounds = [&session.sounds]
        .into_iter()
        .chain(swimmer.map(|swimmer| &swimmer.sounds));
    Ok(Resolved {
        source: session.source.clone(),
        title: text_of(&session.title).unwrap_or_default(),
        for_whom: text_of(&session.for_whom),
        trial: text_of(&session.trial),
        swimmer: swimmer.map(|swimmer| swimmer.name.clone()),
        lead_in: (session.lead_in.as_ref()).map_or_else(usual_lead_in, |said| said.value.clone()),
        lead_in_at: session.lead_in.as_ref().and_then(|said| said.at.clone()),
        opening: session.opening.as_ref().is_none_or(|said| said.value),
        // The nearer word holds, "none" too.
        sounds: sounds.flatten().next().and_then(|said| {
            let value = said.value.clone()?;
            Some(Said {
                value,
                at: said.at.clone(),
            })
        }),
        bed: session.bed.clone(),
        sets,
        warnings,
    })
}

const BED_IN_A_TRIAL: &str = "A bed in a trial: music has a beat of its own, and the swims no longer \
    differ in the pairing alone; leave the bed out";

fn text_of(said: &Option<Said<String>>) -> Option<String> {
    said.as_ref().map(|said| said.value.clone())
}

impl Resolved {
    /// The session with nothing left open: under any swimmer's file it sounds as it does now. What
    /// all its sets have in common stands in its defaults.
    pub fn pinned(&self) -> Session {
        let mut layers: Vec<Wishes> = self.sets.iter().map(Set::pinned).collect();
        let defaults = if layers.len() > 1 {
            Wishes::take_common(&mut layers)
        } else {
            Wishes::default()
        };
        Session {
            source: self.source.clone(),
            title: said(self.title.clone()),
            for_whom: self.for_whom.clone().and_then(said),
            trial: self.trial.clone().and_then(said),
            lead_in: said(self.lead_in.clone()),
            opening: said(self.opening),
            sounds: said(self.sounds.as_ref().map(|said| said.value.clone())),
            bed: self.bed.clone(),
            defaults,
            sets: layers.into_iter().filter_map(said).collect(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::files::{parse_session, parse_swimmer};
    use crate::model::session::{Gap, Going};
    use crate::units::{Quantity, RateWish, fraction};

    const SWIMMER: &str = "name = \"Invented\"\nrate = \"56 spm\"\npace = \"2:00 / 100 m\"\npool = \"25 yd\"\n\
        kick = \"six-beat\"\nbreath = { every = 2 }\nlead = \"20 ms\"\n\
        [measured]\nrate = \"56 spm\"\ncatch_after_entry = { left = 0.34, right = 0.30 }\n";

    fn resolved(session: &str, swimmer: Option<&str>, flags: &Wishes) -> Result<Set> {
        let session = parse_session("session.toml", session)?;
        let swimmer = swimmer
            .map(|text| parse_swimmer("swimmer.toml", text))
            .transpose()?;
        resolve(&session, swimmer.as_ref(), flags).map(|mut session| session.sets.remove(0))
    }

    fn set(session: &str) -> Set {
        resolved(session, Some(SWIMMER), &Wishes::default()).expect(session)
    }

    fn origin(set: &Set, key: &str) -> String {
        set.origin_of(key)
            .map(Origin::to_string)
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
        let flags = Wishes {
            kick: Some(Said {
                value: Kick::Pull,
                at: None,
            }),
            ..Wishes::default()
        };
        let flagged = resolved(session, Some(SWIMMER), &flags).expect("a pull");
        assert_eq!(
            (flagged.kick, origin(&flagged, "kick").as_str()),
            (Kick::Pull, "flag")
        );
    }

    #[test]
    fn lengths_are_the_distance_of_the_pool_wherever_either_is_said() {
        for (pool, swim, distance) in [
            ("25 m", "2 lengths", "50 m"),
            ("25 yd", "4 lengths", "100 yd"),
            ("50 m", "1 length", "50 m"),
            ("33 1/3 m", "2 lengths", "66 2/3 m"),
            ("33 1/3 m", "3 lengths", "100 m"),
        ] {
            let session = format!("[defaults]\nswim = \"{swim}\"\n[[set]]\npool = \"{pool}\"\n");
            let decided = set(&session);
            assert_eq!(decided.swim.to_string(), distance, "{swim} of {pool}");
            assert_eq!(origin(&decided, "swim"), "session defaults, session.toml:2");
            // What is written of it is the distance, in any pool.
            let pinned = decided.pinned().swim.expect("a swim is said");
            assert_eq!(pinned.value.to_string(), distance);
        }
        // The swimmer's own pool, of 25 yd.
        assert_eq!(
            set("[[set]]\nswim = \"2 lengths\"\n").swim.to_string(),
            "50 yd"
        );
    }

    #[test]
    fn rivals_displace_each_other_by_level() {
        let near = set("[[set]]\nswim = \"50 m\"\nstroke_length = \"0.9 m/stroke\"\n");
        assert!(matches!(near.going(), Some(Going::StrokeLength(_))));
        let rest =
            set("[defaults]\nsend_off = \"2:00\"\n[[set]]\nswim = \"50 m\"\nrest = \"30 s\"\n");
        assert_eq!(rest.gap(), Gap::Rest(Time::whole_s(30)));
        let send_off =
            set("[defaults]\nrest = \"30 s\"\n[[set]]\nswim = \"50 m\"\nsend_off = \"2:00\"\n");
        assert_eq!(send_off.gap(), Gap::SendOff(Time::whole_s(120)));
    }

    #[test]
    fn a_send_off_of_none_leaves_the_nearest_rest_or_20_s() {
        let none =
            set("[defaults]\nsend_off = \"2:00\"\n[[set]]\nswim = \"50 m\"\nsend_off = \"none\"\n");
        assert_eq!(none.gap(), Gap::Rest(Time::whole_s(20)));
        let rest =
            set("[defaults]\nrest = \"40 s\"\n[[set]]\nswim = \"50 m\"\nsend_off = \"none\"\n");
        assert_eq!(rest.gap(), Gap::Rest(Time::whole_s(40)));
    }

    #[test]
    fn rivals_on_one_level_are_refused_wherever_they_stand() {
        for session in [
            "[[set]]\nswim = \"50 m\"\nrest = \"30 s\"\nsend_off = \"2:00\"\n",
            "[defaults]\nrest = \"30 s\"\nsend_off = \"2:00\"\n[[set]]\nswim = \"50 m\"\nrest = \"30 s\"\n",
            "[[set]]\nswim = \"50 m\"\npace = \"2:00 / 100 m\"\nstroke_length = \"0.9 m/stroke\"\n",
        ] {
            let error = resolved(session, Some(SWIMMER), &Wishes::default()).expect_err(session);
            assert!(error.to_string().contains("on one level"), "{error}");
        }
    }

    #[test]
    fn tables_replace_whole_and_none_switches_off() {
        let breath = set(
            "[[set]]\nswim = \"50 m\"\ncues = [\"breath\"]\nbreath = { every = 3, side = \"left\" }\n",
        );
        assert_eq!(
            breath.heard_breath(),
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
            side.heard_breath(),
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
        assert_eq!(set("[[set]]\nswim = \"50 m\"\n").heard_breath(), None);
    }

    #[test]
    fn measured_is_not_cued_beyond_its_mean() {
        let asked = "[[set]]\nswim = \"50 m\"\ncatch_after_entry = \"measured\"\n";
        let measured = set(asked);
        assert_eq!(measured.catch_after_entry.left, fraction(32, 100));
        assert_eq!(measured.catch_after_entry.right, fraction(32, 100));
        assert_eq!(
            origin(&measured, "catch_after_entry"),
            "measured, mean of both arms"
        );
        // It is cued by this word alone.
        assert!(set("[[set]]\nswim = \"50 m\"\n").catch_is_guess());
        let alone = format!("{}rate = \"50 spm\"\n", asked.replace("50 m", "45 s"));
        let nobody = resolved(&alone, None, &Wishes::default());
        let message = nobody
            .map(|_| ())
            .expect_err("nobody was measured")
            .to_string();
        assert!(
            message.contains("none is in the swimmer's file"),
            "{message}"
        );
        let coach = set("[[set]]\nswim = \"50 m\"\ncatch_after_entry = 0.25\n");
        assert_eq!(coach.catch_after_entry.left, fraction(1, 4));
        let guess = resolved(
            "[[set]]\nswim = \"45 s\"\nrate = \"50 spm\"\n",
            None,
            &Wishes::default(),
        );
        assert!(guess.is_ok_and(|set| set.catch_is_guess()));
    }

    #[test]
    fn a_rate_far_from_the_measured_one_is_warned_of() {
        let warnings = |rate: &str| {
            let text = format!("[[set]]\nswim = \"50 m\"\nrate = \"{rate}\"\n");
            let session = parse_session("session.toml", &text).expect("parses");
            let swimmer = parse_swimmer("swimmer.toml", SWIMMER).expect("parses");
            resolve(&session, Some(&swimmer), &Wishes::default())
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
    fn what_hides_a_breath_and_cannot_give_way_is_warned_of() {
        // Catches 0.3 of a cycle after the entries, so 0.2 of one before the next entry: the breath
        // begins 0.22 s before that, which a catch follows by 0.22 s - 0.2 cycles.
        let warning = |rate: &str, keys: &str| {
            let text = format!(
                "[[set]]\nswim = \"50 m\"\nrate = {rate}\ncues = [\"arm\", \"kick\", \"breath\"]\n{keys}"
            );
            let session = parse_session("session.toml", &text).expect("parses");
            let swimmer = parse_swimmer("swimmer.toml", SWIMMER).expect("parses");
            let warnings = resolve(&session, Some(&swimmer), &Wishes::default())
                .expect("resolves")
                .warnings;
            (warnings.into_iter()).find(|warning| warning.contains("breath sound"))
        };
        let of = |rate: &str| warning(rate, "catch_after_entry = 0.3\nlead = \"0 ms\"\n");
        // 40 ms before it: a cycle of 1.3 s, 92.3 spm.
        assert_eq!(of("\"92.3 spm\""), None);
        let told = of("\"92.4 spm\"").expect("a warning");
        assert!(
            told.contains("at 92.4 spm arm cues and kicks fall on"),
            "{told}"
        );
        let told = of("{ from = \"60 spm\", to = \"100 spm\", by = \"time\" }");
        assert!(told.is_some_and(|told| told.contains("60 to 100 spm")));
        // Kicks on the entries are clear of it, but for a lead of their own.
        let entries = "pairing = \"opposite-side\"\n";
        assert_eq!(
            warning("\"60 spm\"", &format!("{entries}lead = \"50 ms\"\n")),
            None
        );
        let early = format!("{entries}lead = {{ kick = \"50 ms\" }}\n");
        let told = warning("\"60 spm\"", &early).expect("a warning");
        assert!(told.contains("at 60 spm kicks fall on"), "{told}");
        assert_eq!(
            warning("\"60 spm\"", &format!("{early}kick = \"pull\"\n")),
            None
        );
    }

    #[test]
    fn a_bed_in_a_trial_is_warned_of() {
        let warned = |head: &str| {
            let text = format!("{head}[[set]]\nswim = \"50 m\"\nrate = \"54 spm\"\n");
            let session = parse_session("session.toml", &text).expect("parses");
            let swimmer = parse_swimmer("swimmer.toml", SWIMMER).expect("parses");
            let found = resolve(&session, Some(&swimmer), &Wishes::default()).expect("resolves");
            found
                .warnings
                .iter()
                .any(|warning| warning == BED_IN_A_TRIAL)
        };
        assert!(warned("bed = \"waves.ogg\"\ntrial = \"spring\"\n"));
        assert!(!warned("bed = \"waves.ogg\"\n") && !warned("trial = \"spring\"\n"));
    }

    #[test]
    fn a_flag_may_be_relative_to_the_swimmer() {
        let wish = RateWish::parse("96 %").expect("parses");
        let flags = Wishes {
            rate: Some(Said {
                value: RatePlan::Steady(wish),
                at: None,
            }),
            ..Wishes::default()
        };
        let set = resolved(
            "[[set]]\nswim = \"50 m\"\nrate = \"70 spm\"\n",
            Some(SWIMMER),
            &flags,
        )
        .expect("resolves");
        assert_eq!(set.rate.to_string(), "54 spm");
    }
}

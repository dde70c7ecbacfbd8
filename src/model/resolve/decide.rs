//! The levels that a set stands on, and what the nearest of them says.

use std::fmt;

use super::{Origin, Set, Trace, label, sides_in_words, unnamed};
use crate::error::{Error, Place, Result};
use crate::model::circle::Stroke;
use crate::model::cue::{Kind, PerSide, Side};
use crate::model::kick::{Kick, Pairing};
use crate::model::layer::{Layer, Said};
use crate::model::session::{Cues, Gap, Going, Lead, RatePlan, Walls, WishedRate};
use crate::model::swimmer::Swimmer;
use crate::units::{Exact, Length, Quantity, Rate, RateWish, Time, exact, fraction, to_f64};

/// The built-in values below the swimmer's (design 4). A rate has none.
pub(super) mod built_in {
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

/// The levels that one set stands on.
pub(super) struct Levels<'a> {
    pub flags: &'a Layer,
    pub set: &'a Layer,
    pub defaults: &'a Layer,
    pub swimmer: Option<&'a Swimmer>,
}

/// Where each value came from, in the order in which they are decided.
struct Ledger(Vec<Trace>);

impl Ledger {
    fn note(&mut self, key: &'static str, value: String, origin: Origin) {
        self.0.push(Trace { key, value, origin });
    }
}

fn text(value: &impl fmt::Display) -> String {
    value.to_string()
}

fn text_or_none(value: &Option<impl fmt::Display>) -> String {
    value.as_ref().map_or_else(|| "none".into(), text)
}

/// A decided value with its level.
pub(super) struct Found<'a, T> {
    pub said: &'a Said<T>,
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

    pub(super) fn find<T>(&self, key: impl Fn(&Layer) -> &Option<Said<T>>) -> Option<Found<'a, T>> {
        self.nearest_first().find_map(|(layer, origin)| {
            let said = key(layer).as_ref()?;
            Some(Found {
                said,
                origin: origin(said.at.clone()),
            })
        })
    }

    /// One key: the nearest level's value or the built-in one, noted either way.
    fn plain<T: Clone>(
        &self,
        ledger: &mut Ledger,
        key: &'static str,
        pick: impl Fn(&Layer) -> &Option<Said<T>>,
        built_in: T,
        show: impl Fn(&T) -> String,
    ) -> T {
        let (value, origin) = match self.find(pick) {
            Some(Found { said, origin }) => (said.value.clone(), origin),
            None => (built_in, Origin::BuiltIn),
        };
        ledger.note(key, show(&value), origin);
        value
    }

    /// Decides every value of set `number`, which stands at `at`.
    pub(super) fn decide(&self, number: usize, at: Option<Place>) -> Result<Set> {
        let mut ledger = Ledger(Vec::new());
        let notes = &mut ledger;
        let name = self.plain(notes, "name", |l| &l.name, unnamed(number), String::clone);
        let label = label(number, &name);
        let fail = |error: Error| error.within(&label);
        let repeats = self.plain(notes, "repeats", |l| &l.repeats, 1, u64::to_string);
        let Some(swim) = self.find(|layer| &layer.swim) else {
            return Err(fail(Error::input("no swim is given"))
                .accepted("a distance or a time for each repeat")
                .example("swim = \"50 m\""));
        };
        notes.note("swim", swim.said.value.to_string(), swim.origin);
        let pool = self.plain(
            notes,
            "pool",
            |l| &l.pool,
            built_in::pool(),
            Length::to_string,
        );
        let going = self.going(notes);
        let gap = self.gap(notes);
        let rest_after = self
            .find(|layer| &layer.rest_after)
            .map(|Found { said, origin }| {
                notes.note("rest_after", said.value.to_string(), origin);
                said.value.clone()
            });
        let rate = self.rate(notes).map_err(fail)?;
        let pairing = self.plain(notes, "pairing", |l| &l.pairing, Pairing::SameSide, text);
        let kick = self.plain(notes, "kick", |l| &l.kick, Kick::TwoBeat, text);
        let three_on = self.plain(notes, "three_on", |l| &l.three_on, Side::Left, text);
        let (catch_after_entry, catch_is_guess) = self.catch_after_entry(notes);
        let right_entry = self.plain(
            notes,
            "right_entry",
            |l| &l.right_entry,
            built_in::right_entry(),
            |value| to_f64(value).to_string(),
        );
        let first_arm = self.plain(notes, "first_arm", |l| &l.first_arm, Side::Left, text);
        let push_off = self.plain(
            notes,
            "push_off",
            |l| &l.push_off,
            built_in::push_off(),
            text,
        );
        let glide = self.plain(notes, "glide", |l| &l.glide, built_in::glide(), text);
        let walls = self.plain(
            notes,
            "walls",
            |l| &l.walls,
            Walls::Through,
            |value| value.word().into(),
        );
        let arm_and_kick = Cues::NONE.with(Kind::Arm).with(Kind::Kick);
        let cues = self.plain(notes, "cues", |l| &l.cues, arm_and_kick, text);
        let breath = self.plain(notes, "breath", |l| &l.breath, None, text_or_none);
        let fade = self.plain(notes, "fade", |l| &l.fade, None, text_or_none);
        let lead = self.plain(notes, "lead", |l| &l.lead, Lead::none(), text);
        let set = Set {
            name,
            repeats,
            swim: swim.said.value.clone(),
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
            // A table inherited from farther off is simply not heard.
            breath: breath.filter(|_| cues.has(Kind::Breath)),
            fade,
            lead,
            say: self
                .find(|layer| &layer.say)
                .map(|found| found.said.value.clone()),
            traces: ledger.0,
            at,
        };
        self.check(&set).map_err(fail)?;
        Ok(set)
    }

    /// The nearest level that gives pace or stroke length decides.
    fn going(&self, ledger: &mut Ledger) -> Option<Going> {
        for (layer, origin) in self.nearest_first() {
            let (key, going, at) = match (&layer.pace, &layer.stroke_length) {
                (Some(pace), _) => ("pace", Going::Pace(pace.value.clone()), &pace.at),
                (None, Some(length)) => (
                    "stroke_length",
                    Going::StrokeLength(length.value.clone()),
                    &length.at,
                ),
                (None, None) => continue,
            };
            ledger.note(key, going.to_string(), origin(at.clone()));
            return Some(going);
        }
        None
    }

    /// The nearest level that gives rest or send-off decides; a send-off of "none" leaves the
    /// nearest rest, or 20 s.
    fn gap(&self, ledger: &mut Ledger) -> Gap {
        let mut send_off_may_decide = true;
        for (layer, origin) in self.nearest_first() {
            let (key, gap, time, at) = match (&layer.rest, &layer.send_off) {
                (Some(Said { value, at }), _) => ("rest", Gap::Rest(value.clone()), value, at),
                (None, Some(Said { value: None, .. })) => {
                    send_off_may_decide = false;
                    continue;
                }
                (
                    None,
                    Some(Said {
                        value: Some(time),
                        at,
                    }),
                ) if send_off_may_decide => ("send_off", Gap::SendOff(time.clone()), time, at),
                (None, _) => continue,
            };
            ledger.note(key, time.to_string(), origin(at.clone()));
            return gap;
        }
        ledger.note("rest", built_in::rest().to_string(), Origin::BuiltIn);
        Gap::Rest(built_in::rest())
    }

    /// The nearest level's rate, made absolute; the swimmer's own is the farthest level.
    fn rate(&self, ledger: &mut Ledger) -> Result<RatePlan<Rate>> {
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
            let error = match origin {
                Origin::Flag => Error::input(why).at("--stroke-rate"),
                _ => Error::input(why).within("rate").at_place(said.at.as_ref()),
            };
            error
                .accepted(match own {
                    Some(_) => RateWish::ACCEPTED,
                    None => "a rate itself, or a swimmer whose file has one (--swimmer FILE)",
                })
                .example(match origin {
                    Origin::Flag => "--stroke-rate \"54 spm\"",
                    _ => "rate = \"54 spm\"",
                })
        })?;
        let shown = match &rate {
            RatePlan::Steady(rate) => rate.both_ways(),
            ramp => ramp.to_string(),
        };
        ledger.note("rate", shown, origin);
        Ok(rate)
    }

    /// The coach's κ, else the mean of the measured two, else the guess; and whether it is that.
    fn catch_after_entry(&self, ledger: &mut Ledger) -> (PerSide<Exact>, bool) {
        let both = |value: Exact| PerSide {
            left: value.clone(),
            right: value,
        };
        let measured = self.swimmer.and_then(|swimmer| swimmer.measured.as_ref());
        let measured = measured.and_then(|measured| measured.catch_after_entry.as_ref());
        let (sides, origin) = match (self.find(|layer| &layer.catch_after_entry), measured) {
            (Some(Found { said, origin }), _) => (said.value.clone(), origin),
            (None, Some(PerSide { left, right })) => {
                (both((left + right) / exact(2)), Origin::Measured)
            }
            (None, None) => (both(built_in::catch_after_entry()), Origin::BuiltIn),
        };
        let is_guess = origin == Origin::BuiltIn;
        ledger.note("catch_after_entry", sides_in_words(&sides), origin);
        (sides, is_guess)
    }
}

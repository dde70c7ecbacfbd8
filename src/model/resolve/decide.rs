//! The levels that a set stands on, and what the nearest of them says.

use super::set::{Origin, Set, label, unnamed};
use crate::error::{Error, Place, Result};
use crate::model::keys::kinds::*;
use crate::model::keys::{set_keys, usual_rest};
use crate::model::swimmer::Swimmer;
use crate::model::value::Wish;
use crate::model::wishes::Wishes;
use crate::units::Quantity;

/// The levels that one set stands on.
pub(super) struct Levels<'a> {
    pub flags: &'a Wishes,
    pub set: &'a Wishes,
    pub defaults: &'a Wishes,
    pub swimmer: Option<&'a Swimmer>,
}

type OriginOf = fn(Option<Place>) -> Origin;

macro_rules! found {
    ($($(#[doc = $about:literal])* $key:ident: $wish:ty => $decided:ty, [$($on:ident)*], $built_in:expr,
        $takes:expr, $example:literal;)*) => {
        /// What one or more levels say, each wish with the level that says it.
        struct Found {
            $($key: Option<($wish, Origin)>,)*
        }

        impl Found {
            fn on(layer: &Wishes, origin: OriginOf) -> Self {
                Self {
                    $($key: layer.$key.as_ref().map(|said| (said.value.clone(), origin(said.at.clone()))),)*
                }
            }

            /// What is not said here, the farther level says.
            fn or(self, farther: Self) -> Self {
                Self { $($key: self.$key.or(farther.$key),)* }
            }

            fn built_in() -> Self {
                Self {
                    $($key: {
                        let built_in: Option<$wish> = $built_in;
                        built_in.map(|value| (value, Origin::BuiltIn))
                    },)*
                }
            }

            fn decided(self, at: Option<Place>) -> Result<Set> {
                let mut origins = Vec::new();
                Ok(Set {
                    $($key: {
                        let said = self.$key.map(|(wish, origin)| {
                            origins.push((stringify!($key), origin));
                            wish
                        });
                        Wish::decided(said)
                            .ok_or_else(|| Error::input(concat!("no ", stringify!($key), " is given")))?
                    },)*
                    origins,
                    at,
                })
            }
        }
    };
}
set_keys!(found);

impl<'a> Levels<'a> {
    /// The levels behind the flags, the nearest first.
    fn behind_flags(&self) -> impl Iterator<Item = (&'a Wishes, OriginOf)> + use<'a> {
        [
            Some((self.set, Origin::Set as OriginOf)),
            Some((self.defaults, Origin::Defaults as OriginOf)),
            (self.swimmer).map(|swimmer| (&swimmer.wishes, Origin::Swimmer as OriginOf)),
        ]
        .into_iter()
        .flatten()
    }

    /// Decides every value of set `number`, which stands at `at`.
    pub(super) fn decide(&self, number: usize, at: Option<Place>) -> Result<Set> {
        let mut found = Found::on(self.flags, |_| Origin::Flag);
        for (layer, origin) in self.behind_flags() {
            found = found.over(Found::on(layer, origin));
        }
        let name = (found.name).get_or_insert_with(|| (unnamed(number), Origin::BuiltIn));
        let label = label(number, &name.0);
        let fail = |error: Error| error.within(&label);
        if found.swim.is_none() {
            return Err(fail(Error::input("no swim is given"))
                .accepted("a distance, lengths of the pool or a time for each repeat")
                .example("swim = \"50 m\""));
        }
        (found.make_rates_absolute(self.swimmer)).map_err(fail)?;
        (found.measured_catch(self.swimmer)).map_err(fail)?;
        found = found.over(Found::built_in());
        found.measure_lengths();
        let mut set = found.decided(at).map_err(fail)?;
        if set.send_off.is_none() {
            // "none" has left the nearest rest: it decides nothing itself.
            set.origins.retain(|(key, _)| *key != "send_off");
        }
        Ok(set)
    }
}

impl Found {
    /// What is said here holds over what a farther level says; so do rivals: the nearest level that
    /// gives pace or stroke length decides, and the nearest that gives rest or send-off. A send-off
    /// of "none" displaces no rest.
    fn over(self, mut farther: Self) -> Self {
        if self.pace.is_some() || self.stroke_length.is_some() {
            farther.pace = None;
            farther.stroke_length = None;
        }
        if self.rest.is_some() || matches!(self.send_off, Some((Some(_), _))) {
            farther.rest = None;
            farther.send_off = farther.send_off.filter(|(time, _)| time.is_none());
        }
        self.or(farther)
    }

    /// Lengths of the pool become the distance that they are, before anything asks for it.
    fn measure_lengths(&mut self) {
        if let (Some((swim, _)), Some((pool, _))) = (&mut self.swim, &self.pool)
            && let SwimWish::Lengths(n) = swim
        {
            *swim = SwimWish::Swim(RepeatSwim::Distance(pool.times(u64::from(*n))));
        }
    }

    /// Makes rates that are relative to the swimmer's own absolute.
    fn make_rates_absolute(&mut self, swimmer: Option<&Swimmer>) -> Result<()> {
        let own = swimmer.and_then(|swimmer| swimmer.rate.as_ref());
        let Some((wished, origin)) = &mut self.rate else {
            return Err(
                Error::input("no rate is given, and there is no default for one")
                    .accepted(
                        "a rate in the set or its defaults, in a swimmer's file (--swimmer FILE), \
                     or --stroke-rate",
                    )
                    .example("--stroke-rate \"54 spm\""),
            );
        };
        let absolute = |wish: &RateWish| wish.resolve(own).map(RateWish::Absolute);
        let refused = |why: String, key: &str, origin: &Origin| {
            let error = match origin {
                Origin::Flag => Error::input(why).at("--stroke-rate"),
                _ => (Error::input(why).within(key)).at_place(origin.place()),
            };
            error.accepted(match own {
                Some(_) => RateWish::ACCEPTED,
                None => "a rate itself, or a swimmer whose file has one (--swimmer FILE)",
            })
        };
        *wished = wished.try_map(absolute).map_err(|why| {
            refused(why, "rate", origin).example(match origin {
                Origin::Flag => "--stroke-rate \"54 spm\"",
                _ => "rate = \"54 spm\"",
            })
        })?;
        if let Some((Some(compare), origin)) = &mut self.compare {
            compare.rate = absolute(&compare.rate).map_err(|why| {
                let example = format!("compare = {{ rate = \"54 spm\", at = {:?} }}", compare.at);
                refused(why, "compare", origin).example(example)
            })?;
        }
        Ok(())
    }

    /// The measured catch stands in for the word that asks for it.
    fn measured_catch(&mut self, swimmer: Option<&Swimmer>) -> Result<()> {
        if let Some((CatchWish::Measured, origin)) = &self.catch_after_entry {
            let mean = swimmer.and_then(Swimmer::measured_catch).ok_or_else(|| {
                Error::input("the measured catch is asked for, and none is in the swimmer's file")
                    .at_place(origin.place())
                    .accepted(
                        "a number from 0 to 0.5; or, for a swimmer (--swimmer FILE) with both \
                         catches in [measured], as timing --save writes them, \"measured\"",
                    )
                    .example("catch_after_entry = 0.3")
            })?;
            let both = PerSide {
                left: mean,
                right: mean,
            };
            self.catch_after_entry = Some((CatchWish::Said(both), Origin::Measured));
        }
        Ok(())
    }
}

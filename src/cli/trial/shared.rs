//! What all swims of a trial share: one distance, rate, kick, pool, pace and rest.

use crate::cli::shared::load::{in_any_folder, word};
use crate::cli::shared::swum::{flag, quantity};
use crate::error::{Error, Result};
use crate::model::arms::ArmCue;
use crate::model::kick::Kick;
use crate::model::resolve::{Resolved, resolve};
use crate::model::session::{RatePlan, RepeatSwim, SwimWish};
use crate::model::swimmer::Swimmer;
use crate::model::wishes::{Session, Wishes, said};
use crate::timeline::Schedule;
use crate::units::{Length, Quantity, Rate, RateWish, exact, to_f64};

/// The flags that say it.
#[derive(Debug, clap::Args)]
pub struct SharedArgs {
    /// The one stroke rate of all swims: "54 spm", "27 cpm", "-2 spm" [default: the swimmer's]
    #[arg(long, value_name = "RATE", allow_hyphen_values = true)]
    pub stroke_rate: Option<String>,
    /// two-beat, four-beat or six-beat [default: the swimmer's, or two-beat]
    #[arg(long)]
    pub kick: Option<String>,
    /// The distance of each swim [default: as many lengths as take 45 s]
    #[arg(long, value_name = "DISTANCE")]
    pub swim: Option<String>,
    /// The pool [default: the swimmer's, or 25 m]
    #[arg(long, value_name = "LENGTH")]
    pub pool: Option<String>,
    /// A clock pace, to tell how long a swim takes: "2:05 / 100 m" [default: the swimmer's]
    #[arg(long)]
    pub pace: Option<String>,
    /// The rest after every swim
    #[arg(long, value_name = "TIME", default_value = "60 s")]
    pub rest: String,
    /// What the arm sound marks in both pairings, so that one thing changes: catch or entry
    /// [default: the moment of each pairing]
    #[arg(long, value_name = "MOMENT")]
    pub arm_cue: Option<String>,
}

/// How long a swim of the trial takes, s.
///
/// # Errors
/// When it cannot be laid out.
pub fn swim_s(base: &Resolved) -> Result<f64> {
    let schedule = Schedule::new(base)?;
    let first = schedule.repeats.first();
    Ok(first.map_or(0.0, |swim| to_f64(&swim.swim_s())))
}

/// Swims that take so long are timed by hand to a few tenths of a per cent.
pub const LONG_ENOUGH_S: f64 = 45.0;

/// The kicks that have a pairing.
const WITH_PAIRING: &str = "two-beat, four-beat, six-beat";

impl SharedArgs {
    /// What every swim shares, decided from flags and swimmer as any set is.
    ///
    /// # Errors
    /// When a flag does not hold, or too little is known.
    pub fn resolve(&self, swimmer: Option<&Swimmer>) -> Result<Resolved> {
        let asked: Option<RepeatSwim> = flag("--swim", self.swim.as_deref())?;
        let swim = (asked.clone()).unwrap_or(RepeatSwim::Distance(Length::from_metres(exact(50))));
        if matches!(swim, RepeatSwim::Time(_)) {
            return Err(
                Error::input(format!("found {swim}, a time: times are what is compared"))
                    .at("--swim")
                    .accepted("a distance")
                    .example("--swim \"50 m\""),
            );
        }
        let kick = self.kick.as_deref().map(|text| word("--kick", text));
        let kick: Option<Kick> = kick
            .transpose()
            .map_err(|error| error.accepted(WITH_PAIRING))?;
        let arm_cue = (self.arm_cue.as_deref())
            .map(|text| word::<ArmCue>("--arm-cue", text))
            .transpose()?;
        let rate = self.rate(swimmer)?;
        self.check_going(swimmer)?;
        let layer = Wishes {
            swim: said(SwimWish::Swim(swim)),
            rate: said(RatePlan::Steady(RateWish::Absolute(rate))),
            kick: kick.and_then(said),
            arm_cue: arm_cue.and_then(said),
            pool: flag("--pool", self.pool.as_deref())?.and_then(said),
            pace: flag("--pace", self.pace.as_deref())?.and_then(said),
            ..Wishes::default()
        };
        let session = Session {
            source: "trial new".into(),
            defaults: layer,
            sets: said(Wishes::default()).into_iter().collect(),
            ..Session::default()
        };
        let mut resolved = resolve(&session, swimmer, &Wishes::default())?;
        resolved.sets[0].rest = Some(quantity("--rest", &self.rest)?);
        if asked.is_none() {
            resolved = long_enough(resolved)?;
        }
        match resolved.sets[0].kick {
            Kick::Pull => Err(
                Error::input("found pull: without a kick there is no pairing")
                    .at("--kick")
                    .accepted(WITH_PAIRING)
                    .example("--kick two-beat"),
            ),
            _ => in_any_folder(&resolved),
        }
    }

    /// The one rate of all swims.
    fn rate(&self, swimmer: Option<&Swimmer>) -> Result<Rate> {
        let own = swimmer.and_then(|swimmer| swimmer.rate.as_ref());
        let rate = match &self.stroke_rate {
            Some(text) => quantity::<RateWish>("--stroke-rate", text)?
                .resolve(own)
                .map_err(|why| rate_needed(&why))?,
            None => own
                .cloned()
                .ok_or_else(|| rate_needed("no stroke rate is known"))?,
        };
        writable(rate)
    }

    /// How long a swim takes must be known.
    fn check_going(&self, swimmer: Option<&Swimmer>) -> Result<()> {
        let has_going = swimmer.is_some_and(|swimmer| {
            swimmer.wishes.pace.is_some() || swimmer.wishes.stroke_length.is_some()
        });
        if self.pace.is_none() && !has_going {
            return Err(Error::input(
                "how long a swim takes is not known: neither pace nor stroke_length",
            )
            .at("--pace")
            .accepted("a pace, or a swimmer's file that has either")
            .example("--pace \"2:05 / 100 m\""));
        }
        Ok(())
    }
}

/// Swims as many lengths as take [`LONG_ENOUGH_S`]; in a short pool an even number, which end
/// where the watch is.
fn long_enough(mut base: Resolved) -> Result<Resolved> {
    let pool = base.sets[0].pool.clone();
    let step = if *pool.metres() < exact(50) { 2 } else { 1 };
    for lengths in (step..).step_by(step) {
        base.sets[0].swim = RepeatSwim::Distance(pool.times(lengths as u64));
        if swim_s(&base)? >= LONG_ENOUGH_S {
            break;
        }
    }
    Ok(base)
}

fn rate_needed(why: &str) -> Error {
    Error::input(format!("{why}; all swims of a trial have one rate"))
        .at("--stroke-rate")
        .accepted("a rate, or a swimmer's file that has one")
        .example("--stroke-rate \"54 spm\"")
}

/// A rate that reads back from its own text: a share of another may have no short decimal in any
/// unit, and is then taken to hundredths.
fn writable(rate: Rate) -> Result<Rate> {
    let short = || Rate::parse(&rate.short());
    Rate::parse(&rate.to_string())
        .or_else(|_| short())
        .map_err(|why| rate_needed(&why))
}

//! What the commands that measure share: who swam, and in which pool.

use crate::cli::shared::out;
use crate::error::{Error, Result};
use crate::files::{preset_swimmer, read_swimmer};
use crate::model::log::{Broken, Water};
use crate::units::{Length, Quantity, Time, exact};

/// Who, and the water.
#[derive(Debug, Clone, clap::Args)]
pub struct WaterArgs {
    /// The swimmer's name in the log, or the swimmer's file
    #[arg(long, value_name = "NAME|FILE")]
    pub swimmer: Option<String>,
    /// The pool: "25 m", "25 yd" [default: the swimmer's, or 25 m]
    #[arg(long)]
    pub pool: Option<String>,
    /// Time of a push-off [default: the swimmer's, or 3 s]
    #[arg(long)]
    pub push_off: Option<String>,
    /// Distance of a push-off [default: the swimmer's, or 4 m]
    #[arg(long)]
    pub glide: Option<String>,
}

/// What [`WaterArgs`] come to.
pub struct Swam {
    /// The swimmer's name, where one was given.
    pub name: Option<String>,
    /// The water.
    pub water: Water,
    /// Whether any of it is a built-in guess.
    pub guessed: bool,
}

impl Swam {
    /// Reads the flags, and the swimmer's file where one is named.
    ///
    /// # Errors
    /// When either does not hold.
    pub fn new(args: &WaterArgs) -> Result<Self> {
        let is_file = |text: &&String| {
            text.contains(['/', '\\']) || text.ends_with(".toml") || preset_swimmer(text).is_some()
        };
        let swimmer = args.swimmer.as_ref().filter(is_file);
        let swimmer = swimmer.map(|file| read_swimmer(file)).transpose()?;
        let own = swimmer.as_ref().map(|swimmer| swimmer.wishes.clone());
        let own = own.unwrap_or_default();
        let pool = flag::<Length>("--pool", args.pool.as_deref())?;
        if let Some(pool) = pool.as_ref().filter(|pool| *pool.metres() < exact(10)) {
            return Err(Error::input(format!("found {pool}"))
                .at("--pool")
                .accepted("a pool of 10 m or more")
                .example("--pool \"25 m\""));
        }
        let push_off = flag::<Time>("--push-off", args.push_off.as_deref())?;
        if let Some(time) = push_off.as_ref().filter(|time| *time.s() < exact(0)) {
            return Err(Error::input(format!("found {time}"))
                .at("--push-off")
                .accepted("a time of 0 s or more"));
        }
        let glide = flag("--glide", args.glide.as_deref())?;
        let pool = pool.or(own.pool.map(|said| said.value));
        let push_off = push_off.or(own.push_off.map(|said| said.value));
        let glide = glide.or(own.glide.map(|said| said.value));
        let usual = Water::default();
        Ok(Self {
            guessed: pool.is_none() || push_off.is_none() || glide.is_none(),
            water: Water {
                pool: pool.unwrap_or(usual.pool),
                push_off: push_off.unwrap_or(usual.push_off),
                glide: glide.unwrap_or(usual.glide),
            },
            name: (swimmer.map(|swimmer| swimmer.name)).or_else(|| args.swimmer.clone()),
        })
    }

    /// The water in one sentence.
    pub fn in_words(&self) -> String {
        let Water {
            pool,
            push_off,
            glide,
        } = &self.water;
        let guess = if self.guessed {
            ". What nobody said is the usual guess: --pool, --push-off, --glide or a swimmer's file say it"
        } else {
            ""
        };
        format!("Pool {pool}; each push-off counts {push_off} and {glide}{guess}.")
    }
}

/// Reads a flag's quantity.
///
/// # Errors
/// With the flag as the place.
pub fn quantity<Q: Quantity>(flag: &str, text: &str) -> Result<Q> {
    Q::parse(text).map_err(|why| {
        Error::input(why)
            .at(flag)
            .accepted(Q::ACCEPTED)
            .example(format!("{flag} \"{}\"", Q::EXAMPLE))
    })
}

/// Reads the quantity of a flag that may not be there.
///
/// # Errors
/// Those of [`quantity`].
pub fn flag<Q: Quantity>(flag: &str, text: Option<&str>) -> Result<Option<Q>> {
    text.map(|text| quantity(flag, text)).transpose()
}

/// Names lines that were left out, a few of them one by one.
pub fn say_broken(file: &str, broken: &[Broken]) {
    const SHOWN: usize = 8;
    for Broken { line, why } in broken.iter().take(SHOWN) {
        out::note(&format!("{file}:{line}: left out: {why}"));
    }
    if broken.len() > SHOWN {
        out::note(&format!(
            "{file}: left out: {} more lines",
            broken.len() - SHOWN
        ));
    }
}

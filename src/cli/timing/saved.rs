//! What `--save` puts into the swimmer's file, and what stood there before.

use std::path::Path;

use crate::analysis::timing::Timing;
use crate::analysis::{Estimate, NearerTo, Sides};
use crate::cli::shared::date::today;
use crate::cli::shared::save::save;
use crate::cli::shared::words::Page;
use crate::error::{Error, Result};
use crate::files::{read_swimmer_text, with_measured};
use crate::model::catch::CatchWish;
use crate::model::cue::PerSide;
use crate::model::swimmer::{Measured, Swimmer};
use crate::model::value::Value as _;
use crate::units::{Fix, Rate, fraction, to_f64};

/// A swimmer's file that was written.
pub struct Saved<'a> {
    file: &'a str,
    /// As it was read.
    before: &'a Swimmer,
    now: Swimmer,
}

impl<'a> Saved<'a> {
    /// Writes `[measured]` into the swimmer's own file.
    ///
    /// # Errors
    /// When the file is none of the person's, cannot be written, or takes no such value.
    pub fn write(file: &'a str, before: &'a Swimmer, timing: &Timing) -> Result<Self> {
        let measured = measured(timing)?;
        let text = with_measured(file, &read_swimmer_text(file)?, &measured)?;
        save(Path::new(file), &text)?;
        let now = Swimmer {
            measured: Some(measured),
            ..before.clone()
        };
        Ok(Self { file, before, now })
    }

    /// What was measured before and now, and whether a cue moves by it.
    pub fn words(&self, to: &mut Page) {
        to.gap();
        to.line(format_args!("Wrote [measured] into {}", self.file));
        for (when, swimmer) in [("before", self.before), ("now", &self.now)] {
            let told = swimmer.measured.as_ref().map(in_words);
            to.row(8, when, told.as_deref().unwrap_or("nothing measured"));
        }
        to.fill(self.moved());
    }

    /// Whether what is cued follows what was measured.
    fn moved(&self) -> String {
        let asked = self.now.wishes.catch_after_entry.as_ref();
        if asked.is_none_or(|said| said.value != CatchWish::Measured) {
            return "What is cued stays as it was.".into();
        }
        let asked = "The cues follow the measured catch, as the file asks (catch_after_entry = \
                     \"measured\")";
        let (before, now) = (self.before.measured_catch(), self.now.measured_catch());
        let rate = self.now.measured.as_ref().and_then(|now| now.rate.as_ref());
        match (before, now, rate) {
            (Some(before), Some(now), Some(rate)) => {
                let later_ms = to_f64(&((now - before) * rate.cycle_s())) * 1000.0;
                let which = if later_ms < 0.0 { "earlier" } else { "later" };
                format!(
                    "{asked}: from {} to {} of a cycle, {:.0} ms {which} at {}. Export the tracks again.",
                    before.explain(),
                    now.explain(),
                    later_ms.abs(),
                    rate.short()
                )
            }
            (None, Some(now), _) => format!("{asked}: {} of a cycle.", now.explain()),
            (_, None, _) => format!("{asked}, and these marks have no catch of both arms."),
            (Some(_), Some(_), None) => format!("{asked}."),
        }
    }
}

fn in_words(measured: &Measured) -> String {
    let date = measured.date.clone();
    let rate = measured.rate.as_ref().map(Rate::short);
    let catch = measured.catch_after_entry.as_ref();
    let catch = catch.map(|sides| format!("catch {}", sides.explain()));
    let pairing = measured.pairing.as_ref();
    let pairing = pairing.map(|pairing| format!("kick {pairing}"));
    let told: Vec<String> = [date, rate, catch, pairing].into_iter().flatten().collect();
    told.join("; ")
}

/// What goes into the file. Values that no file accepts are refused, not bent.
fn measured(timing: &Timing) -> Result<Measured> {
    let spm = |value: f64| {
        Rate::from_spm(fraction((value * 100.0).round() as i64, 100))
            .map_err(|why| Error::input(why).at("--save"))
    };
    let rate = timing.rate_spm;
    let interval = match rate.interval {
        // A wide interval may reach past every rate there is.
        Some((low, high)) => {
            let (slowest, fastest) = Rate::RANGE_SPM.into_inner();
            Some((spm(low.max(slowest))?, spm(high.min(fastest))?))
        }
        None => None,
    };
    let catches = both(&timing.catch_after_entry);
    let intervals = catches.as_ref().and_then(|sides| {
        Some(PerSide {
            left: ends(&sides.left)?,
            right: ends(&sides.right)?,
        })
    });
    let share = |estimate: &Estimate, most: f64| share(estimate.value.clamp(0.0, most));
    Ok(Measured {
        date: Some(today().to_string()),
        rate: Some(spm(rate.value)?),
        rate_interval: interval,
        catch_after_entry: catches.map(|sides| PerSide {
            left: share(&sides.left, 0.5),
            right: share(&sides.right, 0.5),
        }),
        catch_after_entry_interval: intervals,
        right_entry: timing
            .right_entry
            .as_ref()
            .map(|estimate| share(estimate, 1.0)),
        right_entry_interval: timing.right_entry.as_ref().and_then(ends),
        // Near neither there is none; "undecided" is what the file says where it cannot be told.
        pairing: (timing.nearest)
            .filter(|nearest| nearest.answer != NearerTo::Neither)
            .map(|nearest| nearest.word().into()),
        kick: timing.kick().map(|kick| kick.word().into()),
    })
}

fn both(sides: &Sides<Estimate>) -> Option<PerSide<Estimate>> {
    Some(PerSide {
        left: sides.left?,
        right: sides.right?,
    })
}

fn ends(estimate: &Estimate) -> Option<(Fix, Fix)> {
    let (low, high) = estimate.interval?;
    Some((share(low.clamp(0.0, 1.0)), share(high.clamp(0.0, 1.0))))
}

fn share(value: f64) -> Fix {
    fraction((value * 1e4).round() as i64, 10_000)
}

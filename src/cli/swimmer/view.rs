//! A swimmer's values, as JSON and in words.

use serde::Serialize;

use crate::cli::shared::report::{Micro, Report, SidesShown};
use crate::cli::shared::words::Page;
use crate::model::catch::CatchWish;
use crate::model::cue::PerSide;
use crate::model::swimmer::{Measured, Swimmer};
use crate::model::value::Value;
use crate::model::words::RATE_CAUTION;
use crate::units::{Fix, to_f64};

/// What a swimmer's file says.
#[derive(Serialize)]
pub struct SwimmerReport<'a> {
    name: &'a str,
    rate_spm: Option<Micro>,
    pool_m: Option<Micro>,
    pace: Option<String>,
    stroke_length_m: Option<Micro>,
    catch_after_entry_cycle: Option<SidesShown>,
    pairing: Option<&'static str>,
    kick: Option<&'static str>,
    measured: Option<MeasuredShown<'a>>,
    #[serde(skip)]
    swimmer: &'a Swimmer,
}

#[derive(Serialize)]
struct MeasuredShown<'a> {
    date: &'a Option<String>,
    rate_spm: Option<Micro>,
    catch_after_entry_cycle: Option<SidesShown>,
    right_entry_cycle: Option<Micro>,
    pairing: &'a Option<String>,
    kick: &'a Option<String>,
}

impl<'a> SwimmerReport<'a> {
    /// All of it.
    pub fn new(swimmer: &'a Swimmer) -> Self {
        let own = &swimmer.wishes;
        let sides = cued_catch(swimmer);
        let measured = swimmer.measured.as_ref();
        Self {
            name: &swimmer.name,
            rate_spm: swimmer.rate.as_ref().map(|rate| rate.spm().into()),
            pool_m: (own.pool.as_ref()).map(|said| said.value.metres().into()),
            pace: own.pace.as_ref().map(|said| said.value.to_string()),
            stroke_length_m: (own.stroke_length.as_ref()).map(|said| said.value.metres().into()),
            catch_after_entry_cycle: sides.map(|sides| (&sides).into()),
            pairing: own.pairing.as_ref().map(|said| said.value.word()),
            kick: own.kick.as_ref().map(|said| said.value.word()),
            measured: measured.map(|measured| MeasuredShown {
                date: &measured.date,
                rate_spm: measured.rate.as_ref().map(|rate| rate.spm().into()),
                catch_after_entry_cycle: measured.catch_after_entry.as_ref().map(SidesShown::from),
                right_entry_cycle: measured.right_entry.as_ref().map(Micro::from),
                pairing: &measured.pairing,
                kick: &measured.kick,
            }),
            swimmer,
        }
    }

    /// The catch as it is cued.
    fn catch(&self) -> String {
        match (
            &self.swimmer.wishes.catch_after_entry,
            cued_catch(self.swimmer),
        ) {
            (Some(said), Some(sides)) => {
                let from = match said.value {
                    CatchWish::Said(_) => "",
                    CatchWish::Measured => " (mean of the measured two)",
                };
                format!("{} of a cycle after entry{from}", sides.explain())
            }
            (Some(_), None) => "measured is asked for, and nothing is measured".into(),
            (None, _) => "0.3 of a cycle after entry (a guess, until said)".into(),
        }
    }
}

/// The catch that the swimmer's file asks for, where it does and can tell it.
fn cued_catch(swimmer: &Swimmer) -> Option<PerSide<Fix>> {
    match &swimmer.wishes.catch_after_entry.as_ref()?.value {
        CatchWish::Said(sides) => Some(sides.clone()),
        CatchWish::Measured => swimmer.measured_catch().map(|mean| PerSide {
            left: mean,
            right: mean,
        }),
    }
}

/// As wide as the names of the rows.
const NAMES: usize = 22;

impl Report for SwimmerReport<'_> {
    fn words(&self, to: &mut Page) {
        let own = &self.swimmer.wishes;
        to.line(self.name);
        to.gap();
        let mut row = |name: &str, told: Option<String>, without: &str| {
            to.row(NAMES, name, told.unwrap_or_else(|| without.into()));
        };
        let rate = self.swimmer.rate.as_ref();
        row("own rate", rate.map(|rate| rate.both_ways()), "not said");
        let pool = own.pool.as_ref();
        row("pool", pool.map(|said| said.value.to_string()), "not said");
        let length = own.stroke_length.as_ref();
        let length = length.map(|said| said.value.both_ways());
        row(
            "pace or stroke length",
            self.pace.clone().or(length),
            "not said",
        );
        let pairing = own.pairing.as_ref().map(|said| said.value.to_string());
        row("pairing", pairing, "not said (same-side is cued)");
        let kick = own.kick.as_ref().map(|said| said.value.in_words());
        row("kick", kick, "not said (a two-beat kick is cued)");
        row("catch, cued", Some(self.catch()), "");
        if let Some(measured) = &self.swimmer.measured {
            rows_measured(measured, to);
        }
        to.gap();
        to.fill(RATE_CAUTION);
    }
}

fn rows_measured(measured: &Measured, to: &mut Page) {
    let mut row = |name: &str, told: String| to.row(NAMES, name, told);
    let date = measured.date.as_deref().unwrap_or("without a date");
    row("measured", date.into());
    if let Some(rate) = &measured.rate {
        let between = measured.rate_interval.as_ref();
        let between = between.map(|(low, high)| format!(", {} to {}", low.short(), high.short()));
        row("  rate", rate.both_ways() + &between.unwrap_or_default());
    }
    if let Some(sides) = &measured.catch_after_entry {
        row(
            "  catch after entry",
            format!("{} of a cycle", sides.explain()),
        );
    }
    if let Some(value) = &measured.right_entry {
        row(
            "  right entry",
            format!("{} of a cycle after the left", to_f64(value)),
        );
    }
    if let Some(pairing) = &measured.pairing {
        row("  kick is nearer to", pairing.clone());
    }
}

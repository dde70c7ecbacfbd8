//! What came of the cues: cycles with and without sound, whether the kick was kept, in words and
//! as JSON.

use serde::Serialize;

use crate::analysis::behind::Behind;
use crate::analysis::came::{Came, HeardCue, KeptKicks, Offset};
use crate::analysis::marked_twice::Habits;
use crate::analysis::{Estimate, Pass, kick_period};
use crate::cli::shared::film::{FilmedCue, PlacedFilm};
use crate::cli::shared::report::{Estimated, Known, Micro};
use crate::cli::shared::words::{Page, count};
use crate::model::circle::forward;
use crate::model::cue::{CueKind, PerSide, Side};
use crate::model::kick::{Kick, pairings_apart};
use crate::model::record::StrokeMoment;
use crate::model::resolve::Set;
use crate::units::{Fix, to_f64};

/// Cues of arms and feet, when the swimmer hears them.
pub struct CuesHeard {
    pub arms: Vec<HeardCue>,
    pub feet: Vec<HeardCue>,
    /// How much earlier (below 0) and later than told all of them may have been, s; zeros where an
    /// ear heard one, of whose error nothing is known.
    within_s: (f64, f64),
}

impl CuesHeard {
    /// One arm's cue, heard at a time in s, and all that follow from it through a pass at `cycle_s` a
    /// cycle. Which of them a fade leaves silent is not known.
    pub fn from_one(set: &Set, cycle_s: f64, heard: (f64, Side), pass: &Pass) -> Self {
        let (heard_s, heard_arm) = heard;
        let of_hand = |hand| pass.of(StrokeMoment::Entry, hand).iter().copied();
        let (first_s, last_s) = (Side::BOTH.into_iter().flat_map(of_hand))
            .fold((f64::INFINITY, f64::NEG_INFINITY), |(first, last), time| {
                (first.min(time), last.max(time))
            });
        let cycle = |time_s: f64| ((time_s - heard_s) / cycle_s).floor() as i64;
        let cycles = cycle(first_s) - 2..=cycle(last_s) + 2;
        let arms = set.stroke().moments(set.arm_moment());
        // Both kinds may sound early by a lead of their own.
        let early_s = |kind| to_f64(set.lead.of(kind).s());
        let all = |kind: CueKind, phases: &PerSide<Fix>, sides: &[Side]| -> Vec<HeardCue> {
            let sides = sides.iter().filter(|_| set.cues.has(kind));
            let of_side = sides.flat_map(|side| {
                let phase = to_f64(&forward(arms.of(heard_arm), phases.of(*side)));
                let after_s = phase * cycle_s - early_s(kind) + early_s(CueKind::Arm);
                cycles.clone().map(move |number| HeardCue {
                    at_s: heard_s + number as f64 * cycle_s + after_s,
                    side: *side,
                    sounds: set.fade.is_none().then_some(true),
                })
            });
            of_side.collect()
        };
        let swimming: Vec<Side> = (Side::BOTH.into_iter())
            .filter(|side| set.arms.swims(*side))
            .collect();
        Self {
            arms: all(CueKind::Arm, &arms, &swimming),
            feet: all(
                CueKind::Kick,
                &set.pairing.paired_beats(&set.stroke()),
                &Side::BOTH,
            ),
            within_s: (0.0, 0.0),
        }
    }

    /// Those of a film that lies in its track, which are `cues`; `after_s` is how much later than the
    /// camera the swimmer hears them. Where the places that are left differ in what sounds, nobody
    /// knows it.
    pub fn in_film(placed: &PlacedFilm, cues: &[FilmedCue], after_s: f64) -> Self {
        let known = placed.agrees_on_silence();
        let of_kind = |kind: CueKind| {
            (cues.iter())
                .filter(|cue| cue.event.kind == kind)
                .filter_map(|cue| {
                    Some(HeardCue {
                        at_s: cue.film_s + after_s,
                        side: cue.event.side?,
                        sounds: known.then_some(cue.sounds),
                    })
                })
                .collect()
        };
        Self {
            arms: of_kind(CueKind::Arm),
            feet: of_kind(CueKind::Kick),
            within_s: (placed.sync.interval_ms)
                .map_or((0.0, 0.0), |(low, high)| (low / 1000.0, high / 1000.0)),
        }
    }
}

/// What came of the cues of a set.
pub struct CuesCame {
    pub hands: Option<Came>,
    pub feet: Option<Came>,
    pub kept: Option<KeptKicks>,
    /// Whether the set has silences of which it is not known where in the film they are.
    pub silences_unknown: bool,
}

impl CuesCame {
    /// Each mark of the passes beside its cue; `cycle_s` is how long a cycle of the cues takes.
    pub fn of(
        heard: &CuesHeard,
        set: &Set,
        cycle_s: f64,
        passes: &[&Pass],
        habits: &Habits,
    ) -> Self {
        let came = |cues: &[HeardCue], moment: StrokeMoment, period: f64| {
            let of_side = |side: Side| {
                let times = passes.iter().flat_map(move |pass| pass.of(moment, side));
                times.map(move |time| (*time, side))
            };
            let marks: Vec<(f64, Side)> = Side::BOTH.into_iter().flat_map(of_side).collect();
            let came = Came::of(cues, &marks, cycle_s, period);
            came.map(|came| {
                came.with_habits(habits, moment)
                    .with_cues_within(heard.within_s)
            })
        };
        let hands = came(&heard.arms, set.arm_moment().into(), 1.0);
        let feet = came(
            &heard.feet,
            StrokeMoment::Kick,
            kick_period(set.kick.beats_a_cycle()),
        );
        let apart = pairings_apart(&set.stroke(), set.kick).map(|apart| to_f64(&apart).abs());
        let kept = (feet.as_ref().zip(apart))
            .and_then(|(feet, apart)| feet.kept(apart, set.kick == Kick::SixBeat));
        let unknown = |came: &Came| came.each.iter().any(|one| one.sounds.is_none());
        Self {
            silences_unknown: feet.iter().chain(&hands).any(unknown),
            hands,
            feet,
            kept,
        }
    }

    /// How far hands and feet come behind the sound; nothing where no hand is marked beside a cue.
    pub fn behind(&self) -> Option<Behind> {
        let hands = self.hands.as_ref()?;
        Some(Behind::of(hands, self.feet.as_ref()))
    }

    /// In words.
    pub fn words(&self, to: &mut Page) {
        for (name, came) in [("Hands", &self.hands), ("Feet", &self.feet)] {
            let Some(came) = came else { continue };
            if !came.follows {
                to.fill(format!("{name} do not stay with their cues."));
                continue;
            }
            let with = came
                .offset(true)
                .map(|offset| in_words("with sound", "cycle", &offset));
            let without = came.offset(false);
            let without = without.map(|offset| in_words("in silence", "silent cycle", &offset));
            for told in [with, without].into_iter().flatten() {
                to.fill(format!("{name} {told}."));
            }
        }
        if self.silences_unknown {
            to.fill(
                "Which of these cycles sounded is not known: a film found in its track (--film, with \
                 --swim) tells.",
            );
        }
        if let Some(kept) = &self.kept {
            to.fill(kept_in_words(kept));
        }
    }
}

fn ms(s: f64) -> String {
    format!("{:.0} ms", s.abs() * 1000.0)
}

/// How far behind the cue, each side by itself, and how far single cycles scatter.
pub fn lag_in_words(offset: &Offset) -> String {
    let which = |s: f64| if s < 0.0 { "before" } else { "behind" };
    let lag = offset.lag_s;
    let ends = lag
        .interval
        .map(|(low, high)| format!(" ({:+.0} to {:+.0})", low * 1000.0, high * 1000.0));
    let sides = match (offset.side_s.left, offset.side_s.right) {
        (Some(left), Some(right)) => format!(
            ", left {:+.0} ms, right {:+.0} ms",
            left.value * 1000.0,
            right.value * 1000.0
        ),
        _ => String::new(),
    };
    let scatter = offset
        .scatter_s
        .map(|scatter| format!(", scatter {}", ms(scatter)));
    format!(
        "{} {} the cue{}{sides}{}",
        ms(lag.value),
        which(lag.value),
        ends.unwrap_or_default(),
        scatter.unwrap_or_default()
    )
}

fn in_words(where_: &str, cycle: &str, offset: &Offset) -> String {
    let drift = offset.drift_s.map(|drift| match drift.interval {
        Some((low, high)) if low > DRIFT_TOLD_S || high < -DRIFT_TOLD_S => {
            let which = if drift.value < 0.0 {
                "earlier"
            } else {
                "later"
            };
            format!(
                "; {:.1} ms {which} with each {cycle}",
                drift.value.abs() * 1000.0
            )
        }
        _ => "; steady, no drift to be told".into(),
    });
    format!(
        "{where_}: {}{} (n {})",
        lag_in_words(offset),
        drift.unwrap_or_default(),
        offset.lag_s.n
    )
}

/// A drift of less a cycle would be told as 0.0 ms, s.
const DRIFT_TOLD_S: f64 = 0.000_05;

/// Whether the kick was kept, and by which rule.
pub fn kept_in_words(kept: &KeptKicks) -> String {
    let lag = |what: &str| format!(", the steady lag of {:+.0} ms {what}", kept.lag_s * 1000.0);
    let steady = if kept.lag_s.abs() < 0.0005 {
        String::new()
    } else if kept.steady_s == kept.lag_s {
        lag("taken out")
    } else {
        lag("left in, as more than half the way to the other pairing")
    };
    format!(
        "Kept: {}. {} of {} within {} of the cue{steady}.",
        kept.kept.word(),
        kept.kicks,
        count(kept.seen, "kick"),
        ms(kept.window_s)
    )
}

/// What came of the cues, as JSON.
#[derive(Serialize)]
pub struct CameShown {
    #[serde(skip_serializing_if = "Option::is_none")]
    hands: Option<LimbShown>,
    #[serde(skip_serializing_if = "Option::is_none")]
    feet: Option<LimbShown>,
    #[serde(skip_serializing_if = "Option::is_none")]
    kept: Option<KeptShown>,
}

#[derive(Serialize)]
struct LimbShown {
    follows: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    with_sound: Option<OffsetShown>,
    #[serde(skip_serializing_if = "Option::is_none")]
    without_sound: Option<OffsetShown>,
    each: Vec<BesideShown>,
}

/// Cycles with sound, or in the silence, as JSON.
#[derive(Serialize)]
pub struct OffsetShown {
    lag_ms: Estimated,
    #[serde(skip_serializing_if = "Known::is_empty")]
    side_ms: Known<Estimated>,
    #[serde(skip_serializing_if = "Option::is_none")]
    scatter_ms: Option<Micro>,
    #[serde(skip_serializing_if = "Option::is_none")]
    drift_ms_per_cycle: Option<Estimated>,
}

#[derive(Serialize)]
struct BesideShown {
    cue_s: Micro,
    side: &'static str,
    lag_ms: Micro,
    sounds: Option<bool>,
}

#[derive(Serialize)]
struct KeptShown {
    kept: &'static str,
    kicks: usize,
    seen: usize,
    window_ms: Micro,
    steady_lag_ms: Micro,
}

impl CameShown {
    /// All of it.
    pub fn new(came: &CuesCame) -> Self {
        Self {
            hands: came.hands.as_ref().map(LimbShown::new),
            feet: came.feet.as_ref().map(LimbShown::new),
            kept: came.kept.map(|kept| KeptShown {
                kept: kept.kept.word(),
                kicks: kept.kicks,
                seen: kept.seen,
                window_ms: (kept.window_s * 1000.0).into(),
                steady_lag_ms: (kept.steady_s * 1000.0).into(),
            }),
        }
    }
}

impl LimbShown {
    fn new(came: &Came) -> Self {
        let shown = |sounds: bool| came.offset(sounds).map(OffsetShown::new);
        Self {
            follows: came.follows,
            with_sound: shown(true),
            without_sound: shown(false),
            each: (came.each.iter())
                .map(|one| BesideShown {
                    cue_s: one.cue_s.into(),
                    side: one.side.word(),
                    lag_ms: (one.lag_s * 1000.0).into(),
                    sounds: one.sounds,
                })
                .collect(),
        }
    }
}

impl OffsetShown {
    /// All of it.
    pub fn new(offset: Offset) -> Self {
        let ms = |s: Estimate| Estimated::rounded(s.map(|s| s * 1000.0));
        Self {
            side_ms: Known::by_side(&offset.side_s, |s| ms(*s)),
            lag_ms: ms(offset.lag_s),
            scatter_ms: offset.scatter_s.map(|scatter| (scatter * 1000.0).into()),
            drift_ms_per_cycle: offset.drift_s.map(ms),
        }
    }
}

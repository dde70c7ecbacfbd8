//! What came of the cues: each hand and foot beside its cue, with sound and without, and whether
//! the kick was kept.

use super::circular::Circular;
use super::marked_twice::Habits;
use super::stats::{line, median};
use super::student::Mean;
use super::{Estimate, Sides, for_sides, wrap_half};
use crate::model::cue::Side;
use crate::model::log::Kept;
use crate::model::record::StrokeMoment;

/// A cue, when the swimmer hears it or, in a silence, would.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeardCue {
    /// On the film's clock, s.
    pub at_s: f64,
    /// Whose.
    pub side: Side,
    /// Whether it sounds, where that is known.
    pub sounds: Option<bool>,
}

/// A hand or a foot beside its cue.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Beside {
    /// The cue's time, s.
    pub cue_s: f64,
    /// By how much it came later, s; below 0 before its cue.
    pub lag_s: f64,
    /// Whose.
    pub side: Side,
    /// Whether the cue sounded, where that is known.
    pub sounds: Option<bool>,
    /// Cycles since a cue of this side sounded in the film: 0 where this one did.
    pub into_silence: Option<f64>,
}

/// Cycles of one kind, with sound or without.
#[derive(Debug, Clone, PartialEq)]
pub struct Offset {
    /// How far behind the cue, s.
    pub lag_s: Estimate,
    /// The same of each side.
    pub side_s: Sides<Estimate>,
    /// How far single cycles scatter about that, s (standard deviation); none of fewer than three.
    pub scatter_s: Option<f64>,
    /// How much later it comes from cycle to cycle, s; none of fewer than four.
    pub drift_s: Option<Estimate>,
}

/// What came of the cues of both hands, or of both feet.
#[derive(Debug, Clone, PartialEq)]
pub struct Came {
    /// One cycle of the cues, s.
    pub cycle_s: f64,
    /// In order of time.
    pub each: Vec<Beside>,
    /// Whether they stay with the cues at all (Rayleigh's test, P < 0.05).
    pub follows: bool,
    /// Squared error of all marks together by the marker's habits, s².
    late_s2: f64,
    /// How much earlier (below 0) and later the cues may have been than taken, s.
    within_s: (f64, f64),
}

impl Came {
    /// Every mark beside the nearest cue of its side. `period` is what lies between two marks that
    /// one cue could mean, in cycles: 1, and a third for a six-beat foot. Nothing without marks.
    pub fn of(cues: &[HeardCue], marks: &[(f64, Side)], cycle_s: f64, period: f64) -> Option<Self> {
        let turn_s = period * cycle_s;
        let mut each: Vec<Beside> = (marks.iter())
            .filter_map(|(time_s, side)| beside(cues, *time_s, *side, cycle_s))
            .filter(|beside| beside.lag_s.abs() <= 0.5 * turn_s)
            .collect();
        each.sort_by(|a, b| a.cue_s.total_cmp(&b.cue_s));
        let phases: Vec<f64> = each.iter().map(|beside| beside.lag_s / turn_s).collect();
        let circular = Circular::of(&phases)?;
        // Lags at both ends of the turn are near one another: they are told from their middle.
        let middle = wrap_half(circular.mean);
        for (beside, phase) in each.iter_mut().zip(phases) {
            beside.lag_s = (middle + wrap_half(phase - middle)) * turn_s;
        }
        Some(Self {
            cycle_s,
            follows: circular.rayleigh_p() < 0.05,
            late_s2: 0.0,
            within_s: (0.0, 0.0),
            each,
        })
    }

    /// The same with the marker's habits: marks of a kind that always come late make all lags late.
    #[must_use]
    pub fn with_habits(mut self, habits: &Habits, kind: StrokeMoment) -> Self {
        self.late_s2 = habits.late_s2(kind);
        self
    }

    /// The same where all cues may have been earlier (below 0) or later than taken, s.
    #[must_use]
    pub fn with_cues_within(mut self, within_s: (f64, f64)) -> Self {
        self.within_s = within_s;
        self
    }

    /// How far one side, or both, come behind their cues, s, in all cycles that are not known to be
    /// silent.
    pub(super) fn behind(&self, side: Option<Side>) -> Option<Mean> {
        let is_one = |one: &Beside| side.is_none_or(|side| one.side == side);
        self.mean(|one| is_one(one) && one.sounds != Some(false))
    }

    /// The mean lag of some cycles, s.
    fn mean(&self, of: impl Fn(&Beside) -> bool) -> Option<Mean> {
        let chosen = self.each.iter().filter(|one| of(one));
        Mean::of(&chosen.map(|one| one.lag_s).collect::<Vec<_>>(), 0.0)
    }

    /// A mean lag with the interval that the marker's habits and the cues' own moments leave it.
    pub(super) fn told(&self, lag_s: Mean) -> Estimate {
        let lag_s = lag_s.with(self.late_s2).estimate();
        lag_s.behind_within(self.within_s)
    }

    /// The mean lag, s, where they keep nearly half a cycle from their cues: no lag that a lead or a
    /// swimmer makes, but the cues of the other side.
    pub(super) fn half_a_cycle_off(&self) -> Option<f64> {
        let lag = self.mean(|_| true)?;
        let keeps = lag.variance.sqrt() < KEEPS * self.cycle_s;
        (keeps && lag.value.abs() > NEARLY_HALF * self.cycle_s).then_some(lag.value)
    }

    /// The cycles with sound (true), or those without.
    pub fn offset(&self, sounds: bool) -> Option<Offset> {
        let is_one = |one: &Beside| one.sounds == Some(sounds);
        let mean = self.mean(is_one)?;
        // A drift is one of the silence where there is none, and of the film where there is sound.
        let points: Vec<(f64, f64)> = (self.each.iter())
            .filter(|one| is_one(one))
            .map(|one| match (sounds, one.into_silence) {
                (false, Some(cycles)) => (cycles, one.lag_s),
                _ => (one.cue_s / self.cycle_s, one.lag_s),
            })
            .collect();
        let several = |n: usize| mean.n >= n;
        let of_side = |side: Side| self.mean(|one| is_one(one) && one.side == side);
        Some(Offset {
            side_s: for_sides(|side| of_side(side).map(|mean| self.told(mean))),
            lag_s: self.told(mean),
            scatter_s: several(3).then(|| mean.variance.sqrt()),
            drift_s: line(&points).filter(|_| several(4)).map(|fit| fit.slope),
        })
    }

    /// Whether the kick was kept. `apart` is how far the two pairings lie from one another, in
    /// cycles. Nothing of fewer than six kicks. The rule is common practice and has no source:
    /// docs/rules.md tells it.
    pub fn kept(&self, apart: f64, six_beat: bool) -> Option<KeptKicks> {
        let lags: Vec<f64> = self.each.iter().map(|one| one.lag_s).collect();
        if lags.len() < FEWEST {
            return None;
        }
        let window = if six_beat { 0.04 } else { 0.08 };
        let window_s = f64::min(window, 0.4 * apart) * self.cycle_s;
        let most_s = 0.5 * apart * self.cycle_s;
        let lag_s = median(&lags)?;
        let steady_s = if lag_s.abs() <= most_s { lag_s } else { 0.0 };
        let within = |lag: &&f64| (**lag - steady_s).abs() <= window_s;
        let kicks = lags.iter().filter(within).count();
        let share = kicks as f64 / lags.len() as f64;
        Some(KeptKicks {
            kept: match share {
                0.8.. => Kept::Yes,
                0.5.. => Kept::Part,
                _ => Kept::No,
            },
            kicks,
            seen: lags.len(),
            window_s,
            lag_s,
            steady_s,
        })
    }
}

/// From this share of a cycle on a lag is nearly half of it.
const NEARLY_HALF: f64 = 0.3;
/// What scatters by a larger share of a cycle keeps no place.
const KEEPS: f64 = 0.1;
/// The fewest kicks of which it is said whether they were kept.
const FEWEST: usize = 6;

/// Whether a kick was kept, and by what.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct KeptKicks {
    /// As the log has it.
    pub kept: Kept,
    /// Kicks within the window about their cue, once the steady lag is taken out.
    pub kicks: usize,
    /// Kicks seen beside a cue.
    pub seen: usize,
    /// Half the width of the window, s.
    pub window_s: f64,
    /// The steady lag, s.
    pub lag_s: f64,
    /// What of it was taken out, s: all, or nothing where it is more than half the way to the other
    /// pairing.
    pub steady_s: f64,
}

/// A mark beside the nearest cue of its side.
fn beside(cues: &[HeardCue], time_s: f64, side: Side, cycle_s: f64) -> Option<Beside> {
    let own = || cues.iter().filter(|cue| cue.side == side);
    let off = |cue: &&HeardCue| (cue.at_s - time_s).abs();
    let cue = own().min_by(|a, b| off(a).total_cmp(&off(b)))?;
    let sounded = own().filter(|one| one.at_s <= cue.at_s && one.sounds == Some(true));
    let last_s = sounded.map(|one| one.at_s).max_by(f64::total_cmp);
    Some(Beside {
        cue_s: cue.at_s,
        lag_s: time_s - cue.at_s,
        side,
        sounds: cue.sounds,
        into_silence: last_s.map(|last_s| (cue.at_s - last_s) / cycle_s),
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use fastrand::Rng;

    const CYCLE_S: f64 = 2.2;

    /// Cues of both feet, half a cycle apart, of which `on` sound and `off` are silent by turns.
    fn cues(cycles: usize, on: usize, off: usize) -> Vec<HeardCue> {
        let both = |cycle: usize| {
            Side::BOTH.map(|side| HeardCue {
                at_s: (cycle as f64 + 0.5 * side as usize as f64) * CYCLE_S,
                side,
                sounds: Some(cycle % (on + off) < on),
            })
        };
        (0..cycles).flat_map(both).collect()
    }

    fn kicks(cues: &[HeardCue], lag_s: impl FnMut(&HeardCue) -> f64) -> Vec<(f64, Side)> {
        let mut lag_s = lag_s;
        let kick = |cue: &HeardCue| (cue.at_s + lag_s(cue), cue.side);
        cues.iter().map(kick).collect()
    }

    fn normal(rng: &mut Rng) -> f64 {
        (0..12).map(|_| rng.f64()).sum::<f64>() - 6.0
    }

    #[test]
    fn sound_and_silence_are_told_apart_with_the_drift_in_the_silence() {
        let cues = cues(24, 4, 4);
        // 60 ms behind the sound; in the silence 10 ms more with each cycle.
        let silent = |cue: &HeardCue| {
            let cycle = (cue.at_s / CYCLE_S + 0.01).floor() as i32 % 8;
            f64::from((cycle - 3).max(0))
        };
        let kicks = kicks(&cues, |cue| 0.06 + 0.01 * silent(cue));
        let came = Came::of(&cues, &kicks, CYCLE_S, 1.0).expect("kicks");
        let (with, without) = (came.offset(true), came.offset(false));
        let (with, without) = (with.expect("sound"), without.expect("silence"));
        assert!((with.lag_s.value - 0.06).abs() < 1e-9 && with.lag_s.n == 24);
        let left = with.side_s.left.expect("left kicks");
        assert!((left.value - 0.06).abs() < 1e-9 && left.n == 12);
        // The mean of 70, 80, 90 and 100 ms.
        assert!((without.lag_s.value - 0.085).abs() < 1e-9 && without.lag_s.n == 24);
        let drift = without.drift_s.expect("several cycles").value;
        assert!((drift - 0.01).abs() < 1e-9, "{drift}");
        assert!(came.follows);
    }

    /// Left marked as right: every foot beside the cue of the other side.
    #[test]
    fn who_keeps_half_a_cycle_from_the_cues_is_no_swimmer_with_a_lag() {
        let cues = cues(10, 1, 0);
        let off = |lag: f64| {
            let kicks = kicks(&cues, |_| lag * CYCLE_S);
            let came = Came::of(&cues, &kicks, CYCLE_S, 1.0).expect("kicks");
            came.half_a_cycle_off()
        };
        for lag in [0.45, -0.45, 0.35] {
            assert!(
                off(lag).is_some_and(|s| (s - lag * CYCLE_S).abs() < 1e-9),
                "{lag}"
            );
        }
        assert_eq!([0.2, 0.0, -0.25].map(off), [None; 3]);
        // One that wanders through half a cycle keeps with nothing.
        let mut lag = 0.2;
        let wandering = kicks(&cues, |_| {
            lag += 0.03;
            lag * CYCLE_S
        });
        let came = Came::of(&cues, &wandering, CYCLE_S, 1.0).expect("kicks");
        assert_eq!(came.half_a_cycle_off(), None);
    }

    #[test]
    fn lags_on_both_ends_of_the_turn_are_told_from_their_middle() {
        let cues = cues(12, 1, 0);
        let mut late = false;
        let kicks = kicks(&cues, |_| {
            late = !late;
            if late { 0.49 * CYCLE_S } else { 0.51 * CYCLE_S }
        });
        let came = Came::of(&cues, &kicks, CYCLE_S, 1.0).expect("kicks");
        let scatter = came.offset(true).and_then(|offset| offset.scatter_s);
        assert!(scatter.is_some_and(|scatter| scatter < 0.03), "{scatter:?}");
    }

    /// How the log has a simulated swimmer's kick, of whom so many kicks are on the cue, behind a lag
    /// of their own, and all others anywhere.
    fn told(on_the_cue: f64, six_beat: bool, rng: &mut Rng) -> Kept {
        let (apart, period) = if six_beat {
            (0.15, 1.0 / 3.0)
        } else {
            (0.2, 1.0)
        };
        let cues = cues(16, 8, 8);
        let window_s = f64::min(if six_beat { 0.04 } else { 0.08 }, 0.4 * apart) * CYCLE_S;
        let steady_s = (rng.f64() - 0.5) * apart * CYCLE_S;
        let kicks = kicks(&cues, |_| {
            if rng.f64() < on_the_cue {
                steady_s + 0.4 * window_s * normal(rng)
            } else {
                (rng.f64() - 0.5) * period * CYCLE_S
            }
        });
        let came = Came::of(&cues, &kicks, CYCLE_S, period).expect("kicks");
        came.kept(apart, six_beat).expect("enough kicks").kept
    }

    /// Swimmers in the middle of each class: every kick on the cue, 65 % of them in the window, none on
    /// the cue. Those nearer to a border are told less often: see the next test.
    #[test]
    fn who_keeps_the_kick_who_in_part_and_who_does_not_is_told_of_nearly_all() {
        let mut rng = Rng::with_seed(17);
        // Kicks anywhere fall into the window too, 0.16 of them, of six beats 0.24: so many on the cue
        // that 65 % lie in the window are the middle of `part`.
        for (six_beat, anywhere) in [(false, 0.16), (true, 0.24)] {
            let middle = (0.65 - anywhere) / (1.0 - anywhere);
            for (on_the_cue, due) in [(1.0, Kept::Yes), (middle, Kept::Part), (0.0, Kept::No)] {
                let rightly = (0..1000)
                    .filter(|_| told(on_the_cue, six_beat, &mut rng) == due)
                    .count();
                assert!(
                    rightly >= 850,
                    "{due:?}, six-beat {six_beat}: {rightly} of 1000"
                );
            }
        }
    }

    /// Swimmers anywhere in each class, of whose kicks a share lies in the window, evenly spread from
    /// one border to the other. 32 kicks show a share to 0.08: half of `part` lies nearer to a border
    /// than that, and no rule can tell it. `due` is how often counting tells the class, the mean of
    /// scipy.stats.binom over the shares (25 of 32 is under 0.8, 16 is 0.5): 0.79 of `part`, no more.
    #[test]
    fn near_a_border_the_kept_kick_is_told_as_often_as_counting_can() {
        const SWIMMERS: u32 = 2000;
        let mut rng = Rng::with_seed(18);
        let cues = cues(16, 8, 8);
        for (kept, from, to, due) in [
            (Kept::Yes, 0.8, 1.0, 0.890),
            (Kept::Part, 0.5, 0.8, 0.795),
            (Kept::No, 0.2, 0.5, 0.858),
        ] {
            let mut rightly = 0;
            for _ in 0..SWIMMERS {
                let share = from + (to - from) * rng.f64();
                let steady_s = 0.1 * (rng.f64() - 0.5) * CYCLE_S;
                // In the window of 0.08 of a cycle with room for an error of the lag, or well out of it.
                let kicks = kicks(&cues, |_| {
                    let off = if rng.f64() < share {
                        0.08 * (rng.f64() - 0.5)
                    } else {
                        (0.12 + 0.3 * rng.f64()) * if rng.bool() { 1.0 } else { -1.0 }
                    };
                    steady_s + off * CYCLE_S
                });
                let came = Came::of(&cues, &kicks, CYCLE_S, 1.0).expect("kicks");
                let found = came.kept(0.2, false).expect("enough kicks").kept;
                rightly += u32::from(found == kept);
            }
            let found = f64::from(rightly) / f64::from(SWIMMERS);
            // Three standard errors.
            assert!(
                (found - due).abs() < 0.03,
                "{kept:?}: {found}, counted {due}"
            );
        }
    }

    #[test]
    fn a_lag_beyond_half_the_way_to_the_other_pairing_is_not_kept() {
        let cues = cues(10, 1, 0);
        // The pairings lie 0.2 of a cycle apart: nearer to the other one nothing is kept.
        let kept = |lag: f64| {
            let kicks = kicks(&cues, |_| lag * CYCLE_S);
            let came = Came::of(&cues, &kicks, CYCLE_S, 1.0).expect("kicks");
            came.kept(0.2, false).expect("enough kicks")
        };
        for lag in [0.11, 0.17, 0.2, -0.11, -0.17] {
            let kept = kept(lag);
            assert_eq!(
                (kept.kept, kept.kicks, kept.seen),
                (Kept::No, 0, 20),
                "{lag}"
            );
            assert!((kept.lag_s - lag * CYCLE_S).abs() < 1e-9 && kept.steady_s == 0.0);
        }
        for lag in [0.09, -0.09] {
            let kept = kept(lag);
            assert_eq!(
                (kept.kept, kept.kicks, kept.seen),
                (Kept::Yes, 20, 20),
                "{lag}"
            );
            assert!((kept.steady_s - lag * CYCLE_S).abs() < 1e-9);
        }
        let kicks = kicks(&cues, |_| 0.0);
        let few = Came::of(&cues, &kicks[..5], CYCLE_S, 1.0).expect("kicks");
        assert_eq!(few.kept(0.2, false), None);
    }
}

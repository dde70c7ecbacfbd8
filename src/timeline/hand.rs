//! What a hand has changed in a repeat, and what of before still sounds.

use super::catch_up::Aim;
use super::layer::Layer;
use super::tempo::SteadyRate;
use crate::units::Fix;

/// Cycles after a change of pairing in which a beat may come too close to one of before.
const SETTLING: Fix = Fix::ONE;

/// A moment in a repeat: its stretch, and the phase there as whole cycles after another phase. The
/// sum is made only where it is needed: every beat leaves its moment behind.
#[derive(Debug, Clone, Copy)]
pub(super) struct StretchPhase {
    pub stretch: usize,
    pub cycles: u64,
    pub after: Fix,
}

impl StretchPhase {
    fn phase(&self) -> Fix {
        self.after + Fix::from_integer(self.cycles.into())
    }
}

/// A rate that was set before a repeat had begun, and which repeat that is.
#[derive(Debug, Clone, Copy)]
pub(super) struct RateAhead {
    pub set: usize,
    pub number: u32,
    pub rate: SteadyRate,
}

/// What a hand has changed.
#[derive(Debug, Clone, Default)]
pub(super) struct Hand {
    /// In this set: the rate, the pairing or kick.
    pub touched: (bool, bool),
    /// The rate that was set in this set, for its repeats that are not for comparison.
    pub rate: Option<SteadyRate>,
    /// The rate that was set for a repeat to come, where another is swum before it.
    pub ahead: Option<RateAhead>,
    /// The cues that sound up to the entry at which the others begin.
    pub leaving: Option<Layer>,
    /// Each leg's last beat, left and right.
    last_beat: [Option<StretchPhase>; 2],
    /// The stretch and the phase of the last switch, and the smallest gap of before for each leg.
    pub switched: Option<(usize, Fix, [Fix; 2])>,
    /// What the cues follow, and the phase at which the tempo is looked at again.
    pub aim: Option<(Aim, Fix)>,
    /// The rate of what they follow or have followed last; on their way to it they go by another.
    pub followed: Option<SteadyRate>,
}

impl Hand {
    /// At the beginning of a repeat: of the same set, or of another, which is the session's again.
    pub fn begin(&mut self, same_set: bool) {
        if same_set {
            self.forget();
        } else {
            *self = Self {
                ahead: self.ahead,
                ..Self::default()
            };
        }
    }

    #[inline]
    pub fn is_idle(&self) -> bool {
        self.leaving.is_none() && self.aim.is_none()
    }

    pub fn keeps_feet(&self) -> bool {
        self.touched.1
    }

    /// Forgets what waits and what has sounded in a stretch: the phase begins anew.
    pub fn forget(&mut self) {
        *self = Self {
            touched: self.touched,
            rate: self.rate,
            ahead: self.ahead,
            ..Self::default()
        };
    }

    /// Whether a beat sounds: after a switch, none so soon after one of before.
    #[inline]
    pub fn settles(&mut self, beat: StretchPhase, leg: usize, gap: Fix, leaves: bool) -> bool {
        if let Some((stretch, entry, gaps)) = self.switched
            && stretch == beat.stretch
            && let Some(last) = self.last_beat[leg].filter(|last| last.stretch == stretch)
        {
            let phase = beat.phase();
            let settling = !leaves && phase < entry + SETTLING;
            if settling && (phase - last.phase()).times(2) < gap.min(gaps[leg]) {
                return false;
            }
        }
        self.last_beat[leg] = Some(beat);
        true
    }
}

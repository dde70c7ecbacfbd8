//! What the path and the verdicts go by, unless the plan says otherwise.

use crate::units::{Fix, exact, fraction};

/// The rules of the path and of the verdicts. Each default is common practice without a source
/// unless it says otherwise.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Rules {
    /// The least step from week to week, strokes/min: 1.
    pub step_least: Fix,
    /// The least step as a share of the rate: 2 %. Cued 5 % faster, trained swimmers fall short
    /// (Fassone et al. 2023, read in the abstract): so well below.
    pub step_share: Fix,
    /// Every so many weeks one holds the rate: 4.
    pub hold_every: u64,
    /// Share of cycles with cues in week 1: all. Thinned out, for retention (Salmoni, Schmidt &
    /// Walter 1984; Winstein & Schmidt 1990; from memory).
    pub cued_first: Fix,
    /// Share of cycles with cues in the last week: a quarter.
    pub cued_last: Fix,
    /// Days after a hold week's Monday on which a swim without cues is due: 1, 3, 10. A pace learnt
    /// with cues is kept up to 10 days (Front Sports Act Living 2025, 7:1588758, read in the abstract).
    pub uncued_after_days: Vec<u64>,
    /// How far the rate swum may be from the cue, strokes/min: 1.
    pub rate_within: Fix,
    /// The loss of speed that is still none, as a share: 0.7 %, of speed by the clock. A step that
    /// costs 1 % of swimming speed costs 0.8 % of it, since the push-offs cost nothing.
    pub speed_loss: Fix,
    /// The loss of distance per stroke beyond the line of the swimmer's step test that is still
    /// none: 2 %.
    pub length_loss: Fix,
    /// After so many weeks away the path takes one step down: 2.
    pub away_weeks: u64,
    /// The fewest swims with cues that a week is judged by: 6.
    pub fewest_swims: u64,
    /// The fewest days on which they are swum (one where a week has only one): 2.
    pub fewest_days: u64,
}

impl Default for Rules {
    fn default() -> Self {
        Self {
            step_least: exact(1),
            step_share: fraction(2, 100),
            hold_every: 4,
            cued_first: exact(1),
            cued_last: fraction(25, 100),
            uncued_after_days: vec![1, 3, 10],
            rate_within: exact(1),
            speed_loss: fraction(7, 1000),
            length_loss: fraction(2, 100),
            away_weeks: 2,
            fewest_swims: 6,
            fewest_days: 2,
        }
    }
}

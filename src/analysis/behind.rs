//! How far hand and foot come behind the sound: what a lead would take away.

use super::came::Came;
use super::{Estimate, Sides, for_sides};

/// Lags behind the sound, s, positive = late.
#[derive(Debug, Clone, PartialEq)]
pub struct Behind {
    /// Each hand behind its arm cue.
    pub hand_s: Sides<Estimate>,
    /// Each foot behind its kick cue.
    pub foot_s: Sides<Estimate>,
    /// The mean of both hands.
    pub hands_s: Option<Estimate>,
    /// The mean of both feet.
    pub feet_s: Option<Estimate>,
}

impl Behind {
    /// Reads the lags of the cycles that sounded or may have: a lead moves the sound, not the silence.
    pub fn of(hands: &Came, feet: Option<&Came>) -> Self {
        let [hand_s, foot_s] = [Some(hands), feet].map(|came| {
            for_sides(|side| {
                let came = came?;
                came.behind(Some(side)).map(|mean| came.told(mean))
            })
        });
        Self {
            hand_s,
            foot_s,
            hands_s: hands.behind(None).map(|mean| hands.told(mean)),
            feet_s: feet.and_then(|feet| Some(feet.told(feet.behind(None)?))),
        }
    }
}

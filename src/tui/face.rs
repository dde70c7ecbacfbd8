//! Everything that one frame of the screen shows, as plain data.

use crate::model::cue::Side;
use crate::model::kick::{Kick, Pairing, beats};
use crate::model::resolve::Set;
use crate::units::to_f64;

/// One frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// The session's title, or what stands for it.
    pub title: String,
    /// Who swims.
    pub swimmer: Option<String>,
    /// What the clock does, in one or two words.
    pub doing: &'static str,
    /// The rate that sounds, strokes/min.
    pub spm: f64,
    /// The rate that a gentle change is going to, where it is not there yet.
    pub going_to_spm: Option<f64>,
    /// Digits typed so far.
    pub typed: Option<String>,
    /// What each foot does, in full, left and right.
    pub feet: [String; 2],
    /// The kick.
    pub kick: String,
    /// What waits for the next entry.
    pub waiting: Option<String>,
    /// The cycle as a line.
    pub wheel: Wheel,
    /// Where the point is, 0 to 1; none where nobody swims.
    pub point: Option<f64>,
    /// Lines about set, repeat, send-off, what comes next, who is in; at most five.
    pub session: Vec<String>,
    /// Results that are being entered, in place of those lines.
    pub results: Option<Vec<String>>,
    /// What is silenced, and other settings that are not as usual.
    pub settings: String,
    /// What the taps say, else how much later the swimmer hears it.
    pub aside: String,
    /// The device.
    pub sound: String,
    /// Whether the device needs attention.
    pub alarm: bool,
    /// What happened last, or what is asked.
    pub message: Option<String>,
    /// The keys that matter now.
    pub keys: String,
    /// Whether the help is shown in place of everything else.
    pub help: bool,
}

/// Hands and feet on one cycle, as phases from 0 to 1 with their letters.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Wheel {
    /// Entry and catch of each hand, left and right; none for an arm that rests.
    pub hands: [Option<(f64, f64)>; 2],
    /// Each foot's beats; true for a paired one.
    pub feet: [Vec<(f64, bool)>; 2],
}

impl Wheel {
    /// Of a set with another pairing and kick.
    pub fn new(set: &Set, pairing: Pairing, kick: Kick) -> Self {
        let stroke = set.stroke();
        let hand = |side| (to_f64(&stroke.entry(side)), to_f64(&stroke.catch(side)));
        let beats = beats(&stroke, pairing, kick, set.three_on);
        let foot = |side| {
            let of_foot = beats.iter().filter(|beat| beat.foot == side);
            of_foot
                .map(|beat| (to_f64(&beat.phase), beat.paired))
                .collect()
        };
        Self {
            hands: Side::BOTH.map(|side| set.arms.swims(side).then(|| hand(side))),
            feet: [foot(Side::Left), foot(Side::Right)],
        }
    }
}

/// The rate for the screen: at most one decimal, none where it is whole.
pub fn spm_in_words(spm: f64) -> String {
    let tenths = (spm * 10.0).round() / 10.0;
    if tenths.fract() == 0.0 {
        format!("{tenths:.0}")
    } else {
        format!("{tenths:.1}")
    }
}

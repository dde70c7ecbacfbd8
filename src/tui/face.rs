//! Everything that one frame of the screen shows, as plain data.

use super::away::WayIn;
use crate::model::cue::Side;
use crate::model::kick::{Kick, Pairing, beats};
use crate::model::resolve::Set;
use crate::units::{print_float, to_f64};

/// One frame.
#[derive(Debug, Clone, PartialEq)]
pub struct Face {
    /// The session's title, or what stands for it.
    pub title: String,
    /// Who swims.
    pub swimmer: Option<String>,
    /// What the clock does, in one or two words.
    pub doing: &'static str,
    /// The rate.
    pub rate: ShownRate,
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
    /// The time to the next start or end.
    pub clock: String,
    /// Which set and repeat it is.
    pub heading: String,
    /// The coach's words on the set.
    pub say: Option<String>,
    /// What comes next, the nearest first; at most three.
    pub ahead: Vec<String>,
    /// The last results, the newest first; at most five.
    pub last: Vec<String>,
    /// Results that are being entered, in place of the set.
    pub results: Option<Vec<String>>,
    /// What is silenced, and other settings that are not as usual.
    pub settings: String,
    /// What the taps say, else how much later the swimmer hears it.
    pub aside: String,
    /// The device.
    pub sound: String,
    /// Whether the device needs attention.
    pub alarm: bool,
    /// What just happened, and how much of its time has passed, 0 to 1.
    pub happened: Option<(String, f64)>,
    /// What is asked, in place of the keys.
    pub asked: Option<&'static str>,
    /// The keys that matter now.
    pub keys: String,
    /// How many pages ago the screen was opened: texts that are longer than their room turn.
    pub turn: usize,
    /// Whether the help is shown in place of everything else.
    pub help: bool,
    /// The way in for a phone, in place of everything else.
    pub way_in: Option<WayIn>,
}

/// A rate as it sounds.
#[derive(Debug, Clone, PartialEq)]
pub struct ShownRate {
    /// Strokes/min, large.
    pub said: String,
    /// Cycles/min.
    pub cycles: String,
}

impl ShownRate {
    /// Of a rate that sounds, strokes/min. One that moves is told to a tenth.
    pub fn new(spm: f64, moves: bool) -> Self {
        let places = if moves { 1 } else { 2 };
        Self {
            said: print_float(spm, places),
            cycles: print_float(spm / 2.0, places),
        }
    }
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

/// A rate in a message: at most one decimal, none where it is whole.
pub fn spm_in_words(spm: f64) -> String {
    print_float(spm, 1)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn shown(spm: f64, moves: bool) -> [String; 2] {
        let shown = ShownRate::new(spm, moves);
        [shown.said, shown.cycles]
    }

    #[test]
    fn a_rate_is_shown_as_it_sounds() {
        assert_eq!(shown(58.0, false), ["58", "29"]);
        assert_eq!(shown(56.5, false), ["56.5", "28.25"]);
        assert_eq!(shown(56.3, false), ["56.3", "28.15"]);
        assert_eq!(shown(56.25, false), ["56.25", "28.12"]);
        assert_eq!(shown(100.0, true), ["100", "50"]);
    }

    #[test]
    fn a_rate_that_moves_is_told_to_a_tenth() {
        assert_eq!(shown(54.4806, true), ["54.5", "27.2"]);
        assert_eq!(shown(54.3806, true), ["54.4", "27.2"]);
    }
}

//! Hands away from the keyboard: what they ask for, and what they are shown beside the face.

use crate::analysis::taps::Each;
use crate::live::Group;
use crate::model::kick::Pairing;

/// What such a hand asks for. Where a key changes something to the other of two, this says to
/// which: two hands at once do not undo each other.
#[derive(Debug, Clone, PartialEq)]
pub enum Ask {
    /// The rate, by so many strokes/min.
    Step(f64),
    /// The rate of the taps.
    TakeRate,
    /// A pairing.
    Pair(Pairing),
    /// A group of cues silent, or heard.
    Mute(Group, bool),
    /// Sound runs, or is silent.
    Run(bool),
    /// Out of a swim into its rest, out of a rest to the next start.
    Next,
    /// This repeat again.
    Again,
    /// A swimmer is in.
    In,
    /// A split.
    Split,
    /// A tap at an entry.
    Tap,
    /// What was seen of a swimmer in a swim.
    Seen(Seen),
    /// What this hand did last is taken back.
    TakeBack,
}

/// What was seen of a swimmer, as it is typed. What this hand has not changed is none; an empty text
/// takes away what was entered.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// The swim's id.
    pub swim: u32,
    /// The swimmer, by the order of leaving.
    pub swimmer: usize,
    /// `44` or `22/length`.
    pub strokes: Option<String>,
    /// `yes`, `part` or `no`.
    pub kept: Option<String>,
    /// 0 to 10.
    pub effort: Option<String>,
}

/// How the deck is, for whoever sees no screen: what a face has no field for.
#[derive(Debug, Clone, PartialEq)]
pub struct DeckStanding {
    /// Whether sound runs: not after the end.
    pub running: bool,
    /// Whether the session has come to its end.
    pub over: bool,
    /// The pairing.
    pub pairing: Pairing,
    /// Silenced groups, in the order of [`Group::ALL`].
    pub muted: [bool; 4],
    /// What is tapped.
    pub each: Each,
    /// What the taps say so far; and the rate that could be taken, strokes/min.
    pub taps: Option<(String, Option<f64>)>,
    /// Who swims, in the order of coming in, each with the time that was taken.
    pub swimmers: Vec<(String, Option<String>)>,
    /// Which start it is that was heard last: it grows with each.
    pub starts: u32,
    /// The swim of which results are entered.
    pub results: Option<SwimSeen>,
}

/// The results of one swim.
#[derive(Debug, Clone, PartialEq)]
pub struct SwimSeen {
    /// The swim's id.
    pub swim: u32,
    /// Its set and repeat.
    pub heading: String,
    /// One for each swimmer, in the order of coming in.
    pub rows: Vec<SwimmerSeen>,
}

/// What is known of a swimmer in a swim; an empty text where nothing is.
#[derive(Debug, Clone, PartialEq)]
pub struct SwimmerSeen {
    /// The swimmer, by the order of leaving.
    pub swimmer: usize,
    /// The whole name.
    pub name: String,
    /// The time that was taken or entered.
    pub time: String,
    /// As in [`Seen`].
    pub strokes: String,
    /// As in [`Seen`].
    pub kept: String,
    /// As in [`Seen`].
    pub effort: String,
}

/// A way in for such hands: an address, and the code that a camera reads.
#[derive(Debug, Clone, PartialEq)]
pub struct WayIn {
    /// The address, whole.
    pub address: String,
    /// The code with its border, row by row; true is dark.
    pub code: Vec<Vec<bool>>,
}

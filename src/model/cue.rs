//! What can sound: the kinds of event, their sides and their voices.

use std::fmt;

/// A side of the body, of an ear, of an arm or a foot.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Side {
    /// Left.
    Left,
    /// Right.
    Right,
}

impl Side {
    /// Left, then right.
    pub const BOTH: [Self; 2] = [Self::Left, Self::Right];

    /// The word in files.
    pub fn word(self) -> &'static str {
        match self {
            Self::Left => "left",
            Self::Right => "right",
        }
    }

    /// The other side.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Left => Self::Right,
            Self::Right => Self::Left,
        }
    }
}

impl fmt::Display for Side {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.word())
    }
}

/// One value for each side of the body.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PerSide<T> {
    /// The left side's.
    pub left: T,
    /// The right side's.
    pub right: T,
}

impl<T> PerSide<T> {
    /// The value of one side.
    pub fn of(&self, side: Side) -> &T {
        match side {
            Side::Left => &self.left,
            Side::Right => &self.right,
        }
    }
}

impl<T> PerSide<Option<T>> {
    /// The values that are known, by their sides.
    pub fn known(&self) -> impl Iterator<Item = (Side, &T)> {
        (Side::BOTH.into_iter()).filter_map(|side| Some((side, self.of(side).as_ref()?)))
    }
}

/// What a sounding event is. The order is that of events on one frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum CueKind {
    /// The arm moment that the pairing listens to.
    Arm,
    /// A paired beat.
    Kick,
    /// A beat between the paired ones.
    Fill,
    /// The head turns to breathe.
    Breath,
    /// A predicted wall.
    Wall,
    /// A second of the count before a start.
    Count,
    /// The start signal.
    Start,
    /// The end signal.
    End,
}

impl CueKind {
    /// The word for it in files and tables.
    pub fn word(self) -> &'static str {
        match self {
            Self::Arm => "arm",
            Self::Kick => "kick",
            Self::Fill => "fill",
            Self::Breath => "breath",
            Self::Wall => "wall",
            Self::Count => "count",
            Self::Start => "start",
            Self::End => "end",
        }
    }
}

/// The cues that a set may choose; signals always sound.
pub const CUE_KINDS: [CueKind; 5] = [
    CueKind::Arm,
    CueKind::Kick,
    CueKind::Fill,
    CueKind::Breath,
    CueKind::Wall,
];

/// A sound of its own: a kind of event and, for cues of the body, its side.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Voice {
    /// What it announces.
    pub kind: CueKind,
    /// Whose side; none sounds in both ears.
    pub side: Option<Side>,
}

impl Voice {
    /// Every voice there is, in the order of [`Voice::index`].
    pub const ALL: [Self; 12] = {
        const fn one(kind: CueKind, side: Option<Side>) -> Voice {
            Voice { kind, side }
        }
        let (left, right) = (Some(Side::Left), Some(Side::Right));
        [
            one(CueKind::Arm, left),
            one(CueKind::Arm, right),
            one(CueKind::Kick, left),
            one(CueKind::Kick, right),
            one(CueKind::Fill, left),
            one(CueKind::Fill, right),
            one(CueKind::Breath, left),
            one(CueKind::Breath, right),
            one(CueKind::Wall, None),
            one(CueKind::Count, None),
            one(CueKind::Start, None),
            one(CueKind::End, None),
        ]
    };

    /// The place of this voice in [`Voice::ALL`].
    pub fn index(self) -> usize {
        let right = usize::from(self.side == Some(Side::Right));
        match self.kind {
            CueKind::Arm => right,
            CueKind::Kick => 2 + right,
            CueKind::Fill => 4 + right,
            CueKind::Breath => 6 + right,
            CueKind::Wall => 8,
            CueKind::Count => 9,
            CueKind::Start => 10,
            CueKind::End => 11,
        }
    }
}

impl fmt::Display for Voice {
    /// The name of its file in `sounds/`: `arm-left`, `start`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.side {
            Some(side) => write!(f, "{}-{side}", self.kind.word()),
            None => f.write_str(self.kind.word()),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_voice_stands_at_its_own_index() {
        for (index, voice) in Voice::ALL.into_iter().enumerate() {
            assert_eq!(voice.index(), index, "{voice}");
        }
    }

    #[test]
    fn events_on_one_frame_have_the_order_of_the_design() {
        let words = "arm kick fill breath wall count start end";
        let mut kinds: Vec<CueKind> = Voice::ALL.iter().map(|voice| voice.kind).collect();
        kinds.sort();
        kinds.dedup();
        let sorted: Vec<&str> = kinds.into_iter().map(CueKind::word).collect();
        assert_eq!(sorted.join(" "), words);
    }
}

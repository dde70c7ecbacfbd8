//! What speaks against a film's marks, in words: a wrong film is named, not measured.

use super::arm_shares::{ArmShares, Reading};
use super::beats::Beats;
use super::came::Came;
use super::pairing::{Feet, NearerTo};
use super::passes::MixedHands;
use super::{Estimate, Pass};
use crate::model::cue::Side;
use crate::model::kick::Pairing;
use crate::model::record::StrokeMoment;

/// What is doubted.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum DoubtKind {
    /// Left and right foot may be exchanged in the marks.
    FeetCrossed,
    /// Left and right hand may be, in all marks or in single ones.
    HandsCrossed,
    /// The kick does not stay with the arms.
    NotLocked,
    /// The kick is far from both pairings.
    NearNeither,
}

impl DoubtKind {
    /// The word in JSON.
    pub fn word(self) -> &'static str {
        match self {
            Self::FeetCrossed => "feet_crossed",
            Self::HandsCrossed => "hands_crossed",
            Self::NotLocked => "not_locked",
            Self::NearNeither => "near_neither",
        }
    }
}

/// A doubt, and what to look at.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubt {
    /// What is doubted.
    pub kind: DoubtKind,
    /// Why, and what to look at, in sentences.
    pub text: String,
}

impl Doubt {
    fn new(kind: DoubtKind, text: String) -> Self {
        Self { kind, text }
    }
}

/// A rate that differs by more than this with and without the marks taken out hangs on them, spm.
const RATE_HANGS_SPM: f64 = 1.0;

/// What the hands give reason to doubt. `crossed` is the moment whose sides do not go with those
/// of the entries, `rate` the one told, `rate_as_marked` the one with every mark believed.
pub(super) fn of_hands(
    hands: &MixedHands,
    crossed: Option<StrokeMoment>,
    rate: &Estimate,
    rate_as_marked: Option<&Estimate>,
) -> Vec<Doubt> {
    let mut texts = Vec::new();
    if let Some(moment) = crossed {
        let what = match moment {
            StrokeMoment::Entry => "entries do not go with its catches and exits",
            StrokeMoment::Catch => "catches do not go with its entries",
            _ => "exits do not go with its entries",
        };
        texts.push(format!(
            "The hands may be crossed in the marks: each hand's {what}, and would with left and \
             right exchanged. Look at one stroke again: which arm is nearer to the camera, and is \
             the film mirrored?"
        ));
    }
    if hands.taken_out > 0 {
        texts.push(exchanged_marks(hands, rate, rate_as_marked));
    }
    if let Some(turns_at_s) = hands.turns_at_s {
        texts.push(format!(
            "From {turns_at_s:.3} s on, left and right hand go on the other way round: they may be \
             crossed in the marks before it or after it, or a stroke was left out there."
        ));
    }
    (texts.into_iter())
        .map(|text| Doubt::new(DoubtKind::HandsCrossed, text))
        .collect()
}

fn exchanged_marks(
    hands: &MixedHands,
    rate: &Estimate,
    rate_as_marked: Option<&Estimate>,
) -> String {
    let (out, of) = (hands.taken_out, hands.of);
    let rests = if hands.entries {
        format!(" The rate rests on {} cycles without them.", rate.n)
    } else {
        String::new()
    };
    let differs = |all: &&Estimate| (all.value - rate.value).abs() > RATE_HANGS_SPM;
    let hangs = rate_as_marked.filter(differs).map(|all| {
        format!(
            " It hangs on them: {:.1} spm without, {:.1} spm with them.",
            rate.value, all.value
        )
    });
    format!(
        "Left and right hand look exchanged in {out} of {of} marks: these are left out, each named \
         under what is set aside. Look at them again.{rests}{}",
        hangs.unwrap_or_default()
    )
}

/// What the cues give reason to doubt, each of which sounds for a side: hands or feet that keep half a
/// cycle from their own keep with those of the other side.
pub fn of_cues(hands: Option<&Came>, feet: Option<&Came>) -> Option<Doubt> {
    let half_off = |came: Option<&Came>| came.and_then(Came::half_a_cycle_off);
    let (kind, off, who) = match (half_off(hands), half_off(feet)) {
        (Some(lag_s), Some(_)) => (DoubtKind::HandsCrossed, lag_s, "Hands and feet"),
        (Some(lag_s), None) => (DoubtKind::HandsCrossed, lag_s, "The hands"),
        (None, Some(lag_s)) => (DoubtKind::FeetCrossed, lag_s, "The feet"),
        (None, None) => return None,
    };
    let others = match kind {
        DoubtKind::FeetCrossed => "",
        _ => {
            ", or the place in the track was set by the cue of the other arm, or the swimmer swims the \
             cues with the other arm"
        }
    };
    let text = format!(
        "{who} keep half a cycle from their cues ({:.0} ms {}): left and right may be crossed in the \
         marks{others}. Nothing is measured by these cues. Look at one stroke again: which arm and leg \
         are nearer to the camera, and is the film mirrored?",
        off.abs() * 1000.0,
        if off < 0.0 { "before" } else { "behind" }
    );
    Some(Doubt::new(kind, text))
}

/// Below this P the order of kicks that fit no pairing is taken for a wander.
const WANDERS_P: f64 = 0.05;

/// What the feet give reason to doubt: the first cause that explains the marks.
pub(super) fn of_feet(
    feet: &Feet,
    passes: &[Pass],
    beats: &Beats,
    arms: &ArmShares,
    reading: &Reading,
) -> Option<Doubt> {
    let exchanged = |which: &[bool]| {
        let passes: Vec<Pass> = (passes.iter().zip(which))
            .map(|(pass, exchanged)| {
                if *exchanged {
                    pass.with_feet_exchanged()
                } else {
                    pass.clone()
                }
            })
            .collect();
        Feet::of(&passes, beats, arms, reading)
    };
    let nearest = feet.nearest?;
    if let NearerTo::Pairing(told) = nearest.answer {
        if passes.iter().all(near_foot_is_marked) {
            return None;
        }
        let all = exchanged(&vec![true; passes.len()]);
        let open =
            all.nearest.map(|nearest| nearest.answer) == Some(NearerTo::Pairing(told.other()));
        return open.then(|| Doubt::new(DoubtKind::FeetCrossed, either_way(told)));
    }
    if feet.fit() || (nearest.answer == NearerTo::Undecided && !feet.strays) {
        return None;
    }
    // Where no pairing is lost by it, a weaker sign will do.
    let wanders = feet.path.filter(|path| path.p < WANDERS_P);
    let crossed = which_exchanged(passes.len(), wanders.is_none());
    if let Some(which) = crossed.into_iter().find(|which| exchanged(which).fit()) {
        return Some(Doubt::new(
            DoubtKind::FeetCrossed,
            crossed_feet(passes, &which),
        ));
    }
    if let Some(path) = wanders {
        return Some(Doubt::new(DoubtKind::NotLocked, wandering(path.turns)));
    }
    if feet.strays {
        let scatter = feet.path.map_or(0.5, |path| path.sd);
        let text = format!(
            "The kick does not stay with the arms: it scatters over the stroke, by {:.0} % of a cycle, \
             so there is no pairing to tell.",
            scatter * 100.0
        );
        return Some(Doubt::new(DoubtKind::NotLocked, text));
    }
    let (off, most) = nearest.off?;
    let ms = |cycles: f64| cycles * reading.cycle_s * 1000.0;
    let text = format!(
        "The kick is near neither pairing: {:.0} ms from the nearer moment, and up to {:.0} ms would \
         count as near. Look at one kick of each foot again: is it marked at the foot's lowest \
         point?",
        ms(off),
        ms(most)
    );
    Some(Doubt::new(DoubtKind::NearNeither, text))
}

/// Whether a pass shows one hand, and of the feet mostly that hand's own: the near leg is known by the
/// near arm, and the feet are not crossed.
fn near_foot_is_marked(pass: &Pass) -> bool {
    let marks = |moment, side| pass.of(moment, side).len();
    let (near, far) = (pass.lead, pass.lead.other());
    marks(StrokeMoment::Entry, far) == 0
        && marks(StrokeMoment::Kick, near) > marks(StrokeMoment::Kick, far)
}

/// The beats of one foot of a six-beat kick lie half way between those of the other: exchanged, they
/// fall on the moments of the other pairing where the catch comes a third of a cycle after its entry.
fn either_way(told: Pairing) -> String {
    let reading = |pairing: Pairing| Side::BOTH.map(|foot| pairing.in_words(foot)).join(", ");
    format!(
        "As the feet are marked the kicks fit one pairing ({}), and with left and right exchanged as \
         well the other ({}). Nothing in the marks tells which: a kick of so many beats looks the \
         same. Look at one kick again: which leg is nearer to the camera, and is the film mirrored?",
        reading(told),
        reading(told.other())
    )
}

fn wandering(cycles: f64) -> String {
    format!(
        "The kick does not stay with the arms: it wanders by {:.0} % of a cycle through the film, so \
         there is no pairing to tell. Look at the first and the last kicks: are hands and feet \
         marked in the same film, and all of one swimmer?",
        cycles * 100.0
    )
}

/// The passes in which the feet may be exchanged: in all of them, or in one. Kicks that wander would
/// wander as well with all of them exchanged.
fn which_exchanged(passes: usize, all: bool) -> Vec<Vec<bool>> {
    let mut which = Vec::new();
    if all {
        which.push(vec![true; passes]);
    }
    if passes > 1 {
        which.extend((0..passes).map(|one| (0..passes).map(|at| at == one).collect()));
    }
    which
}

fn crossed_feet(passes: &[Pass], exchanged: &[bool]) -> String {
    let pass = (passes.iter().zip(exchanged)).filter(|(_, exchanged)| **exchanged);
    let only = if exchanged.contains(&false) {
        let numbers: Vec<String> = pass.map(|(pass, _)| pass.number.to_string()).collect();
        format!(" of pass {}", numbers.join(", "))
    } else {
        String::new()
    };
    format!(
        "The feet may be crossed in the marks{only}: as marked the kicks fit no pairing, with left and \
         right exchanged they would. Look at one kick again: which leg is nearer to the camera, and \
         is the film mirrored? (Hands that are crossed in every mark look the same.)"
    )
}

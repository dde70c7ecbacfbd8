//! Which cues of a set hide its breath and cannot give way to it.

use super::set::Set;
use crate::model::breath_sound::{BEFORE_ENTRY_S, is_hidden, is_hidden_within};
use crate::model::circle::forward;
use crate::model::cue::{CueKind, Side};
use crate::model::kick::Kick;
use crate::units::{Fix, exact};

/// Arm cues and paired kicks, in words, that begin while the breath sounds at some rate of a set.
pub(super) fn hiding_cues(set: &Set) -> Vec<&'static str> {
    let Some(breath) = set.heard_breath() else {
        return Vec::new();
    };
    let stroke = set.stroke();
    let entries: Vec<Fix> = (Side::BOTH.into_iter())
        .filter(|hand| breath.every % 2 == 1 || *hand == breath.side.other())
        .map(|hand| stroke.entry(hand))
        .collect();
    let arms = stroke.moments(set.arm_moment());
    let kicks = set.pairing.paired_beats(&stroke);
    let (from, to) = set.rate.ends();
    let sounding = [
        ("arm cues", CueKind::Arm, arms, true),
        ("kicks", CueKind::Kick, kicks, set.kick != Kick::Pull),
    ];
    let hides = |kind, cue: &Fix, entry: &Fix| {
        let later = BEFORE_ENTRY_S + set.lead.of(CueKind::Breath).s() - set.lead.of(kind).s();
        // In the cycle of the entry, and in the two before it, where the lead may have it.
        (0..3).any(|back| {
            let cycles = forward(entry, cue) - exact(back);
            let after = |cycle_s: Fix| cycles.mul_div(cycle_s, Fix::ONE) + later;
            let compared = set
                .compare
                .as_ref()
                .map(|compare| after(compare.rate.cycle_s()));
            is_hidden_within(after(from.cycle_s()), after(to.cycle_s()))
                || compared.is_some_and(is_hidden)
        })
    };
    (sounding.into_iter())
        .filter(|(_, kind, phases, sounds)| {
            let mut pairs = (Side::BOTH.iter())
                .filter(|side| *kind != CueKind::Arm || set.arms.swims(**side))
                .flat_map(|side| entries.iter().map(|entry| (phases.of(*side), entry)));
            *sounds && set.cues.has(*kind) && pairs.any(|(cue, entry)| hides(*kind, cue, entry))
        })
        .map(|(words, ..)| words)
        .collect()
}

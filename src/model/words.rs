//! Sets and cautions in the words of the trade, for screens, sheets and speech.

use super::arms::ArmCue;
use super::compare::Compare;
use super::cue::{CueKind, Side};
use super::kick::Kick;
use super::resolve::Set;
use super::session::{Count, Gap, RepeatSwim, Walls};

/// Swim-set notation: `4 x 50 m on 1:30`, `6 min, 20 s rest`.
pub fn notation(set: &Set) -> String {
    let swim = match set.repeats {
        1 => set.swim.to_string(),
        n => format!("{n} x {}", set.swim),
    };
    match &set.gap() {
        Gap::SendOff(time) => format!("{swim} on {time}"),
        Gap::Rest(time) if set.repeats > 1 => format!("{swim}, {time} rest"),
        Gap::Rest(_) => swim,
    }
}

/// What each foot does, in full: `left foot with left catch, right foot with right catch`.
pub fn feet(set: &Set) -> String {
    match set.kick {
        Kick::Pull => "legs rest; arms alone".into(),
        _ => {
            let [left, right] = Side::BOTH.map(|foot| set.pairing.in_words(foot));
            format!("{left}, {right}")
        }
    }
}

/// Which arm swims, where one rests.
pub fn arms(set: &Set) -> Option<String> {
    let resting = set.arms.resting()?;
    Some(format!(
        "{} arm swims, {resting} arm rests in front",
        resting.other()
    ))
}

/// What the arm cue marks, where the set says it whatever the pairing and it sounds.
pub fn arm_cue(set: &Set) -> Option<String> {
    let said = set.arm_cue != ArmCue::Pairing && set.cues.has(CueKind::Arm);
    said.then(|| format!("the arm cue is on the {}", set.arm_moment().word()))
}

/// The kick, with the side of its three where it has them.
pub fn kick(set: &Set) -> String {
    match set.kick {
        Kick::FourBeat => format!("{}, three on the {}", set.kick.in_words(), set.three_on),
        _ => set.kick.in_words(),
    }
}

/// What sounds: cues, at which other rate, for which arm, fade, breath, walls, lead, counts that are
/// seconds.
pub fn cues(set: &Set) -> String {
    let mut parts = vec![set.cues.to_string()];
    parts.extend(set.compare.as_ref().map(Compare::short));
    parts.extend(arms(set));
    parts.extend(arm_cue(set));
    if let Some(fade) = set.fade {
        parts.push(fade.to_string());
    }
    if let Some(breath) = set.heard_breath() {
        parts.push(format!("breath {breath}"));
    }
    if set.walls == Walls::Pause {
        parts.push("pausing at walls".into());
    }
    if set.lead != super::lead::Lead::none() {
        parts.push(set.lead.to_string());
    }
    if set.count == Count::Seconds {
        parts.push("counts in seconds".into());
    }
    parts.join("; ")
}

/// How to join in, for a sheet at the pool.
pub const JOIN_IN: &str = "Push off at the long tone. Surface when you like, listen for two \
    cycles, then let the kick finish on the low knock. High ticks are hands, low knocks are feet; \
    left is lower than right, and each sounds in its own ear.";

/// What the breath sound asks for, and when.
pub const BREATH_SOUND: &str = "The rising sound is a breath: breathe out as it rises, turn as it ends, \
    or whenever you want.";

/// What to do when early.
pub const EARLY: &str =
    "In before the end tone? Rest at the wall, and wait for the next long tone.";

/// What to do when late or crossed.
pub const LATE_OR_CROSSED: &str = "Late for a start? Rest, and take the next one. Sounds and sides \
    crossed after a turn? Hold one glide and join again. The track never waits, and it need not: \
    swim your own stroke until it fits again. A swim by time ends at the falling tone: finish \
    the length.";

/// The cautions of every session.
pub const CAUTIONS: [&str; 4] = [
    "The pool's rules, the lifeguards, your coach and your doctor come before any track. \
     Look before you push off, and stop for the whistle.",
    "Breathe whenever you want: no cue is a reason to hold your breath.",
    "Keep the volume low enough to hear a voice beside you. A file cannot know how loud \
     it is at your ear.",
    "Shoulder pain: stop, and raise no rate. Dizzy: out of the water. Open water: never alone.",
];

/// The caution of a track that is louder than those of before.
pub const LOUDER: &str = "Louder than tracks of before by 4 to 8 dB: turn the player down before the \
    first one, up at the wall.";

/// The caution of cues that are heard well.
pub const HIDDEN_ALARMS: &str = "Cues that are heard well hide whistle and alarm: tell the lifeguard who \
    wears a player, agree on a tap on the shoulder, and in busy lanes wear one ear or bone conduction.";

/// What stands for the cues of a swim that has none.
pub const NO_CUES: &str = "no cues: swim on your own between the start and the end";

/// The caution of a bed.
pub const BED_CAUTION: &str = "A bed in the ears hides whistles, traffic and voices: use it only where \
    somebody watches over you, and look around more often.";

/// The caution that follows a rate which drives training.
pub const RATE_CAUTION: &str = "A rate is a wish, not an order: if the shoulder hurts or the stroke \
    shortens, go back to the last rate you held, and ask your coach.";

/// The caution that follows what a plan says.
pub const PLAN_CAUTION: &str = "Shoulder pain: stop, and raise no rate. Dizzy: out of the water. Your \
    coach, the club's rules, lifeguards and doctors decide; a plan does not. Open water: never alone.";

/// What is written down under `kept`, by a coach or by who swims alone.
pub const HOW_KEPT: &str = "Kick on the cue: yes, part or no, as a coach or a video saw it. Alone, ask \
    yourself when the sound comes back: on it, early, late? Most kicks on the sound: felt-yes. About \
    half: felt-part. Few: felt-no.";

/// What follows [`HOW_KEPT`] in a plan that raises the rate.
pub const FELT_DECIDES_NOTHING: &str =
    "What was felt is kept in the log, and decides nothing here.";

/// What a swimmer must know of repeats for comparison.
pub const SAME_EFFORT: &str = "Some swims are slower, for comparison. Swim them with the same effort \
    as the others, and log the effort of each as it was: one that is swum easier, and not logged so, \
    is seen by nothing.";

/// The caution that follows a comparison of the pairings.
pub const PAIRING_CAUTION: &str = "Swimmers differ in which pairing suits them, and comfort counts as \
    much as the clock: keep the one you can swim with ease. What hurts in shoulder, hip or knee, \
    leave, and ask your coach or doctor.";

/// What the swim is measured in, for totals: metres where it is a distance.
pub fn is_by_distance(set: &Set) -> bool {
    matches!(set.swim, RepeatSwim::Distance(_))
}

/// Whether anything but signals sounds.
pub fn has_cues(set: &Set) -> bool {
    super::cue::CUE_KINDS
        .into_iter()
        .any(|kind: CueKind| set.cues.has(kind))
}

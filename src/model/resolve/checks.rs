//! What must hold between the values of one set, and what a coach should know of it.

use super::decide::Levels;
use super::hidden_breath::hiding_cues;
use super::set::Set;
use crate::error::{Error, Result};
use crate::model::circle::{Stroke, forward};
use crate::model::cue::CueKind;
use crate::model::kick::Kick;
use crate::model::session::{Breath, FadePer, RepeatSwim, Walls};
use crate::model::swimmer::Swimmer;
use crate::model::value::Value;
use crate::model::wishes::Said;
use crate::units::{Fix, apart, exact, fraction, to_f64};

/// The longest time that a track leaves between two breath cues, in s. A limit of ours, well
/// inside comfort: bodies of the sport warn against breath-holding at any depth
/// (docs/sources.md, "Loudness and hearing").
const BREATH_LIMIT_S: i64 = 6;

/// The caution that goes with every refusal of a long gap.
pub const BREATH_CAUTION: &str = "breath-holding can cause loss of consciousness without warning, \
    in fit swimmers and in any depth: no track asks for it";

impl Levels<'_> {
    /// Set `number` as it was decided, if its values hold together.
    pub(super) fn check(&self, number: usize, set: Set) -> Result<Set> {
        self.hold_together(&set)
            .map_err(|error| error.within(set.label(number)))?;
        Ok(set)
    }

    fn hold_together(&self, set: &Set) -> Result<()> {
        self.check_breath(set)?;
        check_compare(set)?;
        let by_time = matches!(set.swim, RepeatSwim::Time(_));
        if by_time && set.walls == Walls::Pause {
            return Err(Error::input(format!(
                "walls = \"pause\" with a swim by time ({}): its walls cannot be predicted",
                set.swim
            ))
            .at_place(set.place_of("walls"))
            .accepted("\"pause\" with a swim by distance; \"through\" with any swim")
            .example("walls = \"through\""));
        }
        if by_time && set.fade.is_some_and(|fade| fade.per == FadePer::Length) {
            return Err(Error::input(format!(
                "a fade per length with a swim by time ({}): its walls cannot be predicted",
                set.swim
            ))
            .at_place(set.place_of("fade"))
            .accepted("a fade per cycle, or a swim by distance")
            .example("fade = { on = 8, off = 4, per = \"cycle\" }"));
        }
        if by_time {
            let own_cues = (self.set.cues.as_ref()).filter(|said| said.value.has(CueKind::Wall));
            if let Some(said) = own_cues {
                return Err(Error::input(format!(
                    "cues has \"wall\" with a swim by time ({}): its walls cannot be predicted",
                    set.swim
                ))
                .at_place(said.at.as_ref())
                .accepted("\"wall\" with a swim by distance")
                .example("cues = [\"arm\", \"kick\"]"));
            }
            return Ok(());
        }
        if set.going().is_none() {
            return Err(Error::input(format!(
                "the time of {} cannot be predicted: neither pace nor stroke_length is known",
                set.swim
            ))
            .accepted("either of the two, in the swimmer's file, the session's defaults or the set")
            .example("pace = \"2:05 / 100 m\""));
        }
        if set.pool.metres().is_zero() || set.glide.metres() >= set.pool.metres() {
            return Err(Error::input(format!(
                "a glide of {} in a pool of {} leaves nothing to swim",
                set.glide, set.pool
            ))
            .at_place(set.place_of("glide"))
            .accepted("a glide shorter than the pool")
            .example("glide = \"4 m\""));
        }
        Ok(())
    }

    fn check_breath(&self, set: &Set) -> Result<()> {
        let wanted = set.cues.has(CueKind::Breath);
        if let Some(Said { value: Some(_), at }) = &self.set.breath
            && !wanted
        {
            return Err(Error::input(
                "a breath table, but cues has no \"breath\": it would never sound",
            )
            .at_place(at.as_ref())
            .accepted("both, or neither")
            .example("cues = [\"arm\", \"kick\", \"breath\"]"));
        }
        if !wanted {
            return Ok(());
        }
        let Some(breath) = set.breath else {
            return Err(
                Error::input("cues has \"breath\", but there is no breath table")
                    .at_place(set.place_of("cues"))
                    .accepted("both, or neither")
                    .example("breath = { every = 3, side = \"right\" }"),
            );
        };
        let slowest = set.rates().min().expect("a plan has two ends");
        let longest = longest_breath_gap_cycles(&set.stroke(), breath) * slowest.cycle_s();
        if longest > exact(BREATH_LIMIT_S) {
            return Err(Error::input(format!(
                "breath every {} strokes at {} is {} s from breath to breath, over {BREATH_LIMIT_S} s; \
                 {BREATH_CAUTION}",
                breath.every,
                slowest.short(),
                apart(to_f64(&longest), BREATH_LIMIT_S as f64, 1)
            ))
            .at_place(set.place_of("breath"))
            .accepted("every 2 to 5 strokes, and at most 6 s at the lowest rate of the set")
            .example("breath = { every = 3, side = \"right\" }"));
        }
        Ok(())
    }
}

/// A comparison is of repeats that there are, with others that there are.
fn check_compare(set: &Set) -> Result<()> {
    let Some(compare) = &set.compare else {
        return Ok(());
    };
    let repeats = set.repeats;
    let beyond = compare.at.iter().find(|number| **number > repeats);
    let wrong = match beyond {
        Some(number) => format!("repeat {number} is to be compared, but repeats is {repeats}"),
        None if compare.at.len() as u64 == repeats => {
            "every repeat is to be compared, and none is left to compare with".to_string()
        }
        None => return Ok(()),
    };
    let (accepted, example) = if repeats == 1 {
        (
            "\"none\", or more repeats".to_string(),
            "compare = \"none\"".to_string(),
        )
    } else {
        (
            format!("some of the repeats from 1 to {repeats}, not all"),
            format!("compare = {{ rate = \"54 spm\", at = [{repeats}] }}"),
        )
    };
    Err(Error::input(wrong)
        .within("compare")
        .at_place(set.place_of("compare"))
        .accepted(accepted)
        .example(example))
}

/// The longest stretch between two breaths, in cycles: odd numbers end on the other hand.
fn longest_breath_gap_cycles(stroke: &Stroke, breath: Breath) -> Fix {
    let whole = exact((breath.every / 2).into());
    match breath.every % 2 {
        0 => whole,
        _ => {
            let one = &stroke.right_entry;
            whole + (*one).max(exact(1) - one)
        }
    }
}

/// What a coach should know of one set before it is swum; `has_bed` where the session has one.
pub(super) fn warn(
    number: usize,
    set: &Set,
    swimmer: Option<&Swimmer>,
    has_bed: bool,
) -> Vec<String> {
    let mut warnings = Vec::new();
    let label = set.label(number);
    if has_bed && set.fade.is_some() {
        warnings.push(format!(
            "{label}: a fade with a bed: music has a beat of its own, so the silence no longer shows \
             whether the stroke holds; leave one of them out"
        ));
    }
    if set.cues.has(CueKind::Fill) && !set.kick.has_fills() {
        warnings.push(format!(
            "{label}: cues has \"fill\", but a {} has no beats between",
            set.kick.in_words()
        ));
    }
    let silent_kick =
        set.kick == Kick::Pull && set.cues.has(CueKind::Kick) && !set.cues.has(CueKind::Arm);
    if silent_kick {
        warnings.push(format!(
            "{label}: a pull has no kicks, so no stroke cue will sound"
        ));
    }
    let beats = set.pairing.paired_beats(&set.stroke());
    let gap = forward(&beats.left, &beats.right);
    let near = gap.min(exact(1) - gap);
    if near < fraction(15, 100) && set.kick != Kick::Pull {
        warnings.push(format!(
            "{label}: with these catches the two feet kick only {:.2} of a cycle apart",
            to_f64(&near)
        ));
    }
    let hiding = hiding_cues(set);
    if !hiding.is_empty() {
        warnings.push(format!(
            "{label}: at {} {} fall on the breath sound and make it hard to hear; try another \
             rate, or leave the breath out of cues",
            set.rate.short(),
            hiding.join(" and ")
        ));
    }
    let measured = swimmer.and_then(|swimmer| swimmer.measured.as_ref());
    if let Some((measured, at)) =
        measured.and_then(|m| Some((m.catch_after_entry.as_ref()?, m.rate.as_ref()?)))
    {
        let tenth = at.spm() / exact(10);
        let far = set.rates().find(|rate| {
            let off = rate.spm() - at.spm();
            off > tenth || -off > tenth
        });
        if let Some(rate) = far {
            warnings.push(format!(
                "{label}: {} is more than 10 % from {}, where the catch was measured ({}); \
                 the catch comes sooner as the rate rises: film again near this rate",
                rate.short(),
                at.short(),
                measured.explain(),
            ));
        }
    }
    warnings
}

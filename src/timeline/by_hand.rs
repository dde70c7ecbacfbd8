//! A set as a hand has left it, in sets of a session that sound so by themselves.
//!
//! On deck the clock of the session stays, whatever the rate. A time that is predicted from strokes
//! is another one at another rate: here each stroke is made as long as it must be for that time.

use super::schedule::rates;
use crate::model::kick::{Kick, Pairing};
use crate::model::resolve::Set;
use crate::model::session::{CueSet, Going, RatePlan, RepeatSwim};
use crate::units::{Rate, StrokeLength, exact};

/// What a hand has set.
#[derive(Debug, Clone, PartialEq)]
pub struct ByHand {
    /// The rate of all repeats but those for comparison; none where it is the session's.
    pub rate: Option<Rate>,
    /// The pairing.
    pub pairing: Pairing,
    /// The kick.
    pub kick: Kick,
    /// The cues that are left.
    pub cues: CueSet,
}

/// A set as it sounds under a hand: one set, or several one after another where its repeats last
/// longer and shorter than one set could have it.
///
/// # Errors
/// Where no stroke is as long as it would have to be.
pub fn by_hand(set: &Set, hand: &ByHand) -> Result<Vec<Set>, String> {
    let mut heard = set.switched(hand.pairing, hand.kick);
    heard.cues = heard.cues.only(hand.cues);
    let Some(rate) = &hand.rate else {
        return Ok(vec![heard]);
    };
    let own_plan = heard.rate.clone();
    heard.rate = RatePlan::Steady(rate.clone());
    let (Some(Going::StrokeLength(own)), RepeatSwim::Distance(_)) = (set.going(), &set.swim) else {
        return Ok(vec![heard]);
    };
    let lengths = (1..=set.repeats).map(|number| match set.compared(number) {
        Some(_) => Ok(own.clone()),
        None => {
            let (from, to) = rates(set, number);
            own.at(&((from.spm() + to.spm()) / exact(2)), rate)
        }
    });
    let lengths: Vec<StrokeLength> = lengths.collect::<Result<_, _>>()?;
    if lengths.iter().all(|length| *length == lengths[0]) {
        heard.stroke_length = Some(lengths[0].clone());
        return Ok(vec![heard]);
    }
    heard.rate = own_plan;
    Ok(parts(&heard, rate, &lengths))
}

/// Runs of repeats of one stroke length and one rate, as sets of their own.
fn parts(set: &Set, rate: &Rate, lengths: &[StrokeLength]) -> Vec<Set> {
    let mut parts: Vec<Set> = Vec::new();
    for (number, length) in (1..).zip(lengths) {
        let rate = RatePlan::Steady(set.compared(number).unwrap_or(rate).clone());
        let last = parts.last_mut();
        match last.filter(|last| last.rate == rate && last.stroke_length.as_ref() == Some(length)) {
            Some(last) => last.repeats += 1,
            None => parts.push(Set {
                repeats: 1,
                rate,
                compare: None,
                stroke_length: Some(length.clone()),
                rest_after: None,
                ..set.clone()
            }),
        }
    }
    for (number, part) in (1..).zip(&mut parts).skip(1) {
        part.name = format!("{} {number}", set.name);
        part.say = None;
    }
    if let Some(last) = parts.last_mut() {
        last.rest_after = set.rest_after.clone();
    }
    parts
}

//! What a day of the course swims: its step's preset, at the own rate.

use super::TrainingPlan;
use super::course::CourseStep;
use super::days::{Day, weekday_word};
use super::sessions::settle;
use crate::error::Result;
use crate::model::session::{CueSet, RepeatSwim, SwimWish};
use crate::model::wishes::{Said, Session, Wishes, said};
use crate::units::{Rate, Time, ceil_u64, exact, print_decimal};

/// The session of a day of the course. `written` is the step's preset, where it has one.
///
/// # Errors
/// When a set's rate falls outside what is swum.
pub fn course_session(
    plan: &TrainingPlan,
    day: &Day,
    step: CourseStep,
    written: Option<&Session>,
) -> Result<Session> {
    let mut session = match written {
        Some(written) => written.clone(),
        None => without_cues(plan),
    };
    session.title = said(format!(
        "Week {}, {} {}, {}",
        day.week,
        weekday_word(day.date.weekday()),
        day.date,
        step.name()
    ));
    if step == CourseStep::HalfLengths {
        let sets = session.sets.iter_mut().map(|set| &mut set.value);
        for layer in sets.chain([&mut session.defaults]) {
            layer.swim = None;
            layer.push_off = None;
        }
        session.defaults.swim = said(SwimWish::Swim(RepeatSwim::Time(half_length(&plan.from))));
        // Standing up and leaning forward is no push-off.
        session.defaults.push_off = said(Time::whole_s(0));
    }
    settle(&mut session, &plan.from, None)?;
    Ok(session)
}

/// Seven cycles, in whole seconds: the set that is two strokes a minute slower has six to seven.
fn half_length(rate: &Rate) -> Time {
    let strokes = 14;
    let s = ceil_u64(&(exact(60 * strokes) / rate.spm())).unwrap_or(u64::MAX);
    Time::whole_s(s.min(600) as i64)
}

fn without_cues(plan: &TrainingPlan) -> Session {
    let rate = &plan.from;
    let spoken = print_decimal(rate.spm()).unwrap_or_else(|| rate.short());
    Session {
        source: plan.source.clone(),
        sets: vec![Said {
            value: Wishes {
                name: said("Without cues".into()),
                repeats: said(4),
                swim: said(SwimWish::Lengths(2)),
                rest: said(Time::whole_s(30)),
                cues: said(CueSet::NONE),
                say: said(format!(
                    "No cues. From feel, your own rate: {spoken} strokes a minute. Count your \
                     strokes."
                )),
                ..Wishes::default()
            },
            at: None,
        }],
        ..Session::default()
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests_of::plan;
    use super::super::{Rules, WeekPlaces};
    use super::*;
    use crate::model::kick::Pairing;

    fn day(step: CourseStep) -> Day {
        Day {
            week: 1,
            number: 0,
            date: "2027-03-01".parse().expect("a date"),
            placed: WeekPlaces::FIRST,
            uncued: Vec::new(),
            step: Some(step),
        }
    }

    #[test]
    fn every_step_swims_a_preset_that_there_is_at_the_own_rate_or_a_little_below() {
        let plan = plan(6, "mon");
        assert_eq!(plan.rules, Rules::default());
        for first in [Pairing::SameSide, Pairing::OppositeSide] {
            for step in CourseStep::ALL {
                let written = step.preset(first).map(|name| {
                    let preset = crate::files::preset(name).expect(name);
                    crate::files::parse_session(name, preset.text).expect(name)
                });
                assert_eq!(written.is_none(), step == CourseStep::Without);
                let session = course_session(&plan, &day(step), step, written.as_ref());
                let session = session.expect("holds");
                let sets = session.sets.iter().map(|set| &set.value);
                for layer in sets.chain([&session.defaults]) {
                    let Some(rate) = &layer.rate else { continue };
                    let rate = rate.value.to_string();
                    assert!(["52 spm", "50 spm"].contains(&rate.as_str()), "{rate}");
                }
            }
        }
    }

    #[test]
    fn a_half_length_has_six_to_eight_cycles() {
        for spm in [36, 44, 52, 60, 72, 90] {
            let rate = Rate::from_spm(exact(spm)).expect("a rate");
            let seconds = half_length(&rate);
            for rate in [spm, spm - 2] {
                let cycles = seconds.s() * exact(rate) / exact(120);
                assert!(cycles >= exact(6) && cycles <= exact(8), "{spm}: {cycles}");
            }
        }
    }
}

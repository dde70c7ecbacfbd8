//! The session of a training day: swims without cues first, then the week's rate and fade.

use super::days::{Day, Uncued, comparison_places};
use super::path::{Path, shown};
use super::{TrainingPlan, weekday_word};
use crate::error::{Error, Result};
use crate::model::compare::Compare;
use crate::model::cue::{CUE_KINDS, CueKind};
use crate::model::session::{CueSet, Fade, FadePer, RatePlan, SwimWish, WishedRate};
use crate::model::wishes::{Said, Session, Wishes, said};
use crate::units::{Fix, Rate, RateWish, exact, print_decimal, to_f64};

/// The session that a day swims. `written` is the session file of that day, where the plan names
/// some: then its sets stand, rates relative to the week's, and the swims without cues are taken
/// off the first set that has enough repeats. `cycles` is how many cycles a cued repeat has, by
/// which a fade is chosen.
///
/// # Errors
/// When a set's rate falls outside what is swum, or no set has repeats enough.
pub fn session_of(
    plan: &TrainingPlan,
    path: &Path,
    day: &Day,
    written: Option<&Session>,
    cycles: Option<f64>,
) -> Result<Session> {
    let rate = rate_at(path, day.placed.rate)?;
    let mut session = match written {
        Some(written) => written.clone(),
        None => own(plan),
    };
    session.title = said(title(day, &rate));
    let fade = fade_for(path.share(day.placed.share), cycles);
    settle(&mut session, &rate, fade)?;
    let taken = day.uncued.len() as u64;
    let (at, from) = take_off(&mut session, taken, &plan.source)?;
    if plan.compare && path.rate(day.placed.rate) > path.rate(1) {
        compare(&mut session, at, taken, (&rate, &rate_at(path, 1)?));
    }
    let uncued = (day.uncued.iter()).map(|swim| uncued_set(swim, path, day, &from));
    let uncued = uncued.collect::<Result<Vec<_>>>()?;
    session.sets.splice(0..0, uncued);
    Ok(session)
}

fn title(day: &Day, rate: &Rate) -> String {
    format!(
        "Week {}, {} {}, {}",
        day.week,
        weekday_word(day.date.weekday()),
        day.date,
        rate.short()
    )
}

fn rate_at(path: &Path, place: usize) -> Result<Rate> {
    Rate::from_spm(shown(path.rate(place))).map_err(Error::input)
}

/// The plan's own session: one set at the week's rate.
fn own(plan: &TrainingPlan) -> Session {
    Session {
        source: plan.source.clone(),
        sets: vec![Said {
            value: Wishes {
                name: said("With cues".into()),
                repeats: said(plan.work.repeats),
                swim: said(SwimWish::Swim(plan.work.swim.clone())),
                rest: said(plan.work.rest.clone()),
                ..Wishes::default()
            },
            at: None,
        }],
        ..Session::default()
    }
}

/// Gives every set the week's rate, or a rate relative to it, and every cued set without a fade
/// of its own the week's fade.
pub(super) fn settle(session: &mut Session, own: &Rate, fade: Option<Fade>) -> Result<()> {
    let absolute = |wished: &WishedRate| -> Result<WishedRate> {
        wished.try_map(|wish| {
            let rate = wish.resolve(Some(own)).map_err(Error::input)?;
            Ok(RateWish::Absolute(rate))
        })
    };
    let layers = (session.sets.iter_mut().map(|set| &mut set.value)).chain([&mut session.defaults]);
    for layer in layers {
        if let Some(rate) = &mut layer.rate {
            rate.value = absolute(&rate.value)?;
        }
        if let Some(Said {
            value: Some(compare),
            ..
        }) = &mut layer.compare
        {
            let rate = compare.rate.resolve(Some(own)).map_err(Error::input)?;
            *compare = compare.with(RateWish::Absolute(rate));
        }
    }
    if session.defaults.rate.is_none() {
        session.defaults.rate = said(RatePlan::Steady(RateWish::Absolute(own.clone())));
    }
    if session.defaults.fade.is_none() {
        session.defaults.fade = fade.and_then(|fade| said(Some(fade)));
    }
    Ok(())
}

/// Lets the set of the week's cues swim some of its repeats at the plan's first rate. Places are
/// those of the whole day, so that they stay whatever is taken off. A set that says what it
/// compares, or that swims another rate than the week's, stays as it is.
fn compare(session: &mut Session, at: usize, taken: u64, (week, first): (&Rate, &Rate)) {
    let defaults = &session.defaults;
    let set = &session.sets[at].value;
    let says = set.compare.is_some() || defaults.compare.is_some();
    let rate = set.rate.as_ref().or(defaults.rate.as_ref());
    let steady = RatePlan::Steady(RateWish::Absolute(week.clone()));
    let is_week = rate.is_some_and(|rate| rate.value == steady);
    let left = set.repeats.as_ref().map_or(1, |said| said.value);
    let places = comparison_places((left + taken) as usize).into_iter();
    let at_repeat = |place: usize| (place as u64).checked_sub(taken).filter(|at| *at > 0);
    let places: Vec<u64> = places.filter_map(at_repeat).collect();
    if says || !is_week || places.is_empty() || places.len() as u64 >= left {
        return;
    }
    session.sets[at].value.compare = said(Some(Compare {
        rate: RateWish::Absolute(first.clone()),
        at: places,
    }));
}

/// Takes swims off the first cued set with more repeats than that; gives its place and the set as
/// it was. What it compares moves along.
fn take_off(session: &mut Session, taken: u64, source: &str) -> Result<(usize, Wishes)> {
    let cued = |layer: &Wishes| {
        let cues = layer.cues.as_ref().or(session.defaults.cues.as_ref());
        cues.is_none_or(|cues| {
            CUE_KINDS
                .into_iter()
                .any(|kind: CueKind| cues.value.has(kind))
        })
    };
    let repeats = |layer: &Wishes| {
        let said = layer.repeats.as_ref().or(session.defaults.repeats.as_ref());
        said.map_or(1, |said| said.value)
    };
    let fits = |set: &&Said<Wishes>| cued(&set.value) && repeats(&set.value) > taken;
    let Some(at) = session.sets.iter().position(|set| fits(&set)) else {
        return Err(Error::input(format!(
            "no set with cues has more than {taken} repeats; the swims without cues take their \
             place, so that the week's distance stays"
        ))
        .at(if session.source.is_empty() {
            source
        } else {
            &session.source
        })
        .accepted("a set with cues and 4 or more repeats")
        .example("repeats = 8"));
    };
    let left = repeats(&session.sets[at].value) - taken;
    let set = &mut session.sets[at].value;
    let before = set.clone();
    set.repeats = said(left);
    if let Some(Said {
        value: own @ Some(_),
        ..
    }) = &mut set.compare
    {
        let moved = |compare: Compare<RateWish>| {
            let at = compare.at.iter().filter_map(|at| at.checked_sub(taken));
            let at: Vec<u64> = at.filter(|at| *at > 0).collect();
            (!at.is_empty() && (at.len() as u64) < left).then_some(Compare { at, ..compare })
        };
        *own = own.take().and_then(moved);
    }
    Ok((at, before))
}

fn uncued_set(swim: &Uncued, path: &Path, day: &Day, from: &Wishes) -> Result<Said<Wishes>> {
    let (name, place, why) = match swim {
        Uncued::Opening => (
            "Without cues".to_string(),
            day.placed.held,
            "the rate you last held",
        ),
        Uncued::Kept { place, days, .. } => (
            match days {
                1 => "Without cues, 1 day on".into(),
                days => format!("Without cues, {days} days on"),
            },
            *place,
            "the rate of your holding week",
        ),
    };
    let rate = rate_at(path, place)?;
    let spoken = print_decimal(rate.spm()).unwrap_or_else(|| rate.short());
    Ok(Said {
        value: Wishes {
            name: said(name),
            repeats: said(1),
            cues: said(CueSet::NONE),
            fade: said(None),
            breath: said(None),
            compare: said(None),
            rest_after: None,
            rate: said(RatePlan::Steady(RateWish::Absolute(rate))),
            say: said(format!(
                "No cues. From feel, {why}: {spoken} strokes a minute. Count your strokes."
            )),
            ..from.clone()
        },
        at: None,
    })
}

/// A period of at most so many cycles, so that a swim of 50 m hears some of each.
const LONGEST_PERIOD: u32 = 24;

/// The fade by cycle whose share of sounding cycles in a swim of `cycles` is nearest to `share`;
/// among equals the shortest. None where all sound. At least two cycles sound in a row: from one
/// alone no rate can be heard.
pub fn fade_for(share: &Fix, cycles: Option<f64>) -> Option<Fade> {
    if *share >= exact(1) {
        return None;
    }
    let wanted = to_f64(share);
    let heard = |fade: &Fade| match cycles.filter(|cycles| *cycles > 0.0) {
        None => f64::from(fade.on) / f64::from(fade.on + fade.off),
        Some(cycles) => {
            // The last cycle may be a part of one.
            let part = |cycle: u64| (cycles - cycle as f64).min(1.0);
            let all = 0..cycles.ceil() as u64;
            let sounding = all.filter(|cycle| fade.sounds(*cycle));
            sounding.map(part).sum::<f64>() / cycles
        }
    };
    let fades = (3..=LONGEST_PERIOD).flat_map(|period| {
        (2..period).map(move |on| Fade {
            on,
            off: period - on,
            per: FadePer::Cycle,
        })
    });
    let off = |fade: &Fade| (heard(fade) - wanted).abs();
    let nearest = fades.min_by(|a, b| off(a).total_cmp(&off(b)));
    // Nearer to a share of all than to any fade: all sound.
    nearest.filter(|fade| off(fade) <= (1.0 - wanted).abs())
}

#[cfg(test)]
mod tests {
    use super::super::tests_of::plan;
    use super::super::{days_of, placed};
    use super::*;
    use crate::model::session::Gap;
    use crate::units::fraction;

    fn sessions(weeks: usize, days: &str) -> Vec<Session> {
        let plan = plan(weeks, days);
        let path = plan.path();
        days_of(&plan, &placed(&plan))
            .iter()
            .map(|day| session_of(&plan, &path, day, None, None).expect("holds"))
            .collect()
    }

    fn repeats(session: &Session) -> u64 {
        let of = |set: &Said<Wishes>| set.value.repeats.as_ref().map_or(1, |said| said.value);
        session.sets.iter().map(of).sum()
    }

    #[test]
    fn the_first_session_of_a_week_opens_without_cues_at_the_rate_before() {
        let sessions = sessions(5, "mon wed fri");
        let first = &sessions[3];
        assert_eq!(first.title, said("Week 2, mon 2027-03-08, 53 spm".into()));
        let opening = &first.sets[0].value;
        assert_eq!(
            opening.cues.as_ref().map(|said| said.value),
            Some(CueSet::NONE)
        );
        let rate = |layer: &Wishes| layer.rate.as_ref().map(|said| said.value.to_string());
        assert_eq!(rate(opening), Some("52 spm".into()));
        assert_eq!(rate(&first.defaults), Some("53 spm".into()));
        assert_eq!(
            first.sets[1].value.repeats.as_ref().map(|said| said.value),
            Some(7)
        );
        assert_eq!(sessions[4].sets.len(), 1, "only the first session opens so");
    }

    #[test]
    fn two_swims_of_a_day_are_swum_at_the_first_rate_for_comparison() {
        let sessions = sessions(5, "mon wed fri");
        let compared = |session: &Session| -> Vec<Option<String>> {
            (session.sets.iter())
                .map(|set| Some(set.value.compare.as_ref()?.value.as_ref()?.to_string()))
                .collect()
        };
        assert_eq!(
            compared(&sessions[0]),
            [None, None],
            "week 1 is the first rate"
        );
        // The third and the sixth of the day's eight; the first has no cues on Monday.
        assert_eq!(
            compared(&sessions[3]),
            [None, Some("repeats 2 and 5 at 52 spm".into())]
        );
        assert_eq!(
            compared(&sessions[4]),
            [Some("repeats 3 and 6 at 52 spm".into())]
        );
        let mut plan = plan(5, "mon wed fri");
        plan.compare = false;
        let day = &days_of(&plan, &placed(&plan))[4];
        let without = session_of(&plan, &plan.path(), day, None, None).expect("holds");
        assert_eq!(compared(&without), [None]);
    }

    #[test]
    fn a_set_that_says_what_it_compares_keeps_that_and_one_at_another_rate_compares_nothing() {
        let plan = plan(6, "mon wed fri");
        // A Monday: its first swim has no cues.
        let day = &days_of(&plan, &placed(&plan))[3];
        let of = |keys: &str| {
            let text = format!("[[set]]\nrepeats = 6\nswim = \"50 m\"\n{keys}\n");
            let written = crate::files::parse_session("own.toml", &text).expect("parses");
            let session = session_of(&plan, &plan.path(), day, Some(&written), None);
            let session = session.expect("holds");
            let said = session.sets[1].value.compare.clone();
            Some(said?.value?.to_string())
        };
        assert_eq!(
            of("rate = \"+0 spm\""),
            Some("repeats 1 and 4 at 52 spm".into())
        );
        assert_eq!(of("rate = \"-1 spm\""), None);
        assert_eq!(of("compare = \"none\""), None);
        let own = "compare = { rate = \"-2 spm\", at = [1, 4] }";
        assert_eq!(of(own), Some("repeat 3 at 51 spm".into()));
    }

    #[test]
    fn every_week_swims_the_same_distance_whatever_is_without_cues() {
        for days in ["mon", "mon wed fri", "sat sun"] {
            for session in sessions(9, days) {
                assert_eq!(repeats(&session), 8, "{:?}", session.title);
            }
        }
    }

    #[test]
    fn a_written_session_takes_rates_relative_to_the_weeks() {
        let text = "[defaults]\nrest = \"30 s\"\n[[set]]\nswim = \"25 m\"\n[[set]]\nrepeats = 6\n\
                    swim = \"50 m\"\nrate = \"-2 spm\"\nfade = \"none\"\n";
        let written = crate::files::parse_session("evening.toml", text).expect("parses");
        let plan = plan(6, "mon wed fri");
        let day = &days_of(&plan, &placed(&plan))[6];
        let session = session_of(&plan, &plan.path(), day, Some(&written), None).expect("holds");
        let set = |at: usize| &session.sets[at].value;
        let rate = |at: usize| set(at).rate.as_ref().map(|said| said.value.to_string());
        assert_eq!(rate(0), Some("53 spm".into()), "held in week 2");
        assert_eq!(rate(2), Some("52 spm".into()), "two below week 3's 54");
        assert_eq!(set(2).repeats.as_ref().map(|said| said.value), Some(5));
        assert_eq!(set(2).fade.as_ref().map(|said| said.value), Some(None));
        assert!(matches!(
            &session.defaults.fade,
            Some(Said { value: Some(_), .. })
        ));

        let single = crate::files::parse_session("one.toml", "[[set]]\nswim = \"25 m\"\n");
        let single = single.expect("parses");
        let error = session_of(&plan, &plan.path(), day, Some(&single), None).expect_err("one");
        assert!(
            error.to_string().starts_with("one.toml: no set with cues"),
            "{error}"
        );
    }

    #[test]
    fn a_fade_comes_near_the_share_in_the_swim_itself() {
        assert_eq!(fade_for(&exact(1), None), None);
        let quarter = fade_for(&fraction(1, 4), None).expect("a fade");
        assert_eq!((quarter.on, quarter.off), (2, 6));
        for cycles in [12.0_f64, 22.4, 25.0, 28.46, 60.0] {
            for percent in (25..=95).step_by(5) {
                let fade = fade_for(&fraction(percent, 100), Some(cycles));
                let sounds = |cycle: &u64| fade.is_none_or(|fade| fade.sounds(*cycle));
                let all = (0..cycles.ceil() as u64).filter(sounds);
                let heard: f64 = all.map(|cycle| (cycles - cycle as f64).min(1.0)).sum();
                let share = heard / cycles;
                // A cycle more or less is all that whole cycles can do.
                let off = (share - percent as f64 / 100.0).abs();
                assert!(off <= 1.0 / cycles + 1e-9, "{cycles} {percent}: {share}");
            }
        }
    }

    #[test]
    fn the_plans_own_session_rests_as_the_plan_says() {
        let session = &sessions(2, "mon")[0];
        let layer = &session.sets[1].value;
        let rest = layer
            .rest
            .as_ref()
            .map(|said| Gap::Rest(said.value.clone()));
        assert_eq!(rest, Some(Gap::Rest(crate::units::Time::whole_s(30))));
    }
}

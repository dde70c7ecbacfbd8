//! Verdicts in sentences, with the numbers that decided.

use super::inputs::Given;
use crate::analysis::Estimate;
use crate::analysis::weeks::{DpsLine, Finding, Standing, Week, WeekTense, WeekVerdict};
use crate::cli::shared::words::count;
use crate::model::plan::{Path, TrainingPlan, shown};
use crate::units::{Fix, to_f64};
use std::fmt::Write as _;

/// What the verdict of a week rests on, sentence by sentence.
pub fn reasons(given: &Given, week: &Week) -> Vec<String> {
    let mut reasons: Vec<String> = (week.findings.iter())
        .map(|finding| reason(&given.plan, given.line, week, *finding))
        .collect();
    let film = given.films.iter().find(|film| film.week == week.week);
    reasons.extend(film.map(|film| {
        format!(
            "by the film, a kick scatters by {:.0} ms, {:.0} degrees of that foot's kick cycle",
            film.scatter_ms, film.scatter_deg
        )
    }));
    reasons
}

fn reason(plan: &TrainingPlan, line: DpsLine, week: &Week, finding: Finding) -> String {
    let rules = &plan.rules;
    let (within, fewest, asked) = (
        to_f64(&rules.rate_within),
        rules.fewest_swims,
        rules.fewest_days,
    );
    let Week { swims, days, .. } = week;
    let rate = format!("rate swum minus cued {}", spm(week.figures.rate_error_spm));
    let speed = |so: &str| format!("{}: {so}", speed(week));
    let length = |so: &str| format!("{}: {so}", length(line, week));
    let none = |share: &Fix| format!("no loss beyond {:.1} %", to_f64(share) * 100.0);
    let still = |share: &Fix| {
        let limit = to_f64(share) * 100.0;
        format!("the interval still allows a loss beyond {limit:.1} %")
    };
    match finding {
        Finding::Missed => "no swim in the log".into(),
        Finding::Ill => "a note tells of illness: one step down first".into(),
        Finding::Pain => {
            "a note tells of pain or dizziness: stop, hold, and ask a coach or doctor".into()
        }
        Finding::TooFewSwims => format!(
            "{swims} swims in the log, and fewer than {fewest} of them with a cued rate, time and \
             strokes that can be used"
        ),
        Finding::TooFewDays => {
            format!("swims with cues on {days} of the {asked} days that are asked for")
        }
        Finding::OneArm(n) => format!(
            "{n} swims set aside: the rate swum is half the rate cued; was only one arm counted?"
        ),
        Finding::CountedTwice(n) => {
            format!("{n} swims set aside: double the rate cued; were strokes counted twice?")
        }
        Finding::RateHeld => format!("rate held: {rate}, within {within} spm"),
        Finding::RateUnsure => {
            format!("{rate}: the interval still allows more than {within} spm too few")
        }
        Finding::RateShort => format!("rate not held: {rate}"),
        Finding::RateOver => format!("swum ahead of the cue: {rate}"),
        Finding::FirstWeek => "nothing earlier to compare speed with: the base line".into(),
        Finding::NothingToCompare => {
            "no earlier week of this distance to compare with: held once as its base line".into()
        }
        Finding::SpeedHeld => speed(&none(&rules.speed_loss)),
        Finding::SpeedUnsure => speed(&still(&rules.speed_loss)),
        Finding::SpeedFell => speed("it has fallen"),
        Finding::LengthHeld => length(&none(&rules.length_loss)),
        Finding::LengthUnsure => length(&still(&rules.length_loss)),
        Finding::LengthFell => length("it has fallen"),
        Finding::EffortUnknown => "effort not noted: taken as equal".into(),
        Finding::EffortHigher => MORE_EFFORT.into(),
        Finding::EffortRising => {
            format!("effort has risen for {} weeks running", rules.effort_weeks)
        }
        Finding::TimingNotMeasured => NOT_MEASURED.into(),
        Finding::TimingNotKept => NOT_KEPT.into(),
    }
}

const MORE_EFFORT: &str =
    "effort is higher than in the last held week: speed is not at equal effort";
const NOT_MEASURED: &str = "rate held, timing not measured: note `kept` or film it before cues are \
    thinned; until then the share of cues stays";
const NOT_KEPT: &str =
    "the kick's timing did not hold, by `kept` or by the film: the share of cues stays";

/// Speed against the week that it is compared with.
fn speed(week: &Week) -> String {
    let other = week.figures.compared_with;
    let other = other.map(|week| format!(" (compared with week {week})"));
    let change = percent(week.figures.speed_change);
    format!("speed {change}{}", other.unwrap_or_default())
}

/// Distance per stroke against what a line foretells.
fn length(line: DpsLine, week: &Week) -> String {
    let foretold = match line {
        DpsLine::Steps(_) => "the step test's line",
        DpsLine::LastHeld => "the last held rate",
    };
    let change = percent(week.figures.length_change);
    format!("distance per stroke {change} against what {foretold} foretells")
}

fn spm(estimate: Option<Estimate>) -> String {
    said(estimate, tenths, " spm")
}

/// With a sign and one decimal; what rounds to nothing has no sign.
fn tenths(value: f64) -> String {
    let text = format!("{value:+.1}");
    match text.as_str() {
        "-0.0" | "+0.0" => "0.0".into(),
        _ => text,
    }
}

fn percent(estimate: Option<Estimate>) -> String {
    let in_percent = estimate.map(|estimate| estimate.map(|share| share * 100.0));
    said(in_percent, tenths, " %")
}

fn said(estimate: Option<Estimate>, show: impl Fn(f64) -> String, unit: &str) -> String {
    let Some(Estimate {
        value, interval, ..
    }) = estimate
    else {
        return "not known".into();
    };
    let ends = interval.map(|(low, high)| format!("{} to {}", show(low), show(high)));
    let ends = ends.unwrap_or_else(|| "no interval".into());
    format!("{}{unit} ({ends})", show(value))
}

/// The last week with a verdict.
pub fn last_judged(standing: &Standing) -> Option<&Week> {
    let mut from_last = standing.weeks.iter().rev();
    from_last.find(|week| week.verdict.is_some())
}

/// The first week that is not over: the one to swim.
pub fn to_swim(standing: &Standing) -> Option<&Week> {
    standing
        .weeks
        .iter()
        .find(|week| week.ahead != WeekTense::Past)
}

/// Where the swimmer stands, in a sentence or two.
pub fn today(
    plan: &TrainingPlan,
    path: &Path,
    standing: &Standing,
    today: jiff::civil::Date,
) -> String {
    let Some(now) = standing.now else {
        return format!(
            "The plan has not begun: week 1 starts on {}. Nothing is judged before that.{}",
            plan.start,
            goal(plan, standing, 1)
        );
    };
    let mut text = match last_judged(standing) {
        None => format!("Today {today}, week {now}: no week is over yet."),
        Some(week) => format!(
            "Today {today}, week {now}. After week {}: {}.",
            week.week,
            verdict(week).to_uppercase()
        ),
    };
    if let Some(week) = to_swim(standing) {
        let _ = write!(
            text,
            " {}'s rate: {}{}, cues on {} of the cycles.",
            if week.week == now {
                "This week".into()
            } else {
                format!("Week {}", week.week)
            },
            rate(path, week.placed.rate),
            if moved(plan, week) {
                format!(" (planned {})", rate(path, week.week))
            } else {
                String::new()
            },
            share(path, week.placed.share)
        );
    }
    text.push_str(&goal(plan, standing, now));
    text
}

/// When the goal comes.
fn goal(plan: &TrainingPlan, standing: &Standing, now: usize) -> String {
    let goal = plan.to.short();
    match standing.goal_week {
        Some(week) if week > plan.weeks => format!(
            " If all goes well from here, {goal} comes in week {week}, {} after the plan's last.",
            count(week - plan.weeks, "week")
        ),
        Some(week) if week >= now => {
            format!(" If all goes well from here, {goal} comes in week {week}.")
        }
        Some(_) => String::new(),
        None => format!(" {goal} is not in sight: talk to a coach about the goal."),
    }
}

/// A verdict's words; a week without a swim says so.
pub fn verdict(week: &Week) -> &'static str {
    week.verdict.map_or("", WeekVerdict::words)
}

/// Whether a week swims another rate than the one planned for it.
pub fn moved(plan: &TrainingPlan, week: &Week) -> bool {
    let path = plan.path();
    shown(path.rate(week.placed.rate)) != shown(path.rate(week.week))
}

/// A place's rate: `54.1 spm`.
pub fn rate(path: &Path, place: usize) -> String {
    format!("{:.1} spm", to_f64(&shown(path.rate(place))))
}

/// A place's share of cues: `86 %`.
pub fn share(path: &Path, place: usize) -> String {
    format!("{:.0} %", to_f64(path.share(place)) * 100.0)
}

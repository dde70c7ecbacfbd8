//! What a verdict rests on, in sentences: the number that decided, how sure it is, what would
//! change it, and what to do next.

use super::inputs::Given;
use super::verdict::to_swim;
use crate::analysis::Estimate;
use crate::analysis::weeks::{Difference, Finding, Standing, Week, Weighed, rules};
use crate::cli::shared::words::count;
use crate::model::plan::{Path, TrainingPlan, shown};
use crate::units::to_f64;

/// What the verdict of a week rests on, sentence by sentence.
pub fn reasons(given: &Given, week: &Week) -> Vec<String> {
    let mut reasons: Vec<String> = (week.findings.iter())
        .map(|finding| reason(&given.plan, week, *finding))
        .collect();
    let same_day = week.figures.same_day.map(|same_day| {
        format!(
            "on the same days {} was {} against {} (80 % interval)",
            rate(&given.plan.path(), week.placed.rate),
            within(same_day, 0.8),
            given.plan.from.short(),
        )
    });
    reasons.extend(same_day);
    let film = given.films.iter().find(|film| film.week == week.week);
    reasons.extend(film.map(|film| {
        format!(
            "by the film, a kick scatters by {:.0} ms, {:.0} degrees of that foot's kick cycle",
            film.scatter_ms, film.scatter_deg
        )
    }));
    reasons
}

/// The same of the last week that was judged, and what to do next.
pub fn reasons_and_next(given: &Given, standing: &Standing, week: &Week) -> Vec<String> {
    let mut all = reasons(given, week);
    all.extend(next(given, standing, week));
    all
}

fn reason(plan: &TrainingPlan, week: &Week, finding: Finding) -> String {
    before_speed(plan, week, finding)
        .or_else(|| of_speed(plan, week, finding))
        .unwrap_or_else(|| beside_speed(plan, week, finding))
}

/// What is found before any speed is looked at.
fn before_speed(plan: &TrainingPlan, week: &Week, finding: Finding) -> Option<String> {
    let rules = &plan.rules;
    let (fewest, asked) = (rules.fewest_swims, rules.fewest_days);
    let Week { swims, days, .. } = week;
    let here = rate(&plan.path(), week.placed.rate);
    Some(match finding {
        Finding::Missed => "no swim in the log".into(),
        Finding::Ill => "a note tells of illness: one step down first".into(),
        Finding::Pain => {
            "a note tells of pain or dizziness: stop, hold, and ask a coach or doctor".into()
        }
        Finding::TooFewSwims => format!(
            "{swims} swims in the log, and fewer than {fewest} of them cued at {here}, with a time"
        ),
        Finding::TooFewDays => {
            format!("swims with cues on {days} of the {asked} days that are asked for")
        }
        Finding::OneArm(n) => format!(
            "the strokes of {n} swims are set aside: the rate swum is half the rate cued; was only \
             one arm counted? Their times count"
        ),
        Finding::CountedTwice(n) => format!(
            "the strokes of {n} swims are set aside: double the rate cued; were strokes counted \
             twice? Their times count"
        ),
        Finding::OtherRate(n) => {
            format!("{n} swims set aside: cued at another rate than this week's {here}")
        }
        Finding::RateHeld => rate_swum(plan, week, "rate held"),
        Finding::RateUnknown => {
            "the rate swum is not known, for want of strokes that can be used: taken as held".into()
        }
        Finding::RateDoubtful => rate_swum(plan, week, "rate in doubt"),
        Finding::RateShort => rate_swum(plan, week, "rate not held"),
        Finding::RateOver => rate_swum(plan, week, "swum ahead of the cue"),
        _ => return None,
    })
}

fn rate_swum(plan: &TrainingPlan, week: &Week, so: &str) -> String {
    let error = said(week.figures.rate_error_spm, " spm");
    let short = week.figures.rate_short.map(|short| {
        let within = to_f64(&plan.rules.rate_within);
        format!(", more than {within} spm short {}", likely(short))
    });
    format!(
        "{so}: rate swum minus cued {error}{}",
        short.unwrap_or_default()
    )
}

/// What the speeds of all weeks say.
fn of_speed(plan: &TrainingPlan, week: &Week, finding: Finding) -> Option<String> {
    let path = plan.path();
    let here = rate(&path, week.placed.rate);
    let ahead = rate(&path, week.placed.rate + 1);
    let weighed = week.figures.weighed.clone().unwrap_or_default();
    let limit = to_f64(&plan.rules.speed_loss) * 100.0;
    let (hold, back) = (percent(rules::HOLD_ABOVE), percent(rules::BACK_ABOVE));
    let against = against(&weighed, &here);
    let (at_here, at_next) = (
        likely(weighed.loss_here),
        likely(weighed.loss_next.unwrap_or(0.0)),
    );
    let loss = format!("a loss of more than {limit:.1} %");
    Some(match finding {
        Finding::FirstWeek => "nothing earlier to compare speed with: the base line".into(),
        Finding::NothingToCompare => {
            "no earlier week of this distance to compare with: held once as its base line".into()
        }
        Finding::SpeedHeld if weighed.loss_next.is_some() => format!(
            "{against}: {loss} is {at_here} here, and {at_next} at {ahead}, the next rate; above {hold} \
             it would hold"
        ),
        Finding::SpeedHeld => format!("{against}: {loss} is {at_here}; above {hold} it would hold"),
        Finding::LossLikely => format!("{against}: {loss} is {at_here}; above {hold} it holds"),
        Finding::LossLikelyNext => format!(
            "{against}: at {ahead}, the next rate, {loss} is {at_next}; above {hold} it holds"
        ),
        Finding::SpeedFell => {
            format!("{against}: {loss} is {at_here}; above {back} it is one step down")
        }
        Finding::Try => format!(
            "{against}: at {ahead} {loss} is {at_next}, but {here} was held for {} weeks without one: \
             a try",
            rules::TRY_AFTER
        ),
        Finding::NoGain => format!("{}; ask your coach", no_gain(&weighed)),
        Finding::NoGainKnown => format!("{}; you go on knowing that", no_gain(&weighed)),
        Finding::SameSpeedLessEffort => format!(
            "the same speed at clearly lower effort{}: that may be the aim",
            week.figures.effort_change.map_or(String::new(), |less| {
                format!(" ({} points)", tenths(less.value))
            })
        ),
        Finding::TooSoon => format!(
            "{ahead} was stepped back from less than {} weeks ago",
            rules::NOT_AGAIN_FOR
        ),
        Finding::OffWeek => format!(
            "{} slower than the weeks before foretell: an off week, kept out of the sums; ill, tired?",
            off(&weighed)
        ),
        Finding::OffWeekAgain => format!(
            "{} slower than the weeks before foretell, and not the first such week: one step down; \
             kept out of the sums. Ill, tired?",
            off(&weighed)
        ),
        Finding::Declining | Finding::Declined => {
            declined(&weighed, to_f64(&plan.rules.speed_loss))
        }
        _ => return None,
    })
}

fn against(weighed: &Weighed, here: &str) -> String {
    match weighed.below_fastest {
        None => format!("{here} is the fastest rate so far"),
        Some(below) => format!(
            "speed {} against {}, the fastest rate so far",
            within(below.turned(), 0.95),
            spm(weighed.fastest_spm)
        ),
    }
}

fn no_gain(weighed: &Weighed) -> String {
    let Some((below, gain)) = weighed.gain else {
        return "no gain".into();
    };
    format!(
        "no gain over the last three rates: speed {} against {} (80 % interval); a gain of {:.1} % is \
         {}, {} is asked for",
        within(gain, 0.8),
        spm(below),
        rules::GAIN * 100.0,
        likely(gain.above(rules::GAIN)),
        percent(rules::GAIN_ABOVE)
    )
}

fn off(weighed: &Weighed) -> String {
    let off = weighed.off.map(|off| -off.exp_m1() * 100.0);
    off.map_or_else(String::new, |off| format!("{off:.1} %"))
}

fn declined(weighed: &Weighed, limit: f64) -> String {
    let Some(decline) = weighed.decline else {
        return String::new();
    };
    format!(
        "speed {} against the plan's first weeks, a loss of more than {:.1} % {}; the rate may not be \
         the cause",
        within(decline.turned(), 0.95),
        limit * 100.0,
        likely(decline.above(limit))
    )
}

/// Comparison swims, length, effort, timing.
fn beside_speed(plan: &TrainingPlan, week: &Week, finding: Finding) -> String {
    let from = plan.from.short();
    let length = |so: &str| {
        let change = (week.figures.length_change)
            .map_or_else(|| "not known".into(), |change| within(change, 0.95));
        let limit = to_f64(&plan.rules.length_loss) * 100.0;
        format!(
            "distance per stroke {change} against what the step test's line foretells: a loss beyond \
             {limit:.1} % {so}"
        )
    };
    let effort = || {
        let change = week
            .figures
            .effort_change
            .map(|change| tenths(change.value));
        format!(
            "effort {} since the first weeks",
            change.unwrap_or_default()
        )
    };
    match finding {
        Finding::NoComparison => {
            format!("no comparison swims at {from}: a loss is seen later, and a gain too")
        }
        Finding::ComparisonFelt => format!(
            "the comparison swims at {from} did not feel like the others in these weeks: their \
             differences are left out. Same effort in all"
        ),
        Finding::DaysApart(n) => format!(
            "on {} the comparison swims at {from} felt two points or more apart: no difference from \
             there. Same effort in all",
            count(n, "day")
        ),
        Finding::LengthHeld => length("is not likely"),
        Finding::LengthDoubtful => length("is likely"),
        Finding::LengthFell => length("is nearly sure"),
        Finding::EffortUnknown => "effort not noted: taken as equal".into(),
        Finding::EffortHigher => format!(
            "{}: it holds, {} weeks at most, then this effort is the measure",
            effort(),
            rules::EFFORT_WEEKS
        ),
        Finding::EffortTaken => format!("{}: this effort is now the measure", effort()),
        Finding::EffortFarHigher => format!("{}: so much holds for as long as it stays", effort()),
        Finding::TimingNotMeasured => NOT_MEASURED.into(),
        Finding::TimingNotKept => NOT_KEPT.into(),
        // Said by the two above.
        _ => String::new(),
    }
}

const NOT_MEASURED: &str = "rate held, timing not measured: note `kept` or film it before cues are \
    thinned; until then the share of cues stays";
const NOT_KEPT: &str =
    "the kick's timing did not hold, by `kept` or by the film: the share of cues stays";

/// What would change the verdict, and what to do next.
fn next(given: &Given, standing: &Standing, week: &Week) -> Vec<String> {
    let plan = &given.plan;
    let path = plan.path();
    let Some(coming) = to_swim(standing) else {
        return Vec::new();
    };
    let to = rate(&path, coming.placed.rate);
    let limit = to_f64(&plan.rules.speed_loss) * 100.0;
    let fastest = week
        .figures
        .weighed
        .as_ref()
        .map(|weighed| spm(weighed.fastest_spm));
    let fastest = fastest.unwrap_or_else(|| "earlier rates".into());
    let Some(decided) = week.decided_by() else {
        return Vec::new();
    };
    let text = match decided {
        Finding::NoGain => return no_gain_choices(given, week, &fastest),
        Finding::LossLikely | Finding::LossLikelyNext => format!(
            "what would change it: days at which {to} is as fast as {fastest}. Next: {to} again, every \
             swim at the same effort"
        ),
        Finding::SpeedFell | Finding::Declined => format!(
            "what would change it: days without that loss. Next: {to}; the higher rate again after {} \
             weeks at the earliest",
            rules::NOT_AGAIN_FOR
        ),
        Finding::RateShort | Finding::RateDoubtful | Finding::RateOver => format!(
            "what would change it: strokes, both arms counted, that give the cued rate. Next: {to}"
        ),
        Finding::Missed | Finding::TooFewSwims | Finding::TooFewDays => format!(
            "what would change it: {} swims with a time on {} days. Next: {to}",
            plan.rules.fewest_swims, plan.rules.fewest_days
        ),
        decided if decided.verdict() == crate::analysis::weeks::WeekVerdict::GoOn => format!(
            "what would change it: a speed at {to} more than {limit:.1} % below that at {fastest}. \
             Next: {to}"
        ),
        _ => format!("what would change it: the next days. Next: {to}"),
    };
    vec![text]
}

/// "No gain" is no dead end: three ways on, a command each.
fn no_gain_choices(given: &Given, week: &Week, fastest: &str) -> Vec<String> {
    let here = rate(&given.plan.path(), week.placed.rate);
    let command = |flag: &str| format!("cuelane plan decide {} {flag}", given.plan.source);
    vec![
        "what would change it: days that show a gain; or you choose, with a coach:".into(),
        format!("keep {here} and go on to the fades: {}", command("--keep")),
        format!(
            "back to {fastest}, the fastest, and the fades there: {}",
            command("--fastest")
        ),
        format!("go on, knowing it: {}", command("--go-on")),
    ]
}

fn said(estimate: Option<Estimate>, unit: &str) -> String {
    let Some(Estimate {
        value, interval, ..
    }) = estimate
    else {
        return "not known".into();
    };
    let ends = interval.map(|(low, high)| format!("{} to {}", tenths(low), tenths(high)));
    let ends = ends.unwrap_or_else(|| "no interval".into());
    format!("{}{unit} ({ends})", tenths(value))
}

/// A difference of logarithms in percent, with its interval.
fn within(change: Difference, share: f64) -> String {
    let percent = |log: f64| tenths(log.exp_m1() * 100.0);
    let (low, high) = change.interval(share);
    format!(
        "{} % ({} to {})",
        percent(change.value),
        percent(low),
        percent(high)
    )
}

fn likely(chance: f64) -> String {
    match chance {
        ..0.005 => "under 1 % likely".into(),
        0.995.. => "over 99 % likely".into(),
        _ => format!("{} likely", percent(chance)),
    }
}

/// A place's rate, as it is cued: `57 spm`.
pub fn rate(path: &Path, place: usize) -> String {
    spm(to_f64(&shown(path.rate(place))))
}

/// A rate of the path: half strokes, or tenths of an older one.
pub fn spm(rate: f64) -> String {
    if rate.fract() == 0.0 {
        format!("{rate:.0} spm")
    } else {
        format!("{rate:.1} spm")
    }
}

fn percent(share: f64) -> String {
    format!("{:.0} %", share * 100.0)
}

/// With a sign and one decimal; what rounds to nothing has no sign.
fn tenths(value: f64) -> String {
    let text = format!("{value:+.1}");
    match text.as_str() {
        "-0.0" | "+0.0" => "0.0".into(),
        _ => text,
    }
}

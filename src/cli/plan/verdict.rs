//! Where the swimmer stands, in a sentence or two.

use crate::analysis::weeks::{Ahead, LoggedSwim, Standing, Week, WeekTense, WeekVerdict};
use crate::cli::shared::words::count;
use crate::model::plan::{Path, TrainingPlan, shown};
use crate::units::to_f64;
use std::fmt::Write as _;

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
    // A rate that is kept from some week on is the goal from then on.
    let goal = plan.kept_rate(usize::MAX).unwrap_or(&plan.to).short();
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

/// How many swims a verdict takes at the swimmer's own scatter.
pub fn takes(plan: &TrainingPlan, swims: &[LoggedSwim]) -> String {
    let ahead = Ahead::of(plan, swims);
    let whose = if ahead.own > 0 {
        format!("by {} swims of the log", ahead.own)
    } else {
        "a default, no source; a log gives your own".into()
    };
    let blind = if plan.compare {
        ""
    } else {
        " Without comparison swims a loss is seen later, and a gain too."
    };
    format!(
        "At a scatter of {:.1} % from swim to swim ({whose}) a new rate's speed against the first \
         one's is known to {:.1} %, eight times in ten, after {}: {} of these days.{blind}",
        ahead.scatter * 100.0,
        to_f64(&plan.rules.speed_loss) * 100.0,
        count(ahead.weeks, "week"),
        count(ahead.swims, "swim"),
    )
}

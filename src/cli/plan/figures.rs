//! The weeks as a table and as JSON.

use serde_json::{Value, json};
use std::fmt::Write as _;

use super::given::Given;
use super::words::{last_judged, moved, reasons, to_swim};
use crate::analysis::Estimate;
use crate::analysis::weeks::{Standing, Week, WeekTense, WeekVerdict};
use crate::cli::shared::out;
use crate::cli::shared::swum::estimate;
use crate::model::plan::{Path, shown};
use crate::units::to_f64;

/// The table of all weeks, in 79 columns.
pub fn table(given: &Given, standing: &Standing) -> String {
    let path = given.plan.path();
    let mut text = String::from(
        "      first day    rate  moved   cues    rate swum   speed  metres/ effort  kept\n \
         week                spm    spm      %          spm     m/s   stroke\n",
    );
    for week in &standing.weeks {
        let plain = |value: Option<Estimate>, places: usize| {
            value
                .map(|value| format!("{:.places$}", value.value))
                .unwrap_or_default()
        };
        let swum = match week.figures.rate_spm {
            None => String::new(),
            Some(rate) => match rate.half_width() {
                Some(half) => format!("{:.1} ±{half:.1}", rate.value),
                None => format!("{:.1}", rate.value),
            },
        };
        let said: usize = week.kept.iter().sum();
        let kept = match said {
            0 => String::new(),
            said => format!("{}/{said}", week.kept[0]),
        };
        let rate = |place: usize| format!("{:.1}", to_f64(&shown(path.rate(place))));
        let line = format!(
            "{}{:>4}  {}  {:>6} {:>6} {:>6} {:>12} {:>7} {:>8} {:>6} {:>5}",
            match week.ahead {
                WeekTense::Now => ">",
                _ => " ",
            },
            week.week,
            week.first,
            if week.week <= given.plan.weeks {
                rate(week.week)
            } else {
                String::new()
            },
            if moved(&given.plan, week) || week.week > given.plan.weeks {
                rate(week.placed.rate)
            } else {
                String::new()
            },
            format!("{:.0}", to_f64(path.share(week.placed.share)) * 100.0),
            swum,
            plain(week.figures.speed_m_s, 3),
            plain(week.figures.length_m, 3),
            plain(week.figures.effort, 1),
            kept,
        );
        text.push_str(line.trim_end());
        text.push('\n');
        let remark = match (week.verdict, week.supposed, week.holds) {
            (Some(verdict), _, _) if week.swims == 0 => format!("{}, no swim", verdict.words()),
            (Some(verdict), _, _) => verdict.words().to_string(),
            (None, true, _) => "supposed".into(),
            (None, false, true) if week.week <= given.plan.weeks => "holds by rule".into(),
            _ => continue,
        };
        let _ = writeln!(text, "       {remark}");
    }
    text
}

/// Everything as JSON.
pub fn in_json(given: &Given, standing: &Standing) -> Value {
    let plan = &given.plan;
    let path = plan.path();
    let weeks: Vec<Value> = (standing.weeks.iter())
        .map(|week| week_json(given, &path, week))
        .collect();
    let mut today = json!({
        "date": given.today.to_string(),
        "state": match (standing.now, standing.weeks.iter().all(|week| week.ahead == WeekTense::Past)) {
            (None, _) => "not begun",
            (Some(_), true) => "ended",
            (Some(_), false) => "under way",
        },
        "week": standing.now,
    });
    let judged = last_judged(standing);
    today["verdict"] = json!(judged.and_then(|week| week.verdict).map(WeekVerdict::words));
    today["judged_week"] = json!(judged.map(|week| week.week));
    if let Some(week) = judged {
        today["reasons"] = json!(reasons(given, week));
    }
    if let Some(week) = to_swim(standing) {
        today["next_week"] = json!(week.week);
        today["rate_spm"] = rate_json(&path, week.week);
        if moved(plan, week) {
            today["moved_rate_spm"] = rate_json(&path, week.placed.rate);
        }
        today["cued_percent"] = share_json(&path, week.placed.share);
    }
    today["goal_week"] = json!(standing.goal_week);
    json!({
        "format": 1,
        "plan": plan.source,
        "swimmer": given.swimmer.name,
        "log": given.log,
        "from_spm": out::micro(to_f64(plan.from.spm())),
        "to_spm": out::micro(to_f64(plan.to.spm())),
        "start": plan.start.to_string(),
        "today": today,
        "weeks": weeks,
        "edited_from_week": plan.edited_from(),
        "notes": given.notes,
        "caution": crate::model::words::PLAN_CAUTION,
    })
}

fn rate_json(path: &Path, place: usize) -> Value {
    out::micro(to_f64(&shown(path.rate(place))))
}

fn share_json(path: &Path, place: usize) -> Value {
    json!((to_f64(path.share(place)) * 1000.0).round() / 10.0)
}

fn week_json(given: &Given, path: &Path, week: &Week) -> Value {
    let plan = &given.plan;
    let mut value = json!({
        "week": week.week,
        "starts": week.first.to_string(),
        "rate_spm": rate_json(path, week.week),
        "cued_percent": share_json(path, week.week),
        "holds": path.holds(week.week) && week.week <= plan.weeks,
        "verdict": week.verdict.map(WeekVerdict::words),
        "swims": week.swims,
    });
    if moved(plan, week) {
        value["moved_rate_spm"] = rate_json(path, week.placed.rate);
    }
    if week.placed.share != week.week.min(plan.weeks) {
        value["moved_cued_percent"] = share_json(path, week.placed.share);
    }
    if week.supposed {
        value["supposed"] = json!(true);
    }
    if week.ahead == WeekTense::Ahead || week.swims == 0 {
        return value;
    }
    let figures = &week.figures;
    let percent = |change: Estimate| change.map(|share| share * 100.0);
    for (key, found) in [
        ("rate_swum_spm", figures.rate_spm),
        ("rate_error_spm", figures.rate_error_spm),
        ("uncued_rate_error_spm", figures.uncued_error_spm),
        ("speed_m_s", figures.speed_m_s),
        ("distance_per_stroke_m", figures.length_m),
        ("effort", figures.effort),
        ("speed_change_percent", figures.speed_change.map(percent)),
        (
            "distance_per_stroke_change_percent",
            figures.length_change.map(percent),
        ),
    ] {
        if let Some(found) = found {
            value[key] = estimate(&found);
        }
    }
    if let Some(distance) = figures.distance_m {
        value["distance_m"] = json!(distance);
    }
    if let Some(other) = figures.compared_with {
        value["compared_with_week"] = json!(other);
    }
    let [yes, part, no] = week.kept;
    value["days"] = json!(week.days);
    value["kept"] = json!({ "yes": yes, "part": part, "no": no });
    value["timing"] = json!(week.timed.words());
    if let Some(film) = given.films.iter().find(|film| film.week == week.week) {
        value["kick_scatter_ms"] = json!(film.scatter_ms);
        value["kick_scatter_deg"] = json!(film.scatter_deg);
    }
    value["reasons"] = json!(reasons(given, week));
    value
}

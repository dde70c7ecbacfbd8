//! Simulated swimmers on a plan, week by week. Their laws are written here; the program sees only
//! the log that they keep. No swimmer has been measured: these are invented.
//!
//! The logarithm of speed is `gain` for each step of 2 % of rate, and normal scatter: of the day,
//! of the week (0.4 %), of the swim. A swim is 50 m: two push-offs of 3 s and 4 m that no rate
//! changes, 42 m of strokes; times to 0.1 s, strokes whole. Effort is 5, with a scatter of 0.7.

use cuelane::analysis::weeks::{Finding, LoggedSwim, WeekVerdict, follow};
use cuelane::files::parse_plan;
use cuelane::model::log::Kept;
use cuelane::model::plan::{TrainingPlan, comparison_places, shown};
use cuelane::units::to_f64;
use fastrand::Rng;
use jiff::Span;

/// How a swimmer answers a rate, and how the log is kept. Speeds are shares.
#[derive(Debug, Clone, Copy)]
pub struct Athlete {
    /// What a step of 2 % gives, up to `break_at` steps of the path; what it gives above.
    pub gain: f64,
    pub break_at: Option<usize>,
    pub after: f64,
    /// Scatter of a day, and of a swim.
    pub day: f64,
    pub swim: f64,
    /// From which rate to which, strokes/min; days a week; swims a day, and how many of them are
    /// comparison swims.
    pub path: (u32, u32),
    pub days: usize,
    pub swims: usize,
    pub comparison: usize,
    /// A week by itself makes faster.
    pub trend: f64,
    /// Weeks of illness, 4 % slower, and whether a note says so.
    pub ill: &'static [usize],
    pub noted: bool,
    /// Share of swims that are logged; share of days that are missing.
    pub logged: f64,
    pub missing: f64,
    /// Strokes always even; seconds always whole; share of swims of which one arm is counted.
    pub even: bool,
    pub whole: bool,
    pub one_arm: f64,
    /// Effort: a point more or less by chance; more each week from the third for four weeks; more
    /// with each step.
    pub effort_noise: bool,
    pub effort_a_week: f64,
    pub effort_a_step: f64,
    /// Comparison swims are swum easier, and felt easier.
    pub easy: f64,
    pub felt_easier: f64,
    /// Others are tried harder. The first and the last swim of a day are faster; all tire.
    pub tries: f64,
    pub first: f64,
    pub last: f64,
    pub tires: f64,
}

pub const ADAPTS: Athlete = Athlete {
    gain: 0.01,
    break_at: None,
    after: 0.0,
    day: 0.01,
    swim: 0.01,
    path: (54, 60),
    days: 3,
    swims: 8,
    comparison: 2,
    trend: 0.0,
    ill: &[],
    noted: false,
    logged: 1.0,
    missing: 0.0,
    even: false,
    whole: false,
    one_arm: 0.0,
    effort_noise: false,
    effort_a_week: 0.0,
    effort_a_step: 0.0,
    easy: 0.0,
    felt_easier: 0.0,
    tries: 0.0,
    first: 0.0,
    last: 0.0,
    tires: 0.0,
};

/// As many weeks are swum.
const WEEKS: usize = 16;

/// The plan that they swim.
pub fn plan_of(athlete: &Athlete) -> TrainingPlan {
    let (from, to) = athlete.path;
    let days = match athlete.days {
        2 => "\"mon\", \"thu\"",
        3 => "\"mon\", \"wed\", \"fri\"",
        _ => "\"mon\", \"tue\", \"wed\", \"thu\", \"fri\"",
    };
    let text = format!(
        "swimmer = \"alex.toml\"\nfrom = \"{from} spm\"\nto = \"{to} spm\"\nweeks = {WEEKS}\n\
         days = [{days}]\nstart = \"2027-03-01\"\n"
    );
    parse_plan("plan.toml", &text).expect("the simulation's own plan")
}

/// A draw of a normal distribution (Box & Muller 1958, from memory).
fn normal(rng: &mut Rng) -> f64 {
    let (u, v) = (1.0 - rng.f64(), rng.f64());
    (-2.0 * u.ln()).sqrt() * (std::f64::consts::TAU * v).cos()
}

/// What came of a swimmer's weeks.
#[derive(Debug, Default)]
pub struct Came {
    /// The level of each week: which rate of the path, from 0.
    pub levels: Vec<usize>,
    /// How many levels there are, and in which week the goal is planned.
    pub top: usize,
    pub planned: usize,
    pub verdicts: Vec<WeekVerdict>,
    pub told_no_gain: bool,
    pub held_for_effort: bool,
}

/// Swims a plan, asking the program after each week.
pub fn live(athlete: &Athlete, seed: u64) -> Came {
    let plan = plan_of(athlete);
    let path = plan.path();
    let spm = |place: usize| to_f64(&shown(path.rate(place)));
    let mut rates: Vec<f64> = (1..=plan.weeks).map(spm).collect();
    rates.dedup();
    let mut rng = Rng::with_seed(seed);
    let mut log: Vec<LoggedSwim> = Vec::new();
    let mut came = Came {
        top: rates.len() - 1,
        planned: path.goal(),
        ..Came::default()
    };
    let mut place = 1;
    for week in 1..=WEEKS {
        let level = (rates.iter()).position(|rate| *rate == spm(place));
        came.levels.push(level.unwrap_or(0));
        swim_week(
            athlete,
            &plan,
            &rates,
            (week, spm(place)),
            &mut log,
            &mut rng,
        );
        let standing = follow(&plan, &log, None, &[], plan.first_day(week + 1), None);
        let Some(judged) = standing.weeks.get(week - 1) else {
            continue;
        };
        came.verdicts.extend(judged.verdict);
        let found = |finding| judged.findings.contains(&finding);
        let holds = judged.verdict == Some(WeekVerdict::Hold);
        came.told_no_gain |= holds && found(Finding::NoGain);
        came.held_for_effort |= found(Finding::EffortHigher) || found(Finding::EffortFarHigher);
        place = standing
            .weeks
            .get(week)
            .map_or(place, |next| next.placed.rate);
    }
    came
}

/// A week of swims at a rate, as they are logged.
fn swim_week(
    athlete: &Athlete,
    plan: &TrainingPlan,
    rates: &[f64],
    (week, spm): (usize, f64),
    log: &mut Vec<LoggedSwim>,
    rng: &mut Rng,
) {
    let steps = |rate: f64| (rate / rates[0]).ln() / 1.02_f64.ln();
    let places = match athlete.comparison {
        2 => comparison_places(athlete.swims),
        1 => vec![4],
        _ => Vec::new(),
    };
    let offsets: &[i64] = match athlete.days {
        2 => &[0, 3],
        3 => &[0, 2, 4],
        _ => &[0, 1, 2, 3, 4],
    };
    let of_week = 0.004 * normal(rng);
    let ill = athlete.ill.contains(&week);
    for (number, offset) in offsets.iter().enumerate() {
        let of_day = of_week + athlete.day * normal(rng) - if ill { 0.04 } else { 0.0 };
        let there = rng.f64() >= athlete.missing;
        for at in 1..=athlete.swims {
            let compares = spm > rates[0] && places.contains(&at);
            let cue = if compares { rates[0] } else { spm };
            let x = steps(cue);
            let gained = match athlete.break_at.map(|level| steps(rates[level])) {
                Some(most) if x > most => athlete.gain * most + athlete.after * (x - most),
                _ => athlete.gain * x,
            };
            let part = (at - 1) as f64 / (athlete.swims - 1) as f64;
            let speed = gained + of_day - athlete.tires * part
                + if compares {
                    -athlete.easy
                } else {
                    athlete.tries
                }
                + if at == 1 { athlete.first } else { 0.0 }
                + if at == athlete.swims {
                    athlete.last
                } else {
                    0.0
                }
                + athlete.trend * (week - 1) as f64
                + athlete.swim * normal(rng);
            let swum_s = 6.0 + 42.0 / (0.837 * speed.exp());
            let grain = if athlete.whole { 1.0 } else { 10.0 };
            let time_s = ((swum_s + 0.1 * normal(rng)) * grain).round() / grain;
            let strokes = (cue + 0.4 * normal(rng)) / 60.0 * (swum_s - 6.0);
            let strokes = if athlete.even {
                2.0 * (strokes / 2.0).round()
            } else {
                strokes.round()
            };
            let strokes = if rng.f64() < athlete.one_arm {
                (strokes / 2.0).floor()
            } else {
                strokes
            };
            let more = athlete.effort_a_week * (week as f64 - 3.0).clamp(0.0, 4.0)
                + athlete.effort_a_step * x
                - if compares { athlete.felt_easier } else { 0.0 };
            let noise = if athlete.effort_noise {
                rng.i32(-1..=1)
            } else {
                0
            };
            let effort = (5.0 + more + 0.7 * normal(rng)).clamp(0.0, 10.0).round();
            if !there || rng.f64() >= athlete.logged {
                continue;
            }
            log.push(LoggedSwim {
                date: plan
                    .first_day(week)
                    .saturating_add(Span::new().days(*offset)),
                distance_m: 50.0,
                cued_spm: (number > 0 || at > 1).then_some(cue),
                strokes: Some(strokes),
                rate_spm: Some(60.0 * strokes / (time_s - 6.0)),
                speed_m_s: Some(50.0 / time_s),
                length_m: Some(42.0 / strokes),
                effort: Some(effort + f64::from(noise)),
                kept: Some(Kept::Yes),
                ill: ill && athlete.noted,
                pain: false,
            });
        }
    }
}

/// What came of many, percent.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// At the goal's rate by its planned week and three more; by week 16.
    pub soon: f64,
    pub by_16: f64,
    /// Never more than two steps of the path above the last rate held; never more than three weeks
    /// running two or more above it.
    pub within_two: f64,
    pub back_in_3: f64,
    /// Told "no gain" at some time; never past the third step.
    pub told: f64,
    pub at_most_3: f64,
    /// Held for effort at some time.
    pub effort: f64,
}

/// So many swimmers of one kind, from a seed on.
pub fn many(athlete: &Athlete, count: u64, seed: u64) -> Shares {
    let came: Vec<Came> = (0..count).map(|at| live(athlete, seed + at)).collect();
    let share = |is_so: &dyn Fn(&Came) -> bool| {
        100.0 * came.iter().filter(|came| is_so(came)).count() as f64 / count as f64
    };
    let held = athlete.break_at.unwrap_or(0);
    let reached = |came: &Came| came.levels.iter().position(|level| *level == came.top);
    let highest = |came: &Came| came.levels.iter().max().copied().unwrap_or(0);
    Shares {
        soon: share(&|came| reached(came).is_some_and(|at| at < came.planned + 3)),
        by_16: share(&|came| reached(came).is_some()),
        within_two: share(&|came| highest(came) <= held + 2),
        back_in_3: share(&|came| {
            let above: Vec<bool> = came.levels.iter().map(|level| *level > held + 1).collect();
            (above.chunk_by(|a, b| a == b)).all(|run| !run[0] || run.len() <= 3)
        }),
        told: share(&|came| came.told_no_gain),
        at_most_3: share(&|came| highest(came) <= 3),
        effort: share(&|came| came.held_for_effort),
    }
}

//! The walk along the path: one week measured, judged, and the path moved by what came of it.

use jiff::civil::Date;

use super::LoggedSwim;
use super::beside::{self, Efforts};
use super::days::{Days, Figure, Squares};
use super::gate::{Asked, Gate};
use super::levels::Difference;
use super::observed::{Kind, Observed, WeekRates};
use super::verdict::{Figures, Finding, Timed, WeekVerdict};
use super::week::{Week, WeekTense};
use crate::analysis::Estimate;
use crate::analysis::stats::median;
use crate::model::log::{CountedWrong, Kept};
use crate::model::plan::{Path, TrainingPlan, WeekPlaces, shown};
use crate::units::{Fix, to_f64};

/// What the length of a stroke is compared with.
#[derive(Debug, Clone)]
struct LengthBase {
    distance_m: f64,
    days: Days,
    rate_spm: f64,
    length_m: f64,
}

/// What a week showed, for the verdict.
pub struct WeekSeen {
    seen: Observed,
    counts: Counts,
    error: Days,
    length: Days,
    effort: Days,
    grain_spm: f64,
}

/// How many swims there were, of which kinds.
#[derive(Debug, Clone, Copy, Default)]
struct Counts {
    other_rate: usize,
    one_arm: usize,
    twice: usize,
    ill: bool,
    pain: bool,
}

impl Counts {
    fn of(swam: &[&LoggedSwim], rates: WeekRates) -> Self {
        let is_ours =
            |swim: &&&LoggedSwim| matches!(rates.kind(swim), Kind::AtRate | Kind::Comparison);
        let slips = |wrong: CountedWrong| {
            (swam.iter().filter(is_ours))
                .filter(|swim| swim.slip() == Some(wrong))
                .count()
        };
        let is_other = |swim: &&&LoggedSwim| rates.kind(swim) == Kind::OtherRate;
        Self {
            other_rate: swam.iter().filter(is_other).count(),
            one_arm: slips(CountedWrong::Half),
            twice: slips(CountedWrong::Double),
            ill: swam.iter().any(|swim| swim.ill),
            pain: swam.iter().any(|swim| swim.pain),
        }
    }
}

/// The walk along the path.
pub struct Walk<'a> {
    plan: &'a TrainingPlan,
    path: &'a Path,
    line: Option<f64>,
    /// The rates of the path upwards, each once; place 0 is the lowest.
    levels: Vec<Fix>,
    gate: Gate,
    efforts: Efforts,
    length_base: Option<LengthBase>,
    placed: WeekPlaces,
    last: usize,
    away: u64,
    lowered: bool,
    rate_scatter: Squares,
    rate_level_scatter: Squares,
    uncued_scatter: Squares,
    speed_scatter: Squares,
    length_scatter: Squares,
    effort_scatter: Squares,
}

impl<'a> Walk<'a> {
    /// Before the first week.
    pub fn new(plan: &'a TrainingPlan, path: &'a Path, line: Option<f64>) -> Self {
        let mut levels: Vec<Fix> = (0..=path.weeks()).map(|place| *path.rate(place)).collect();
        levels.dedup();
        let first = levels.iter().position(|rate| rate == path.rate(1));
        let spm = levels.iter().map(to_f64).collect();
        let limit = to_f64(&plan.rules.speed_loss);
        Self {
            plan,
            path,
            line,
            gate: Gate::new(spm, first.unwrap_or(0), limit),
            levels,
            efforts: Efforts::default(),
            length_base: None,
            placed: WeekPlaces {
                rate: 1,
                share: 1,
                held: 1,
            },
            last: path.weeks(),
            away: 0,
            lowered: false,
            rate_scatter: Squares::default(),
            rate_level_scatter: Squares::default(),
            uncued_scatter: Squares::default(),
            speed_scatter: Squares::default(),
            length_scatter: Squares::default(),
            effort_scatter: Squares::default(),
        }
    }

    /// A week as it is about to be swum, and what its rows say of the timing.
    pub fn week(
        &self,
        week: usize,
        first: Date,
        swam: &[&LoggedSwim],
        film: Option<Timed>,
    ) -> Week {
        let count = |kept: Kept| swam.iter().filter(|swim| swim.kept == Some(kept)).count();
        let kept = Kept::SEEN.map(count);
        let said: usize = kept.iter().sum();
        let timed = match (film, said) {
            (Some(timed), _) => timed,
            (None, 0) => Timed::NotMeasured,
            (None, _) if kept[0] * 2 > said => Timed::Kept,
            (None, _) => Timed::NotKept,
        };
        Week {
            week,
            first,
            ahead: WeekTense::Ahead,
            placed: self.placed,
            holds: self.path.holds(self.placed.rate),
            verdict: None,
            findings: Vec::new(),
            figures: Figures::default(),
            swims: swam.len(),
            days: 0,
            kept,
            timed,
            supposed: false,
        }
    }

    /// The last place whose rate is wanted: the path's, or that of a rate which is kept.
    pub fn last(&self) -> usize {
        self.last
    }

    /// Whether it has been reached: nothing moves any more.
    pub fn done(&self) -> bool {
        self.placed.rate >= self.last
    }

    /// Whether the plan has one training day a week: then its swims stand for days.
    fn single(&self) -> bool {
        self.plan.days.len() == 1
    }

    fn days(&self, swims: &[&LoggedSwim], figure: Figure) -> Days {
        Days::of(swims, figure, self.single())
    }

    fn level(&self, place: usize) -> usize {
        let rate = self.path.rate(place);
        self.levels
            .iter()
            .position(|level| level == rate)
            .unwrap_or(0)
    }

    /// The rates of this week's cues, as they are sounded.
    fn rates(&self) -> WeekRates {
        let spm = |place: usize| to_f64(&shown(self.path.rate(place)));
        let is_above = self.path.rate(self.placed.rate) > self.path.rate(1);
        WeekRates {
            week_spm: spm(self.placed.rate),
            comparison_spm: is_above.then(|| spm(1)),
        }
    }

    /// Fills a week's figures in; gives what the verdict needs beside them.
    pub fn measure(&mut self, week: &mut Week, swam: &[&LoggedSwim]) -> WeekSeen {
        let rates = self.rates();
        let seen = Observed::of(swam, rates, self.single());
        let of = |wanted: &dyn Fn(Kind) -> bool| -> Vec<&LoggedSwim> {
            (swam.iter().copied())
                .filter(|swim| wanted(rates.kind(swim)))
                .collect()
        };
        let at_rate = of(&|kind| kind == Kind::AtRate);
        let ours = of(&|kind| matches!(kind, Kind::AtRate | Kind::Comparison));
        let sound: Vec<&LoggedSwim> = (at_rate.iter().copied())
            .filter(|swim| swim.slip().is_none())
            .collect();
        let alike: Vec<&LoggedSwim> = (sound.iter().copied())
            .filter(|swim| Some(swim.distance_m) == seen.distance_m)
            .collect();
        let mut dates: Vec<Date> = (at_rate.iter().filter(|swim| swim.speed_m_s.is_some()))
            .map(|swim| swim.date)
            .collect();
        dates.dedup();
        week.days = dates.len();
        let error = self.days(&sound, &|swim| Some(swim.rate_spm? - swim.cued_spm?));
        let rate = self.days(&sound, &|swim| swim.rate_spm);
        let length = self.days(&alike, &|swim| swim.length_m.map(f64::ln));
        let effort = self.days(&ours, &|swim| swim.effort);
        let held = to_f64(&shown(self.path.rate(self.placed.held)));
        let uncued = self.days(&of(&|kind| kind == Kind::Uncued), &|swim| {
            // Half or double the rate asked for is a slip of counting here too.
            (swim.rate_spm)
                .filter(|rate| CountedWrong::of(*rate, held).is_none())
                .map(|rate| rate - held)
        });
        self.rate_scatter.add(&error);
        self.rate_level_scatter.add(&rate);
        self.uncued_scatter.add(&uncued);
        self.speed_scatter.add(&seen.speed);
        self.length_scatter.add(&length);
        self.effort_scatter.add(&effort);

        let back = |estimate: Estimate| estimate.map(f64::exp);
        week.figures = Figures {
            distance_m: seen.distance_m,
            rate_error_spm: self.rate_scatter.estimate(&error),
            rate_spm: self.rate_level_scatter.estimate(&rate),
            uncued_error_spm: self.uncued_scatter.estimate(&uncued),
            speed_m_s: self.speed_scatter.estimate(&seen.speed).map(back),
            length_m: self.length_scatter.estimate(&length).map(back),
            effort: self.effort_scatter.estimate(&effort),
            ..Figures::default()
        };
        let counts = Counts::of(swam, rates);
        WeekSeen {
            counts,
            grain_spm: grain(&sound),
            seen,
            error,
            length,
            effort,
        }
    }

    /// The verdict on a week that is over.
    pub fn judge(&mut self, week: &mut Week, swam: &[&LoggedSwim]) -> (WeekVerdict, Vec<Finding>) {
        let measured = self.measure(week, swam);
        let level = self.level(self.placed.rate);
        let mut findings = Vec::new();
        if let Some(verdict) = self.before_the_clock(week, &measured, &mut findings) {
            if week.swims > 0 {
                let enough = verdict != WeekVerdict::NotEnough;
                self.gate.pass_over(week.week, level, measured.seen, enough);
            }
            return (verdict, findings);
        }
        let next = (self.placed.rate + 1).min(self.last_in(week.week));
        let asked = Asked {
            week: week.week,
            level,
            next: self.level(next).max(level),
            knowing: self.plan.goes_on_knowing(week.week),
        };
        let within = to_f64(&self.plan.rules.rate_within);
        let (mut verdict, held, short) = beside::rate(
            &measured.error,
            self.rate_scatter,
            measured.grain_spm,
            within,
        );
        findings.push(held);
        week.figures.rate_short = short.map(|error| error.turned().above(within));
        let (by_speed, found, weighed) = self.gate.judge(asked, measured.seen);
        verdict = verdict.min(by_speed);
        let no_gain = found
            .iter()
            .any(|finding| matches!(finding, Finding::NoGain | Finding::NoGainKnown));
        findings.extend(found);
        week.figures.weighed = Some(weighed);
        week.figures.same_day = self.gate.same_day();
        if let Some((by_length, found)) = self.length(week, &measured.length) {
            verdict = verdict.min(by_length);
            findings.push(found);
        }
        let (by_effort, found) = self.efforts.judge(&measured.effort);
        verdict = verdict.min(by_effort);
        findings.extend(found);
        week.figures.effort_change = self.efforts.since_the_first();
        if no_gain && self.efforts.is_lower() {
            findings.push(Finding::SameSpeedLessEffort);
        }
        match (verdict, week.timed) {
            (WeekVerdict::StepBack, _) => self.gate.step_back(),
            (WeekVerdict::GoOn, Timed::NotKept) => findings.push(Finding::TimingNotKept),
            (WeekVerdict::GoOn, Timed::NotMeasured) => findings.push(Finding::TimingNotMeasured),
            _ => {}
        }
        (verdict, findings)
    }

    /// The verdict where the swims must not or cannot be judged by their times.
    fn before_the_clock(
        &self,
        week: &Week,
        measured: &WeekSeen,
        findings: &mut Vec<Finding>,
    ) -> Option<WeekVerdict> {
        if week.swims == 0 {
            findings.push(Finding::Missed);
            return Some(WeekVerdict::NotEnough);
        }
        let counts = &measured.counts;
        for (swims, finding) in [
            (counts.other_rate, Finding::OtherRate(counts.other_rate)),
            (counts.one_arm, Finding::OneArm(counts.one_arm)),
            (counts.twice, Finding::CountedTwice(counts.twice)),
        ] {
            if swims > 0 {
                findings.push(finding);
            }
        }
        let rules = &self.plan.rules;
        let days_needed = (rules.fewest_days as usize).min(self.plan.days.len());
        let (verdict, finding) = if counts.ill {
            (WeekVerdict::StepBack, Finding::Ill)
        } else if counts.pain {
            (WeekVerdict::Hold, Finding::Pain)
        } else if (measured.seen.speed.swims as u64) < rules.fewest_swims {
            (WeekVerdict::NotEnough, Finding::TooFewSwims)
        } else if week.days < days_needed {
            (WeekVerdict::NotEnough, Finding::TooFewDays)
        } else {
            return None;
        };
        findings.push(finding);
        Some(verdict)
    }

    /// Distance per stroke against what the step test's line foretells from the first week of the
    /// same distance on; nothing without such a test, whose line alone knows more than the rate.
    fn length(&mut self, week: &mut Week, days: &Days) -> Option<(WeekVerdict, Finding)> {
        let slope = self.line?;
        let distance_m = week.figures.distance_m?;
        let (rate_spm, length_m) = (week.figures.rate_spm?.value, week.figures.length_m?.value);
        let base = (self.length_base.as_ref()).filter(|base| base.distance_m == distance_m);
        let Some(base) = base else {
            self.length_base = Some(LengthBase {
                distance_m,
                days: days.clone(),
                rate_spm,
                length_m,
            });
            return None;
        };
        // A line is no law far off: half the length is the least it may foretell.
        let foretold = (1.0 + slope * (rate_spm - base.rate_spm) / base.length_m).max(0.5);
        let variance = self.length_scatter.squares / self.length_scatter.df.max(1) as f64;
        let error2 = days.error2(variance) + base.days.error2(variance);
        let change = Difference {
            value: days.value()? - base.days.value()? - foretold.ln(),
            error: error2.max(1e-12).sqrt(),
            df: self.length_scatter.df as f64,
        };
        if self.length_scatter.df == 0 {
            return None;
        }
        week.figures.length_change = Some(change);
        Some(beside::length(change, to_f64(&self.plan.rules.length_loss)))
    }

    /// Moves the path after a judged week.
    pub fn move_on(&mut self, week: &Week, verdict: WeekVerdict) {
        let missed = week.swims == 0 || week.findings.contains(&Finding::Ill);
        self.place_as_if(week.week, verdict, missed, week.timed == Timed::Kept);
    }

    /// The last place whose rate is wanted after a week: the path's, unless a rate is kept.
    fn last_in(&self, week: usize) -> usize {
        let weeks = self.path.weeks();
        let Some(kept) = self.plan.kept_rate(week) else {
            return weeks;
        };
        let at = (1..=weeks).find(|place| shown(self.path.rate(*place)) == *kept.spm());
        at.unwrap_or(weeks)
    }

    /// Moves the path after a week. `missed`: no swims, or ill; `kept`: the cues may be thinned.
    pub fn place_as_if(&mut self, week: usize, verdict: WeekVerdict, missed: bool, kept: bool) {
        self.last = self.last_in(week);
        if !missed {
            (self.away, self.lowered) = (0, false);
        }
        match (verdict, missed) {
            (WeekVerdict::GoOn, _) => {
                self.placed.held = self.placed.rate;
                self.placed.rate += 1;
                if kept {
                    self.placed.share = (self.placed.share + 1).min(self.path.weeks());
                }
            }
            (WeekVerdict::StepBack, false) => self.step_down(),
            // Ill: at once. Away: once it has been weeks. Once for one absence.
            (WeekVerdict::StepBack, true) if !self.lowered => {
                self.step_down();
                self.lowered = true;
            }
            (WeekVerdict::NotEnough, true) => {
                self.away += 1;
                if self.away >= self.plan.rules.away_weeks && !self.lowered {
                    self.step_down();
                    self.lowered = true;
                }
            }
            _ => {}
        }
        self.placed.rate = self.placed.rate.min(self.last);
        self.placed.held = self.placed.held.min(self.placed.rate);
    }

    fn step_down(&mut self) {
        self.placed.rate = self.path.step_down(self.placed.rate);
    }
}

/// How coarse a whole count makes the rate swum, strokes/min: a stroke, or two where every count
/// of the week is even, as in a pool whose lengths begin on the same arm.
fn grain(swims: &[&LoggedSwim]) -> f64 {
    let counted = swims
        .iter()
        .filter_map(|swim| Some((swim.strokes?, swim.rate_spm?)));
    let counted: Vec<(f64, f64)> = counted.collect();
    let stroke: Vec<f64> = counted
        .iter()
        .map(|(strokes, rate)| rate / strokes)
        .collect();
    let is_even = counted.iter().all(|(strokes, _)| strokes % 2.0 == 0.0);
    median(&stroke).unwrap_or(0.0) * if is_even { 2.0 } else { 1.0 }
}

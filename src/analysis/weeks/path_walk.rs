//! The walk along the path: one week measured, judged, and the path moved by what came of it.

use jiff::civil::Date;

use super::compare::{Days, Figure, Figures, Scatter};
use super::judge::{Counts, Finding, Timed, WeekVerdict, judge};
use super::week::{Week, WeekTense};
use super::{DpsLine, LoggedSwim};
use crate::analysis::Estimate;
use crate::model::log::{CountedWrong, Kept};
use crate::model::plan::{Path, TrainingPlan, WeekPlaces, shown};
use crate::units::to_f64;

/// What a judged week leaves behind for the weeks after it.
#[derive(Debug, Clone)]
struct Past {
    week: usize,
    place: usize,
    distance_m: f64,
    speed: Days,
    length: Days,
    effort: Option<f64>,
    rate_spm: f64,
    length_m: f64,
}

impl Past {
    /// This week and an earlier one as if they were one, at their mean rate.
    fn with(&self, earlier: &Self) -> Self {
        let effort = self.effort.zip(earlier.effort);
        Self {
            speed: self.speed.with(&earlier.speed),
            length: self.length.with(&earlier.length),
            effort: effort.map(|(one, other)| (one + other) / 2.0),
            rate_spm: (self.rate_spm + earlier.rate_spm) / 2.0,
            length_m: (self.length_m + earlier.length_m) / 2.0,
            ..*self
        }
    }
}

/// The walk along the path.
pub struct Walk<'a> {
    plan: &'a TrainingPlan,
    path: &'a Path,
    line: DpsLine,
    placed: WeekPlaces,
    away: u64,
    lowered: bool,
    references: Vec<Past>,
    efforts: Vec<f64>,
    rate_scatter: Scatter,
    rate_level_scatter: Scatter,
    uncued_scatter: Scatter,
    speed_scatter: Scatter,
    length_scatter: Scatter,
    effort_scatter: Scatter,
}

impl<'a> Walk<'a> {
    /// Before the first week.
    pub fn new(plan: &'a TrainingPlan, path: &'a Path, line: DpsLine) -> Self {
        Self {
            plan,
            path,
            line,
            placed: WeekPlaces {
                rate: 1,
                share: 1,
                held: 1,
            },
            away: 0,
            lowered: false,
            references: Vec::new(),
            efforts: Vec::new(),
            rate_scatter: Scatter::default(),
            rate_level_scatter: Scatter::default(),
            uncued_scatter: Scatter::default(),
            speed_scatter: Scatter::default(),
            length_scatter: Scatter::default(),
            effort_scatter: Scatter::default(),
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
        let kept = Kept::ALL.map(count);
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

    /// Whether the last place has been reached: nothing moves any more.
    pub fn done(&self) -> bool {
        self.placed.rate >= self.path.weeks()
    }

    /// Whether the plan has one training day a week: then its swims stand for days.
    fn single(&self) -> bool {
        self.plan.days.len() == 1
    }

    fn days(&self, swims: &[&LoggedSwim], figure: Figure) -> Days {
        Days::of(swims, figure, self.single())
    }

    /// Fills a week's figures in; gives what the verdict needs beside them.
    pub fn measure(&mut self, week: &mut Week, swam: &[&LoggedSwim]) -> Counts {
        let usable = |swim: &&&LoggedSwim| swim.cued_spm.is_some() && swim.rate_spm.is_some();
        let cued: Vec<&LoggedSwim> = (swam.iter().filter(usable))
            .filter(|swim| swim.slip().is_none())
            .copied()
            .collect();
        let slips =
            |wrong: CountedWrong| (swam.iter().filter(|swim| swim.slip() == Some(wrong))).count();
        let mut dates: Vec<Date> = cued.iter().map(|swim| swim.date).collect();
        dates.dedup();
        week.days = dates.len();
        let distance = commonest(&cued);
        let alike: Vec<&LoggedSwim> = (cued.iter())
            .filter(|swim| Some(swim.distance_m) == distance)
            .copied()
            .collect();
        let error = self.days(&cued, &|swim| Some(swim.rate_spm? - swim.cued_spm?));
        let rate = self.days(&cued, &|swim| swim.rate_spm);
        let speed = self.days(&alike, &|swim| swim.speed_m_s.map(f64::ln));
        let length = self.days(&alike, &|swim| swim.length_m.map(f64::ln));
        let effort = self.days(&cued, &|swim| swim.effort);
        let held = to_f64(&shown(self.path.rate(self.placed.held)));
        let uncued = self.days(swam, &|swim| match swim.cued_spm {
            // Half or double the rate asked for is a slip of counting here too.
            None => (swim.rate_spm)
                .filter(|rate| CountedWrong::of(*rate, held).is_none())
                .map(|rate| rate - held),
            Some(_) => None,
        });
        self.rate_scatter.add(&error);
        self.rate_level_scatter.add(&rate);
        self.uncued_scatter.add(&uncued);
        self.speed_scatter.add(&speed);
        self.length_scatter.add(&length);
        self.effort_scatter.add(&effort);

        let figures = &mut week.figures;
        figures.distance_m = distance;
        figures.rate_error_spm = self.rate_scatter.estimate(&error);
        figures.rate_spm = self.rate_level_scatter.estimate(&rate);
        figures.uncued_error_spm = self.uncued_scatter.estimate(&uncued);
        let back = |estimate: Estimate| estimate.map(f64::exp);
        figures.speed_m_s = self.speed_scatter.estimate(&speed).map(back);
        figures.length_m = self.length_scatter.estimate(&length).map(back);
        figures.effort = self.effort_scatter.estimate(&effort);
        let effort = effort.value();
        let effort_more = self.compare(figures, &speed, &length, effort);
        Counts {
            all: swam.len(),
            cued: cued.len(),
            days: week.days,
            days_needed: (self.plan.rules.fewest_days as usize).min(self.plan.days.len()),
            one_arm: slips(CountedWrong::Half),
            twice: slips(CountedWrong::Double),
            ill: swam.iter().any(|swim| swim.ill),
            pain: swam.iter().any(|swim| swim.pain),
            effort_more,
            effort_rising: self.rising(effort),
            first: self.references.is_empty(),
        }
    }

    /// Compares with the last two held weeks of the same distance together (one lucky week alone
    /// would hold a swimmer for ever) and with the first one, so that small losses cannot add up;
    /// the less favourable of the two stands. Weeks at higher rates
    /// are no measure: after a step down speed is less, and need not be a loss.
    fn compare(
        &self,
        figures: &mut Figures,
        speed: &Days,
        length: &Days,
        effort: Option<f64>,
    ) -> Option<f64> {
        let alike = |past: &&Past| {
            Some(past.distance_m) == figures.distance_m && past.place <= self.placed.rate
        };
        let mut alike = self.references.iter().filter(alike);
        let first = alike.next()?;
        let last = match (alike.next_back(), alike.next_back()) {
            (None, _) => first.clone(),
            (Some(last), before) => last.with(before.unwrap_or(first)),
        };
        let share = |change: Estimate| change.map(f64::exp_m1);
        let low = |estimate: &Option<Estimate>| {
            let interval = estimate.and_then(|estimate| estimate.interval);
            interval.map_or(f64::NEG_INFINITY, |(low, _)| low)
        };
        let rate = figures.rate_spm.map(|rate| rate.value);
        for past in [&last, first] {
            let speed = self.speed_scatter.difference(speed, &past.speed).map(share);
            if figures.compared_with.is_none() || low(&speed) < low(&figures.speed_change) {
                figures.speed_change = speed;
                figures.compared_with = Some(past.week);
            }
            let foretold = rate.map(|rate| libm::log(self.foretold(past, rate)));
            let length = self.length_scatter.difference(length, &past.length);
            let length = length
                .zip(foretold)
                .map(|(change, foretold)| share(change.map(|change| change - foretold)));
            if figures.length_change.is_none() || low(&length) < low(&figures.length_change) {
                figures.length_change = length;
            }
        }
        Some(effort? - last.effort?)
    }

    /// Distance per stroke foretold at a rate, over that of a past week.
    fn foretold(&self, past: &Past, rate_spm: f64) -> f64 {
        match self.line {
            DpsLine::Steps(slope) => {
                // A line is no law far off: half the length is the least it may foretell.
                (1.0 + slope * (rate_spm - past.rate_spm) / past.length_m).max(0.5)
            }
            DpsLine::LastHeld => past.rate_spm / rate_spm,
        }
    }

    /// Whether effort has risen for so many weeks running, this one the last.
    fn rising(&self, effort: Option<f64>) -> bool {
        let weeks = self.plan.rules.effort_weeks as usize;
        let Some(effort) = effort.filter(|_| self.efforts.len() >= weeks) else {
            return false;
        };
        let mut row = self.efforts[self.efforts.len() - weeks..].to_vec();
        row.push(effort);
        row.windows(2).all(|pair| pair[1] > pair[0])
    }

    /// The verdict on a week that is over.
    pub fn judge(&mut self, week: &mut Week, swam: &[&LoggedSwim]) -> (WeekVerdict, Vec<Finding>) {
        let counts = self.measure(week, swam);
        let (verdict, mut findings) = judge(&self.plan.rules, &counts, &week.figures);
        if verdict == WeekVerdict::GoOn {
            match week.timed {
                Timed::Kept => {}
                Timed::NotKept => findings.push(Finding::TimingNotKept),
                Timed::NotMeasured => findings.push(Finding::TimingNotMeasured),
            }
        }
        (verdict, findings)
    }

    /// Keeps what later weeks are compared with: weeks that went on, and weeks that had nothing
    /// to be compared with themselves.
    pub fn remember(&mut self, week: &Week, swam: &[&LoggedSwim]) {
        let counts = |finding: &Finding| week.findings.contains(finding);
        let effort = week.figures.effort.map(|effort| effort.value);
        self.efforts.extend(effort);
        let is_new = counts(&Finding::NothingToCompare) && counts(&Finding::RateHeld);
        if week.verdict != Some(WeekVerdict::GoOn) && !is_new {
            return;
        }
        let (Some(distance_m), Some(rate), Some(length)) = (
            week.figures.distance_m,
            week.figures.rate_spm,
            week.figures.length_m,
        ) else {
            return;
        };
        let alike: Vec<&LoggedSwim> = (swam.iter())
            .filter(|swim| swim.distance_m == distance_m && swim.cued_spm.is_some())
            .filter(|swim| swim.rate_spm.is_some() && swim.slip().is_none())
            .copied()
            .collect();
        self.references.push(Past {
            week: week.week,
            place: week.placed.rate,
            distance_m,
            speed: self.days(&alike, &|swim| swim.speed_m_s.map(f64::ln)),
            length: self.days(&alike, &|swim| swim.length_m.map(f64::ln)),
            effort,
            rate_spm: rate.value,
            length_m: length.value,
        });
    }

    /// Moves the path after a judged week.
    pub fn move_on(&mut self, week: &Week, verdict: WeekVerdict) {
        let missed = week.swims == 0 || week.findings.contains(&Finding::Ill);
        self.place_as_if(verdict, missed, week.timed == Timed::Kept);
    }

    /// Moves the path after a week. `missed`: no swims, or ill; `kept`: the cues may be thinned.
    pub fn place_as_if(&mut self, verdict: WeekVerdict, missed: bool, kept: bool) {
        let last = self.path.weeks();
        if !missed {
            (self.away, self.lowered) = (0, false);
        }
        match (verdict, missed) {
            (WeekVerdict::GoOn, _) => {
                self.placed.held = self.placed.rate;
                self.placed.rate = (self.placed.rate + 1).min(last);
                if kept {
                    self.placed.share = (self.placed.share + 1).min(last);
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
    }

    fn step_down(&mut self) {
        self.placed.rate = self.path.step_down(self.placed.rate);
        self.placed.held = self.placed.held.min(self.placed.rate);
    }
}

/// The distance that most swims have; of equals the longer.
pub fn commonest(swims: &[&LoggedSwim]) -> Option<f64> {
    let mut metres: Vec<f64> = swims.iter().map(|swim| swim.distance_m).collect();
    metres.sort_by(f64::total_cmp);
    (metres.chunk_by(|a, b| a == b))
        .max_by(|a, b| a.len().cmp(&b.len()).then(a[0].total_cmp(&b[0])))
        .map(|alike| alike[0])
}

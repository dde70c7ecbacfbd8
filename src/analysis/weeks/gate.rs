//! Whether the rate may rise, by the speeds of all weeks together: on, unless a loss is more
//! likely than not. A step too far is cheap to take back; proof of no loss takes weeks.

use super::days::Squares;
use super::levels::{Belief, Difference, Told, day_error2, same_day_error2, steps};
use super::observed::Observed;
use super::rules::{
    BACK_ABOVE, DECLINE_BACK, DECLINE_FROM, DECLINE_HOLD, EFFORT_ABOUT, EFFORT_MEAN, GAIN,
    GAIN_ABOVE, GAIN_AGAIN_ABOVE, GAIN_LEVELS, GAIN_STEPS, HOLD_ABOVE, NOT_AGAIN_FOR, OFF_DROP,
    OFF_MOST, OFF_SDS, SWIM_SD, SWIM_WEIGHT, TRY_AFTER, TRY_BELOW, WEEK_SD,
};
use super::verdict::{Finding, WeekVerdict, Weighed};

/// A week that was swum.
#[derive(Debug, Clone)]
struct Past {
    week: usize,
    level: usize,
    seen: Observed,
    /// Whether it has swims enough.
    enough: bool,
    /// Whether its speed counts: no illness, no pain, no off week.
    counts: bool,
    /// Whether it fell far below what was foretold.
    fell: bool,
    /// Whether it said that nothing is gained.
    told: bool,
    /// Whether the rate was stepped back from.
    stepped_back: bool,
}

/// A week that is to be judged.
#[derive(Debug, Clone, Copy)]
pub struct Asked {
    /// Its number, from 1.
    pub week: usize,
    /// Its level, and that of the week that would come next.
    pub level: usize,
    /// See `level`.
    pub next: usize,
    /// Whether the swimmer goes on knowing that nothing is gained.
    pub knowing: bool,
}

/// The weeks so far.
#[derive(Debug, Clone)]
pub struct Gate {
    spm: Vec<f64>,
    first: usize,
    limit: f64,
    weeks: Vec<Past>,
    belief: Option<Belief>,
}

impl Gate {
    /// Before the first week: the rates of the path upwards, strokes/min, which of them is the
    /// plan's first, and the loss of speed, as a share, that is still none.
    pub fn new(spm: Vec<f64>, first: usize, limit: f64) -> Self {
        Self {
            spm,
            first,
            limit,
            weeks: Vec::new(),
            belief: None,
        }
    }

    /// A week that is not judged by its times: too few swims, or illness or pain in a note.
    pub fn pass_over(&mut self, week: usize, level: usize, seen: Observed, enough: bool) {
        let told = (self.weeks.last()).is_some_and(|past| past.told && past.level == level);
        self.weeks.push(Past {
            week,
            level,
            seen,
            enough,
            counts: false,
            fell: false,
            told,
            stepped_back: false,
        });
    }

    /// The last week was stepped back from.
    pub fn step_back(&mut self) {
        if let Some(past) = self.weeks.last_mut() {
            past.stepped_back = true;
        }
    }

    /// The verdict of speed on a week with swims enough, what it rests on, and the numbers.
    pub fn judge(&mut self, asked: Asked, seen: Observed) -> (WeekVerdict, Vec<Finding>, Weighed) {
        let Asked { week, level, .. } = asked;
        let earlier = self.weeks.iter().filter(|past| past.counts);
        let any = earlier.clone().next().is_some();
        let alike = |past: &Past| past.seen.distance_m == seen.distance_m;
        let comparable = earlier.clone().any(alike);
        let off = self.off(level, &seen).filter(|_| comparable);
        self.pass_over(week, level, seen, true);
        let kept_out = off.is_some() && self.kept_out();
        let now = self.weeks.len() - 1;
        self.weeks[now].fell = off.is_some();
        self.weeks[now].counts = !kept_out;
        let belief = self.believe();
        let mut weighed = self.weighed(&belief, asked);
        weighed.off = off.filter(|_| kept_out);
        let decline = self.decline(&belief).filter(|_| !kept_out);
        weighed.decline = decline;
        let (mut verdict, mut findings) = if any && comparable {
            self.weigh(asked, &weighed, kept_out)
        } else if any {
            (WeekVerdict::Hold, vec![Finding::NothingToCompare])
        } else {
            (WeekVerdict::GoOn, vec![Finding::FirstWeek])
        };
        let fell = decline.map_or(0.0, |decline| decline.above(self.limit));
        if fell > DECLINE_HOLD {
            let back = fell > DECLINE_BACK;
            findings.push(if back {
                Finding::Declined
            } else {
                Finding::Declining
            });
            verdict = verdict.min(if back {
                WeekVerdict::StepBack
            } else {
                WeekVerdict::Hold
            });
        }
        findings.extend(self.about_comparison());
        self.belief = Some(belief);
        (verdict, findings, weighed)
    }

    /// By how much a week lies below what the weeks before it foretell, where that is so much that
    /// no step explains it.
    fn off(&self, level: usize, seen: &Observed) -> Option<f64> {
        let belief = self.belief.as_ref()?;
        let off = seen.speed.value()? - belief.mean[level];
        let days = day_error2(belief.day_variance, seen.speed.middles.len());
        let sd = (belief.covariance[level][level] + days + WEEK_SD * WEEK_SD).sqrt();
        (off < -OFF_DROP && off < -OFF_SDS * sd).then_some(off)
    }

    /// Whether the last week, an off one, stays out of the model: not if it is the third running,
    /// or a later second one at this rate. Then those that were kept out count too.
    fn kept_out(&mut self) -> bool {
        let (now, before) = self.weeks.split_last_mut().expect("a week was pushed");
        let run = (before.iter().rev()).take_while(|past| past.fell).count();
        let was_kept_out = |past: &Past| past.fell && !past.counts;
        let again =
            run == 0 && (before.iter()).any(|past| was_kept_out(past) && past.level == now.level);
        if run + 1 < OFF_MOST && !again {
            return true;
        }
        let running = before.len() - run;
        for (at, past) in before.iter_mut().enumerate() {
            past.counts |= was_kept_out(past) && (at >= running || past.level == now.level);
        }
        false
    }

    /// What is thought of the levels after the last week.
    fn believe(&self) -> Belief {
        let now = self.weeks.last().expect("a week was pushed");
        let all = |of: fn(&Past) -> Squares| {
            (self.weeks.iter()).fold(Squares::default(), |sum, past| sum.with(of(past)))
        };
        let days = all(|past| {
            let mut scatter = Squares::default();
            scatter.add(&past.seen.speed);
            scatter
        });
        // Times over another distance say nothing of this one's; same-day differences do.
        let speed = |past: &Past| {
            let counts = past.counts && past.seen.distance_m == now.seen.distance_m;
            let value = past.seen.speed.value().filter(|_| counts);
            value.map(|value| (value, past.seen.speed.middles.len()))
        };
        let told = |past: &Past| Told {
            level: past.level,
            ago: now.week - past.week,
            speed: speed(past),
            same_day: (past.seen.same_day)
                .filter(|_| past.enough && past.level > self.first && self.felt_alike(past.week))
                .map(|same_day| (self.first, same_day)),
        };
        let weeks: Vec<Told> = self.weeks.iter().map(told).collect();
        let start = weeks.iter().find_map(|week| week.speed);
        let start = start.map_or_else(|| now.seen.speed.value(), |(speed, _)| Some(speed));
        Belief::of(
            (&self.spm, self.first),
            &weeks,
            start.unwrap_or(0.0),
            days,
            all(|past| past.seen.swims),
        )
    }

    /// Whether the comparison swims of the weeks about one felt like the others. What nobody noted
    /// is taken as alike.
    fn felt_alike(&self, week: usize) -> bool {
        let about = (self.weeks.iter()).filter(|past| past.week.abs_diff(week) <= EFFORT_ABOUT);
        let felt: Vec<f64> = about.flat_map(|past| past.seen.felt.clone()).collect();
        let sum: f64 = felt.iter().sum();
        felt.is_empty() || sum.abs() < EFFORT_MEAN * felt.len() as f64 - 1e-9
    }

    /// What the last week's comparison swims gave, where they gave less than they could.
    fn about_comparison(&self) -> Option<Finding> {
        let now = self.weeks.last().expect("a week was pushed");
        if now.level <= self.first {
            None
        } else if now.seen.same_day.is_none() && now.seen.apart == 0 {
            Some(Finding::NoComparison)
        } else if !self.felt_alike(now.week) {
            Some(Finding::ComparisonFelt)
        } else {
            (now.seen.apart > 0).then_some(Finding::DaysApart(now.seen.apart))
        }
    }

    /// The last week's same-day difference; none where it was left out.
    pub fn same_day(&self) -> Option<Difference> {
        let now = self.weeks.last()?;
        let found = (now.seen.same_day).filter(|_| self.felt_alike(now.week))?;
        let swims =
            (self.weeks.iter()).fold(Squares::default(), |sum, past| sum.with(past.seen.swims));
        let variance = swims.variance_with(SWIM_WEIGHT, SWIM_SD);
        Some(Difference {
            value: found.difference,
            error: same_day_error2(variance, found.share).sqrt(),
            df: (SWIM_WEIGHT + swims.df) as f64,
        })
    }

    fn weighed(&self, belief: &Belief, asked: Asked) -> Weighed {
        let level = asked.level;
        let distance = self.weeks.last().and_then(|now| now.seen.distance_m);
        let swum = |at: &usize| {
            *at == level
                || (self.weeks.iter()).any(|past| {
                    past.level == *at && past.counts && past.seen.distance_m == distance
                })
        };
        let fastest = (0..=level).filter(swum);
        let fastest = fastest.max_by(|a, b| belief.mean[*a].total_cmp(&belief.mean[*b]));
        let fastest = fastest.unwrap_or(level);
        let loss = |at: usize| match at {
            at if at == fastest => 0.0,
            at => belief.difference(fastest, at).above(self.limit),
        };
        Weighed {
            fastest_spm: self.spm[fastest],
            below_fastest: (fastest != level).then(|| belief.difference(fastest, level)),
            loss_here: loss(level),
            loss_next: (asked.next != level).then(|| loss(asked.next)),
            gain: self
                .far_below(level)
                .filter(|_| asked.next > level)
                .map(|below| (self.spm[below], belief.difference(level, below))),
            decline: None,
            off: None,
        }
    }

    /// The nearest level that is far enough below for a gain to be asked for.
    fn far_below(&self, level: usize) -> Option<usize> {
        let steps = steps(&self.spm, self.first);
        let is_far = |below: &usize| {
            level - below >= GAIN_LEVELS || steps[level] - steps[*below] >= GAIN_STEPS
        };
        (self.first..level).rev().find(is_far)
    }

    /// Speed of the first two weeks that count over that of the last two.
    fn decline(&self, belief: &Belief) -> Option<Difference> {
        let now = self.weeks.last()?;
        let counting: Vec<f64> = (self.weeks.iter())
            .filter(|past| past.counts && past.seen.distance_m == now.seen.distance_m)
            .filter_map(|past| past.seen.speed.value())
            .collect();
        let (first, last) = (counting.first_chunk::<2>()?, counting.last_chunk::<2>()?);
        let days = day_error2(belief.day_variance, now.seen.speed.middles.len());
        // Four weeks, two of them on either side.
        (counting.len() >= 4 && now.week >= DECLINE_FROM).then(|| Difference {
            value: (first.iter().sum::<f64>() - last.iter().sum::<f64>()) / 2.0,
            error: (days + WEEK_SD * WEEK_SD).sqrt(),
            df: belief.df,
        })
    }

    /// The verdict of speed where there is something to compare with.
    fn weigh(
        &mut self,
        asked: Asked,
        weighed: &Weighed,
        kept_out: bool,
    ) -> (WeekVerdict, Vec<Finding>) {
        let (now, before) = self.weeks.split_last_mut().expect("a week was pushed");
        let needed = if now.told {
            GAIN_AGAIN_ABOVE
        } else {
            GAIN_ABOVE
        };
        now.told = (weighed.gain).is_some_and(|(_, gain)| gain.above(GAIN) < needed);
        if kept_out {
            return if before.last().is_some_and(|past| past.fell) {
                (WeekVerdict::StepBack, vec![Finding::OffWeekAgain])
            } else {
                (WeekVerdict::Hold, vec![Finding::OffWeek])
            };
        }
        let (here, ahead) = (weighed.loss_here, weighed.loss_next.unwrap_or(0.0));
        if here > BACK_ABOVE {
            return (WeekVerdict::StepBack, vec![Finding::SpeedFell]);
        }
        let at_level = |past: &&Past| past.level == asked.level;
        let held = before.iter().rev().take_while(at_level).count();
        let no_gain = now.told;
        let likely = here > HOLD_ABOVE || ahead > HOLD_ABOVE;
        let tried = likely && !no_gain && here < TRY_BELOW && held >= TRY_AFTER;
        let mut findings = Vec::new();
        if likely && !tried {
            findings.push(if here > HOLD_ABOVE {
                Finding::LossLikely
            } else {
                Finding::LossLikelyNext
            });
        }
        if no_gain {
            findings.push(if asked.knowing {
                Finding::NoGainKnown
            } else {
                Finding::NoGain
            });
        }
        if (likely && !tried) || (no_gain && !asked.knowing) {
            (WeekVerdict::Hold, findings)
        } else if self.too_soon(asked) {
            (WeekVerdict::Hold, vec![Finding::TooSoon])
        } else {
            findings.push(if tried {
                Finding::Try
            } else {
                Finding::SpeedHeld
            });
            (WeekVerdict::GoOn, findings)
        }
    }

    /// Whether the next rate was stepped back from a short while ago.
    fn too_soon(&self, asked: Asked) -> bool {
        let left = self.weeks.iter().rev().find(|past| past.stepped_back);
        asked.next > asked.level
            && left.is_some_and(|left| {
                asked.next >= left.level && asked.week - left.week < NOT_AGAIN_FOR
            })
    }
}

//! When each repeat starts and ends, and where its walls are predicted.
//!
//! All exact, no sample rate yet: `show` reads this, [`super::Timeline`] is compiled from it.

use super::tempo::SteadyRate;
use crate::error::{Error, Place, Result};
use crate::model::resolve::{Resolved, Set};
use crate::model::session::{Count, Gap, Going, RampBy, RatePlan, RepeatSwim, SwimWish};
use crate::units::{Fix, Length, Rate, Time, ceil_u64, exact, floor_u64, fraction, to_f64};

/// One repeat of a set, on the track's clock.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Repeat {
    /// Index of its set.
    pub set: usize,
    /// Which repeat of it, from 1.
    pub number: u64,
    /// The start signal, s.
    pub start_s: Fix,
    /// The end signal, s.
    pub end_s: Fix,
    /// The rate at its first entry.
    pub from: Rate,
    /// The rate at its end; the same unless it changes inside the swim.
    pub to: Rate,
    /// Seconds from one predicted wall to the next, for a swim by distance.
    pub wall_every_s: Option<Fix>,
    /// How many predicted walls it meets before its end.
    pub walls: u64,
    /// The longest stroke in s that the counts before its start carry; 0 where they are seconds.
    pub longest_count_s: Fix,
    /// Whether its end is not sounded: whoever swims it knows.
    pub silent_end: bool,
}

impl Repeat {
    /// Swim time in s.
    pub fn swim_s(&self) -> Fix {
        self.end_s - self.start_s
    }

    /// Its rate, `52 spm`, or `50 spm to 54 spm` where it changes.
    pub fn rate_in_words(&self) -> String {
        if self.from == self.to {
            self.from.short()
        } else {
            format!("{} to {}", self.from.short(), self.to.short())
        }
    }

    /// Seconds from one count before its start to the next.
    pub fn count_s(&self) -> Fix {
        count_s(SteadyRate::of(&self.from), self.longest_count_s)
    }
}

/// The longest stroke that the counts before a start carry, s: there is room for three of them
/// behind the cut after the repeat before.
fn longest_count_s(set: &Set, start_s: Fix, before: Option<&Repeat>) -> Fix {
    match set.count {
        Count::Seconds => Fix::ZERO,
        Count::Rate => {
            let free_s = before.map_or(Fix::ZERO, |before| before.end_s + exact(CUT_S));
            let share = (start_s - free_s) / exact(COUNTS);
            share.min(most_count_s())
        }
    }
}

/// The longest time from one count to the next, s.
pub fn most_count_s() -> Fix {
    fraction(LONGEST_COUNT_S.0, LONGEST_COUNT_S.1)
}

/// Seconds from one count to the next: a stroke at a rate, or a second where strokes are longer
/// than counts may be.
pub(super) fn count_s(rate: SteadyRate, longest_s: Fix) -> Fix {
    let stroke_s = rate.cycle_s.mul_div(Fix::HALF, Fix::ONE);
    if stroke_s.exceeds(longest_s) {
        Fix::ONE
    } else {
        stroke_s
    }
}

/// Swimmers who swim to the same cues, leaving one after another: a start signal for each.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Goes {
    /// How many swimmers, from 1.
    pub swimmers: u32,
    /// From one start signal to the next, s.
    pub apart_s: Fix,
}

impl Goes {
    /// One swimmer, alone.
    pub const ONE: Self = Self {
        swimmers: 1,
        apart_s: Fix::ZERO,
    };

    /// From the first start to the last one, s.
    pub fn share_s(&self) -> Fix {
        self.apart_s.times(i128::from(self.swimmers.max(1)) - 1)
    }
}

/// Every repeat of a session.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Schedule {
    /// In order of swimming.
    pub repeats: Vec<Repeat>,
    /// Length of the whole track, s.
    pub total_s: Fix,
    /// What a coach should know: short rests, ends away from the wall.
    pub warnings: Vec<String>,
    /// Who starts when.
    pub goes: Goes,
}

/// The shortest lead-in, rest, and rest left of a send-off, s.
const SHORTEST_REST_S: i64 = 5;
/// The longest session, s.
pub(super) const LONGEST_S: i64 = 12 * 3600;
/// From the last end signal to the end of the track, s.
pub(super) const TAIL_S: i64 = 3;
/// How many counts there are before a start.
pub const COUNTS: i64 = 3;
/// The longest stroke that counts carry, s: slower ones nobody would wait for.
const LONGEST_COUNT_S: (i64, i64) = (15, 10);
/// From an end signal to where the files are cut, s: what comes before the next start is after it.
pub(super) const CUT_S: i64 = 1;
/// Rest below this share of the swim is worth a word.
const SHORT_REST: (i64, i64) = (15, 100);

/// An end tone so far from the wall, s, is worth a word: a swimmer stands and waits, or swims on.
const OFF_THE_WALL_S: i64 = 3;

/// Where the end tone of a set's first repeat is not at a wall: by how much, and the line that mends it.
pub fn off_the_wall(set: &Set, repeat: &Repeat) -> Option<String> {
    let (RepeatSwim::Distance(distance), Some(wall_s)) = (&set.swim, &repeat.wall_every_s) else {
        return None;
    };
    let lengths = distance.metres() / set.pool.metres();
    let nearest = floor_u64(&(lengths + fraction(1, 2)))?.max(1);
    let apart = lengths - Fix::from_integer(nearest.into());
    let apart_s = apart.max(-apart) * wall_s;
    apart_s.exceeds(exact(OFF_THE_WALL_S)).then(|| {
        format!(
            "{distance} in a pool of {} ends {:.0} s of swimming from a wall; \
             swim = \"{}\" ends at one",
            set.pool,
            to_f64(&apart_s),
            SwimWish::Lengths(u32::try_from(nearest).unwrap_or(u32::MAX))
        )
    })
}

impl Schedule {
    /// Lays out the repeats of a session.
    ///
    /// # Errors
    /// A lead-in or rest under 5 s, a send-off under swim + 5 s, a swim not longer than push-off
    /// and one cycle, a session over 12 h, a distance that push-offs alone cover.
    pub fn new(session: &Resolved) -> Result<Self> {
        Self::for_all(session, Goes::ONE)
    }

    /// Lays out the repeats of a session for swimmers who start one after another: each swim
    /// lasts until the last of them has had its time.
    ///
    /// # Errors
    /// Those of [`Schedule::new`].
    pub fn for_all(session: &Resolved, goes: Goes) -> Result<Self> {
        at_least_5_s(
            "lead_in",
            &session.lead_in,
            session.lead_in_at.as_ref(),
            "lead_in = \"60 s\"",
        )?;
        let mut schedule = Self {
            repeats: Vec::new(),
            total_s: exact(0),
            warnings: Vec::new(),
            goes,
        };
        let mut start_s = *session.lead_in.s();
        for (index, set) in session.sets.iter().enumerate() {
            let label = set.label(index + 1);
            let last_set = index + 1 == session.sets.len();
            let first = schedule.repeats.len();
            start_s = schedule
                .add_set(index, set, start_s, last_set)
                .map_err(|error| {
                    error
                        .within(label)
                        .at_place(set.at.as_ref())
                        .at(&session.source)
                })?;
            if let Some(told) = off_the_wall(set, &schedule.repeats[first]) {
                let label = set.label(index + 1);
                schedule.warnings.push(format!("{label}: {told}"));
            }
        }
        if let Some(last) = schedule.repeats.last() {
            schedule.total_s = last.end_s + exact(TAIL_S);
        }
        Ok(schedule)
    }

    /// Adds a set's repeats from `start_s` on and gives the start of what follows.
    fn add_set(
        &mut self,
        index: usize,
        set: &Set,
        mut start_s: Fix,
        last_set: bool,
    ) -> Result<Fix> {
        if let Gap::Rest(rest) = &set.gap() {
            at_least_5_s("rest", rest, set.place_of("rest"), "rest = \"20 s\"")?;
        }
        if let Some(rest) = &set.rest_after {
            at_least_5_s(
                "rest_after",
                rest,
                set.place_of("rest_after"),
                "rest_after = \"1:00\"",
            )?;
        }
        let mut shortest: Option<(Fix, Fix)> = None;
        for number in 1..=set.repeats {
            let repeat = repeat(index, set, number, start_s, self)?;
            if repeat.end_s + exact(TAIL_S) > exact(LONGEST_S) {
                return Err(Error::input(format!(
                    "repeat {number} of {} would end at {}: the session is over 12 h (720:00)",
                    set.repeats,
                    end_in_words(&repeat.end_s)
                ))
                .at_place(set.place_of(if number == 1 { "swim" } else { "repeats" }))
                .accepted("a session of at most 12 h")
                .example(match number {
                    1 => "swim = \"30 min\"".to_string(),
                    n => format!("repeats = {}", n - 1),
                }));
            }
            let swim_s = repeat.swim_s();
            let last_of_set = number == set.repeats;
            let usual = match &set.gap() {
                Gap::Rest(rest) => repeat.end_s + rest.s(),
                Gap::SendOff(send_off) => {
                    check_send_off(send_off, &swim_s, set)?;
                    repeat.start_s + send_off.s()
                }
            };
            start_s = match &set.rest_after {
                Some(rest) if last_of_set => repeat.end_s + rest.s(),
                _ => usual,
            };
            let rest_s = start_s - repeat.end_s;
            let is_short = rest_s < swim_s * fraction(SHORT_REST.0, SHORT_REST.1);
            if is_short
                && !(last_of_set && last_set)
                && shortest.as_ref().is_none_or(|(least, _)| rest_s < *least)
            {
                shortest = Some((rest_s, swim_s));
            }
            self.repeats.push(repeat);
        }
        if let Some((rest_s, swim_s)) = shortest {
            self.warnings.push(format!(
                "{}: {} of rest after {} of swimming is under 15 % of the swim; \
                 a swimmer who comes in late has nothing left of it",
                set.label(index + 1),
                Time::from_s(rest_s).rounded(),
                Time::from_s(swim_s).rounded()
            ));
        }
        Ok(start_s)
    }
}

/// The end of a swim that is too late: as tables have it, or so that it is seen to be too late.
fn end_in_words(end_s: &Fix) -> String {
    let (longest, end) = (Time::whole_s(LONGEST_S), Time::from_s(*end_s));
    match end.rounded() {
        early if end <= longest => format!("{early}, {TAIL_S} s before the track"),
        late if late == longest.rounded() => end.apart(&longest),
        late => late,
    }
}

fn at_least_5_s(key: &str, time: &Time, at: Option<&Place>, example: &str) -> Result<()> {
    if *time.s() >= exact(SHORTEST_REST_S) {
        Ok(())
    } else {
        Err(Error::input(format!("{key}: found {time}"))
            .at_place(at)
            .accepted("5 s or more")
            .example(example))
    }
}

fn check_send_off(send_off: &Time, swim_s: &Fix, set: &Set) -> Result<()> {
    let least = swim_s + exact(SHORTEST_REST_S);
    if *send_off.s() >= least {
        return Ok(());
    }
    let most = Time::from_s(send_off.s() - exact(SHORTEST_REST_S));
    let swim = Time::from_s(*swim_s).apart(&most);
    let enough = (to_f64(&least) / 5.0).ceil() as i64 * 5;
    Err(Error::input(format!(
        "send_off: found {send_off}, but the swim itself takes {swim}, and 5 s of rest are the least"
    ))
    .at_place(set.place_of("send_off"))
    .accepted(format!(
        "{} or more, or a rest in place of the send-off",
        Time::from_s(least).apart(send_off)
    ))
    .example(format!("send_off = \"{}\"", Time::whole_s(enough))))
}

/// Lays out one repeat from its start signal on, after the one before.
fn repeat(index: usize, set: &Set, number: u64, start_s: Fix, so_far: &Schedule) -> Result<Repeat> {
    let (from, to) = rates(set, number);
    let (swim_s, wall_every_s, walls) = match &set.swim {
        RepeatSwim::Time(time) => (*time.s(), None, 0),
        RepeatSwim::Distance(distance) => {
            let mean = (from.strokes_per_second() + to.strokes_per_second()) / exact(2);
            let (swim_s, wall_s, walls) = predict(set, distance, &mean)?;
            (swim_s, Some(wall_s), walls)
        }
    };
    let repeat = Repeat {
        set: index,
        number,
        end_s: start_s + swim_s + so_far.goes.share_s(),
        start_s,
        from,
        to,
        wall_every_s,
        walls,
        longest_count_s: longest_count_s(set, start_s, so_far.repeats.last()),
        silent_end: false,
    };
    let after_push_off = swim_s - set.push_off.s();
    let mean = (repeat.from.cycles_per_second() + repeat.to.cycles_per_second()) / exact(2);
    // The phase at the end of the swim: a ramp's mean frequency times its length.
    if !(mean * after_push_off).exceeds(exact(1)) {
        return Err(Error::input(format!(
            "a swim of {} is not longer than the push-off ({}) and one cycle at {}",
            Time::from_s(swim_s).rounded(),
            set.push_off,
            repeat.from.short()
        ))
        .at_place(set.place_of("swim"))
        .accepted("a swim in which at least one whole cycle sounds")
        .example("swim = \"25 m\""));
    }
    Ok(repeat)
}

/// Rate at the first entry and at the end of a repeat.
pub(super) fn rates(set: &Set, number: u64) -> (Rate, Rate) {
    if let Some(rate) = set.compared(number) {
        return (rate.clone(), rate.clone());
    }
    match &set.rate {
        RatePlan::Steady(rate) => (rate.clone(), rate.clone()),
        RatePlan::Ramp {
            from,
            to,
            by: RampBy::Time,
        } => (from.clone(), to.clone()),
        RatePlan::Ramp {
            from,
            to,
            by: RampBy::Repeat,
        } => {
            let steps = (set.repeats - 1).max(1);
            let whole = |number: u64| Fix::from_integer(number.into());
            let rate = match number {
                1 => from.clone(),
                last if last == set.repeats => to.clone(),
                between => {
                    let steps = (to.spm() - from.spm()).mul_div(whole(between - 1), whole(steps));
                    let (low, high) = if from < to { (from, to) } else { (to, from) };
                    let spm = Rate::to_half(from.spm() + steps);
                    Rate::from_spm(spm.max(*low.spm()).min(*high.spm()))
                        .expect("between two rates in range")
                }
            };
            (rate.clone(), rate)
        }
    }
}

/// Swim time, seconds from wall to wall, and walls before the end, for a distance
/// (docs/rules.md, "A repeat").
fn predict(set: &Set, distance: &Length, strokes_per_s: &Fix) -> Result<(Fix, Fix, u64)> {
    let (metres, pool) = (distance.metres(), set.pool.metres());
    let lengths = ceil_u64(&(metres / pool)).unwrap_or(u64::MAX);
    let walls = lengths.saturating_sub(1);
    match set.going() {
        Some(Going::Pace(pace)) => {
            let speed = pace.speed_m_s();
            Ok((metres / speed, pool / speed, walls))
        }
        Some(Going::StrokeLength(length)) => {
            let speed = strokes_per_s * length.metres();
            let (push_off, glide) = (set.push_off.s(), set.glide.metres());
            let n = Fix::from_integer(lengths.into());
            let swum = metres - n * glide;
            if swum <= exact(0) {
                return Err(Error::input(format!(
                    "{distance} in a pool of {} is {lengths} push-offs of {} and no stroke",
                    set.pool, set.glide
                ))
                .at_place(set.place_of("swim"))
                .accepted("a distance longer than its glides")
                .example("swim = \"25 m\""));
            }
            Ok((
                n * push_off + swum / speed,
                push_off + (pool - glide) / speed,
                walls,
            ))
        }
        None => Err(Error::input("neither pace nor stroke_length is known")
            .accepted("either, for a swim by distance")
            .example("pace = \"2:05 / 100 m\"")),
    }
}

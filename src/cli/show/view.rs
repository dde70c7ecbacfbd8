//! What `show` shows of a session, as JSON and in words.

use serde::Serialize;

use super::cycle::{apart, catch_in_words, going_in_words, picture};
use super::hearing::{self, Hearing};
use super::says::{self, SayShown};
use super::set::{SetShown, repeats_of};
use crate::cli::shared::report::{Micro, Report};
use crate::cli::shared::words::{Page, count};
use crate::export::Job;
use crate::model::cue::Side;
use crate::model::resolve::Set;
use crate::model::session::RepeatSwim;
use crate::model::swimmer::Swimmer;
use crate::model::value::Value as _;
use crate::model::words;
use crate::timeline::Repeat;
use crate::units::{Fix, Length, Rate, Time, exact, to_f64};

/// A session with every value decided, laid out in time.
#[derive(Serialize)]
pub struct ShowReport<'a> {
    title: &'a str,
    #[serde(rename = "for")]
    for_whom: Option<&'a str>,
    swimmer: Option<&'a str>,
    total_s: Micro,
    distance_m: Micro,
    sets: Vec<SetShown<'a>>,
    says: Vec<SayShown<'a>>,
    speech_notes: &'a [String],
    hearing: Vec<Hearing>,
    warnings: Vec<&'a String>,
    caution: &'static str,
    #[serde(skip)]
    job: &'a Job,
    /// For whom it was laid out, with what was measured.
    #[serde(skip)]
    athlete: Option<&'a Swimmer>,
    #[serde(skip)]
    explain: bool,
    #[serde(skip)]
    detail: bool,
}

impl<'a> ShowReport<'a> {
    /// What a job will do; for people with the origin of each value, and with each repeat, where
    /// that is wanted.
    pub fn new(job: &'a Job, athlete: Option<&'a Swimmer>, explain: bool, detail: bool) -> Self {
        let session = &job.session;
        let warnings = session.warnings.iter().chain(&job.schedule.warnings);
        Self {
            title: &session.title,
            for_whom: session.for_whom.as_deref(),
            swimmer: session.swimmer.as_deref(),
            total_s: (&job.schedule.total_s).into(),
            distance_m: (&distance_m(job)).into(),
            sets: (0..session.sets.len())
                .map(|index| SetShown::new(job, index))
                .collect(),
            says: SayShown::of(job),
            speech_notes: &job.spoken.said.notes,
            hearing: Hearing::of(&session.sets),
            warnings: warnings.collect(),
            caution: words::RATE_CAUTION,
            job,
            athlete,
            explain,
            detail,
        }
    }
}

impl Report for ShowReport<'_> {
    fn words(&self, to: &mut Page) {
        to.fill(self.title);
        if let Some(whom) = self.for_whom {
            to.fill(format!("For {whom}."));
        }
        if let Some(swimmer) = self.athlete {
            let rate = swimmer.rate.as_ref();
            let rate = rate.map(|rate| format!(", own rate {}", rate.both_ways()));
            let rate = rate.unwrap_or_default();
            to.fill(format!("Swimmer: {}{rate}", swimmer.name));
        }
        to.gap();
        for (index, set) in self.sets.iter().enumerate() {
            let is_last = index + 1 == self.sets.len();
            set.words(index + 1, is_last, self.explain, to);
        }
        to.line(format_args!("\n{}", totals(self.job)));
        for warning in &self.warnings {
            to.hang("Warning: ", "  ", warning);
        }
        says::words(&self.says, self.speech_notes, self.detail, to);
        self.cycles(to);
        if self.detail {
            each_swim(self.job, to);
            hearing::words(&self.hearing, to);
        }
        to.gap();
        to.fill(self.caution);
        let sets = &self.job.session.sets;
        if sets.iter().any(|set| set.heard_breath().is_some()) {
            to.fill(words::BREATH_SOUND);
            to.fill(words::CAUTIONS[1]);
        }
    }
}

impl ShowReport<'_> {
    /// A picture for each way of cycling that the session has, with the sets that swim it.
    fn cycles(&self, to: &mut Page) {
        let sets = &self.job.session.sets;
        for (index, set) in sets.iter().enumerate() {
            let same = |other: &Set| {
                (other.pairing, other.kick, other.three_on) == (set.pairing, set.kick, set.three_on)
                    && other.stroke() == set.stroke()
            };
            if sets[..index].iter().any(same) {
                continue;
            }
            let rate = &repeats_of(self.job, index)[0].from;
            let ms = to_f64(&rate.cycle_s()) * 1000.0;
            let which = match sets.len() {
                1 => String::new(),
                _ => format!(", from set {}", index + 1),
            };
            let at = rate.both_ways();
            to.line(format_args!("\nOne cycle at {at}, {ms:.0} ms{which}\n"));
            picture(set, rate, to);
            let facts = [
                Some(catch_in_words(set)),
                self.measured(set, rate),
                apart(set, rate),
            ];
            let facts: Vec<String> = facts.into_iter().flatten().collect();
            to.hang("  ", "  ", facts.join(" "));
        }
    }

    /// The catch as the swimmer's file has it measured, and how far it would move the cues.
    fn measured(&self, set: &Set, rate: &Rate) -> Option<String> {
        let measured = self.athlete?.measured.as_ref()?;
        let sides = measured.catch_after_entry.as_ref()?.explain();
        let when = measured.date.as_deref().unwrap_or("no date");
        let at = measured.rate.as_ref();
        let at = at.map(|rate| format!(" at {}", rate.short()));
        let at = at.unwrap_or_default();
        let moves = self.athlete.and_then(|athlete| moves(set, rate, athlete));
        let moves = moves.map(|moves| format!("; {moves}")).unwrap_or_default();
        Some(format!("Measured {when}{at}: {sides}{moves}."))
    }
}

/// How far the measured catch would move the cues that fall on the catch, where it is not cued.
fn moves(set: &Set, rate: &Rate, athlete: &Swimmer) -> Option<String> {
    let mean = athlete
        .measured_catch()
        .filter(|_| !set.catch_is_measured())?;
    let asked = "with catch_after_entry = \"measured\"";
    if !set.has_cues_on_the_catch() {
        return Some(format!("no cue of this set would move {asked}"));
    }
    let later_ms = |side: Side| {
        let cycles = mean - set.catch_after_entry.of(side);
        (to_f64(&(cycles * rate.cycle_s())) * 1000.0).round() as i64
    };
    let [left, right] = Side::BOTH.map(later_ms);
    let told = |ms: i64| match ms {
        0 => "stay".to_string(),
        ms => format!(
            "come {} ms {}",
            ms.abs(),
            if ms > 0 { "later" } else { "earlier" }
        ),
    };
    Some(if left == right {
        format!("{asked} the cues on the catch would {}", told(left))
    } else {
        format!(
            "{asked} the left would {}, the right {}",
            told(left),
            told(right)
        )
    })
}

/// Total time and distance.
fn totals(job: &Job) -> String {
    let total = Time::from_s(job.schedule.total_s);
    let swims = job.schedule.repeats.len();
    let distance = distance_m(job);
    let swum: Fix = job.schedule.repeats.iter().map(Repeat::swim_s).sum();
    let by_distance = if distance == exact(0) {
        String::new()
    } else {
        format!(", {}", distance_in_words(job, distance))
    };
    format!(
        "Total {}: {}{by_distance}, {} with cues, {} before the first start",
        total.rounded(),
        count(swims, "repeat"),
        Time::from_s(swum).rounded(),
        job.session.lead_in.rounded()
    )
}

fn distance_in_words(job: &Job, metres: Fix) -> String {
    let all_yards = job.session.sets.iter().all(|set| match &set.swim {
        RepeatSwim::Distance(length) => length.in_yards(),
        RepeatSwim::Time(_) => true,
    });
    if all_yards {
        format!("{:.0} yd", to_f64(&metres) / 0.9144)
    } else {
        format!("{:.0} m", to_f64(&metres))
    }
}

/// Metres over all swims by distance.
fn distance_m(job: &Job) -> Fix {
    let of_set = |set: &Set| match &set.swim {
        RepeatSwim::Distance(length) => *Length::times(length, set.repeats).metres(),
        RepeatSwim::Time(_) => exact(0),
    };
    job.session.sets.iter().map(of_set).sum()
}

/// Each repeat's times, walls and rates, and what is the same for the whole track.
fn each_swim(job: &Job, to: &mut Page) {
    to.line("\nEach swim: set.repeat, start, end, rate, predicted walls");
    for repeat in &job.schedule.repeats {
        let clock = |s: &Fix| Time::from_s(*s).rounded();
        let rate = repeat.rate_in_words();
        let walls = match (&repeat.wall_every_s, repeat.walls) {
            (Some(every), 1) => format!("1 wall, after {}", clock(every)),
            (Some(every), 2..) => format!("{} walls, {} apart", repeat.walls, clock(every)),
            _ => "no walls".into(),
        };
        to.line(format_args!(
            "  {:>2}.{:<3} {:>7} {:>7}  {rate:<22} {walls}",
            repeat.set + 1,
            repeat.number,
            clock(&repeat.start_s),
            clock(&repeat.end_s)
        ));
    }
    let set = &job.session.sets[0];
    if let Some(first) = job.session.sets.iter().find_map(going_in_words) {
        to.line(format_args!("Times are predicted from {first}"));
    }
    to.line(format_args!(
        "Set 1: κ {}, ε {}",
        set.catch_after_entry.explain(),
        to_f64(&set.right_entry)
    ));
}

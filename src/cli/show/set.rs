//! One set of a session: a few lines of facts, and all of it for programs.

use serde::Serialize;

use super::cycle::apart_ms;
use crate::cli::shared::report::{Known, Micro, SidesShown};
use crate::cli::shared::words::Page;
use crate::export::Job;
use crate::model::cue::{CUE_KINDS, CueKind};
use crate::model::kick::Kick;
use crate::model::resolve::{Origin, Set};
use crate::model::session::{Gap, RepeatSwim};
use crate::model::words;
use crate::timeline::Repeat;
use crate::units::{Fix, Rate, Time, exact};

/// A set with every value decided, and when it is swum.
#[derive(Serialize)]
pub struct SetShown<'a> {
    name: &'a str,
    repeats: u64,
    rate_from_spm: Micro,
    rate_to_spm: Micro,
    compare: Option<CompareShown<'a>>,
    pairing: &'static str,
    kick: &'static str,
    three_on: &'static str,
    first_arm: &'static str,
    arms: &'static str,
    cues: Vec<&'static str>,
    arm_cue: &'static str,
    catch_after_entry_cycle: SidesShown,
    right_entry_cycle: Micro,
    feet: String,
    walls: &'static str,
    push_off_s: Micro,
    breath: Option<BreathShown>,
    fade: Option<FadeShown>,
    lead_ms: LeadShown,
    count: &'static str,
    rest_after_s: Option<Micro>,
    say: Option<&'a str>,
    starts_s: Vec<Micro>,
    swims_s: Vec<Micro>,
    #[serde(flatten)]
    told: Known<Micro>,
    #[serde(skip)]
    set: &'a Set,
    #[serde(skip)]
    swims: &'a [Repeat],
}

#[derive(Serialize)]
struct CompareShown<'a> {
    rate_spm: Micro,
    at: &'a [u64],
}

#[derive(Serialize)]
struct BreathShown {
    every: u32,
    side: &'static str,
}

#[derive(Serialize)]
struct FadeShown {
    on: u32,
    off: u32,
    per: &'static str,
}

#[derive(Serialize)]
struct LeadShown {
    arm: Micro,
    kick: Micro,
    breath: Micro,
}

/// The repeats of a set.
pub fn repeats_of(job: &Job, index: usize) -> &[Repeat] {
    let of_set = |repeat: &Repeat| repeat.set == index;
    let repeats = &job.schedule.repeats;
    let start = repeats.iter().position(of_set).unwrap_or(0);
    let last = repeats.iter().rposition(of_set);
    &repeats[start..last.map_or(start, |last| last + 1)]
}

/// What only some sets have: one rate, a distance or a time, a rest or a send-off, pairings that
/// differ at the first rate.
fn told(set: &Set, first: &Rate) -> Known<Micro> {
    let (from, to) = set.rate.ends();
    let steady = from == to;
    let (distance, time) = match &set.swim {
        RepeatSwim::Distance(length) => (Some(length.metres().into()), None),
        RepeatSwim::Time(time) => (None, Some(time.s().into())),
    };
    let (rest, send_off) = match set.gap() {
        Gap::Rest(time) => (Some(time.s().into()), None),
        Gap::SendOff(time) => (None, Some(time.s().into())),
    };
    let apart = apart_ms(set, first);
    Known::of([
        ("rate_spm", steady.then(|| from.spm().into())),
        ("distance_m", distance),
        ("time_s", time),
        ("rest_s", rest),
        ("send_off_s", send_off),
        ("pairings_apart_ms", apart.map(Micro::from)),
    ])
}

impl<'a> SetShown<'a> {
    /// The set with this index.
    pub fn new(job: &'a Job, index: usize) -> Self {
        let set = &job.session.sets[index];
        let swims = repeats_of(job, index);
        let (from, to) = set.rate.ends();
        let lead_ms = |kind| Micro::from(&(set.lead.of(kind).s() * exact(1000)));
        let kinds = CUE_KINDS.into_iter().filter(|kind| set.cues.has(*kind));
        Self {
            name: &set.name,
            repeats: set.repeats,
            rate_from_spm: from.spm().into(),
            rate_to_spm: to.spm().into(),
            compare: set.compare.as_ref().map(|compare| CompareShown {
                rate_spm: compare.rate.spm().into(),
                at: &compare.at,
            }),
            pairing: set.pairing.word(),
            kick: set.kick.word(),
            three_on: set.three_on.word(),
            first_arm: set.first_arm.word(),
            arms: set.arms.word(),
            cues: kinds.map(CueKind::word).collect(),
            arm_cue: set.arm_cue.word(),
            catch_after_entry_cycle: (&set.catch_after_entry).into(),
            right_entry_cycle: (&set.right_entry).into(),
            feet: words::feet(set),
            walls: set.walls.word(),
            push_off_s: set.push_off.s().into(),
            breath: set.heard_breath().map(|breath| BreathShown {
                every: breath.every,
                side: breath.side.word(),
            }),
            fade: set.fade.map(|fade| FadeShown {
                on: fade.on,
                off: fade.off,
                per: fade.per.word(),
            }),
            lead_ms: LeadShown {
                arm: lead_ms(CueKind::Arm),
                kick: lead_ms(CueKind::Kick),
                breath: lead_ms(CueKind::Breath),
            },
            count: set.count.word(),
            rest_after_s: set.rest_after.as_ref().map(|rest| rest.s().into()),
            say: set.say.as_deref(),
            starts_s: swims
                .iter()
                .map(|repeat| (&repeat.start_s).into())
                .collect(),
            swims_s: swims
                .iter()
                .map(|repeat| (&repeat.swim_s()).into())
                .collect(),
            told: told(set, &swims[0].from),
            set,
            swims,
        }
    }

    /// A line of facts, what the feet do, what sounds, what is said, and where it all came from.
    pub fn words(&self, number: usize, is_last: bool, explain: bool, to: &mut Page) {
        let set = self.set;
        to.hang("", "    ", self.head(number));
        let feet = match set.kick {
            Kick::Pull => words::kick(set),
            _ => format!("{}: {}", words::kick(set), self.feet),
        };
        let after = set.rest_after.as_ref().filter(|_| !is_last);
        let after = after.map(|rest| format!("; {rest} rest after the set"));
        let sounds = format!("sounds: {}{}", words::cues(set), after.unwrap_or_default());
        let said = self.say.map(|say| format!("\"{say}\""));
        for line in [feet, sounds].into_iter().chain(said) {
            to.hang("    ", "    ", line);
        }
        if explain {
            self.explain(to);
        }
    }

    /// ` 1  Settle: 4 x 50 m on 1:30  54 spm  58 s each  32 s rest`.
    fn head(&self, number: usize) -> String {
        let set = self.set;
        let clock = |s: Fix| Time::from_s(s).rounded();
        let of_plan = |repeat: &&Repeat| set.compared(repeat.number).is_none();
        let swims = || (self.swims.iter().filter(of_plan)).map(|repeat| clock(repeat.swim_s()));
        let each = match (&set.swim, swims().next(), swims().next_back()) {
            (RepeatSwim::Distance(_), Some(first), Some(last)) if first != last => {
                format!("  {first} to {last} each")
            }
            (RepeatSwim::Distance(_), Some(first), _) => format!("  {first} each"),
            _ => String::new(),
        };
        // Rest is what is left of a send-off (docs/rules.md): the least of it, where swims differ.
        let left = match (set.gap(), self.swims.iter().map(Repeat::swim_s).max()) {
            (Gap::SendOff(send_off), Some(longest)) => {
                format!("  {} rest", clock(send_off.s() - longest))
            }
            _ => String::new(),
        };
        let (name, notation, rate) = (&set.name, words::notation(set), set.rate.short());
        format!("{number:>2}  {name}: {notation}  {rate}{each}{left}")
    }

    /// Every value and where it came from; what is said stands above.
    fn explain(&self, to: &mut Page) {
        let explained = self.set.explain();
        // As wide as a key and the gap behind it.
        let rest = " ".repeat(26);
        for (key, value, origin) in explained.iter().filter(|(key, ..)| *key != "say") {
            let flag = if *key == "rate" { "stroke-rate" } else { key };
            let told = match origin {
                Origin::Flag => format!("{value}  (flag --{flag})"),
                origin => format!("{value}  ({origin})"),
            };
            to.hang(&format!("      {key:<18}"), &rest, &told);
        }
    }
}

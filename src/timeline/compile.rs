//! One repeat as tracks of evenly phased events.
//!
//! Everything that sounds is an arithmetic progression in phase or in time: the left arm's cues
//! are one a cycle, the counts one a second, the walls one a length. A [`Track`] is one such
//! voice through the repeat; a [`Span`] is an uninterrupted run of it.

use super::law::Law;
use super::schedule::Repeat;
use super::tempo::Segment;
use crate::model::circle::forward;
use crate::model::cue::{Kind, Side};
use crate::model::kick::beats;
use crate::model::resolve::Set;
use crate::model::session::{Breath, Fade, FadePer, Walls};
use crate::units::{Exact, ceil_u64, exact, floor_u64, to_f64};

/// An uninterrupted run of one track's events.
#[derive(Debug, Clone, Copy)]
pub(super) struct Span {
    pub law: Law,
    /// Events in the run.
    pub count: u64,
    /// Cycle number of the first.
    pub first_cycle: u64,
    /// Cycles from one to the next.
    pub step: u64,
}

/// One voice through one repeat.
#[derive(Debug, Clone)]
pub(super) struct Track {
    pub kind: Kind,
    pub side: Option<Side>,
    /// Phase on the circle in millionths of a cycle; signals and walls have none.
    pub phase_micro: Option<u32>,
    /// Sounding and silent cycles, where a fade counts cycles.
    pub fade: Option<Fade>,
    pub spans: Vec<Span>,
}

/// At most two arms, six beats, two breaths, walls and three signals.
pub(super) const MOST_TRACKS: usize = 14;

/// The tracks of one repeat.
pub(super) fn tracks(set: &Set, repeat: &Repeat, sample_rate_hz: u32) -> Vec<Track> {
    let stretches = stretches(set, repeat);
    let mut tracks: Vec<Track> = (cues(set).into_iter())
        .map(|cue| cue_track(set, &stretches, &cue, sample_rate_hz))
        .collect();
    tracks.extend(signals(set, repeat, sample_rate_hz));
    tracks
}

/// A cue of the body: at `first` elapsed cycles and every `every` cycles from there.
pub(super) struct Cue {
    pub kind: Kind,
    pub side: Side,
    /// Phase on the circle.
    pub phase: Exact,
    pub first: Exact,
    pub every: u64,
}

/// Every cue that the set lets sound.
pub(super) fn cues(set: &Set) -> Vec<Cue> {
    let stroke = set.stroke();
    let first_entry = stroke.entry(set.first_arm);
    let cue = |kind, side, phase: Exact| Cue {
        kind,
        side,
        first: forward(&first_entry, &phase),
        phase,
        every: 1,
    };
    let moments = set.pairing.arm_moments(&stroke);
    let arms = Side::BOTH.map(|arm| cue(Kind::Arm, arm, moments.of(arm).clone()));
    let kicks = beats(&stroke, set.pairing, set.kick, set.three_on);
    let kicks = kicks.into_iter().map(|beat| {
        let kind = if beat.paired { Kind::Kick } else { Kind::Fill };
        cue(kind, beat.foot, beat.phase)
    });
    let breaths = set
        .heard_breath()
        .map(|breath| breaths(set, breath))
        .unwrap_or_default();
    (arms.into_iter().chain(kicks).chain(breaths))
        .filter(|cue| set.cues.has(cue.kind))
        .collect()
}

/// Entries are numbered 0, 1, 2, ... from the first arm's on. The head turns at the entry of the
/// hand opposite to the breathing side; an even number of strokes returns to the same hand, an
/// odd one alternates, which makes two cues of twice the spacing.
fn breaths(set: &Set, breath: Breath) -> Vec<Cue> {
    let every = u64::from(breath.every);
    let entering = breath.side.other();
    let first_number = if entering == set.first_arm { 2 } else { 1 };
    let numbered = |number: u64, every: u64| {
        let hand = match number % 2 {
            0 => set.first_arm,
            _ => set.first_arm.other(),
        };
        let phase = set.stroke().entry(hand);
        let within = forward(&set.stroke().entry(set.first_arm), &phase);
        Cue {
            kind: Kind::Breath,
            side: hand.other(),
            first: Exact::from_integer((number / 2).into()) + within,
            phase,
            every,
        }
    };
    match every % 2 {
        0 => vec![numbered(first_number, every / 2)],
        _ => vec![
            numbered(first_number, every),
            numbered(first_number + every, every),
        ],
    }
}

/// A stretch of swimming over which the cues run on without starting anew.
pub(super) struct Stretch {
    pub segment: Segment,
    /// Cycles counted before it.
    pub cycles_before: u64,
    /// Its last moment, in s of the track.
    pub end_s: Exact,
    /// Elapsed phase at its end: cues have less.
    end: Exact,
    /// The phases between which one length is swum, from the first on.
    lengths: Vec<LengthSwum>,
}

struct LengthSwum {
    /// Which length of the repeat, from 0.
    number: u64,
    from: Exact,
    to: Exact,
    /// The phase from which a breath may be cued: past the push-off.
    breath_from: Exact,
}

/// One stretch from push-off to end, or one a length where cues pause at walls.
pub(super) fn stretches(set: &Set, repeat: &Repeat) -> Vec<Stretch> {
    let push_off = set.push_off.s();
    let first_entry_s = &repeat.start_s + push_off;
    let (f0, f1) = (
        repeat.from.cycles_per_second(),
        repeat.to.cycles_per_second(),
    );
    let slope = (f1 - &f0) / (&repeat.end_s - &first_entry_s);
    let whole = Segment {
        start_s: first_entry_s,
        frequency: f0,
        slope,
    };
    let wall_s: Vec<Exact> = (repeat.wall_every_s.iter())
        .flat_map(|every| {
            (1..=repeat.walls).map(move |k| &repeat.start_s + every * Exact::from_integer(k.into()))
        })
        .collect();
    let bounds: Vec<(Exact, &Exact)> = match set.walls {
        Walls::Through => vec![(whole.start_s.clone(), &repeat.end_s)],
        Walls::Pause => {
            let starts = std::iter::once(&repeat.start_s).chain(&wall_s);
            let ends = wall_s.iter().chain(std::iter::once(&repeat.end_s));
            starts
                .zip(ends)
                .map(|(start, end)| (start + push_off, end))
                .collect()
        }
    };
    let mut cycles_before = 0;
    let mut stretches = Vec::new();
    for (start_s, end_s) in bounds {
        if start_s >= *end_s {
            continue;
        }
        // A ramp's rate is that of its own time, wherever the phase starts anew.
        let segment = Segment {
            frequency: whole.frequency_at(&start_s),
            slope: whole.slope.clone(),
            start_s,
        };
        let stretch = Stretch {
            end_s: end_s.clone(),
            end: segment.phase_at(end_s),
            lengths: lengths(&segment, end_s, &wall_s, push_off),
            segment,
            cycles_before,
        };
        // Every cycle that has begun counts.
        cycles_before += ceil_u64(&stretch.end).unwrap_or(0);
        stretches.push(stretch);
    }
    stretches
}

/// The lengths that a stretch covers, cut at the walls inside it.
fn lengths(
    segment: &Segment,
    end_s: &Exact,
    wall_s: &[Exact],
    push_off: &Exact,
) -> Vec<LengthSwum> {
    let passed = wall_s.partition_point(|wall| *wall <= segment.start_s);
    let inside = wall_s.partition_point(|wall| wall < end_s);
    let mut lengths = Vec::with_capacity(inside.saturating_sub(passed) + 1);
    for number in passed..=inside.max(passed) {
        let begins_s = match number > passed {
            true => &wall_s[number - 1],
            false => &segment.start_s,
        };
        let ends_s = if number < inside {
            &wall_s[number]
        } else {
            end_s
        };
        // A wall before the stretch still keeps breaths away until its push-off is over.
        let breath_s = match number {
            0 => begins_s.clone(),
            _ => (&wall_s[number - 1] + push_off).max(begins_s.clone()),
        };
        lengths.push(LengthSwum {
            number: number as u64,
            from: segment.phase_at(begins_s),
            to: segment.phase_at(ends_s),
            breath_from: segment.phase_at(&breath_s),
        });
    }
    lengths
}

/// One cue through every stretch of a repeat.
fn cue_track(set: &Set, stretches: &[Stretch], cue: &Cue, sample_rate_hz: u32) -> Track {
    let lead_s = set.lead.of(cue.kind);
    let per_length = set.fade.filter(|fade| fade.per == FadePer::Length);
    let per_cycle = set.fade.filter(|fade| fade.per == FadePer::Cycle);
    let mut spans = Vec::new();
    for stretch in stretches {
        let mut run = |from: &Exact, to: &Exact| {
            let every = Exact::from_integer(cue.every.into());
            let nth = |phase: &Exact| ceil_u64(&((phase - &cue.first) / &every)).unwrap_or(0);
            let (first, end) = (nth(from), nth(to));
            if end <= first {
                return;
            }
            let phase = &cue.first + &every * Exact::from_integer(first.into());
            let first_cycle = stretch.cycles_before + floor_u64(&phase).unwrap_or(0);
            if per_cycle.is_some_and(|fade| never_sounds(fade, first_cycle, cue.every)) {
                return;
            }
            spans.push(Span {
                law: Law::on_segment(
                    &stretch.segment,
                    &phase,
                    cue.every,
                    lead_s.s(),
                    sample_rate_hz,
                ),
                count: end - first,
                first_cycle,
                step: cue.every,
            });
        };
        if cue.kind != Kind::Breath && per_length.is_none() {
            run(&exact(0), &stretch.end);
            continue;
        }
        for length in &stretch.lengths {
            let sounds = per_length.is_none_or(|fade| fade.sounds(length.number));
            let from = match cue.kind {
                Kind::Breath => &length.breath_from,
                _ => &length.from,
            };
            if sounds {
                run(from, &length.to);
            }
        }
    }
    Track {
        kind: cue.kind,
        side: Some(cue.side),
        phase_micro: Some((to_f64(&cue.phase) * 1e6).round() as u32 % 1_000_000),
        fade: per_cycle,
        spans,
    }
}

/// Whether every event of a run falls into a fade's silence: the cycles of the run are all
/// congruent modulo what its step and the fade's period share. Such a run is left out, so that
/// reading events skips at most a few at a time.
fn never_sounds(fade: Fade, first_cycle: u64, step: u64) -> bool {
    let period = u64::from(fade.on) + u64::from(fade.off);
    first_cycle % shared(period, step) >= u64::from(fade.on)
}

/// The greatest common divisor.
fn shared(a: u64, b: u64) -> u64 {
    if b == 0 { a } else { shared(b, a % b) }
}

/// Counts, start, end, and walls where they are wanted.
fn signals(set: &Set, repeat: &Repeat, sample_rate_hz: u32) -> Vec<Track> {
    let track = |kind, first_s: &Exact, step_s: &Exact, count| Track {
        kind,
        side: None,
        phase_micro: None,
        fade: None,
        spans: vec![Span {
            law: Law::Steady {
                first: *first_s,
                step: *step_s,
                sample_rate_hz,
            },
            count,
            first_cycle: 0,
            step: 0,
        }],
    };
    let second = exact(1);
    let mut tracks = vec![
        track(Kind::Count, &(&repeat.start_s - exact(3)), &second, 3),
        track(Kind::Start, &repeat.start_s, &second, 1),
        track(Kind::End, &repeat.end_s, &second, 1),
    ];
    if let Some(every) = repeat.wall_every_s.as_ref().filter(|_| repeat.walls > 0)
        && set.cues.has(Kind::Wall)
    {
        tracks.push(track(
            Kind::Wall,
            &(&repeat.start_s + every),
            every,
            repeat.walls,
        ));
    }
    tracks
}

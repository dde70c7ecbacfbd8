//! A track as a film may hold it: instants at which something sounds, and the sound around them.

use std::ops::Range;

use crate::model::cue::{CueKind, Side, Voice};
use crate::sound::Bank;
use crate::timeline::Timeline;

/// Samples a second of the sound that is looked at, of film and track alike. Cues lie below 5 kHz.
pub const RATE_HZ: u32 = 16_000;

/// Events nearer than this, s, are one instant.
const TOGETHER_S: f64 = 5e-5;

/// A moment at which something sounds.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Instant {
    /// Seconds from the start of the track.
    pub at_s: f64,
    /// Which of the labels sounds.
    pub label: usize,
}

/// What sounds together.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Label {
    /// In their order, each once.
    pub voices: Vec<Voice>,
    /// The same for all labels of the same kinds of cue, whatever the sides.
    pub kind: usize,
}

impl Label {
    fn has(&self, kinds: &[CueKind]) -> bool {
        (self.voices.iter()).any(|voice| kinds.contains(&voice.kind))
    }

    /// Whether an arm or a paired kick sounds: the cues that count as heard. Signals are the same in
    /// every session.
    pub fn is_of_the_body(&self) -> bool {
        self.has(&[CueKind::Arm, CueKind::Kick])
    }

    /// Whether it is loud enough for its first arrival to be looked for.
    pub fn is_loud(&self) -> bool {
        let signals = [CueKind::Start, CueKind::Count, CueKind::End, CueKind::Wall];
        self.is_of_the_body() || self.has(&signals)
    }

    /// The side on which a kind of cue sounds here.
    pub fn side_of(&self, kind: CueKind) -> Option<Side> {
        let sides = (self.voices.iter()).filter(|voice| voice.kind == kind);
        sides.filter_map(|voice| voice.side).min()
    }
}

/// A track: when what sounds, and how. Words are left out.
#[derive(Debug, Clone)]
pub struct Track {
    bank: Bank,
    pub(super) instants: Vec<Instant>,
    pub(super) labels: Vec<Label>,
    /// How many kinds of label there are.
    pub(super) kinds: usize,
    /// Where the middle of the film may lie, s of the track.
    pub(super) during: Range<f64>,
}

impl Track {
    /// A track by its events, at any sample rate, and its voices at [`RATE_HZ`]. Nothing of it is
    /// rendered but around events, when that is asked for.
    ///
    /// # Panics
    /// When the voices have another rate.
    pub fn new(timeline: &Timeline, bank: Bank) -> Self {
        assert_eq!(bank.sample_rate_hz(), RATE_HZ, "the voices' sample rate");
        let rate_hz = f64::from(timeline.sample_rate_hz());
        let mut together: Vec<(f64, Vec<Voice>)> = Vec::new();
        for event in timeline.events() {
            let at_s = event.frame as f64 / rate_hz;
            match together.last_mut() {
                Some((last_s, voices)) if at_s - *last_s < TOGETHER_S => voices.push(event.voice()),
                _ => together.push((at_s, vec![event.voice()])),
            }
        }
        for (_, voices) in &mut together {
            voices.sort();
            voices.dedup();
        }
        let mut names: Vec<&Vec<Voice>> = together.iter().map(|(_, voices)| voices).collect();
        names.sort();
        names.dedup();
        let kinds_of =
            |voices: &[Voice]| -> Vec<CueKind> { voices.iter().map(|voice| voice.kind).collect() };
        let mut kinds: Vec<Vec<CueKind>> = names.iter().map(|name| kinds_of(name)).collect();
        kinds.sort();
        kinds.dedup();
        let index = |found: std::result::Result<usize, usize>| found.unwrap_or_else(|at| at);
        let instants = (together.iter()).map(|(at_s, voices)| Instant {
            at_s: *at_s,
            label: index(names.binary_search(&voices)),
        });
        let labels = (names.iter()).map(|name| Label {
            voices: (*name).clone(),
            kind: index(kinds.binary_search(&kinds_of(name))),
        });
        Self {
            instants: instants.collect(),
            labels: labels.collect(),
            kinds: kinds.len(),
            during: f64::NEG_INFINITY..f64::INFINITY,
            bank,
        }
    }

    /// The same track for a film whose middle lies within these seconds of it.
    #[must_use]
    pub fn during(mut self, seconds: Range<f64>) -> Self {
        self.during = seconds;
        self
    }

    pub(super) fn label(&self, instant: &Instant) -> &Label {
        &self.labels[instant.label]
    }

    /// The instants from one time up to another, s.
    pub(super) fn between(&self, from_s: f64, to_s: f64) -> Range<usize> {
        let before = |time: f64| self.instants.partition_point(|instant| instant.at_s < time);
        let from = before(from_s);
        from..before(to_s).max(from)
    }

    /// `length` samples of the track in mono from a time in s on, which need not be a whole sample.
    pub(super) fn sound(&self, from_s: f64, length: usize) -> Vec<f32> {
        let rate = f64::from(RATE_HZ);
        let mut sound = vec![0.0; length];
        let longest_s = self.bank.longest_frames() as f64 / rate;
        for instant in
            &self.instants[self.between(from_s - longest_s, from_s + length as f64 / rate)]
        {
            let at = (instant.at_s - from_s) * rate;
            for voice in &self.label(instant).voices {
                // Both ears in one: a side's voice is in one of them.
                let level = if voice.side.is_some() { 0.5 } else { 1.0 };
                add(&mut sound, self.bank.voice(*voice), at, level);
            }
        }
        sound
    }

    /// The tones of a kind's two voices, left beside right, Hz; none of a voice that is a coach's own.
    pub(super) fn tones(&self, kind: CueKind) -> Vec<(f64, f64)> {
        let [left, right] = Side::BOTH.map(|side| {
            let side = Some(side);
            self.bank.tones_hz(Voice { kind, side })
        });
        left.iter().copied().zip(right.iter().copied()).collect()
    }
}

/// Adds a voice that begins `at` samples in, on straight lines between its samples.
fn add(sound: &mut [f32], voice: &[f32], at: f64, level: f32) {
    let nearest = at.round();
    // What rounding has left is no part of a sample.
    let at = if (at - nearest).abs() < 1e-6 {
        nearest
    } else {
        at
    };
    let whole = at.floor();
    let part = (at - whole) as f32;
    let of = |index: i64| {
        usize::try_from(index)
            .ok()
            .and_then(|index| voice.get(index))
    };
    let first = whole as i64;
    let from = usize::try_from(first).unwrap_or(0);
    let to = (first + voice.len() as i64 + 1).clamp(0, sound.len() as i64) as usize;
    for (place, sample) in sound.iter_mut().enumerate().take(to).skip(from) {
        let index = place as i64 - first;
        let [here, before] = [of(index), of(index - 1)].map(|one| one.copied().unwrap_or(0.0));
        *sample += level * (here + part * (before - here));
    }
}

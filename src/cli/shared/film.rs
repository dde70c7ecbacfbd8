//! A film beside the track that sounded in it: where it lies, and how that is told.

use std::collections::HashSet;
use std::ops::Range;
use std::path::Path;

use clap::Args;

use crate::cli::shared::args::SpeechArgs;
use crate::cli::shared::load::Sounds;
use crate::cli::shared::sound_speed::IN_AIR_M_S;
use crate::cli::shared::swum::flag;
use crate::error::{Error, Result};
use crate::media::{Start, film_sound};
use crate::model::record::{FoundPlace, FoundSync};
use crate::model::resolve::Resolved;
use crate::sync::{RATE_HZ, Sync, SyncAnswer, Track, find};
use crate::timeline::{Event, Repeat, Schedule, Timeline};
use crate::units::{Fix, Length, Time, to_f64};

/// Frames a second on which the events are laid: finer than any film tells.
const TRACK_RATE_HZ: u32 = 48_000;
/// What a film is off at most whose file does not tell where its sound begins, s.
const START_UNKNOWN_S: f64 = 0.044;
/// Cues of two places that are nearer than this, s, are one.
const SAME_CUE_S: f64 = 0.01;
/// What `--at` may be off, s.
const ABOUT_S: f64 = 60.0;

/// Where in the session a film was taken, as far as the coach knows it.
#[derive(Debug, Args)]
pub struct WhereArgs {
    /// Which swim the film shows, counted through the session: 3 is the third
    #[arg(long, value_name = "N", requires = "film", conflicts_with = "at",
          value_parser = clap::value_parser!(u32).range(1..))]
    pub swim: Option<u32>,
    /// About when in the session the film was taken, within a minute: "12:30" from its start
    #[arg(long, value_name = "TIME", requires = "film")]
    pub at: Option<String>,
}

/// How far the sound went.
#[derive(Debug, Args)]
pub struct WayArgs {
    /// How far the camera stood from the loudspeaker, such as "12 m" [default: no way at all]
    #[arg(
        long,
        value_name = "M",
        requires = "session",
        allow_hyphen_values = true
    )]
    pub distance: Option<String>,
    /// How far the swimmer was from the loudspeaker [default: no way at all]
    #[arg(
        long,
        value_name = "M",
        requires = "session",
        allow_hyphen_values = true
    )]
    pub swimmer_distance: Option<String>,
}

impl WayArgs {
    /// How much later than the camera the swimmer hears a cue, s; below 0 where it is sooner.
    ///
    /// # Errors
    /// When a flag is no length.
    pub fn swimmer_after_camera_s(&self) -> Result<f64> {
        let way_s = |name: &str, text: &Option<String>| {
            let way = flag::<Length>(name, text.as_deref())
                .map_err(|error| error.example(format!("{name} \"12 m\"")))?;
            Ok(way.map_or(0.0, |way| to_f64(way.metres()) / IN_AIR_M_S))
        };
        let camera = way_s("--distance", &self.distance)?;
        Ok(way_s("--swimmer-distance", &self.swimmer_distance)? - camera)
    }
}

/// A film that was looked for in a session's track.
pub struct PlacedFilm {
    pub session: Resolved,
    pub schedule: Schedule,
    pub timeline: Timeline,
    pub sync: Sync,
    /// Whether marks say where it lies: then nobody knows how many moments were heard.
    pub by_marks: bool,
    /// Whether the sound came by several paths that disagree, where that is known.
    pub several_paths: Option<bool>,
    /// How long the film is, as far as it is known, s.
    seconds: f64,
    /// The middle of what is looked at, s.
    middle_s: f64,
}

impl PlacedFilm {
    /// Looks for a film's sound in a session's track.
    ///
    /// # Errors
    /// When the film or the coach's own sounds do not hold, or there is no such swim.
    pub fn find(film: &Path, session: Resolved, place: &WhereArgs) -> Result<Self> {
        let speech = "off".to_string();
        let voices = Sounds::new(&SpeechArgs { speech }, &session)?.voices(RATE_HZ);
        let mut placed = Self::laid_out(session)?;
        let mut track = Track::new(&placed.timeline, voices);
        if let Some(during) = during(&placed.timeline, place)? {
            track = track.during(during);
        }
        let sound = film_sound(film)?;
        placed.seconds = sound.samples.len() as f64 / f64::from(RATE_HZ);
        placed.middle_s = placed.seconds / 2.0;
        let sync = find(&track, &sound.samples);
        placed.several_paths = Some(sync.several_paths);
        placed.sync = match sound.start {
            Start::Exact => sync,
            Start::Unknown => sync.within(START_UNKNOWN_S),
        };
        Ok(placed)
    }

    /// The same film where its marks say that it was found there; the first and the last of them are
    /// at these times of it, s.
    #[must_use]
    pub fn known(mut self, found: FoundSync, (first_s, last_s): (f64, f64)) -> Self {
        self.by_marks = true;
        self.several_paths = found.several_paths;
        self.seconds = last_s;
        self.middle_s = 0.5 * (first_s + last_s);
        let start_s = found.track_s_at_film_0;
        let sync = &mut self.sync;
        (sync.answer, sync.places) = match found.place {
            FoundPlace::Locked => (SyncAnswer::Locked, vec![start_s]),
            FoundPlace::Cycles => (SyncAnswer::Cycles, Vec::new()),
        };
        sync.track_s_at_film_0 = Some(start_s);
        sync.drift_ppm = found.drift_ppm;
        sync.interval_ms = found.interval_ms;
        self
    }

    /// A film of a session, before it has a place in it.
    ///
    /// # Errors
    /// When the session cannot be laid out.
    pub fn laid_out(session: Resolved) -> Result<Self> {
        let schedule = Schedule::new(&session)?;
        Ok(Self {
            timeline: Timeline::new(&session, &schedule, TRACK_RATE_HZ),
            session,
            schedule,
            sync: Sync::nothing((0, 0)),
            by_marks: false,
            several_paths: None,
            seconds: 0.0,
            middle_s: 0.0,
        })
    }

    /// The repeat in which a cue sounds.
    pub fn repeat(&self, cue: Event) -> Option<&Repeat> {
        let is_its = |repeat: &&Repeat| {
            (repeat.set + 1, repeat.number) == (cue.set as usize, u64::from(cue.repeat))
        };
        self.schedule.repeats.iter().find(is_its)
    }

    /// The repeat, by its index, that the middle of the film shows if it begins at a time of the track, s.
    pub fn repeat_at(&self, start_s: f64) -> usize {
        (self.timeline).repeat_at(Fix::from_f64(start_s + self.middle_s))
    }

    /// The repeats of all places that are left, by their indices in order; none where they are not known.
    pub fn swims_left(&self) -> Vec<usize> {
        let places = self.sync.places.iter();
        let mut swims: Vec<usize> = places.map(|start_s| self.repeat_at(*start_s)).collect();
        swims.sort_unstable();
        swims.dedup();
        swims
    }

    /// Moments with arm or kick cues that are heard, and those that should be, where that is known.
    pub fn heard(&self) -> Option<(usize, usize)> {
        (!self.by_marks).then_some(self.sync.heard)
    }

    /// Whether every place that is left has the same cues sounding, and the same left silent: a
    /// fade may tell one place from another.
    pub fn agrees_on_silence(&self) -> bool {
        let of_the_body = self.timeline.events().filter(|event| event.beat.is_some());
        let times: Vec<f64> = of_the_body
            .map(|event| event.frame as f64 / f64::from(TRACK_RATE_HZ))
            .collect();
        let sounding = |start_s: f64| -> Vec<f64> {
            let from = times.partition_point(|time_s| *time_s < start_s);
            let to = times.partition_point(|time_s| *time_s < start_s + self.seconds);
            times[from..to]
                .iter()
                .map(|time_s| time_s - start_s)
                .collect()
        };
        let Some((first, others)) = self.sync.places.split_first() else {
            // The marks say that there are several, and not which.
            let fades = self.session.sets.iter().any(|set| set.fade.is_some());
            return !fades;
        };
        let first = sounding(*first);
        let as_well = |film_s: &f64, times: &[f64]| {
            times
                .iter()
                .any(|other| (other - film_s).abs() < SAME_CUE_S)
        };
        others.iter().all(|other| {
            let other = sounding(*other);
            let lacking = first
                .iter()
                .filter(|film_s| !as_well(film_s, &other))
                .count();
            let added = other
                .iter()
                .filter(|film_s| !as_well(film_s, &first))
                .count();
            // The ends of a swim may take the outermost away.
            lacking + added <= first.len() / 10
        })
    }

    /// The cues that may sound in the film, in their order, those left silent by a fade among them.
    pub fn cues(&self) -> Vec<FilmedCue> {
        let sounding: HashSet<_> = self
            .events(&self.timeline)
            .map(|(_, event)| event)
            .collect();
        let mut session = self.session.clone();
        for set in &mut session.sets {
            set.fade = None;
        }
        let all = Timeline::new(&session, &self.schedule, TRACK_RATE_HZ);
        let of_the_body = self.events(&all).filter(|(_, event)| event.beat.is_some());
        let cues = of_the_body.map(|(film_s, event)| FilmedCue {
            film_s,
            sounds: sounding.contains(&event),
            event,
        });
        cues.collect()
    }

    /// The events in the film and when they sound in it, s; none without times.
    fn events(&self, timeline: &Timeline) -> impl Iterator<Item = (f64, Event)> {
        let film_s = |event: Event| {
            let track_s = event.frame as f64 / f64::from(TRACK_RATE_HZ);
            Some((self.sync.film_s(track_s)?, event))
        };
        let timed = timeline.events().filter_map(film_s);
        timed.filter(|(film_s, _)| (0.0..self.seconds).contains(film_s))
    }
}

/// A cue of the body in a film.
#[derive(Debug, Clone, Copy)]
pub struct FilmedCue {
    /// When the camera hears it, on the film's clock, s.
    pub film_s: f64,
    /// Whether it sounds; a fade leaves it silent.
    pub sounds: bool,
    pub event: Event,
}

/// Where the middle of the film may lie, s of the track.
fn during(timeline: &Timeline, place: &WhereArgs) -> Result<Option<Range<f64>>> {
    if let Some(swim) = place.swim {
        let number = swim as usize;
        if number > timeline.repeats() {
            return Err(Error::input(format!("found {swim}"))
                .at("--swim")
                .accepted(format!(
                    "1 to {}, counted through the session",
                    timeline.repeats()
                )));
        }
        let frames = timeline.frames_of(&(number - 1..number));
        let s = |frame: u64| frame as f64 / f64::from(timeline.sample_rate_hz());
        return Ok(Some(s(frames.start)..s(frames.end)));
    }
    let at = flag::<Time>("--at", place.at.as_deref())?;
    Ok(at.map(|at| {
        let at_s = to_f64(at.s());
        at_s - ABOUT_S..at_s + ABOUT_S
    }))
}

//! A film beside the track that sounded in it: where it lies, and how that is told.

use std::collections::HashSet;
use std::ops::Range;
use std::path::Path;

use clap::Args;
use serde::Serialize;

use crate::cli::shared::args::SpeechArgs;
use crate::cli::shared::load::Sounds;
use crate::cli::shared::report::Micro;
use crate::cli::shared::sound_speed::IN_AIR_M_S;
use crate::cli::shared::swum::flag;
use crate::cli::shared::words::{Page, count};
use crate::error::{Error, Result};
use crate::media::{Start, film_sound};
use crate::model::record::FoundPlace;
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
    schedule: Schedule,
    timeline: Timeline,
    pub sync: Sync,
    /// How long the film is, s.
    seconds: f64,
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
        let sync = find(&track, &sound.samples);
        placed.sync = match sound.start {
            Start::Exact => sync,
            Start::Unknown => sync.within(START_UNKNOWN_S),
        };
        Ok(placed)
    }

    /// A film of so many seconds whose place is known: what kind of place it is, the track's time at its
    /// time 0, s, the drift, millionths, and how far off that may be, ms.
    ///
    /// # Errors
    /// When the session cannot be laid out.
    pub fn known(
        session: Resolved,
        place: FoundPlace,
        (start_s, drift_ppm, interval_ms): (f64, f64, Option<(f64, f64)>),
        seconds: f64,
    ) -> Result<Self> {
        let mut placed = Self::laid_out(session)?;
        placed.seconds = seconds;
        placed.sync.answer = match place {
            FoundPlace::Locked => SyncAnswer::Locked,
            FoundPlace::Cycles => SyncAnswer::Cycles,
        };
        placed.sync.track_s_at_film_0 = Some(start_s);
        placed.sync.drift_ppm = drift_ppm;
        placed.sync.interval_ms = interval_ms;
        Ok(placed)
    }

    fn laid_out(session: Resolved) -> Result<Self> {
        let schedule = Schedule::new(&session)?;
        Ok(Self {
            timeline: Timeline::new(&session, &schedule, TRACK_RATE_HZ),
            session,
            schedule,
            sync: Sync::nothing((0, 0)),
            seconds: 0.0,
        })
    }

    /// The repeat in which a cue sounds.
    pub fn repeat(&self, cue: Event) -> Option<&Repeat> {
        let is_its = |repeat: &&Repeat| {
            (repeat.set + 1, repeat.number) == (cue.set as usize, u64::from(cue.repeat))
        };
        self.schedule.repeats.iter().find(is_its)
    }

    /// What is found, as data.
    pub fn shown(&self) -> SyncShown {
        let sync = &self.sync;
        let times = sync.answer.gives_times();
        SyncShown {
            answer: sync.answer.word(),
            track_s_at_film_0: sync.track_s_at_film_0.map(Micro::from),
            drift_ppm: times.then(|| sync.drift_ppm.into()),
            interval_ms: sync.interval_ms.map(|(lo, hi)| [lo.into(), hi.into()]),
            heard: sync.heard.0,
            expected: sync.heard.1,
            places: sync.places.iter().map(|place| (*place).into()).collect(),
        }
    }

    /// What is found, in words.
    pub fn words(&self, to: &mut Page) {
        to.fill(self.answer());
        let Some((early, late)) = self.sync.interval_ms else {
            return;
        };
        let of_clock = format!(
            "The clocks of track and film differ by {:.0} millionths.",
            self.sync.drift_ppm.abs()
        );
        to.fill(if self.sync.several_paths {
            format!(
                "The sound came by several paths: a cue may be up to {:.1} ms earlier or {:.1} ms later \
                 than told. Film in sight of the loudspeaker. {of_clock}",
                -early, late
            )
        } else {
            format!("Cues lie within {:.1} ms of what is told. {of_clock}", late.max(-early))
        });
    }

    fn answer(&self) -> String {
        let sync = &self.sync;
        let heard = format!("{} of {}", sync.heard.0, count(sync.heard.1, "moment"));
        match sync.answer {
            SyncAnswer::Locked => format!(
                "The film most likely begins at {} of the track, in {} ({heard} with arm or kick cues \
                 heard).",
                Time::from_s(Fix::from_f64(sync.places[0].max(0.0))).rounded(),
                self.swim_at(sync.places[0])
            ),
            SyncAnswer::Cycles => format!(
                "The cues are heard ({heard}). The moment inside the cycle is known, which stroke or \
                 swim is not: enough for kick timing. {}",
                self.places_left()
            ),
            SyncAnswer::Other => {
                "This is a film of the other pairing: arms or feet sound on the other \
                              sides. No times are taken from it; name the session that sounded."
                    .into()
            }
            SyncAnswer::Unsure => format!(
                "Cues are heard ({heard}), but not surely where they belong, so no times are taken. \
                 Film 15 s or more of a swim in which arms and feet of both sides sound, in sight of \
                 the loudspeaker. Sounds of your own are never sure."
            ),
            SyncAnswer::None => {
                "No cues of this session are heard in the film, so no times are taken. Is it \
                             the session that sounded, and can you hear it in the film?"
                    .into()
            }
        }
    }

    /// How many places are left, and what narrows them.
    fn places_left(&self) -> String {
        let mut swims: Vec<usize> = (self.sync.places.iter())
            .map(|start_s| self.repeat_at(*start_s))
            .collect();
        swims.sort_unstable();
        swims.dedup();
        let places = count(self.sync.places.len(), "place");
        match swims[..] {
            [swim] => format!("{places} fit, all in swim {}.", swim + 1),
            _ => format!(
                "{places} in {} swims fit; --swim or --at says which.",
                swims.len()
            ),
        }
    }

    fn repeat_at(&self, start_s: f64) -> usize {
        (self.timeline).repeat_at(Fix::from_f64(start_s + self.seconds / 2.0))
    }

    /// The swim that a film shows which begins at a time of the track, s.
    fn swim_at(&self, start_s: f64) -> String {
        let index = self.repeat_at(start_s);
        let (set, repeat) = self.timeline.set_and_repeat(index);
        format!("swim {} (set {set}, repeat {repeat})", index + 1)
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
            return self.sync.answer == SyncAnswer::Locked || !fades;
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

/// Where a film lies, as JSON has it.
#[derive(Debug, Clone, Serialize)]
pub struct SyncShown {
    answer: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    track_s_at_film_0: Option<Micro>,
    #[serde(skip_serializing_if = "Option::is_none")]
    drift_ppm: Option<Micro>,
    #[serde(skip_serializing_if = "Option::is_none")]
    interval_ms: Option<[Micro; 2]>,
    heard: usize,
    expected: usize,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    places: Vec<Micro>,
}

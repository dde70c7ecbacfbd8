//! The search on films that are the track itself: moved, slowed, noisy, reflected, of another pairing.

use super::*;
use crate::files::{parse_session, voices};
use crate::model::resolve::resolve;
use crate::model::wishes::Wishes;
use crate::render::Mixer;
use crate::sound::Bank;
use crate::timeline::{Schedule, Timeline};

/// Two swims of 16 cycles at 60 spm, the second a little faster.
const SESSION: &str = "lead_in = \"6 s\"\n[[set]]\nswim = \"35 s\"\nrate = \"60 spm\"\nrest = \"10 s\"\n\
                       [[set]]\nswim = \"35 s\"\nrate = \"61.3 spm\"\n";

fn timeline(text: &str, rate_hz: u32) -> Timeline {
    let session = parse_session("test.toml", text).expect("parses");
    let session = resolve(&session, None, &Wishes::default()).expect("resolves");
    let schedule = Schedule::new(&session).expect("fits");
    Timeline::new(&session, &schedule, rate_hz)
}

fn track(text: &str) -> Track {
    Track::new(
        &timeline(text, 44_100),
        Bank::new(&voices::shipped(), RATE_HZ),
    )
}

/// A film of a track, `start_s` into it, with noise of a size that hardly matters.
fn film(text: &str, start_s: f64, seconds: f64) -> Vec<f32> {
    let mut sound = track(text).sound(start_s, (seconds * f64::from(RATE_HZ)) as usize);
    add_noise(&mut sound);
    sound
}

fn add_noise(sound: &mut [f32]) {
    let mut rng = fastrand::Rng::with_seed(7);
    sound
        .iter_mut()
        .for_each(|sample| *sample += 0.002 * (rng.f32() - 0.5));
}

#[test]
fn what_is_laid_around_an_instant_is_what_the_mixer_plays() {
    // On the track's own frames at 16 kHz; both ears in one.
    let timeline = timeline(SESSION, RATE_HZ);
    let bank = Bank::new(&voices::shipped(), RATE_HZ);
    let mut frames = vec![[0.0; 2]; 30 * RATE_HZ as usize];
    Mixer::new(&bank, false, 0, timeline.events()).fill(&mut frames);
    let track = Track::new(&timeline, bank);
    let laid = track.sound(0.0, frames.len());
    for (at, (laid, [left, right])) in laid.iter().zip(&frames).enumerate() {
        assert!((laid - 0.5 * (left + right)).abs() < 1e-5, "frame {at}");
    }
}

#[test]
fn events_on_one_frame_are_one_instant() {
    let track = track(SESSION);
    let kinds = |label: &track::Label| -> Vec<String> {
        label.voices.iter().map(ToString::to_string).collect()
    };
    let labels: Vec<Vec<String>> = track.labels.iter().map(kinds).collect();
    assert!(
        labels.contains(&vec!["arm-left".into(), "kick-left".into()]),
        "{labels:?}"
    );
    assert!(
        labels.contains(&vec!["arm-right".into(), "kick-right".into()]),
        "{labels:?}"
    );
    // Left and right differ in their label alone, not in their kind.
    assert_eq!(track.kinds, 4, "count, start, end, and arm with kick");
}

#[test]
fn a_part_of_a_steady_swim_is_told_to_the_cycle() {
    // Half a sample off the grid of 16 kHz, and on no frame of the search.
    let start_s = 15.0 + 0.5 / f64::from(RATE_HZ);
    let sync = find(&track(SESSION), &film(SESSION, start_s, 14.0));
    assert_eq!(sync.answer, SyncAnswer::Cycles);
    let found = sync.track_s_at_film_0.expect("times");
    // Cycles last 2 s.
    let off = (found - start_s) / 2.0;
    assert!((off - off.round()).abs() * 2.0 < 2e-5, "{found}");
    assert!(
        sync.places
            .iter()
            .any(|place| (place - start_s).abs() < 2e-5),
        "{sync:?}"
    );
    assert!(
        sync.drift_ppm.abs() < 5.0 && !sync.several_paths,
        "{sync:?}"
    );
    assert_eq!(sync.interval_ms, Some((-0.1, 0.1)));
    assert_eq!(sync.heard.0, sync.heard.1);
}

#[test]
fn the_start_of_a_swim_leaves_one_place() {
    let sync = find(&track(SESSION), &film(SESSION, 46.0, 20.0));
    assert_eq!(sync.answer, SyncAnswer::Locked, "{sync:?}");
    let found = sync.track_s_at_film_0.expect("times");
    assert!((found - 46.0).abs() < 2e-5, "{found}");
    assert_eq!(sync.places.len(), 1);
    // There and back.
    let film_s = sync.film_s(55.0).expect("times");
    let back_s = found + film_s * (1.0 + sync.drift_ppm * 1e-6);
    assert!((back_s - 55.0).abs() < 1e-9, "{back_s}");
}

#[test]
fn a_place_is_told_once_though_it_was_fitted_and_repeats_the_likeliest_as_well() {
    // Two swims alike, six cycles with sound and three without.
    let text = "lead_in = \"6 s\"\n[[set]]\nswim = \"35 s\"\nrate = \"60 spm\"\nrest = \"10 s\"\n\
                repeats = 2\nfade = { on = 6, off = 3, per = \"cycle\" }\n";
    let mut most = 0;
    for start_s in [12.25, 12.5, 12.75, 13.0] {
        let sync = find(&track(text), &film(text, start_s, 14.0));
        assert_eq!(sync.answer, SyncAnswer::Cycles, "{start_s}: {sync:?}");
        for (at, place) in sync.places.iter().enumerate() {
            let others = &sync.places[at + 1..];
            assert!(
                others.iter().all(|other| (other - place).abs() > 0.02),
                "{start_s}: {sync:?}"
            );
        }
        most = most.max(sync.places.len());
    }
    assert!(most > 6, "{most}");
}

#[test]
fn where_the_film_may_lie_can_be_said() {
    let film = film(SESSION, 49.2, 18.0);
    let sync = find(&track(SESSION).during(0.0..41.0), &film);
    assert!(
        sync.places.iter().all(|place| place + 9.0 < 41.0),
        "{sync:?}"
    );
}

#[test]
fn a_film_whose_clock_is_slow_is_told_by_how_much() {
    let drift = 8e-5;
    let whole = film(SESSION, 49.2, 20.0);
    let at = |frame: usize| {
        let place = frame as f64 * (1.0 + drift);
        let part = (place - place.floor()) as f32;
        let [one, next] = [0, 1].map(|after| whole[place as usize + after]);
        one + part * (next - one)
    };
    let film: Vec<f32> = (0..whole.len() - 100).map(at).collect();
    let sync = find(&track(SESSION), &film);
    assert!((sync.drift_ppm - 80.0).abs() < 8.0, "{sync:?}");
}

#[test]
fn a_louder_reflection_does_not_move_the_first_arrival() {
    let direct = film(SESSION, 49.2, 20.0);
    let late = 160; // 10 ms
    let mut film = direct.clone();
    for at in late..film.len() {
        film[at] += 1.5 * direct[at - late];
    }
    let sync = find(&track(SESSION), &film);
    let found = sync.track_s_at_film_0.expect("times");
    assert!(
        (found - 49.2).abs() < 5e-5,
        "{found}: a reflection would give {}",
        49.19
    );
}

#[test]
fn a_film_of_the_other_pairing_is_told_for_what_it_is() {
    let other = SESSION.replace("rate =", "pairing = \"opposite-side\"\nrate =");
    let sync = find(&track(&other), &film(SESSION, 49.2, 20.0));
    assert_eq!(sync.answer, SyncAnswer::Other);
    assert_eq!((sync.track_s_at_film_0, sync.interval_ms), (None, None));
    assert!(sync.places.is_empty());
}

#[test]
fn sounds_of_ones_own_are_heard_but_never_sure() {
    let bank = Bank::new(&voices::shipped(), RATE_HZ);
    let kick = crate::model::cue::Voice::ALL[2];
    let own = bank.voice(kick).to_vec();
    let track = Track::new(&timeline(SESSION, 44_100), bank.with(kick, own));
    let sync = find(&track, &film(SESSION, 49.2, 20.0));
    assert_eq!(sync.answer, SyncAnswer::Unsure);
}

#[test]
fn silence_noise_and_no_film_at_all_are_no_cues() {
    let track = track(SESSION);
    let mut noise = vec![0.0; 10 * RATE_HZ as usize];
    for film in [
        &[][..],
        &[0.5; 100],
        &noise,
        &[f32::NAN; 60_000],
        &[f32::MAX; 60_000],
    ] {
        assert_eq!(
            find(&track, film).answer,
            SyncAnswer::None,
            "{} samples",
            film.len()
        );
    }
    add_noise(&mut noise);
    assert_eq!(find(&track, &noise).answer, SyncAnswer::None);
}

#[test]
fn a_track_without_a_cue_finds_nothing() {
    let text = "lead_in = \"6 s\"\n[[set]]\nswim = \"35 s\"\nrate = \"60 spm\"\ncues = []\n";
    assert_eq!(
        find(&track(text), &film(SESSION, 10.0, 10.0)).answer,
        SyncAnswer::None
    );
}

#[test]
fn a_film_that_is_less_certain_has_a_wider_interval() {
    let sync = find(&track(SESSION), &film(SESSION, 49.2, 18.0)).within(0.044);
    assert_eq!(sync.interval_ms, Some((-44.1, 44.1)));
}

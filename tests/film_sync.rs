//! Where in a track a film was taken, on films whose truth is known: a Python of our own makes them
//! by numpy and scipy from a track that the mixer has played (`film_sync.py`).
//!
//! Each film has a session of its own, and each track is also held against films that are not its
//! own: of the same swim by the other pairing, with the arm's sound at its other moment, of a pool
//! without cues. Short here; `make soak` takes them by the hundred and prints its figures.
#![allow(clippy::print_stdout)] // the figures are the soak's report

use std::fmt::Write as _;
use std::path::Path;

use cuelane::files::{parse_session, voices};
use cuelane::model::cue::{CueKind, Voice};
use cuelane::model::kick::Pairing;
use cuelane::model::resolve::{Resolved, resolve};
use cuelane::model::wishes::Wishes;
use cuelane::render::Mixer;
use cuelane::sound::Bank;
use cuelane::sync::{RATE_HZ, Sync, SyncAnswer, Track, find};
use cuelane::timeline::{Schedule, Timeline};
use fastrand::Rng;

use crate::support::{ok, python_script, refused};

/// The rate at which a track is played to the film, unlike that of any search.
const PLAYED_HZ: u32 = 48_000;

/// A session with its numbers drawn.
#[derive(Debug, Clone)]
struct Swum {
    spm: f64,
    to_spm: f64,
    right_entry: f64,
    catches: (f64, f64),
    repeats: u32,
    cycles: u32,
    rest_s: f64,
    push_off_s: f64,
    pairing: Pairing,
}

impl Swum {
    fn draw(rng: &mut Rng) -> Self {
        let between = |rng: &mut Rng, low: f64, high: f64| low + (high - low) * rng.f64();
        let spm = 120.0 / between(rng, 1.5, 2.3);
        let rises = if rng.f64() < 0.6 {
            0.0
        } else {
            between(rng, -0.06, 0.06)
        };
        let left = between(rng, 0.26, 0.34);
        Self {
            spm,
            to_spm: spm * (1.0 + rises),
            right_entry: if rng.bool() {
                0.5
            } else {
                between(rng, 0.48, 0.52)
            },
            catches: (
                left,
                if rng.bool() {
                    left
                } else {
                    between(rng, 0.26, 0.34)
                },
            ),
            repeats: rng.u32(4..8),
            cycles: rng.u32(8..20),
            rest_s: between(rng, 10.0, 20.0),
            push_off_s: between(rng, 2.5, 4.0),
            pairing: if rng.bool() {
                Pairing::SameSide
            } else {
                Pairing::OppositeSide
            },
        }
    }

    /// Its file. `arm_moved`: the arm's sound stands at the moment that is not the pairing's.
    fn text(&self, pairing: Pairing, arm_moved: bool) -> String {
        let rate = if self.to_spm == self.spm {
            format!("\"{:.2} spm\"", self.spm)
        } else {
            let (from, to) = (self.spm, self.to_spm);
            format!("{{ from = \"{from:.2} spm\", to = \"{to:.2} spm\", by = \"repeat\" }}")
        };
        let arm = match (arm_moved, pairing) {
            (false, _) => "pairing",
            (true, Pairing::SameSide) => "entry",
            (true, Pairing::OppositeSide) => "catch",
        };
        let swim_s = self.push_off_s + f64::from(self.cycles) * 120.0 / self.spm;
        format!(
            "lead_in = \"8 s\"\n[[set]]\nrepeats = {}\nswim = \"{swim_s:.2} s\"\nrest = \"{:.2} s\"\n\
             push_off = \"{:.2} s\"\nrate = {rate}\nright_entry = {:.4}\n\
             catch_after_entry = {{ left = {:.4}, right = {:.4} }}\npairing = \"{}\"\narm_cue = \"{arm}\"\n",
            self.repeats,
            self.rest_s,
            self.push_off_s,
            self.right_entry,
            self.catches.0,
            self.catches.1,
            pairing.word(),
        )
    }
}

fn timeline(text: &str, rate_hz: u32) -> Timeline {
    let session = parse_session("drawn.toml", text).expect("parses");
    let session: Resolved = resolve(&session, None, &Wishes::default()).expect("resolves");
    let schedule = Schedule::new(&session).expect("fits");
    Timeline::new(&session, &schedule, rate_hz)
}

fn track(text: &str) -> Track {
    let voices = Bank::new(&voices::shipped(), RATE_HZ);
    Track::new(&timeline(text, 44_100), voices)
}

/// When what sounds, s.
fn events(text: &str) -> Vec<(f64, Voice)> {
    let timeline = timeline(text, 44_100);
    let at = |frame: u64| frame as f64 / 44_100.0;
    timeline
        .events()
        .map(|event| (at(event.frame), event.voice()))
        .collect()
}

/// What a film is drawn from.
#[derive(Debug, Clone, Copy)]
struct Films {
    seed: u64,
    seconds: (f64, f64),
    snr_db: (f64, f64),
    drr_db: (f64, f64),
    coded: f64,
}

/// A film: of which swim, where in its track.
#[derive(Debug, Clone)]
struct Taken {
    swum: Swum,
    start_s: f64,
    drift: f64,
    seconds: f64,
}

impl Taken {
    fn film_s(&self, track_s: f64) -> f64 {
        (track_s - self.start_s) / (1.0 + self.drift)
    }

    /// How much later than truly the cues of the film are told to be, s, one by one: against the
    /// nearest of the same voice, for which swim it was is another question.
    fn errors(&self, sync: &Sync) -> Vec<f64> {
        let events = events(&self.swum.text(self.swum.pairing, false));
        let told = |track_s: f64| sync.film_s(track_s).expect("the answer gives times");
        let inside = |event: &&(f64, Voice)| {
            let film_s = self.film_s(event.0);
            film_s > 0.1 && film_s < self.seconds - 0.15
        };
        let error = |(track_s, voice): &(f64, Voice)| {
            let truly = self.film_s(*track_s);
            let same = events.iter().filter(|(_, other)| other == voice);
            same.map(|(other, _)| told(*other) - truly)
                .min_by(|a, b| a.abs().total_cmp(&b.abs()))
                .expect("the voice is in its own track")
        };
        events.iter().filter(inside).map(error).collect()
    }
}

/// Draws so many films, has them made, and gives each with its sound to `look`.
fn films(of: Films, with_cues: bool, count: u64, mut look: impl FnMut(u64, &Taken, &[f32])) {
    const AT_ONCE: u64 = 40;
    let folder = tempfile::tempdir().expect("a folder");
    for first in (0..count).step_by(AT_ONCE as usize) {
        let numbers = first..(first + AT_ONCE).min(count);
        let mut jobs = String::new();
        let taken: Vec<Taken> = (numbers.clone())
            .map(|number| {
                let mut rng = Rng::with_seed(of.seed * 1_000_003 + number);
                job(of, with_cues, number, &mut rng, folder.path(), &mut jobs)
            })
            .collect();
        let file = crate::support::write(folder.path(), "jobs", &jobs);
        python_script("film_sync.py", &[file.to_str().expect("a path is text")]);
        for (number, taken) in numbers.zip(&taken) {
            let path = folder.path().join(format!("{number}.film"));
            let bytes = std::fs::read(path).expect("the film is there");
            let samples = bytes
                .chunks_exact(4)
                .map(|four| four.try_into().expect("four bytes"));
            let film: Vec<f32> = samples.map(f32::from_le_bytes).collect();
            look(number, taken, &film);
        }
    }
}

/// Draws one film, writes the sound of its piece of track, and adds its line for Python.
fn job(
    of: Films,
    with_cues: bool,
    number: u64,
    rng: &mut Rng,
    folder: &Path,
    jobs: &mut String,
) -> Taken {
    let swum = Swum::draw(rng);
    let within = |rng: &mut Rng, (low, high): (f64, f64)| low + (high - low) * rng.f64();
    let seconds = within(rng, of.seconds);
    let text = swum.text(swum.pairing, false);
    let times: Vec<f64> = events(&text).iter().map(|(at, _)| *at).collect();
    let start_s = loop {
        let start = within(rng, (0.0, times[times.len() - 1] - seconds / 2.0));
        let inside = times
            .iter()
            .filter(|at| **at > start && **at < start + seconds);
        if inside.count() >= 10 {
            break start;
        }
    };
    let drift = within(rng, (-1e-4, 1e-4));
    let ahead_s = start_s.min(0.05);
    let piece = folder.join(format!("{number}.track"));
    if with_cues {
        let from = ((start_s - ahead_s) * f64::from(PLAYED_HZ)).round();
        let played = played(
            &text,
            from as u64,
            ((seconds + 0.2) * f64::from(PLAYED_HZ)) as usize,
        );
        std::fs::write(&piece, played).expect("the test's own folder can be written");
    }
    let from_s = ((start_s - ahead_s) * f64::from(PLAYED_HZ)).round() / f64::from(PLAYED_HZ);
    let line = serde_json::json!({
        "out": folder.join(format!("{number}.film")),
        "track": with_cues.then_some(piece),
        "ahead_s": start_s - from_s,
        "seconds": seconds,
        "drift": drift,
        "snr_db": within(rng, of.snr_db),
        "drr_db": within(rng, of.drr_db),
        "rt60_s": within(rng, (1.0, 3.0)),
        "levelled": rng.bool(),
        "cleaned": rng.f64() < 0.3,
        "aac_kbps": if rng.f64() < of.coded { 64 + 32 * rng.u32(0..2) } else { 0 },
        "words": Path::new(env!("CARGO_MANIFEST_DIR")).join("sounds/en"),
        "seed": of.seed * 1_000_003 + number,
    });
    writeln!(jobs, "{line}").expect("text takes text");
    Taken {
        swum,
        start_s,
        drift,
        seconds,
    }
}

/// A piece of a track as the mixer plays it, both ears in one: float32, little-endian.
fn played(text: &str, from: u64, length: usize) -> Vec<u8> {
    let timeline = timeline(text, PLAYED_HZ);
    let bank = Bank::new(&voices::shipped(), PLAYED_HZ);
    let mut mixer = Mixer::new(&bank, false, 0, timeline.events());
    let mut frames = vec![[0.0; 2]; from as usize + length];
    frames.chunks_mut(4096).for_each(|block| mixer.fill(block));
    let ears = frames[from as usize..].iter();
    ears.flat_map(|[left, right]| (0.5 * (left + right)).to_le_bytes())
        .collect()
}

fn other(pairing: Pairing) -> Pairing {
    match pairing {
        Pairing::SameSide => Pairing::OppositeSide,
        Pairing::OppositeSide => Pairing::SameSide,
    }
}

/// What films of their own tracks gave.
#[derive(Debug, Default)]
struct Own {
    all: usize,
    /// Films that hold eight arm and kick instants, and those of them with times.
    with_eight: usize,
    eight_answered: usize,
    /// Each film with times: the median of its errors without their signs, and with them, s.
    errors: Vec<f64>,
    /// Films with times of which no named place is the right one.
    place_not_named: usize,
    /// Films with an interval under 1 ms, those of them that are more than half of that off, and
    /// those whose error is outside of the interval.
    claimed: usize,
    claimed_wrongly: usize,
    claimed_outside: usize,
    /// Films with a wider interval, and those whose error is outside of it.
    wide: usize,
    wide_outside: usize,
    locked: usize,
    locked_elsewhere: usize,
}

impl Own {
    fn of(films_of: Films, count: u64) -> Self {
        let mut own = Self::default();
        films(films_of, true, count, |number, taken, film| {
            let text = taken.swum.text(taken.swum.pairing, false);
            own.add(number, taken, &find(&track(&text), film));
        });
        own
    }

    fn add(&mut self, number: u64, taken: &Taken, sync: &Sync) {
        self.all += 1;
        let times = events(&taken.swum.text(taken.swum.pairing, false));
        let mut body: Vec<f64> = (times.iter())
            .filter(|(_, voice)| matches!(voice.kind, CueKind::Arm | CueKind::Kick))
            .map(|(at, _)| *at)
            .filter(|at| taken.film_s(*at) > 0.1 && taken.film_s(*at) < taken.seconds - 0.15)
            .collect();
        body.dedup();
        let eight = body.len() >= 8;
        self.with_eight += usize::from(eight);
        if !sync.answer.gives_times() {
            return;
        }
        self.eight_answered += usize::from(eight);
        let mut errors = taken.errors(sync);
        errors.sort_by(f64::total_cmp);
        let error = errors[errors.len() / 2];
        self.errors.push(error.abs());
        let right = |place: &f64| (place - taken.start_s).abs() < 0.05;
        self.place_not_named += usize::from(!sync.places.iter().any(right));
        if sync.answer == SyncAnswer::Locked {
            self.locked += 1;
            self.locked_elsewhere += usize::from(!right(&sync.places[0]));
        }
        let (early, late) = sync
            .interval_ms
            .expect("an answer with times has an interval");
        // The cue truly is so much later than told.
        let truly_ms = -1000.0 * error;
        let outside = usize::from(truly_ms < early || truly_ms > late);
        if late - early < 1.0 {
            self.claimed += 1;
            self.claimed_wrongly += usize::from(error.abs() > 0.0005);
            self.claimed_outside += outside;
        } else {
            self.wide += 1;
            self.wide_outside += outside;
        }
        if error.abs() > 0.0005 {
            let told = (sync.answer, sync.interval_ms, sync.heard);
            println!("film {number}: off by {:.2} ms, {told:?}", 1000.0 * error);
        }
    }

    /// What share of the errors is at or under what, s.
    fn error_at(&self, share: f64) -> f64 {
        let mut errors = self.errors.clone();
        errors.sort_by(f64::total_cmp);
        errors[((errors.len() - 1) as f64 * share).round() as usize]
    }

    fn tell(&self, name: &str) {
        let [half, most, all] = [0.5, 0.95, 1.0].map(|share| 1000.0 * self.error_at(share));
        println!(
            "{name}: {} with times; off by {half:.3}, {most:.3}, {all:.3} ms at 50, 95, 100 %; {} of {} with \
             eight moments; {} of {} locked elsewhere; no place right in {}; under 1 ms claimed {}, of \
             those {} off by more than half, {} outside of it; wider {}, of those {} outside",
            self.errors.len(),
            self.eight_answered,
            self.with_eight,
            self.locked_elsewhere,
            self.locked,
            self.place_not_named,
            self.claimed,
            self.claimed_wrongly,
            self.claimed_outside,
            self.wide,
            self.wide_outside
        );
    }
}

/// Answers with times for films of a pool without cues, each with a track of its own; and the rest.
fn without_cues(films_of: Films, count: u64) -> (usize, usize) {
    let (mut answered, mut heard) = (0, 0);
    films(films_of, false, count, |number, taken, film| {
        let sync = find(&track(&taken.swum.text(taken.swum.pairing, false)), film);
        answered += usize::from(sync.answer.gives_times());
        heard += usize::from(sync.answer != SyncAnswer::None);
        if sync.answer != SyncAnswer::None {
            println!("film {number} without cues: {sync:?}");
        }
    });
    (answered, heard)
}

/// Films by the other pairing, and with the arm at its other moment: (answered with times, told to be
/// of the other pairing), each.
fn of_another(films_of: Films, count: u64) -> [(usize, usize); 2] {
    let mut counts = [(0, 0); 2];
    films(films_of, true, count, |number, taken, film| {
        let pairing = taken.swum.pairing;
        let texts = [
            taken.swum.text(other(pairing), false),
            taken.swum.text(pairing, true),
        ];
        for (count, text) in counts.iter_mut().zip(texts) {
            let sync = find(&track(&text), film);
            count.0 += usize::from(sync.answer.gives_times());
            count.1 += usize::from(sync.answer == SyncAnswer::Other);
            if sync.answer.gives_times() {
                println!("film {number} of another: {sync:?}");
            }
        }
    });
    counts
}

const EASY: Films = Films {
    seed: 1,
    seconds: (15.0, 25.0),
    snr_db: (0.0, 15.0),
    drr_db: (0.0, 6.0),
    coded: 0.2,
};

#[test]
fn a_film_finds_its_place_to_a_fifth_of_a_millisecond() {
    let own = Own::of(EASY, 12);
    own.tell("12 films");
    assert!(own.eight_answered * 10 >= own.with_eight * 9, "{own:?}");
    assert!(own.error_at(0.95) < 0.0002, "{own:?}");
    assert_eq!(
        (own.place_not_named, own.claimed_wrongly),
        (0, 0),
        "{own:?}"
    );
}

#[test]
fn a_film_without_cues_is_never_answered() {
    let films_of = Films {
        seed: 2,
        seconds: (8.0, 16.0),
        ..EASY
    };
    assert_eq!(without_cues(films_of, 30), (0, 0));
}

#[test]
fn a_film_of_the_other_pairing_gets_no_times() {
    let [other_pairing, arm_moved] = of_another(Films { seed: 3, ..EASY }, 5);
    assert_eq!((other_pairing.0, arm_moved.0), (0, 0));
    assert!(other_pairing.1 > 0, "one of them is told for what it is");
}

/// The examples, and the command with what stands in front of a film's name.
/// A folder with the page's examples of a cued swim.
pub fn with_examples() -> tempfile::TempDir {
    let folder = tempfile::tempdir().expect("a folder");
    let examples = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/examples");
    for name in ["cued.csv", "evening.toml", "alex.toml", "cued-film.ogg"] {
        std::fs::copy(examples.join(name), folder.path().join(name)).expect("room");
    }
    folder
}

/// How `timing` reads them.
pub const TIMING: &str = "timing cued.csv --session evening.toml --swimmer alex.toml --json";

/// What a command prints as JSON.
pub fn json(folder: &Path, command: &str, more: &[&str]) -> serde_json::Value {
    let words: Vec<&str> = command.split(' ').chain(more.iter().copied()).collect();
    serde_json::from_str(&ok(folder, &words)).expect("JSON")
}

#[test]
fn a_film_tells_what_an_ear_and_a_clock_tell() {
    // In the invented film an arm cue is heard at 4.20 s, as the page says of `--sync`.
    let folder = with_examples();
    let film = json(
        folder.path(),
        TIMING,
        &["--film", "cued-film.ogg", "--distance", "12 m"],
    );
    let ear = json(
        folder.path(),
        TIMING,
        &["--sync", "4.20", "--distance", "12 m"],
    );
    assert!(ear.get("sync").is_none());
    assert_eq!(film["sync"]["answer"], "cycles");
    assert_eq!(film["sync"]["heard"], film["sync"]["expected"]);
    for (side, limb) in [("left", "hand_ms"), ("left", "foot_ms")] {
        let of = |told: &serde_json::Value| {
            told["behind_sound"][limb][side]["value"]
                .as_f64()
                .expect("a lag")
        };
        assert!((of(&film) - of(&ear)).abs() < 0.5, "{limb}: {film}");
    }
}

#[test]
fn a_swimmer_farther_off_hears_later_and_is_less_behind() {
    let folder = with_examples();
    let hand = |more: &[&str]| {
        let told = json(
            folder.path(),
            TIMING,
            &[&["--film", "cued-film.ogg"], more].concat(),
        );
        told["behind_sound"]["hand_ms"]["left"]["value"]
            .as_f64()
            .expect("a lag")
    };
    // 34.3 m are 100 ms at 343 m/s.
    let here = hand(&[]);
    assert!((hand(&["--swimmer-distance", "34.3 m"]) - (here - 100.0)).abs() < 1e-3);
    assert!((hand(&["--distance", "34.3 m"]) - (here + 100.0)).abs() < 1e-3);
}

#[test]
fn which_swim_it_was_leaves_fewer_places() {
    let folder = with_examples();
    let places = |more: &[&str]| {
        let told = json(
            folder.path(),
            TIMING,
            &[&["--film", "cued-film.ogg"], more].concat(),
        );
        told["sync"]["places"].as_array().expect("places").len()
    };
    let all = places(&[]);
    let (one, about) = (places(&["--swim", "1"]), places(&["--at", "1:20"]));
    assert!(
        one < all && about < all && one > 0 && about > 0,
        "{one}, {about} of {all}"
    );
    let message = refused(
        folder.path(),
        &"timing cued.csv --session evening.toml --swimmer alex.toml --film cued-film.ogg --swim 7"
            .split(' ')
            .collect::<Vec<_>>(),
        2,
    );
    assert!(
        message.contains("1 to 6, counted through the session"),
        "{message}"
    );
}

#[test]
fn a_film_of_the_other_pairing_is_named_and_not_measured() {
    let folder = with_examples();
    let session = std::fs::read_to_string(folder.path().join("evening.toml")).expect("text");
    let other = session.replace("[defaults]", "[defaults]\npairing = \"opposite-side\"");
    crate::support::write(folder.path(), "evening.toml", other);
    let told = json(folder.path(), TIMING, &["--film", "cued-film.ogg"]);
    assert_eq!(told["sync"]["answer"], "other");
    assert!(told["sync"].get("track_s_at_film_0").is_none() && told.get("behind_sound").is_none());
    let words = "timing cued.csv --session evening.toml --swimmer alex.toml --film cued-film.ogg";
    let words = ok(folder.path(), &words.split(' ').collect::<Vec<_>>());
    assert!(
        words.contains("This is a film of the other pairing"),
        "{words}"
    );
}

#[test]
fn sync_and_film_are_not_said_together() {
    let folder = with_examples();
    let words = "timing cued.csv --session evening.toml --sync 4.20 --film cued-film.ogg";
    let message = refused(folder.path(), &words.split(' ').collect::<Vec<_>>(), 2);
    assert!(message.contains("cannot be used with"), "{message}");
}

#[test]
fn marks_of_another_film_than_the_one_heard_are_told_as_a_warning() {
    let folder = with_examples();
    let marks = std::fs::read_to_string(folder.path().join("cued.csv")).expect("text");
    let named = marks
        .replace('\n', ",swim.mov\n")
        .replacen(",swim.mov\n", ",film\n", 1);
    crate::support::write(folder.path(), "cued.csv", named);
    // A container with a picture needs none: its name alone says that it is a film.
    let sound = folder.path().join("cued-film.ogg");
    for (film, warned) in [("other.mkv", true), ("swim.mkv", false)] {
        let (from, to) = (sound.to_str().expect("ASCII"), folder.path().join(film));
        let made = std::process::Command::new("ffmpeg")
            .args(["-v", "error", "-y", "-i", from, "-c", "copy"])
            .arg(&to)
            .status();
        assert!(made.expect("ffmpeg runs").success());
        let words = "timing cued.csv --session evening.toml --swimmer alex.toml --film";
        let words: Vec<&str> = words.split(' ').chain([film]).collect();
        let said = ok(folder.path(), &words);
        let said = said.split_whitespace().collect::<Vec<_>>().join(" ");
        let warning = format!("Warning: the marks are of swim.mov, and --film is {film}.");
        assert_eq!(said.contains(&warning), warned, "{said}");
        let told = json(folder.path(), TIMING, &["--film", film]);
        let notes = told["notes"].to_string();
        assert_eq!(notes.contains(&warning), warned, "{notes}");
        assert_eq!(told["sync"]["answer"], "cycles", "it is read all the same");
    }
}

#[test]
fn a_session_without_anything_heard_is_refused_with_what_tells() {
    let folder = with_examples();
    let words = "timing cued.csv --session evening.toml --swimmer alex.toml";
    let message = refused(folder.path(), &words.split(' ').collect::<Vec<_>>(), 2);
    assert!(
        message.contains("nothing says when a cue of it is heard"),
        "{message}"
    );
    assert!(message.contains("--film clip.mp4"), "{message}");
}

#[test]
fn the_page_for_marking_holds_the_cues_of_the_film() {
    let folder = with_examples();
    let words = "mark --film cued-film.ogg --session evening.toml --swimmer alex.toml --out mark.html --distance";
    let words: Vec<&str> = words.split(' ').chain(["0 m"]).collect();
    let said = ok(folder.path(), &words);
    assert!(
        said.contains("The cues are heard (25 of 25 moments)"),
        "{said}"
    );
    let page = std::fs::read_to_string(folder.path().join("mark.html")).expect("a page");
    let start = "<script type=\"application/json\" id=\"cues\">";
    let held = page.split(start).nth(1).expect("the element is there");
    let held = held.split("</script>").next().expect("it ends");
    let held: serde_json::Value = serde_json::from_str(held).expect("JSON");
    assert_eq!(held["sync"]["answer"], "cycles");
    assert_eq!(
        held["timing_flags"],
        "--session evening.toml --swimmer alex.toml --distance \"0 m\""
    );
    let cues = held["cues"].as_array().expect("cues");
    let at = |cue: &serde_json::Value| cue["film_s"].as_f64().expect("a time");
    let arms: Vec<f64> = (cues.iter())
        .filter(|cue| cue["kind"] == "arm" && cue["side"] == "left" && cue["sounds"] == true)
        .map(at)
        .collect();
    // One left arm's cue is at 4.20 s; a cycle at 52 spm lasts 120 / 52 s.
    assert!(arms.iter().any(|at| (at - 4.2).abs() < 0.0005), "{arms:?}");
    assert!(
        arms.windows(2)
            .all(|two| (two[1] - two[0] - 120.0 / 52.0).abs() < 0.0005),
        "{arms:?}"
    );
    // Without a film the page has none.
    ok(folder.path(), &["mark", "--out", "plain.html"]);
    let page = std::fs::read_to_string(folder.path().join("plain.html")).expect("a page");
    assert!(page.contains(&format!("{start}{{}}</script>")));
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_200_films_in_sight_of_the_loudspeaker() {
    let films_of = Films {
        seed: 11,
        seconds: (8.0, 40.0),
        snr_db: (-5.0, 15.0),
        ..EASY
    };
    let own = Own::of(films_of, 200);
    own.tell("200 films, DRR 0 to 6 dB");
    assert!(own.error_at(0.95) < 0.0002, "{own:?}");
    assert!(own.eight_answered * 10 >= own.with_eight * 9, "{own:?}");
    assert_eq!(own.claimed_wrongly, 0, "{own:?}");
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_3000_films_without_cues() {
    let films_of = Films {
        seed: 12,
        seconds: (8.0, 28.0),
        coded: 0.05,
        ..EASY
    };
    let (answered, heard) = without_cues(films_of, 3000);
    println!("3000 films without cues: {answered} answered, {heard} heard");
    assert_eq!(answered, 0);
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_400_films_of_another_pairing_or_moment() {
    let films_of = Films {
        seed: 13,
        seconds: (10.0, 40.0),
        snr_db: (-5.0, 15.0),
        drr_db: (-3.0, 6.0),
        coded: 0.33,
    };
    let [other_pairing, arm_moved] = of_another(films_of, 200);
    println!(
        "200 films, (answered, told as other): other pairing {other_pairing:?}, arm moved {arm_moved:?}"
    );
    assert_eq!((other_pairing.0, arm_moved.0), (0, 0));
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_400_films_behind_reflections() {
    let films_of = Films {
        seed: 14,
        seconds: (12.0, 30.0),
        snr_db: (-8.0, 15.0),
        drr_db: (-15.0, 6.0),
        coded: 0.1,
    };
    let own = Own::of(films_of, 400);
    own.tell("400 films, DRR -15 to 6 dB");
    assert_eq!(own.claimed_wrongly, 0, "{own:?}");
    assert!(own.wide_outside * 20 <= own.wide, "{own:?}");
}

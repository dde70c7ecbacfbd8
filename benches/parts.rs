//! The parts that are functions, one core each: the timeline, the mixer, one minute written and
//! checked in memory, the longest preset laid out, a trial's exact tests. Whole commands are
//! measured in `commands`.

mod shared;

use std::hint::black_box;
use std::io::Cursor;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use cuelane::analysis::paired::{hodges_lehmann, sign_flip};
use cuelane::analysis::trial_verdict::decide_by_time;
use cuelane::export::check::check_track;
use cuelane::export::{Job, TrackForm, TrackReader, write_wav};
use cuelane::files::{PRESETS, load_session, parse_session, parse_swimmer, preset_swimmer, voices};
use cuelane::model::resolve::resolve;
use cuelane::model::swimmer::Swimmer;
use cuelane::model::track_format::{Channels, Division, Fold, Format};
use cuelane::model::trial_looks::TrialLooks;
use cuelane::model::wishes::Wishes;
use cuelane::sound::Bank;
use cuelane::units::Fix;

const SAMPLE_RATE_HZ: u32 = 44_100;
const FORM: TrackForm = TrackForm {
    format: Format::Wav,
    sample_rate_hz: SAMPLE_RATE_HZ,
    bits: 16,
    channels: Channels::Stereo,
};

fn job(text: &str) -> Job {
    let session = parse_session("bench.toml", text).expect("the bench's session parses");
    let session = resolve(&session, None, &Wishes::default()).expect("it resolves");
    Job::new(session, bank(), false).expect("it fits")
}

fn bank() -> Bank {
    Bank::new(&voices::shipped(), SAMPLE_RATE_HZ)
}

/// Events a second, for each of the laws by which they fall.
fn timeline(c: &mut Criterion) {
    let mut group = c.benchmark_group("events of an hour");
    for (name, text) in [
        ("steady rate", shared::hour()),
        ("rate of eleven digits", shared::hour_of_many_digits()),
        ("rising rate", shared::rising_hour()),
    ] {
        let job = job(&text);
        group.throughput(Throughput::Elements(job.timeline.events().count() as u64));
        group.bench_function(name, |b| {
            b.iter(|| {
                let frames = job.timeline.events().map(|event| event.frame);
                frames.fold(0, u64::wrapping_add)
            });
        });
    }
    group.finish();
}

/// Frames a second, in blocks as the sound device asks for them.
fn mixer(c: &mut Criterion) {
    let job = job(&shared::minute());
    let part = job.parts(Division::One, Format::Wav, None).remove(0);
    let mut group = c.benchmark_group("mixing a minute");
    group.throughput(Throughput::Elements(part.length()));
    for size in [256, 4096] {
        let mut block = vec![[0.0; 2]; size];
        group.bench_function(format!("blocks of {size} frames"), |b| {
            b.iter(|| {
                let mut mixer = job.mixer(&part);
                for _ in 0..part.length() / size as u64 {
                    mixer.fill(&mut block);
                    black_box(&block);
                }
            });
        });
    }
    group.finish();
}

fn write(job: &Job) -> Vec<u8> {
    let part = job.parts(Division::One, Format::Wav, None).remove(0);
    let mut file = Cursor::new(Vec::with_capacity(FORM.file_bytes(part.length()) as usize));
    let mut mixer = job.mixer(&part);
    write_wav(&mut file, FORM, &mut mixer, part.length(), &mut |_| Ok(()))
        .expect("memory has room");
    file.into_inner()
}

/// A minute in memory, written and read back against its session.
fn track(c: &mut Criterion) {
    let job = job(&shared::minute());
    let part = job.parts(Division::One, Format::Wav, None).remove(0);
    let mut group = c.benchmark_group("a minute in memory");
    group.throughput(Throughput::Elements(part.length()));
    group.bench_function("write", |b| b.iter(|| write(&job)));
    let file = write(&job);
    group.bench_function("check", |b| {
        b.iter(|| {
            let track = TrackReader::new(Cursor::new(&file), "minute.wav").expect("a whole file");
            let report = check_track(&job, &part, Fold::Balanced, track).expect("readable");
            assert!(report.holds());
        });
    });
    group.finish();
}

/// Everything that `show` does before it prints.
fn lay_out(name: &str, swimmer: &Swimmer) -> Job {
    let session = load_session(name).expect("a preset holds");
    let session = resolve(&session, Some(swimmer), &Wishes::default()).expect("it resolves");
    Job::new(session, bank(), false).expect("it fits")
}

fn presets(c: &mut Criterion) {
    let text = preset_swimmer("adult-learner")
        .expect("an invented swimmer")
        .text;
    let swimmer = parse_swimmer("adult-learner", text).expect("a swimmer's file that holds");
    let length = |name: &str| -> Fix { lay_out(name, &swimmer).schedule.total_s };
    let longest = PRESETS
        .iter()
        .max_by_key(|preset| length(preset.name))
        .expect("there are presets");
    c.bench_function(
        &format!("lay out the longest preset, {}", longest.name),
        |b| {
            b.iter(|| lay_out(longest.name, &swimmer));
        },
    );
}

/// The exact tests of a trial at the most pairs that are counted and not drawn.
fn trial(c: &mut Criterion) {
    let mut group = c.benchmark_group("exact tests of 20 pairs");
    let differences: Vec<f64> = (0..20u32)
        .map(|pair| f64::from(pair * 37 % 23) / 10.0 - 0.9)
        .collect();
    group.bench_function("Hodges-Lehmann", |b| {
        b.iter(|| hodges_lehmann(black_box(&differences)));
    });
    group.bench_function("sign-flip", |b| {
        b.iter(|| sign_flip(black_box(&differences)));
    });
    let drawn = TrialLooks::parse("after 8 12 16 20 pairs: margin 1 %").expect("looks");
    group.bench_function("looks and interval", |b| {
        b.iter(|| decide_by_time(black_box(&differences), &drawn));
    });
    group.finish();
}

criterion_group! {
    name = parts;
    config = Criterion::default().sample_size(10);
    targets = timeline, mixer, track, presets, trial
}
criterion_main!(parts);

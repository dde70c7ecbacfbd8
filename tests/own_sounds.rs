//! A coach's own sounds and a bed, right and wrong: named, bounded, and never moving a cue.
#![allow(clippy::unwrap_used)]

use std::path::Path;
use std::process::Command;

use crate::support::{ok, refused, run, write};
use cuelane::media::decode;
use fastrand::Rng;
use tempfile::tempdir;

const SESSION: &str = "sounds = \"my\"\nlead_in = \"20 s\"\n[[set]]\nname = \"Hold\"\nswim = \"20 s\"\n\
    rate = \"60 spm\"\n";
const EXPORT: [&str; 6] = [
    "export",
    "evening.toml",
    "--quiet",
    "--force",
    "--out",
    "tracks",
];
const CHECK: [&str; 3] = ["check", "tracks", "evening.toml"];

/// Makes a sound with sox.
fn sox(folder: &Path, args: &str) {
    let output = Command::new("sox")
        .current_dir(folder)
        .arg("-R")
        .args(args.split(' '))
        .output()
        .expect("sox is there: .ci/setup test installs it");
    assert!(
        output.status.success(),
        "{args}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
}

fn stage(session: &str) -> tempfile::TempDir {
    let folder = tempdir().unwrap();
    write(folder.path(), "evening.toml", session);
    std::fs::create_dir(folder.path().join("my")).unwrap();
    folder
}

fn samples(path: &Path) -> Vec<i16> {
    let mut file = hound::WavReader::open(path).unwrap();
    file.samples::<i16>().map(Result::unwrap).collect()
}

#[test]
fn own_sounds_of_any_form_sound_on_the_frames_of_the_events() {
    let folder = stage(&SESSION.replace("[[set]]", "opening = false\n[[set]]"));
    let here = folder.path();
    sox(
        here,
        "-n -r 22050 -c 1 my/kick-left.wav synth 0.3 sine 500 fade 0 0.3 0.2 pad 0.4",
    );
    sox(
        here,
        "-n -r 96000 -b 24 -c 2 my/kick-right.flac synth 0.2 sine 700 fade 0 0.2 0.1",
    );
    sox(
        here,
        "-n -r 48000 -c 2 my/arm-left.ogg synth 0.1 sine 2000 pad 0.05",
    );
    let message = run(here, &EXPORT[..2]);
    assert_eq!(
        message.status.code(),
        Some(2),
        "the folder is named by --out"
    );
    for rate in ["44100", "48000"] {
        ok(
            here,
            &[&EXPORT[..], &["--sample-rate", rate, "--speech", "off"]].concat(),
        );
        ok(here, &CHECK);
        let sound = samples(&here.join("tracks/01-hold-20s.wav"));
        let hz: usize = rate.parse().unwrap();
        let events = ok(
            here,
            &["show", "evening.toml", "--events", "--sample-rate", rate],
        );
        let mut heard = 0;
        for row in events.lines().filter(|row| row.contains(",kick,")) {
            let cells: Vec<&str> = row.split(',').collect();
            let (frame, ear) = (
                cells[0].parse::<usize>().unwrap(),
                usize::from(cells[3] == "right"),
            );
            let at = |frame: usize| i32::from(sound[2 * frame + ear]).abs();
            // Quiet before it, and loud within 3 ms: however much silence the file began with.
            assert!(
                (frame - hz / 200..frame).all(|frame| at(frame) < 40),
                "{row}"
            );
            assert!(
                (frame..frame + 3 * hz / 1000).any(|frame| at(frame) > 1500),
                "{row}"
            );
            heard += 1;
        }
        assert!(heard > 10, "{heard} kicks");
    }
}

#[test]
fn wrong_or_missing_sounds_are_named_with_what_was_expected() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    write(here, "evening.toml", SESSION);
    let message = refused(here, &["show", "evening.toml"], 2);
    assert!(
        message.contains("the folder of sounds cannot be read"),
        "{message}"
    );
    std::fs::create_dir(here.join("my")).unwrap();
    let message = refused(here, &["show", "evening.toml"], 2);
    assert!(
        message.contains("there is no sound in this folder"),
        "{message}"
    );
    assert!(message.contains("kick-left"), "{message}");
    let kick = here.join("my/kick-left.wav");
    sox(here, "-n -r 8000 -c 1 whole.wav synth 2 sine 500");
    let whole = std::fs::read(here.join("whole.wav")).unwrap();
    let mut one_bit = whole.clone();
    one_bit[34] = 1;
    let mut odd_rate = whole.clone();
    odd_rate[24..28].copy_from_slice(&1_u32.to_le_bytes());
    let mut no_rate = whole.clone();
    no_rate[24..28].fill(0);
    let protected = [
        b"\0\0\0\x20ftypM4P \0\0\0\0M4P mp42isom".as_slice(),
        &[7; 4000],
    ]
    .concat();
    for (bytes, expected) in [
        (Vec::new(), "empty: a file of 0 bytes"),
        (
            b"This is a text, and no sound at all.\n".repeat(50),
            "no sound that can be read",
        ),
        (protected, "no sound that can be read"),
        (whole[..20].to_vec(), "no sound that can be read"),
        (whole[..whole.len() / 2].to_vec(), "truncated"),
        (one_bit, "my/kick-left.wav"),
        (odd_rate, "found 1 Hz"),
        (no_rate, "makes no sense"),
    ] {
        std::fs::write(&kick, bytes).unwrap();
        let message = refused(here, &["show", "evening.toml"], 2);
        assert!(
            message.contains(expected) && message.contains("kick-left.wav"),
            "{expected}: {message}"
        );
        assert!(message.contains("accepted: "), "{message}");
    }
    sox(
        here,
        "-n -r 8000 -c 1 my/kick-left.wav synth 2 sine 500 vol 0",
    );
    let message = refused(here, &["show", "evening.toml"], 2);
    assert!(message.contains("silence"), "{message}");
    // Three hours, of which nothing is decoded.
    sox(
        here,
        "-n -r 8000 -c 1 my/kick-left.wav synth 0.5 sine 500 pad 0 10800",
    );
    let message = refused(here, &["show", "evening.toml"], 2);
    assert!(
        message.contains("10800") && message.contains("at most 10 s"),
        "{message}"
    );
}

#[test]
fn a_name_that_nothing_has_and_a_side_that_is_missing_are_said() {
    let folder = stage(&SESSION.replace("20 s\"\n[[", "60 s\"\n[["));
    let here = folder.path();
    sox(here, "-n -r 44100 -c 1 my/kick-left.wav synth 0.1 sine 500");
    sox(here, "-n -r 44100 -c 1 my/kick-lfet.wav synth 0.1 sine 500");
    sox(here, "-n -r 16000 -c 1 my/hold.wav synth 0.9 sine 300");
    let output = run(here, &["show", "evening.toml", "--detail"]);
    let notes = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{notes}");
    assert!(notes.contains("kick-lfet.wav: not used"), "{notes}");
    assert!(
        notes.contains("there is a kick-left, and no kick-right"),
        "{notes}"
    );
    // One sound for both sides is said to be hard to tell apart.
    sox(here, "my/kick-left.wav my/kick-right.wav");
    let output = run(here, &["show", "evening.toml"]);
    let alike = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(
        alike.contains("kick-left and kick-right are hard to tell apart"),
        "{alike}"
    );
    std::fs::remove_file(here.join("my/kick-right.wav")).unwrap();
    // The coach's own voice says the set's name.
    let shown = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        shown.contains("Hold, twenty seconds, rate sixty"),
        "{shown}"
    );
}

#[test]
fn a_bed_is_lowered_under_cues_and_moves_none() {
    let session = SESSION.replace("sounds = \"my\"", "bed = \"bed.wav\"");
    let folder = stage(&session);
    let here = folder.path();
    sox(here, "-n -r 32000 -c 2 bed.wav synth 3.7 pinknoise vol 0.4");
    ok(here, &EXPORT);
    ok(here, &CHECK);
    let told = ok(
        here,
        &[&EXPORT[..2], &["--force", "--out", "tracks"]].concat(),
    );
    assert!(told.contains("hides whistles"), "{told}");
    let sound = samples(&here.join("tracks/01-hold-20s.wav"));
    let level = |from_s: f64, to_s: f64| {
        let frames = (from_s * 88_200.0) as usize..(to_s * 88_200.0) as usize;
        let length = frames.len() as f64;
        let sum: f64 = frames.map(|at| f64::from(sound[at]).powi(2)).sum();
        10.0 * (sum / length).log10()
    };
    // Before the opening it plays, right before the first count (at 17 s) it is down.
    let (free, lowered) = (level(0.2, 0.7), level(16.95, 16.995));
    assert!(
        (9.0..16.0).contains(&(free - lowered)),
        "{free} and {lowered} dB"
    );
    // The sum stays below -1 dBFS.
    let loudest = sound
        .iter()
        .map(|sample| sample.unsigned_abs())
        .max()
        .unwrap();
    assert!(f64::from(loudest) <= 0.8913 * 32_768.0, "{loudest}");
    // In files of their own the bed goes on where it was.
    let repeats = session.replace("swim =", "repeats = 2\nswim =");
    write(here, "evening.toml", repeats);
    ok(here, &[&EXPORT[..], &["--files", "one"]].concat());
    let whole = samples(&here.join("tracks/evening.wav"));
    ok(
        here,
        &[&EXPORT[..5], &["many", "--files", "per-repeat"]].concat(),
    );
    let joined = ["many/01-hold-r1-20s.wav", "many/01-hold-r2-20s.wav"];
    let joined: Vec<i16> = joined
        .iter()
        .flat_map(|name| samples(&here.join(name)))
        .collect();
    assert!(joined == whole, "the files joined are the one file");
}

/// Level in dB of the left ear of a stereo track at 44 100 Hz.
fn level_db(sound: &[i16], from_s: f64, to_s: f64) -> f64 {
    let frames = (from_s * 44_100.0) as usize..(to_s * 44_100.0) as usize;
    let length = frames.len() as f64;
    let sum: f64 = frames.map(|at| f64::from(sound[2 * at]).powi(2)).sum();
    10.0 * (sum / length).log10()
}

#[test]
fn a_bed_stays_down_through_swims_fades_and_rests_and_comes_back_where_no_cue_sounds() {
    let session = "opening = false\nbed = \"bed.wav\"\nlead_in = \"20 s\"\n[[set]]\nname = \"Hold\"\n\
        swim = \"60 s\"\nrepeats = 2\nrest = \"20 s\"\nrate = \"40 spm\"\nfade = { on = 4, off = 4 }\n\
        [[set]]\nname = \"Alone\"\nswim = \"30 s\"\nrate = \"40 spm\"\ncues = []\n";
    let folder = stage(session);
    let here = folder.path();
    // A steady tone as long as the track: what its level does there is the program's doing.
    sox(here, "-n -r 44100 -c 2 bed.wav synth 280 sine 300 vol 0.4");
    let plain = ["--speech", "off", "--channels", "stereo", "--files", "one"];
    ok(here, &[&EXPORT[..], &plain].concat());
    let told = ok(here, &["show", "evening.toml", "--json"]);
    assert!(told.contains("a fade with a bed"), "{told}");
    ok(here, &[&CHECK[..], &["--speech", "off"]].concat());
    let sound = samples(&here.join("tracks/evening.wav"));
    let events = ok(
        here,
        &["show", "evening.toml", "--events", "--speech", "off"],
    );
    let times: Vec<f64> = (events.lines().skip(1))
        .map(|row| row.split(',').nth(1).unwrap().parse().unwrap())
        .collect();
    let [.., start, end] = times[..] else {
        panic!("{events}")
    };
    // Between any two sounds before the start of the swim alone it is as far down as between any
    // others: in swims, in the silences of fades, in rests.
    let gaps = times
        .windows(2)
        .filter(|pair| pair[1] - pair[0] >= 1.0 && pair[1] <= start);
    let longest = gaps
        .clone()
        .map(|pair| pair[1] - pair[0])
        .fold(0.0, f64::max);
    assert!(longest > 15.0, "no rest: {longest} s");
    let between: Vec<f64> = gaps
        .map(|pair| level_db(&sound, pair[0] + 0.5, pair[1] - 0.02))
        .collect();
    assert!(between.len() > 40, "{} gaps", between.len());
    let (least, most) = (between.iter()).fold((f64::MAX, f64::MIN), |(least, most), level| {
        (least.min(*level), most.max(*level))
    });
    assert!(most - least < 0.2, "{least} to {most} dB between sounds");
    // In the lead-in and in the swim without cues it is 10 dB higher: 18 less 8 LU.
    for (from, to) in [(2.0, 10.0), (start + 6.0, end - 1.0)] {
        let level = level_db(&sound, from, to);
        assert!((level - least - 10.0).abs() < 0.3, "{level} and {least} dB");
    }
}

#[test]
fn a_bed_that_is_missing_short_silent_or_no_sound_is_named() {
    let folder = stage(&SESSION.replace("sounds = \"my\"", "bed = \"bed.wav\""));
    let here = folder.path();
    let refused = |expected: &str| {
        let message = crate::support::refused(here, &EXPORT, 2);
        assert!(
            message.contains(expected) && message.contains("bed.wav"),
            "{message}"
        );
    };
    refused("the bed cannot be read");
    sox(here, "-n -r 44100 -c 1 bed.wav synth 0.9 sine 500");
    refused("shorter than a second");
    sox(here, "-n -r 44100 -c 1 bed.wav synth 2 sine 500 vol 0");
    refused("silence");
    write(here, "bed.wav", "no sound");
    refused("no sound that can be read");
}

#[test]
fn a_bed_that_is_played_once_ends_and_a_loop_does_not() {
    let folder = stage("");
    let here = folder.path();
    sox(here, "-n -r 44100 -c 2 bed.wav synth 3 pinknoise vol 0.4");
    for (once, at_8_s) in [("true", false), ("false", true)] {
        let bed = format!("bed = {{ file = \"bed.wav\", once = {once} }}");
        let session = SESSION.replace("sounds = \"my\"", &bed);
        write(here, "evening.toml", format!("opening = false\n{session}"));
        ok(here, &[&EXPORT[..], &["--speech", "off"]].concat());
        let sound = samples(&here.join("tracks/01-hold-20s.wav"));
        let heard = |s: usize| {
            sound[s * 88_200..s * 88_200 + 44_100]
                .iter()
                .any(|v| v.abs() > 20)
        };
        assert!(heard(1), "it begins");
        assert_eq!(heard(8), at_8_s, "once = {once}");
    }
}

#[test]
fn damaged_sound_files_never_panic() {
    damaged_sound_files(40);
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_damaged_sound_files() {
    damaged_sound_files(2000);
}

fn damaged_sound_files(rounds: usize) {
    let folder = stage(SESSION);
    let here = folder.path();
    sox(here, "-n -r 22050 -c 2 a.wav synth 0.4 pluck 300");
    for format in ["flac", "ogg"] {
        sox(here, &format!("a.wav a.{format}"));
    }
    let mut mp3 = Command::new("ffmpeg");
    mp3.current_dir(here)
        .args(["-v", "error", "-i", "a.wav", "a.mp3"]);
    assert!(mp3.status().unwrap().success());
    let mut rng = Rng::with_seed(5);
    for format in ["wav", "flac", "ogg", "mp3"] {
        let whole = std::fs::read(here.join(format!("a.{format}"))).unwrap();
        for round in 0..rounds {
            let mut bytes = whole.clone();
            for _ in 0..rng.usize(1..20) {
                // Headers matter most, so half of the damage is done there.
                let end = if rng.bool() {
                    100.min(bytes.len())
                } else {
                    bytes.len()
                };
                let at = rng.usize(..end);
                match rng.u8(..4) {
                    0 => bytes[at] = rng.u8(..),
                    1 => bytes[at] ^= 1 << rng.u8(..8),
                    2 => bytes[at] = 0xff,
                    _ => bytes.truncate(at.max(1)),
                }
            }
            std::fs::write(here.join(format!("my/kick-left.{format}")), &bytes).unwrap();
            let output = run(here, &["show", "evening.toml", "--events"]);
            let message = String::from_utf8_lossy(&output.stderr).into_owned();
            let code = output.status.code();
            assert!(
                matches!(code, Some(0 | 2)) && !message.contains("panicked"),
                "{format}, round {round}, {code:?}: {message}"
            );
        }
        std::fs::remove_file(here.join(format!("my/kick-left.{format}"))).unwrap();
    }
}

#[test]
fn no_header_however_damaged_makes_a_decoder_panic() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    let (mut refusals, mut panics) = (0, Vec::new());
    for ending in ["wav", "flac", "ogg", "mp3"] {
        let name = format!("whole.{ending}");
        let made = Command::new("ffmpeg")
            .current_dir(here)
            .args(["-loglevel", "error", "-f", "lavfi"])
            .args(["-i", "sine=500:duration=0.03", "-ac", "2", &name])
            .status();
        assert!(made.expect("ffmpeg is there").success(), "{name}");
        let whole = std::fs::read(here.join(&name)).unwrap();
        for at in 0..64 {
            // A number of a header is of one, two or four bytes; nothing and all are its ends.
            for (width, filling) in [(1, 0), (2, 0), (4, 0), (4, 255)] {
                let mut damaged = whole.clone();
                damaged[at..at + width].fill(filling);
                let source = Box::new(std::io::Cursor::new(damaged));
                let read = std::panic::catch_unwind(|| decode(source, &name, 10.0));
                match read {
                    Ok(read) => refusals += usize::from(read.is_err()),
                    Err(_) => panics.push(format!("{name}: {width} x {filling} at {at}")),
                }
            }
        }
    }
    assert!(panics.is_empty(), "{panics:#?}");
    assert!(refusals > 200, "only {refusals} were refused");
}

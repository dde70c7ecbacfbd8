//! The sound of a film on the clock of its picture, through every container that is read: films
//! made by ffmpeg, which also says (ffprobe) when each film's first picture is shown.
#![allow(clippy::unwrap_used)]

use std::path::Path;
use std::process::Command;

use crate::support::write;
use cuelane::media::{FILM_RATE_HZ, FilmSound, Start, film_sound};
use fastrand::Rng;
use tempfile::{TempDir, tempdir};

/// Where the click is in the source, s.
const CLICK_S: f64 = 1.0;

/// A click that every rate here and every codec carries: 1.5 kHz under a bell of 0.4 ms.
fn click(off_s: f64) -> f64 {
    (-(off_s / 0.0004).powi(2)).exp() * (std::f64::consts::TAU * 1500.0 * off_s).cos()
}

fn write_click(path: &Path, rate_hz: u32, channels: u16) {
    let spec = hound::WavSpec {
        channels,
        sample_rate: rate_hz,
        bits_per_sample: 16,
        sample_format: hound::SampleFormat::Int,
    };
    let mut file = hound::WavWriter::create(path, spec).unwrap();
    for n in 0..2 * rate_hz {
        let value = 0.6 * click(f64::from(n) / f64::from(rate_hz) - CLICK_S);
        for _ in 0..channels {
            file.write_sample((value * 32767.0).round() as i16).unwrap();
        }
    }
    file.finalize().unwrap();
}

/// Where the click stands in a film's sound, s: the largest correlation, by a parabola.
fn click_s(sound: &FilmSound) -> f64 {
    let rate_hz = f64::from(FILM_RATE_HZ);
    let pattern: Vec<f64> = (-30..=30).map(|n| click(f64::from(n) / rate_hz)).collect();
    let fits: Vec<f64> = (sound.samples.windows(pattern.len()))
        .map(|heard| {
            heard
                .iter()
                .zip(&pattern)
                .map(|(a, b)| f64::from(*a) * b)
                .sum()
        })
        .collect();
    let at = (1..fits.len() - 1)
        .max_by(|a, b| fits[*a].total_cmp(&fits[*b]))
        .unwrap();
    let (before, peak, after) = (fits[at - 1], fits[at], fits[at + 1]);
    let off = 0.5 * (before - after) / (before - 2.0 * peak + after);
    (at as f64 + 30.0 + off) / rate_hz
}

/// Runs ffmpeg; words are parted by spaces.
fn ffmpeg(folder: &Path, args: &str) {
    let output = Command::new("ffmpeg")
        .current_dir(folder)
        .args(["-v", "error", "-y"])
        .args(args.split_whitespace())
        .output()
        .expect("ffmpeg is there: .ci/setup test installs it");
    let message = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{args}: {message}");
}

/// When the first picture is shown, s.
fn picture_s(folder: &Path, film: &str) -> f64 {
    let output = Command::new("ffprobe")
        .current_dir(folder)
        .args([
            "-v",
            "error",
            "-select_streams",
            "v",
            "-read_intervals",
            "%+#1",
        ])
        .args(["-show_entries", "frame=best_effort_timestamp_time"])
        .args(["-of", "default=nw=1:nk=1", film])
        .output()
        .unwrap();
    let text = String::from_utf8(output.stdout).unwrap();
    let first = text.lines().next();
    first
        .unwrap_or_else(|| panic!("{film}: no picture"))
        .parse()
        .unwrap()
}

/// Two rates of sound, a picture for MP4 and MOV, one for WebM: 2 s each.
fn stage() -> TempDir {
    let folder = tempdir().unwrap();
    let here = folder.path();
    write_click(&here.join("s48.wav"), 48_000, 2);
    write_click(&here.join("s44.wav"), 44_100, 1);
    let picture = "-f lavfi -i testsrc=s=64x48:r=30:d=2";
    ffmpeg(here, &format!("{picture} -c:v mpeg4 -bf 2 picture.mp4"));
    ffmpeg(
        here,
        &format!("{picture} -c:v libvpx -b:v 50k picture.webm"),
    );
    folder
}

/// A container, and how ffmpeg makes it of picture and sound.
const FILMS: [(&str, &str); 17] = [
    ("aac.mp4", "-c:a aac"),
    ("aac.mov", "-c:a aac"),
    ("fast.mp4", "-c:a aac -movflags +faststart"),
    ("parts.mp4", "-c:a aac -movflags frag_keyframe+delay_moov"),
    ("timecode.mov", "-c:a aac -timecode 01:00:00:00"),
    ("mp3.mp4", "-c:a libmp3lame"),
    ("alac.mp4", "-c:a alac"),
    ("pcm.mov", "-c:a pcm_s16le"),
    ("pcm-big.mov", "-c:a pcm_s16be"),
    // Without an edit list this one's writer dates the sound with what its encoder put before it.
    ("no-list.mp4", "-c:a aac -use_editlist 0"),
    (
        "parts-no-list.mp4",
        "-c:a aac -movflags frag_keyframe+empty_moov",
    ),
    ("vorbis.webm", "-c:a libvorbis"),
    ("vorbis.mkv", "-c:a libvorbis"),
    ("aac.mkv", "-c:a aac"),
    ("mp3.mkv", "-c:a libmp3lame"),
    ("flac.mkv", "-c:a flac"),
    // What its decoder must know lies a box deeper than in an MP4.
    ("alac.mov", "-c:a alac"),
];

/// Makes a film of a picture and a sound, each with what comes before it on the line.
fn film(here: &Path, name: &str, before: [&str; 2], sound: &str, made: &str) {
    let ending = if name.ends_with(".webm") {
        "webm"
    } else {
        "mp4"
    };
    let [picture, late] = before;
    ffmpeg(
        here,
        format!("{picture} -i picture.{ending} {late} -i {sound} -c:v copy {made} {name}").trim(),
    );
}

/// Reads a film's sound: where its click stands, s, and how well its start is known.
fn heard(here: &Path, name: &str) -> (f64, Start) {
    let sound = film_sound(&here.join(name)).unwrap_or_else(|error| panic!("{error}"));
    (click_s(&sound), sound.start)
}

/// Times of Matroska are whole ms, those of the picture too.
fn is_in_ms(name: &str) -> bool {
    name.ends_with(".mkv") || name.ends_with(".webm")
}

#[test]
fn a_click_stays_within_a_sample_of_its_picture_in_every_container() {
    let folder = stage();
    let here = folder.path();
    for (rate_hz, sound) in [(48_000.0, "s48.wav"), (44_100.0, "s44.wav")] {
        for (name, made) in FILMS {
            film(here, name, ["", ""], sound, made);
            let (found_s, start) = heard(here, name);
            let off_s = found_s - CLICK_S - picture_s(here, name);
            let within_s = if is_in_ms(name) { 0.001 } else { 1.0 / rate_hz };
            assert!(off_s.abs() <= within_s, "{name}, {sound}: {off_s} s");
            let known = if name.contains("no-list") {
                Start::Unknown
            } else {
                Start::Exact
            };
            assert_eq!(start, known, "{name}");
        }
    }
}

#[test]
fn picture_and_sound_that_start_late_are_told_apart() {
    let folder = stage();
    let here = folder.path();
    for (name, made) in [FILMS[0], FILMS[1], FILMS[3], FILMS[11], FILMS[13]] {
        // The picture comes half a second after the sound: times are the picture's own.
        film(here, name, ["-itsoffset 0.5", ""], "s48.wav", made);
        let (picture_s, (found_s, _)) = (picture_s(here, name), heard(here, name));
        assert!((picture_s - 0.5).abs() < 0.03, "{name}: {picture_s}");
        let off_s = found_s - CLICK_S - (picture_s - 0.5);
        assert!(off_s.abs() <= 0.001, "{name}, picture late: {off_s} s");
        // The sound comes a quarter of a second after the picture; MP4 tells that in whole ms.
        film(here, name, ["", "-itsoffset 0.25"], "s48.wav", made);
        let off_s = heard(here, name).0 - CLICK_S - 0.25;
        assert!(off_s.abs() <= 0.001, "{name}, sound late: {off_s} s");
    }
}

#[test]
fn sound_files_are_films_without_a_picture() {
    let folder = stage();
    let here = folder.path();
    for name in ["a.wav", "a.flac", "a.ogg", "a.mp3"] {
        ffmpeg(here, &format!("-i s44.wav {name}"));
        let (found_s, start) = heard(here, name);
        assert!(
            (found_s - CLICK_S).abs() <= 1.0 / 44_100.0,
            "{name}: {found_s} s"
        );
        assert_eq!(start, Start::Exact);
    }
}

#[test]
fn what_is_not_decoded_is_refused_with_a_line_that_makes_a_wav_of_it() {
    let folder = stage();
    let here = folder.path();
    for (name, made, sound) in [
        (
            "opus.mp4",
            "-c:a libopus",
            "its sound (Opus): not decoded here",
        ),
        (
            "opus.webm",
            "-c:a libopus",
            "its sound (A_OPUS): not decoded here",
        ),
        (
            "pcm24.mov",
            "-c:a pcm_s24be",
            "its sound (in24): not decoded here",
        ),
        ("six.mp4", "-c:a aac -ac 6", "more than two channels"),
        ("six.mkv", "-c:a aac -ac 6", "more than two channels"),
        ("six-flac.mkv", "-c:a flac -ac 6", "more than two channels"),
        ("ac3.mp4", "-c:a ac3", "its sound (ac-3): not decoded here"),
    ] {
        film(here, name, ["", "-itsoffset 0.25"], "s48.wav", made);
        let message = film_sound(&here.join(name)).unwrap_err().to_string();
        assert!(message.contains(sound), "{message}");
        assert!(message.contains("not decoded here"), "{message}");
        assert!(!message.contains("complex"), "{message}");
        let line = message.split("example: ffmpeg ").nth(1).unwrap();
        ffmpeg(here, &line.replace("clip.mp4", name));
        let (found_s, start) = heard(here, "sound.wav");
        let off_s = found_s - CLICK_S - 0.25 - picture_s(here, name);
        // Films in whole ms are dated so by their writer too; it dates Opus in WebM by the 6.5 ms
        // early that its encoder puts before the sound.
        let within_s = if name == "opus.webm" { 0.0075 } else { 0.001 };
        assert!(off_s.abs() <= within_s, "{name}: {off_s} s");
        assert_eq!(start, Start::Exact);
    }
    // A film of another kind, of which nothing is read.
    film(here, "old.avi", ["", ""], "s48.wav", "-c:a libmp3lame");
    let message = film_sound(&here.join("old.avi")).unwrap_err().to_string();
    assert!(message.contains("not decoded here"), "{message}");
    assert!(message.contains("example: ffmpeg "), "{message}");
}

#[test]
fn what_no_decoder_could_help_is_told_what_it_is_and_no_line_is_offered() {
    let folder = stage();
    let here = folder.path();
    ffmpeg(here, "-i picture.mp4 -c copy silent.mp4");
    film(here, "whole.mp4", ["", ""], "s48.wav", "-c:a aac");
    let whole = std::fs::read(here.join("whole.mp4")).unwrap();
    write(here, "cut.mp4", &whole[..whole.len() / 2]);
    write(here, "words.mp4", "0000ftypwords and no film");
    write(here, "marks.mp4", "time,event\n1.25,left_entry\n");
    write(here, "empty.mp4", "");
    std::fs::create_dir(here.join("folder.mp4")).unwrap();
    for (name, what) in [
        ("silent.mp4", "a film without sound"),
        ("cut.mp4", "truncated"),
        ("words.mp4", "truncated"),
        ("marks.mp4", "a text, and no film"),
        ("empty.mp4", "empty"),
        ("folder.mp4", "a folder, and no film"),
        ("none.mp4", "not found"),
    ] {
        let message = film_sound(&here.join(name)).unwrap_err().to_string();
        assert!(message.contains(&format!("{name}: {what}")), "{message}");
        assert!(message.contains("\naccepted: "), "{message}");
        assert!(message.contains("\nexample: --film"), "{message}");
        assert!(!message.contains("ffmpeg"), "{message}");
    }
}

#[test]
fn damaged_films_never_panic() {
    damaged_films(40);
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_damaged_films() {
    damaged_films(4000);
}

/// Names in a film behind which a header lies.
const HEADERS: [&[u8]; 10] = [
    b"moov",
    b"trak",
    b"stsd",
    b"stsz",
    b"stts",
    b"elst",
    b"trun",
    b"tfhd",
    b"\x16\x54\xae\x6b",
    b"\x1f\x43\xb6\x75",
];

fn damaged_films(rounds: usize) {
    let folder = stage();
    let here = folder.path();
    let mut rng = Rng::with_seed(6);
    for (name, made) in [
        FILMS[0], FILMS[3], FILMS[6], FILMS[7], FILMS[11], FILMS[13], FILMS[16],
    ] {
        film(here, name, ["", ""], "s48.wav", made);
        let whole = std::fs::read(here.join(name)).unwrap();
        let headers: Vec<usize> = (0..whole.len())
            .filter(|at| HEADERS.iter().any(|name| whole[*at..].starts_with(name)))
            .collect();
        let mut refusals = 0;
        for _ in 0..rounds {
            let mut bytes = whole.clone();
            for _ in 0..rng.usize(1..8) {
                // Most of the damage is done where a header lies.
                let at = match rng.u8(..4) {
                    0 => rng.usize(..bytes.len()),
                    _ => headers[rng.usize(..headers.len())] + rng.usize(..60),
                };
                let at = at.min(bytes.len() - 1);
                // A number of a header is of one, two or four bytes.
                let end = (at + (1 << rng.usize(..3))).min(bytes.len());
                match rng.u8(..5) {
                    0 => bytes[at..end].fill(rng.u8(..)),
                    1 => bytes[at] ^= 1 << rng.u8(..8),
                    2 => bytes[at..end].fill(0xff),
                    3 => bytes[at..end].fill(0),
                    _ => bytes.truncate(at.max(1)),
                }
            }
            let path = write(here, "damaged.mp4", &bytes);
            match film_sound(&path) {
                Ok(sound) => {
                    let most = 20 * 60 * FILM_RATE_HZ as usize + 1;
                    assert!(sound.samples.len() <= most, "{name}");
                    assert!(sound.samples.iter().all(|sample| sample.is_finite()));
                }
                Err(error) => {
                    assert!(error.to_string().contains("damaged.mp4: "), "{error}");
                    refusals += 1;
                }
            }
        }
        assert!(
            refusals > rounds / 4,
            "{name}: only {refusals} were refused"
        );
    }
}

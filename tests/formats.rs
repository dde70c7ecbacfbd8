//! FLAC and MP3 decoded by programs that are not ours: cues stand where they stood in the WAV.
#![allow(clippy::unwrap_used, clippy::print_stdout)] // noise and margins are for people

use std::path::{Path, PathBuf};
use std::process::Command;

use crate::support::{ok, write};
use serde_json::Value;
use tempfile::tempdir;

const SESSION: &str = "title = \"Evening\"\nlead_in = \"30 s\"\n\
    [[set]]\nname = \"Übung\"\nrepeats = 2\nswim = \"20 s\"\nrest = \"10 s\"\nrate = \"63.7 spm\"\n\
    kick = \"six-beat\"\ncues = [\"arm\", \"kick\", \"fill\", \"breath\"]\nbreath = { every = 3 }\n";

fn export(folder: &Path, format: &str, more: &[&str]) -> PathBuf {
    export_of(folder, SESSION, format, more)
}

fn export_of(folder: &Path, session: &str, format: &str, more: &[&str]) -> PathBuf {
    write(folder, "evening.toml", session);
    let out = format!("{format}-{}", more.join("").replace('-', ""));
    let args = [
        "export",
        "evening.toml",
        "--json",
        "--files",
        "one",
        "--force",
    ];
    let told = ok(
        folder,
        &[&args[..], &["--format", format, "--out", &out], more].concat(),
    );
    let told: Value = serde_json::from_str(&told).unwrap();
    let file = &told["files"][0];
    let path = folder.join(&out).join(file["name"].as_str().unwrap());
    let bytes = std::fs::metadata(&path).unwrap().len();
    assert_eq!(file["bytes"].as_u64().unwrap(), bytes);
    let speech = if more.contains(&"--speech") {
        "off"
    } else {
        "auto"
    };
    ok(folder, &["check", &out, "evening.toml", "--speech", speech]);
    path
}

fn samples(path: &Path) -> Vec<i32> {
    let mut file = hound::WavReader::open(path).unwrap();
    file.samples::<i32>().map(Result::unwrap).collect()
}

fn tool(name: &str, args: &[&str]) {
    let output = Command::new(name).args(args).output();
    let output =
        output.unwrap_or_else(|error| panic!("{name}: {error}: .ci/setup test installs it"));
    assert!(
        output.status.success(),
        "{name}: {}",
        String::from_utf8_lossy(&output.stderr)
    );
}

#[test]
fn flac_holds_the_samples_of_the_wav_for_two_decoders() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    for more in [
        &[][..],
        &["--bits", "24"],
        &["--channels", "mono"],
        &["--channels", "left", "--sample-rate", "48000"],
    ] {
        let (wav, flac) = (export(here, "wav", more), export(here, "flac", more));
        let expected = samples(&wav);
        let (flac, out) = (flac.to_str().unwrap(), here.join("out.wav"));
        let out_name = out.to_str().unwrap();
        // The program also holds the checksum of all samples against them.
        tool("flac", &["-s", "-d", "-f", flac, "-o", out_name]);
        assert!(samples(&out) == expected, "{more:?} by flac");
        let depth = if more.contains(&"24") {
            "pcm_s24le"
        } else {
            "pcm_s16le"
        };
        tool(
            "ffmpeg",
            &["-v", "error", "-y", "-i", flac, "-c:a", depth, out_name],
        );
        assert!(samples(&out) == expected, "{more:?} by ffmpeg");
        let sizes =
            [wav.as_path(), Path::new(flac)].map(|path| std::fs::metadata(path).unwrap().len());
        assert!(sizes[1] * 4 < sizes[0], "{sizes:?} bytes");
    }
}

#[test]
fn a_flac_file_says_its_title_and_number() {
    let folder = tempdir().unwrap();
    write(folder.path(), "evening.toml", SESSION);
    let args = [
        "export",
        "evening.toml",
        "--quiet",
        "--files",
        "per-repeat",
        "--format",
        "flac",
    ];
    ok(folder.path(), &[&args[..], &["--out", "tracks"]].concat());
    let file = folder.path().join("tracks/01-ubung-r2-20s.flac");
    let output = Command::new("ffprobe")
        .args([
            "-v",
            "error",
            "-show_entries",
            "format_tags",
            "-of",
            "default=nk=0",
        ])
        .arg(file)
        .output()
        .unwrap();
    let told = String::from_utf8_lossy(&output.stdout).into_owned();
    for tag in [
        "TAG:TITLE=Übung, 2 of 2",
        "TAG:ALBUM=Evening",
        "TAG:track=2",
    ] {
        assert!(told.contains(tag), "{told}");
    }
}

#[test]
fn the_player_decides_the_format_and_a_flag_goes_before_it() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    write(here, "evening.toml", SESSION);
    write(
        here,
        "alex.toml",
        "[player]\nformat = \"flac\"\nchannels = \"right\"\n",
    );
    let export = [
        "export",
        "evening.toml",
        "--swimmer",
        "alex.toml",
        "--quiet",
        "--out",
    ];
    ok(here, &[&export[..], &["packed"]].concat());
    assert!(here.join("packed/01-ubung-2x20s.flac").is_file());
    ok(
        here,
        &["check", "packed", "evening.toml", "--swimmer", "alex.toml"],
    );
    ok(here, &[&export[..], &["plain", "--format", "wav"]].concat());
    let spec = hound::WavReader::open(here.join("plain/01-ubung-2x20s.wav"))
        .unwrap()
        .spec();
    assert_eq!(spec.channels, 1);
}

#[test]
fn a_cut_or_damaged_flac_does_not_hold() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    let flac = export(here, "flac", &[]);
    let whole = std::fs::read(&flac).unwrap();
    for end in [0, 3, 40, whole.len() / 2, whole.len() - 2000] {
        std::fs::write(&flac, &whole[..end]).unwrap();
        let output = crate::support::run(here, &["check", flac.to_str().unwrap(), "evening.toml"]);
        let told = String::from_utf8_lossy(&output.stdout).into_owned();
        assert_eq!(output.status.code(), Some(1), "{end} bytes: {told}");
        assert!(told.starts_with("differs"), "{end} bytes: {told}");
    }
    let mut damaged = whole.clone();
    for at in (whole.len() / 3..whole.len() / 3 + 4000).step_by(7) {
        damaged[at] ^= 0x55;
    }
    std::fs::write(&flac, damaged).unwrap();
    let output = crate::support::run(here, &["check", flac.to_str().unwrap(), "evening.toml"]);
    assert_eq!(output.status.code(), Some(1));
}

#[cfg(not(feature = "mp3"))]
#[test]
fn a_build_without_mp3_says_how_to_get_it() {
    let folder = tempdir().unwrap();
    write(folder.path(), "evening.toml", SESSION);
    let args = ["export", "evening.toml", "--out", "out", "--format", "mp3"];
    let message = crate::support::refused(folder.path(), &args, 2);
    assert!(
        message.contains("cargo install --path . --locked"),
        "{message}"
    );
    write(folder.path(), "alex.toml", "[player]\nformat = \"mp3\"\n");
    let args = [
        "export",
        "evening.toml",
        "--out",
        "out",
        "--swimmer",
        "alex.toml",
    ];
    let message = crate::support::refused(folder.path(), &args, 2);
    assert!(message.contains("[player], format"), "{message}");
}

/// First frames over a threshold after 20 ms below it, per channel: a plain onset finder. Hands with
/// feet pass it at once; signals, which rise slowly past any threshold, stay below it.
#[cfg(feature = "mp3")]
fn onsets(samples: &[i32], channel: usize) -> Vec<usize> {
    let (mut found, mut quiet) = (Vec::new(), 2000);
    for (frame, sample) in samples.iter().skip(channel).step_by(2).enumerate() {
        let loud = sample.abs() > 8200;
        if loud && quiet > 880 {
            found.push(frame);
        }
        quiet = if loud { 0 } else { quiet + 1 };
    }
    found
}

/// Hands and feet alone: kicks between would touch the threshold of the finder.
#[cfg(feature = "mp3")]
const TWO_BEAT: &str = "title = \"Evening\"\nlead_in = \"30 s\"\n\
    [[set]]\nrepeats = 2\nswim = \"40 s\"\nrest = \"10 s\"\nrate = \"63.7 spm\"\n";

#[cfg(feature = "mp3")]
#[test]
fn cues_of_an_mp3_stand_within_1_ms_after_one_constant_delay() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    // Words are as loud as they like, and have no onset to hold.
    let silent = ["--speech", "off"];
    let [wav, mp3] = ["wav", "mp3"].map(|format| export_of(here, TWO_BEAT, format, &silent));
    let expected = samples(&wav);
    let out = here.join("out.wav");
    let (mp3, out_name) = (mp3.to_str().unwrap(), out.to_str().unwrap());
    for decoder in ["lame", "ffmpeg"] {
        match decoder {
            "lame" => tool("lame", &["--quiet", "--decode", mp3, out_name]),
            _ => tool("ffmpeg", &["-v", "error", "-y", "-i", mp3, out_name]),
        }
        let found = samples(&out);
        for channel in 0..2 {
            let [due, found] = [&expected, &found].map(|sound| onsets(sound, channel));
            assert!(due.len() > 30 && due.len() == found.len(), "{decoder}");
            let delays = (found.iter().zip(&due)).map(|(found, due)| *found as i64 - *due as i64);
            let (least, most) = (delays.clone().min().unwrap(), delays.max().unwrap());
            assert!(most - least <= 44, "{decoder}: {least} to {most} frames");
        }
    }
}

/// The rows of `show --events` are the frames of the track that `export` writes for the same
/// swimmer, and of the sample that `show --wav` writes.
#[test]
fn events_fall_on_the_frames_of_the_players_audio_rate() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    write(
        here,
        "evening.toml",
        "[[set]]\nname = \"Hold\"\nswim = \"20 s\"\nrate = \"54.3 spm\"\n",
    );
    write(
        here,
        "alex.toml",
        "name = \"Alex\"\n[player]\nsample_rate_hz = 48000\n",
    );
    let show = |more: &[&str]| {
        ok(
            here,
            &[&["show", "evening.toml", "--events"], more].concat(),
        )
    };
    let swimmer = ["--swimmer", "alex.toml"];
    let rate = |hz: &'static str| ["--sample-rate", hz];
    let events = show(&swimmer);
    assert!(events == show(&rate("48000")), "the player's");
    let told = show(&[&swimmer[..], &rate("44100")].concat());
    assert!(told == show(&[]), "what is said in the line wins");
    let export = ["export", "evening.toml", "--out", "tracks", "--json"];
    let export = ok(here, &[&export[..], &swimmer].concat());
    let export: serde_json::Value = serde_json::from_str(&export).unwrap();
    assert_eq!(export["sample_rate_hz"], 48_000);
    // A track goes on for 3 s after its last signal.
    let last = events.lines().last().unwrap();
    let frame: u64 = last.split(',').next().unwrap().parse().unwrap();
    assert_eq!(export["files"][0]["frames"], frame + 3 * 48_000, "{last}");
    ok(
        here,
        &[
            &["show", "evening.toml", "--wav", "short.wav"],
            &swimmer[..],
        ]
        .concat(),
    );
    let sample = hound::WavReader::open(here.join("short.wav")).unwrap();
    assert_eq!(sample.spec().sample_rate, 48_000);
}

/// By how much a sample of a packed track, as ffmpeg decodes it, differs from the WAV at most; 1
/// is full scale.
#[cfg(feature = "mp3")]
fn noise(here: &Path, wav: &Path, packed: &Path) -> f64 {
    let out = here.join("decoded.wav");
    let (packed, out_name) = (packed.to_str().unwrap(), out.to_str().unwrap());
    tool("ffmpeg", &["-v", "error", "-y", "-i", packed, out_name]);
    let (expected, found) = (samples(wav), samples(&out));
    assert_eq!(expected.len(), found.len(), "{packed}");
    let differences = expected.iter().zip(&found).map(|(a, b)| a.abs_diff(*b));
    f64::from(differences.max().unwrap()) / 32_768.0
}

/// LAME three times, built in, by its own program and by ffmpeg, at the exported bit rate: what
/// `check` allows a lossy track is 3 dB above the largest of it and no more than 6 dB.
#[cfg(feature = "mp3")]
#[test]
fn the_tolerance_of_a_lossy_track_is_its_encoders_noise_and_a_margin() {
    let folder = tempdir().unwrap();
    let here = folder.path();
    // In shipped sessions it is largest where hand and foot sound together, in one channel.
    let silent = ["--speech", "off"];
    let mut worst: f64 = 0.0;
    for (name, channels, kbits) in [("two", "stereo", "192"), ("one", "mono", "96")] {
        let text = "lead_in = \"10 s\"\n[[set]]\nswim = \"30 s\"\nrate = \"54 spm\"\n";
        let session = format!("{name}.toml");
        write(here, &session, text);
        let track = |format: &str| {
            let line = [
                "export",
                &session,
                "--channels",
                channels,
                "--format",
                format,
            ];
            ok(
                here,
                &[
                    &line[..],
                    &["--out", name, "--files", "one", "--force"],
                    &silent,
                ]
                .concat(),
            );
            here.join(name).join(format!("{name}.{format}"))
        };
        let (wav, own) = (track("wav"), track("mp3"));
        let (theirs, through) = (here.join("lame.mp3"), here.join("ffmpeg.mp3"));
        let [wav_name, lame, ffmpeg] = [&wav, &theirs, &through].map(|path| path.to_str().unwrap());
        let mode = if channels == "mono" { "m" } else { "s" };
        tool(
            "lame",
            &["--quiet", "-b", kbits, "-m", mode, wav_name, lame],
        );
        let rate = format!("{kbits}k");
        let codec = ["-c:a", "libmp3lame", "-b:a", &rate, ffmpeg];
        let line = [&["-v", "error", "-y", "-i", wav_name], &codec[..]].concat();
        tool("ffmpeg", &line);
        for packed in [&own, &theirs, &through] {
            let found = noise(here, &wav, packed);
            println!("{}: {found:.4}", packed.display());
            worst = worst.max(found);
        }
    }
    let ratio = f64::from(cuelane::export::LOSSY_TOLERANCE) / worst;
    let decibels = 20.0 * ratio.log10();
    assert!(
        (2.5..=6.0).contains(&decibels),
        "{decibels:.1} dB above {worst:.4}"
    );
}

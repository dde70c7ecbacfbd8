//! Whatever a person may hand to `check` as a track: damaged copies are named as such and end
//! with 1, faithful copies in another form hold, and what is no track is said to be none.

use std::fmt::Write as _;
use std::path::Path;
use std::process::Command;
use std::sync::LazyLock;

use crate::support::{ok, run, write};
use cuelane::export::TrackReader;
use tempfile::{TempDir, tempdir};

const SESSION: &str =
    "lead_in = \"5 s\"\n[[set]]\nname = \"One\"\nswim = \"10 s\"\nrate = \"60 spm\"\n";
const TRACK: &str = "01-one-10s.wav";
/// Bytes of the header (from memory, standard), and of the header of WAVE_FORMAT_EXTENSIBLE, which
/// has 24 more: 22 of the extension and 2 of its size.
const HEADER: usize = 44;
const HEADER_24: usize = 68;

/// The exported track at 16 bits, and at 24 bits, which is extensible.
static EXPORTED: LazyLock<[Vec<u8>; 2]> = LazyLock::new(|| {
    let folder = folder();
    ["16", "24"].map(|bits| {
        let export = [
            "export",
            "short.toml",
            "--quiet",
            "--bits",
            bits,
            "--out",
            bits,
        ];
        ok(folder.path(), &export);
        std::fs::read(folder.path().join(bits).join(TRACK)).expect("a track")
    })
});

fn folder() -> TempDir {
    let folder = tempdir().expect("a temporary folder");
    write(folder.path(), "short.toml", SESSION);
    folder
}

/// Checks `track`, which must end with `code`, and gives what was said.
fn check(folder: &Path, track: &str, code: i32) -> String {
    let output = run(folder, &["check", track, "short.toml"]);
    let said = String::from_utf8([output.stdout, output.stderr].concat()).expect("UTF-8");
    assert_eq!(output.status.code(), Some(code), "{track}: {said}");
    assert!(!said.contains("panicked"), "{track}: {said}");
    said
}

/// Writes bytes as a track, which must not hold: the message says one of `words`.
fn broken(folder: &Path, bytes: &[u8], words: &[&str], what: &str) {
    write(folder, TRACK, bytes);
    let said = check(folder, TRACK, 1);
    assert!(said.contains(TRACK), "{what}: {said}");
    assert!(
        words.iter().any(|word| said.contains(word)),
        "{what}: {said}"
    );
}

#[test]
fn a_track_cut_in_its_header_is_truncated_or_corrupt() {
    let folder = folder();
    for cut in 0..=HEADER + 5 {
        let bytes = &EXPORTED[0][..cut];
        broken(
            folder.path(),
            bytes,
            &["truncated", "corrupt"],
            &format!("{cut} bytes"),
        );
    }
}

#[test]
fn an_extensible_track_cut_in_its_header_is_truncated_or_corrupt() {
    for cut in 0..=HEADER_24 + 5 {
        let folder = tempdir().expect("a temporary folder");
        let path = write(folder.path(), "cut.wav", &EXPORTED[1][..cut]);
        let error = TrackReader::open(&path).err().expect("it is cut");
        let said = error.to_string();
        assert!(said.contains("cut.wav: "), "{cut} bytes: {said}");
        let named = said.contains("truncated") || said.contains("corrupt");
        assert!(named, "{cut} bytes: {said}");
        assert_eq!(error.exit_code(), 1, "{cut} bytes: {said}");
    }
}

#[test]
fn a_track_cut_in_its_sound_is_truncated() {
    let folder = folder();
    for track in &*EXPORTED {
        for cut in [track.len() - 1, track.len() - 4, track.len() / 2, 100_000] {
            let what = format!("{cut} of {} bytes", track.len());
            broken(folder.path(), &track[..cut], &["truncated"], &what);
        }
    }
}

/// One wrong byte of the header: never a panic, and never a track that holds, but for the fields
/// that say again what others say (sizes of the whole file, bytes a second).
#[test]
fn a_track_with_a_wrong_byte_in_its_header_does_not_hold() {
    let folder = folder();
    for at in 0..HEADER {
        if (4..8).contains(&at) || (28..32).contains(&at) {
            continue;
        }
        let mut bytes = EXPORTED[0].clone();
        bytes[at] ^= 0x55;
        broken(
            folder.path(),
            &bytes,
            &[TRACK],
            &format!("byte {at} is wrong"),
        );
    }
}

#[test]
fn what_is_no_wav_file_is_said_to_be_none() {
    let folder = folder();
    let wav = &EXPORTED[0];
    let renamed = |at: usize, name: &[u8; 4]| {
        let mut bytes = wav[..HEADER + 400].to_vec();
        bytes[at..at + 4].copy_from_slice(name);
        bytes
    };
    // A FLAC stream begins with its name and a STREAMINFO block of 34 bytes (RFC 9639).
    let flac = [
        b"fLaC\x80\0\0\x22".as_slice(),
        &[0; 34],
        &wav[HEADER..HEADER + 400],
    ]
    .concat();
    // An MP3 frame header: MPEG 1, layer III, 128 kbit/s at 44.1 kHz.
    let mp3 = [&[0xff, 0xfb, 0x90, 0x64], &wav[HEADER..HEADER + 400]].concat();
    for (bytes, what) in [
        (SESSION.as_bytes().to_vec(), "a text"),
        (flac, "FLAC"),
        (mp3, "MP3"),
        (vec![0; 1000], "zeroes"),
        (vec![0xff; 1000], "ones"),
        (renamed(0, b"RIFX"), "RIFX"),
        (renamed(0, b"FORM"), "AIFF"),
        (renamed(8, b"AVI "), "AVI"),
        (renamed(36, b"LIST"), "no data"),
    ] {
        broken(folder.path(), &bytes, &["no WAV file", "truncated"], what);
    }
    std::fs::remove_file(folder.path().join(TRACK)).expect("it is ours");
    std::fs::create_dir(folder.path().join(TRACK)).expect("a folder");
    let said = check(folder.path(), TRACK, 1);
    assert!(said.contains("not in the folder"), "{said}");
}

/// Converts a track by sox, which shares nothing with our reader and writer.
fn sox(folder: &Path, before: &[&str], after: &[&str]) -> String {
    let mut command = Command::new("sox");
    command
        .current_dir(folder)
        .args(["-V1", TRACK])
        .args(before);
    command.arg("copy.wav").args(after);
    let output = command
        .output()
        .expect("the tests need sox: .ci/setup test installs it");
    assert!(
        output.status.success(),
        "sox: {}",
        String::from_utf8_lossy(&output.stderr)
    );
    std::fs::rename(folder.join("copy.wav"), folder.join("01-copy.wav")).expect("it is ours");
    "01-copy.wav".into()
}

/// Each row: what sox does to the samples, what it does to the sound, and how far a cue may be
/// off. At another rate a cue's own frame is rounded anew, up to half a frame away.
const FAITHFUL: [(&str, &str, u64); 11] = [
    ("-b 8", "", 0),
    ("-b 16", "", 0),
    ("-b 24", "", 0),
    ("-b 32", "", 0),
    ("-e floating-point -b 32", "", 0),
    ("", "channels 1", 0),
    ("-b 8", "channels 1", 0),
    ("-r 48000", "", 1),
    ("-r 96000", "", 1),
    ("-b 8 -r 48000", "channels 1", 1),
    ("-r 192000", "", 1),
];

#[test]
fn a_faithful_copy_in_another_form_holds() {
    let folder = folder();
    let here = folder.path();
    let mut complaints = String::new();
    for (track, bits) in EXPORTED.iter().zip([16, 24]) {
        for (form, effect, most) in FAITHFUL {
            write(here, TRACK, track);
            let words = |text: &'static str| text.split_whitespace().collect::<Vec<_>>();
            let copy = sox(here, &words(form), &words(effect));
            let output = run(here, &["check", &copy, "short.toml", "--json"]);
            let json = serde_json::from_slice(&output.stdout).unwrap_or(serde_json::Value::Null);
            let worst = json["worst_error_frames"].as_u64();
            let holds = json["ok"] == true && worst.is_some_and(|worst| worst <= most);
            if !holds || !output.status.success() {
                let message = String::from_utf8_lossy(&output.stderr);
                let _ = writeln!(
                    complaints,
                    "{bits} bits, {form} {effect}: {json:#}{message}"
                );
            }
        }
    }
    assert!(complaints.is_empty(), "{complaints}");
}

/// A copy keeps the frames on which cues and cuts were exported, and those of a higher audio rate
/// are shorter: what is within a frame of the one is several of the other. The repeat starts and
/// ends between frames.
#[test]
fn a_copy_at_a_higher_audio_rate_holds_within_a_frame_of_the_exported_one() {
    let folder = folder();
    let here = folder.path();
    write(
        here,
        "pool.toml",
        "[[set]]\nname = \"Go\"\nrepeats = 2\nswim = \"25 m\"\nrest = \"5.7 s\"\npool = \"25 m\"\n\
         rate = \"54.3 spm\"\nstroke_length = \"1.97 m/stroke\"\n",
    );
    let name = "01-go-r2-25m.wav";
    let args = ["export", "pool.toml", "--out", "tracks", "--quiet"];
    ok(here, &[&args[..], &["--files", "per-repeat"]].concat());
    let args = [
        "check",
        name,
        "pool.toml",
        "--files",
        "per-repeat",
        "--json",
    ];
    // A frame of 44.1 kHz is 4.4 of 192 kHz: 8 frames late is wrong at any rate.
    for (rate, late, right) in [
        ("96000", "0s", true),
        ("192000", "0s", true),
        ("192000", "8s", false),
    ] {
        std::fs::copy(here.join("tracks").join(name), here.join(TRACK)).expect("it is ours");
        let shift = [
            "rate",
            "-v",
            "-s",
            "pad",
            late,
            "trim",
            "0",
            &format!("-{late}"),
        ];
        let copy = sox(here, &["-r", rate], &shift);
        std::fs::rename(here.join(copy), here.join(name)).expect("it is ours");
        let output = run(here, &args);
        let said = String::from_utf8_lossy(&output.stdout);
        assert_eq!(
            output.status.code(),
            Some(i32::from(!right)),
            "{rate}: {said}"
        );
        let found: serde_json::Value = serde_json::from_str(&said).expect("JSON");
        let track = &found["tracks"][0];
        assert_eq!(track["missing"], 0, "{said}");
        if rate == "192000" {
            assert!(track["worst_error_frames"].as_u64() > Some(1), "{said}");
            assert_ne!(track["frames"], track["frames_expected"], "{said}");
        }
    }
}

/// Two channels of the same fold, as some players' software writes it, are not the two ears.
#[test]
fn ears_exchanged_on_the_way_differ_unless_told() {
    let folder = folder();
    write(folder.path(), TRACK, &EXPORTED[0]);
    let copy = sox(folder.path(), &[], &["remix", "2", "1"]);
    check(folder.path(), &copy, 1);
    ok(folder.path(), &["check", &copy, "short.toml", "--swap"]);
    let fold = sox(folder.path(), &[], &["remix", "1,2", "1,2"]);
    let said = check(folder.path(), &fold, 1);
    assert!(said.contains("missing: "), "{said}");
}

#[test]
fn a_form_that_no_player_of_ours_has_is_refused_with_those_read() {
    let folder = folder();
    for (before, after, found) in [
        (
            ["-e", "floating-point", "-b", "64"].as_slice(),
            [].as_slice(),
            "bits per sample",
        ),
        (&["-r", "4000"], &[], "4000 Hz"),
        (&[], &["remix", "1", "2", "1", "2"], "4 channels"),
        (&["-e", "a-law"], &[], ""),
    ] {
        write(folder.path(), TRACK, &EXPORTED[0]);
        let copy = sox(folder.path(), before, after);
        let said = check(folder.path(), &copy, 1);
        assert!(
            said.contains(found) && said.contains("accepted: "),
            "{before:?}: {said}"
        );
    }
}

/// What must not be told apart from a difference of cues: the code is 1, the JSON says why.
#[test]
fn a_broken_track_says_so_in_json_too() {
    let folder = folder();
    write(folder.path(), TRACK, &EXPORTED[0][..1000]);
    let output = run(folder.path(), &["check", TRACK, "short.toml", "--json"]);
    assert_eq!(output.status.code(), Some(1));
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).expect("JSON");
    assert_eq!(json["ok"], false);
    let error = json["tracks"][0]["error"].as_str().expect("an error");
    assert!(error.contains("truncated"), "{error}");
}

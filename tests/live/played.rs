//! `play`, and the list of sounds.

use super::*;

const SESSION: &str = "lead_in = \"5 s\"\n[[set]]\nrepeats = 2\nswim = \"7 s\"\nsend_off = \"12 s\"\n\
                       rate = \"60 spm\"\npush_off = \"1 s\"\n";

#[test]
fn a_session_plays_to_the_end_with_the_exported_onsets() {
    played_as_exported(false);
}

#[test]
fn a_track_plays_to_the_end_with_the_exported_onsets() {
    played_as_exported(true);
}

fn played_as_exported(plays_track: bool) {
    let server = Server::start();
    support::write(server.folder(), "evening.toml", SESSION);
    support::ok(
        server.folder(),
        &[
            "export",
            "evening.toml",
            "--out",
            "tracks",
            "--files",
            "one",
            "--speech",
            "off",
        ],
    );
    let track = std::fs::read_dir(server.folder().join("tracks"))
        .expect("the folder was made")
        .filter_map(|entry| Some(entry.ok()?.path()))
        .find(|path| path.extension().is_some_and(|ending| ending == "wav"))
        .expect("a track");
    let exported = onsets(&track);
    assert!(exported[0].len() > 12, "{exported:?}");
    let what = if plays_track {
        track.to_str().expect("text")
    } else {
        "evening.toml"
    };
    let recording = server.record("played.wav");
    let output = (server.cuelane())
        .args(["play", what, "--buffer", "16384", "--speech", "off"])
        .output()
        .expect("the program starts");
    let message = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && message.is_empty(), "{message}");
    let recording = recording.stop();
    check_heard(what, &onsets(&recording), &exported, 1e-3);
    // One level for all: what comes out of the device is as loud as the track.
    for ear in 0..2 {
        let [heard, due] = [&recording, &track].map(|path| {
            let levels = &measured(path)["loudest_db"];
            levels[ear].as_f64().expect("a number")
        });
        assert!(
            (heard - due).abs() < 0.1,
            "ear {ear}: {heard}, in the track {due} dB"
        );
    }
}

/// What was heard has the onsets of a track, each as far from the first one.
fn check_heard(what: &str, heard: &[Vec<f64>; 2], exported: &[Vec<f64>; 2], most_s: f64) {
    for (heard, exported) in heard.iter().zip(exported) {
        assert_eq!(
            heard.len(),
            exported.len(),
            "{what}: {heard:?} for {exported:?}"
        );
        for (heard_s, due_s) in heard.iter().zip(exported) {
            let off = (heard_s - heard[0]) - (due_s - exported[0]);
            assert!(off.abs() < most_s, "{what}: {off} s at {due_s}");
        }
    }
}

#[test]
fn keys_pause_a_session_and_go_back_and_on_in_it() {
    let server = Server::start();
    support::write(server.folder(), "evening.toml", SESSION);
    let mut terminal = Terminal::start(
        &server,
        &["play", "evening.toml", "--silent", "--speech", "off"],
    );
    // The session: 5 s, two swims of 7 s each 12 s, 3 s.
    terminal.wait_for("0:02 of 0:27   playing   set 1, repeat 1");
    terminal.key("Space");
    terminal.wait_for("paused");
    let paused = terminal.screen();
    sleep(1.2);
    assert_eq!(terminal.screen(), paused);
    terminal.key("Right");
    // The second repeat begins a second after the end of the first swim, at 12 s.
    terminal.wait_for("0:13 of 0:27   paused   set 1, repeat 2");
    terminal.key("Space");
    terminal.wait_for("0:14 of 0:27   playing   set 1, repeat 2");
    terminal.key("Left");
    terminal.wait_for("0:01 of 0:27   playing   set 1, repeat 1");
    terminal.key("q");
    terminal.wait_for_end();
}

#[test]
fn a_flac_track_is_heard_with_the_onsets_of_the_wav() {
    packed_is_heard("flac", 1e-3, |server, _, flac| {
        let line = ["export", "short.toml", "--out", "flac", "--format", "flac"];
        support::ok(server.folder(), &line);
        std::fs::rename(server.folder().join("flac/01-set-1-5s.flac"), flac).expect("a track");
    });
}

#[test]
fn an_mp3_track_is_heard_with_the_onsets_of_the_wav() {
    packed_is_heard("mp3", SMEARED_S, |server, wav, mp3| {
        run(server, "lame", &["--quiet", wav, mp3]);
    });
}

#[test]
fn an_ogg_track_is_heard_with_the_onsets_of_the_wav() {
    packed_is_heard("ogg", SMEARED_S, |server, wav, ogg| {
        let codec = ["-c:a", "libvorbis", "-q:a", "8", ogg];
        let line = [&["-loglevel", "error", "-i", wav], &codec[..]].concat();
        run(server, "ffmpeg", &line);
    });
}

/// A codec smears an onset: to where a voice is as loud as the threshold.
const SMEARED_S: f64 = 5e-3;

fn run(server: &Server, program: &str, args: &[&str]) {
    let packed = server.command(program).args(args).status();
    assert!(packed.is_ok_and(|status| status.success()), "{program}");
}

/// Plays a short track, which `pack` makes of its WAV file: given are the server and both names.
fn packed_is_heard(ending: &str, most_s: f64, pack: impl FnOnce(&Server, &str, &str)) {
    let server = Server::start();
    let short = "opening = false\nlead_in = \"5 s\"\n[[set]]\nswim = \"5 s\"\nrate = \"80 spm\"\npush_off = \"1 s\"\n";
    support::write(server.folder(), "short.toml", short);
    support::ok(server.folder(), &["export", "short.toml", "--out", "wav"]);
    let file = |name: String| server.folder().join(name).display().to_string();
    let wav = file("wav/01-set-1-5s.wav".into());
    let packed = file(format!("short.{ending}"));
    pack(&server, &wav, &packed);
    let exported = onsets(std::path::Path::new(&wav));
    assert!(exported[0].len() > 4, "{exported:?}");
    let recording = server.record("packed.wav");
    let output = (server.cuelane())
        .args(["play", &packed, "--buffer", "16384"])
        .output()
        .expect("the program starts");
    let message = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{packed}: {message}");
    check_heard(&packed, &onsets(&recording.stop()), &exported, most_s);
}

#[test]
fn the_list_of_sounds_is_heard_voice_by_voice() {
    let server = Server::start();
    let recording = server.record("voices.wav");
    let output = (server.cuelane())
        .args(["list", "sounds", "--play"])
        .output()
        .expect("the program starts");
    let message = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{message}");
    let heard = onsets(&recording.stop());
    let listed = support::ok(server.folder(), &["list", "sounds", "--json"]);
    let listed: Value = serde_json::from_str(&listed).expect("JSON");
    let voices = listed["sounds"].as_array().expect("a list");
    for (heard, other) in heard.iter().zip(["right ear", "left ear"]) {
        // One voice each 0.8 s; those of the other ear are not heard in this one.
        let due: Vec<f64> = (0..voices.len())
            .filter(|at| voices[*at]["ear"] != other)
            .map(|at| 0.8 * at as f64)
            .collect();
        assert_eq!(heard.len(), due.len(), "not {other}: {heard:?} for {due:?}");
        for (heard, due) in gaps(heard).iter().zip(gaps(&due)) {
            // A voice rises within 5 ms; a small buffer on a busy machine may stand still a while.
            assert!(
                (-6e-3..0.3).contains(&(heard - due)),
                "not {other}: {heard} s for {due} s"
            );
        }
    }
}

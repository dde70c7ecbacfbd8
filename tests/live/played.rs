//! `play`, and the list of sounds.

use super::*;

const SESSION: &str = "lead_in = \"5 s\"\n[[set]]\nrepeats = 2\nswim = \"7 s\"\nsend_off = \"12 s\"\n\
                       rate = \"60 spm\"\npush_off = \"1 s\"\n";

#[test]
fn a_session_and_its_track_play_to_the_end_with_the_exported_onsets() {
    let _alone = listen();
    for plays_track in [false, true] {
        played_as_exported(plays_track);
    }
}

fn played_as_exported(plays_track: bool) {
    let Some(server) = Server::start() else {
        return;
    };
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
    let what = match plays_track {
        true => track.to_str().expect("text"),
        false => "evening.toml",
    };
    let recording = server.record("played.wav");
    let output = (server.command(env!("CARGO_BIN_EXE_cuelane")))
        .args(["play", what, "--buffer", "16384", "--speech", "off"])
        .output()
        .expect("the program starts");
    let message = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success() && message.is_empty(), "{message}");
    check_heard(what, &onsets(&recording.stop()), &exported, 1e-3);
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
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
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
fn packed_tracks_are_heard_with_the_onsets_of_what_was_packed() {
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
    let short = "opening = false\nlead_in = \"5 s\"\n[[set]]\nswim = \"5 s\"\nrate = \"80 spm\"\npush_off = \"1 s\"\n";
    support::write(server.folder(), "short.toml", short);
    for format in ["wav", "flac"] {
        support::ok(
            server.folder(),
            &["export", "short.toml", "--out", format, "--format", format],
        );
    }
    let track = |name: &str| server.folder().join(name).display().to_string();
    let (wav, mp3, ogg) = (
        track("wav/01-set-1-5s.wav"),
        track("short.mp3"),
        track("short.ogg"),
    );
    let packs: [(&str, &[&str]); 2] = [
        ("lame", &["--quiet", &wav, &mp3]),
        (
            "ffmpeg",
            &[
                "-loglevel",
                "error",
                "-i",
                &wav,
                "-c:a",
                "libvorbis",
                "-q:a",
                "8",
                &ogg,
            ],
        ),
    ];
    for (program, args) in packs {
        let packed = server.command(program).args(args).status();
        assert!(packed.is_ok_and(|status| status.success()), "{program}");
    }
    let exported = onsets(std::path::Path::new(&wav));
    assert!(exported[0].len() > 4, "{exported:?}");
    // A codec smears an onset: to where a voice is as loud as the threshold.
    for (packed, most_s) in [
        (track("flac/01-set-1-5s.flac"), 1e-3),
        (mp3, 5e-3),
        (ogg, 5e-3),
    ] {
        let recording = server.record("packed.wav");
        let output = (server.command(env!("CARGO_BIN_EXE_cuelane")))
            .args(["play", &packed, "--buffer", "16384"])
            .output()
            .expect("the program starts");
        let message = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{packed}: {message}");
        check_heard(&packed, &onsets(&recording.stop()), &exported, most_s);
    }
}

#[test]
fn the_list_of_sounds_is_heard_voice_by_voice() {
    let _alone = listen();
    let Some(server) = Server::start() else {
        return;
    };
    let recording = server.record("voices.wav");
    let output = (server.command(env!("CARGO_BIN_EXE_cuelane")))
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

//! Whatever a session is called, its tracks land in the folder under legal names that differ, in
//! the order of playing.

use std::collections::HashSet;
use std::fmt::Write as _;

use crate::support::system::names;
use crate::support::{ok, refused, write};
use cuelane::export::file_name;
use cuelane::files::parse_session;
use cuelane::model::resolve::{Resolved, resolve};
use cuelane::model::track_format::{Division, Format};
use cuelane::model::wishes::Wishes;
use proptest::prelude::*;
use tempfile::tempdir;

/// Names that Windows keeps for devices, whatever their ending: its documentation, "Naming Files,
/// Paths, and Namespaces" (from memory).
const DEVICES: [&str; 6] = ["con", "prn", "aux", "nul", "com1", "lpt9"];

/// What FAT32, exFAT, Windows, macOS and Linux all take, and what no shell or player mistakes.
fn legal(name: &str, longest: usize) -> bool {
    let Some(stem) = name.strip_suffix(".wav") else {
        return false;
    };
    let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    let devices = |stem: &str| DEVICES.contains(&stem);
    !stem.is_empty()
        && stem.chars().all(plain)
        && !stem.starts_with('-')
        && !stem.ends_with('-')
        && !devices(stem)
        && name.len() <= longest
}

fn session(title: &str, name: &str) -> String {
    let quoted = |text: &str| text.replace('\\', "\\\\").replace('"', "\\\"");
    format!(
        "title = \"{}\"\nlead_in = \"5 s\"\n\n[[set]]\nname = \"{}\"\nswim = \"6 s\"\nrate = \"60 spm\"\n",
        quoted(title),
        quoted(name)
    )
}

#[test]
fn any_title_and_any_name_of_a_set_give_tracks_inside_the_folder() {
    let folder = tempdir().expect("a temporary folder");
    let here = folder.path();
    let long = "long ".repeat(60);
    for (words, one, per_set) in [
        ("../../up", "up.wav", "01-up-6s.wav"),
        ("..", "session.wav", "01-set-6s.wav"),
        ("/etc/passwd", "etc-passwd.wav", "01-etc-passwd-6s.wav"),
        ("C:\\evening", "c-evening.wav", "01-c-evening-6s.wav"),
        ("a\\\\b", "a-b.wav", "01-a-b-6s.wav"),
        ("con", "con-cues.wav", "01-con-6s.wav"),
        ("Nul", "nul-cues.wav", "01-nul-6s.wav"),
        ("com1", "com1-cues.wav", "01-com1-6s.wav"),
        ("-rf *", "rf.wav", "01-rf-6s.wav"),
        (
            "$(reboot) `x` ; y",
            "reboot-x-y.wav",
            "01-reboot-x-y-6s.wav",
        ),
        ("Frühe Längen", "fruhe-langen.wav", "01-fruhe-langen-6s.wav"),
        ("🏊", "", ""),
        ("\u{202e}evening\u{200b}", "", ""),
        (&long, "", ""),
    ] {
        write(here, "evening.toml", session(words, words));
        for (division, expected) in [("one", one), ("per-set", per_set)] {
            let export = ["export", "evening.toml", "--out", "tracks", "--quiet"];
            ok(here, &[&export[..], &["--files", division]].concat());
            let found = names(&here.join("tracks"));
            let [sheet, track] = &found[..] else {
                panic!("{words}: {found:?}");
            };
            let (sheet, track) = match track.as_str() {
                "contents.txt" => (track, sheet),
                _ => (sheet, track),
            };
            assert_eq!(sheet, "contents.txt");
            assert!(legal(track, 64), "{words}: {track}");
            assert!(expected.is_empty() || track == expected, "{words}: {track}");
            ok(here, &["check", "tracks", "evening.toml"]);
            std::fs::remove_dir_all(here.join("tracks")).expect("the folder is ours");
        }
    }
    assert_eq!(
        names(here),
        ["evening.toml"],
        "nothing lands beside the folder"
    );
}

/// A session without a title is called as its file, which may be called anything.
#[test]
fn a_files_own_name_gives_a_legal_track() {
    let folder = tempdir().expect("a temporary folder");
    let here = folder.path();
    let text = "lead_in = \"5 s\"\n[[set]]\nswim = \"6 s\"\nrate = \"60 spm\"\n";
    for (file, track) in [
        ("nul.toml", "nul-cues.wav"),
        ("été à 5 h.toml", "ete-a-5-h.wav"),
        ("...toml", "session.wav"),
        ("line\nbreak.toml", ""),
    ] {
        write(here, file, text);
        let path = format!("./{file}");
        ok(
            here,
            &[
                "export", &path, "--out", "tracks", "--files", "one", "--quiet",
            ],
        );
        let found = names(&here.join("tracks"));
        let tracks: Vec<&String> = found.iter().filter(|name| name.ends_with(".wav")).collect();
        let [found] = tracks[..] else {
            panic!("{file}: {found:?}");
        };
        assert!(legal(found, 64), "{file}: {found}");
        assert!(track.is_empty() || found == track, "{file}: {found}");
        std::fs::remove_dir_all(here.join("tracks")).expect("the folder is ours");
    }
}

/// A terminal would obey them: they are refused, and the message does not print them either.
#[test]
fn control_characters_in_a_name_are_refused_and_not_shown() {
    let folder = tempdir().expect("a temporary folder");
    for control in ["\\u001b[31m", "\\u0007", "\\u0000", "\\u007f", "\\u009b31m"] {
        for key in ["title", "for"] {
            let text = format!("{key} = \"a{control}b\"\n{}", &session("", "x")[11..]);
            write(folder.path(), "evening.toml", text);
            let message = refused(folder.path(), &["show", "evening.toml"], 2);
            let expected = format!("evening.toml:1:{}: {key}: ", key.len() + 4);
            assert!(message.contains(&expected), "{message:?}");
            let shown = message.chars().any(|c| c.is_control() && c != '\n');
            assert!(!shown, "{message:?}");
        }
    }
    // Wrong words are quoted in messages: without what they would do.
    for (line, found) in [
        ("pairing = \"a\\u001b[31m\"", "pairing"),
        ("\"ra\\u001bte\" = 3", "ra"),
        ("rate = \"5\\u001b[31m\"", "rate"),
        ("swim = \"5\\u0007\"", "swim"),
        ("pace = \"2:05\\u001b[31m\"", "pace"),
        ("stroke_length = \"5\\u009b31m\"", "stroke_length"),
    ] {
        let text = format!("[[set]]\n{line}\n");
        write(folder.path(), "evening.toml", text);
        let message = refused(folder.path(), &["show", "evening.toml"], 2);
        assert!(message.contains(found), "{message:?}");
        let shown = message.chars().any(|c| c.is_control() && c != '\n');
        assert!(!shown, "{message:?}");
    }
}

/// So many sets; the middle one has all the repeats.
fn crowd(sets: u64, repeats: u64, name: &str) -> Resolved {
    let mut text =
        String::from("[defaults]\nrate = \"60 spm\"\nswim = \"25 m\"\npace = \"2:00 / 100 m\"\n");
    for set in 1..=sets {
        let _ = writeln!(text, "\n[[set]]\nname = \"{name}\"");
        if set == sets.div_ceil(2) {
            let _ = writeln!(text, "repeats = {repeats}");
        }
    }
    let session = parse_session("crowd.toml", &text).expect("it parses");
    resolve(&session, None, &Wishes::default()).expect("it resolves")
}

/// Whether the names of a crowd differ, stand in the order of playing and are legal.
fn hold(sets: u64, repeats: u64, name: &str, longest: Option<usize>) -> Result<(), String> {
    let session = crowd(sets, repeats, name);
    let mut per_set = Vec::new();
    let mut per_repeat = Vec::new();
    for (set, resolved) in (1..).zip(&session.sets) {
        per_set.push(file_name(
            &session,
            Division::PerSet,
            Format::Wav,
            (set, 1),
            longest,
        ));
        for repeat in 1..=resolved.repeats {
            let repeat = u32::try_from(repeat).expect("few");
            per_repeat.push(file_name(
                &session,
                Division::PerRepeat,
                Format::Wav,
                (set, repeat),
                longest,
            ));
        }
    }
    for names in [per_set, per_repeat] {
        let mut different = HashSet::new();
        if let Some(twice) = names.iter().find(|name| !different.insert(*name)) {
            return Err(format!("{twice} stands twice"));
        }
        if !names.is_sorted() {
            return Err("not in the order of playing".into());
        }
        if let Some(name) = names
            .iter()
            .find(|name| !legal(name, longest.unwrap_or(64)))
        {
            return Err(format!("{name} is not legal"));
        }
    }
    Ok(())
}

/// The shortest names that a swimmer's file may ask for, and more files than they have room for
/// words: 12 h hold 100 sets and 1 000 repeats of 25 m.
#[test]
fn the_shortest_names_still_differ() {
    for (sets, repeats) in [(1, 100), (1, 1000), (100, 100), (100, 1000)] {
        let result = hold(sets, repeats, "settle", Some(14));
        assert_eq!(result, Ok(()), "{sets} sets, {repeats} repeats");
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        failure_persistence: None,
        ..ProptestConfig::with_cases(64)
    })]

    #[test]
    fn names_differ_and_stand_in_the_order_of_playing(
        sets in prop_oneof![1_u64..12, 95_u64..120],
        repeats in prop_oneof![1_u64..12, 95_u64..120, 990_u64..1010],
        name in "[ a-z0-9.]{1,40}[a-z]",
        longest in prop_oneof![Just(None), (14_usize..16).prop_map(Some), (16_usize..256).prop_map(Some)],
    ) {
        prop_assert_eq!(hold(sets, repeats, &name, longest), Ok(()));
    }
}

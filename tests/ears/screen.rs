//! What people read: it fits 80 columns, is plain on a pipe, and says what it must.

use std::path::Path;
use std::process::Command;

use super::{folder, shipped};
use crate::support::{ok, write};

/// The program with nothing in its environment that asks for plain output.
fn on_a_pipe(folder: &Path, args: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_cuelane"))
        .args(args)
        .current_dir(folder)
        .env_remove("NO_COLOR")
        .env("TERM", "xterm-256color")
        .env("COLUMNS", "200")
        .output()
        .expect("the program starts");
    assert!(output.status.success(), "{args:?}");
    String::from_utf8(output.stdout).expect("results are UTF-8")
}

/// 80 columns, no escape codes, no tabs, no trailing space: plain on a pipe.
fn fits(text: &str, what: &str) {
    assert!(!text.is_empty(), "{what} prints nothing");
    for line in text.lines() {
        let width = line.chars().count();
        assert!(width <= 80, "{what}: {width} columns: {line}");
        assert!(!line.contains(['\u{1b}', '\t']), "{what}: {line:?}");
        assert_eq!(line, line.trim_end(), "{what}: trailing space");
    }
}

#[test]
fn alone_it_fits_one_screen_and_names_a_first_command_for_each_of_three_people() {
    let folder = folder();
    let text = on_a_pipe(folder.path(), &[]);
    fits(&text, "cuelane");
    assert!(text.lines().count() <= 24, "{text}");
    let commands: Vec<&str> = text
        .lines()
        .map(str::trim)
        .filter(|line| line.starts_with("cuelane ") && !line.contains(" puts "))
        .collect();
    assert_eq!(commands.len(), 3, "{commands:?}");
    // Each of them works as printed.
    for command in commands {
        let words: Vec<&str> = command.split(' ').skip(1).collect();
        ok(folder.path(), &words);
    }
}

#[test]
fn show_fits_80_columns_and_is_plain_for_every_preset_and_swimmer() {
    let folder = folder();
    let (presets, swimmers) = shipped();
    for preset in &presets {
        for swimmer in &swimmers {
            for more in [
                &[][..],
                &["--detail"],
                &["--explain"],
                &["--stroke-rate", "57.123 spm"],
            ] {
                let words = [&["show", preset, "--swimmer", swimmer], more].concat();
                fits(&on_a_pipe(folder.path(), &words), &words.join(" "));
            }
        }
    }
}

#[test]
fn other_commands_fit_80_columns_too() {
    let folder = folder();
    for words in [
        &["list", "presets"][..],
        &["list", "sounds"],
        &["swimmer", "show", "adult-learner"],
        &["swimmer", "show", "triathlete"],
        &["help"],
        &["help", "export"],
        &["help", "show"],
        &["help", "check"],
    ] {
        fits(&on_a_pipe(folder.path(), words), &words.join(" "));
    }
}

#[test]
fn a_long_name_does_not_break_the_width() {
    let folder = folder();
    let name = "Höchst ausführliche Übung ".repeat(6);
    let text = format!(
        "title = \"{name}\"\n[[set]]\nname = \"{name}\"\nswim = \"45 s\"\nrate = \"54 spm\"\n\
         say = \"{name}\"\n"
    );
    write(folder.path(), "long.toml", text);
    fits(
        &on_a_pipe(folder.path(), &["show", "long.toml"]),
        "long names",
    );
}

#[test]
fn a_table_says_what_a_coach_asks_in_full_words() {
    let folder = folder();
    let text = "title = \"Evening\"\n[[set]]\nname = \"Hold\"\nrepeats = 3\nswim = \"100 m\"\n\
        send_off = \"2:30\"\nrate = \"28 cpm\"\npace = \"2:00 / 100 m\"\n\
        pairing = \"opposite-side\"\n";
    write(folder.path(), "evening.toml", text);
    let shown = ok(folder.path(), &["show", "evening.toml"]);
    for due in [
        "Evening",
        "Hold: 3 x 100 m",
        "3 x 100 m on 2:30",
        "30 s", // of rest, what is left of the send-off (docs/rules.md)
        "56 spm (28 cycles/min)",
        "right foot as the left hand goes in",
        "left foot as the right hand goes in",
        "two-beat kick",
        "300 m",
        // Two send-offs, the last swim, 60 s before and 3 s after: 300 + 120 + 63 (arithmetic).
        "Total 8:03",
        // Half a cycle less the catch of 0.30: 0.2 x 120/56 s (docs/rules.md, "The circle").
        "429 ms apart",
        "left hand",
        "right foot",
    ] {
        let flat: String = shown.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(flat.contains(due), "no {due:?} in\n{shown}");
    }
}

#[test]
fn greek_and_the_like_stay_out_of_the_usual_view() {
    let folder = folder();
    for preset in shipped().0 {
        let text = ok(
            folder.path(),
            &["show", &preset, "--swimmer", "adult-learner"],
        );
        let greek = |c: char| ('\u{370}'..='\u{3ff}').contains(&c);
        assert!(!text.contains(greek), "{preset}");
    }
}

#[test]
fn fifty_six_spm_is_one_thing_however_it_is_written() {
    let folder = folder();
    let with = |rate: &str| {
        let words = [
            "show",
            "hold-the-rate",
            "--swimmer",
            "adult-learner",
            "--stroke-rate",
            rate,
        ];
        let events = ok(folder.path(), &[&words[..], &["--events"]].concat());
        (ok(folder.path(), &words), events)
    };
    let one = with("56 spm");
    assert!(one.0.contains("56 spm (28 cycles/min)"), "{}", one.0);
    for other in ["56spm", "56 SPM", "28 cpm", "56.0 spm", " 56  spm "] {
        assert_eq!(with(other), one, "{other}");
    }
    assert_ne!(with("57 spm"), one);
}

#[test]
fn the_listed_presets_are_the_shipped_ones_and_each_says_for_whom() {
    let folder = folder();
    let text = ok(folder.path(), &["list", "presets"]);
    let (presets, swimmers) = shipped();
    let lines: Vec<&str> = text.lines().map(str::trim).collect();
    for preset in &presets {
        let at = lines.iter().position(|line| line == preset);
        let at = at.unwrap_or_else(|| panic!("{preset} is not listed"));
        assert!(
            lines[at + 1].starts_with("for "),
            "{preset}: {}",
            lines[at + 1]
        );
    }
    for swimmer in &swimmers {
        let listed = lines.iter().find(|line| line.starts_with(swimmer.as_str()));
        assert!(
            listed.is_some_and(|line| line.contains("invented")),
            "{swimmer}"
        );
    }
    let sounds = ok(folder.path(), &["list", "sounds"]);
    let named = |name: &str| {
        sounds
            .lines()
            .any(|line| line.split(' ').next() == Some(name))
    };
    for kind in ["arm", "kick", "fill", "breath"] {
        assert!(
            named(&format!("{kind}-left")) && named(&format!("{kind}-right")),
            "{kind}"
        );
    }
    assert!(["wall", "count", "start", "end"].into_iter().all(named));
}

#[test]
fn completions_of_four_shells_know_every_command() {
    let folder = folder();
    for (shell, mark) in [
        ("bash", "complete -F"),
        ("zsh", "#compdef cuelane"),
        ("fish", "complete -c cuelane"),
        ("powershell", "Register-ArgumentCompleter"),
    ] {
        let script = ok(folder.path(), &["completions", shell]);
        for due in [
            mark,
            "export",
            "show",
            "check",
            "swimmer",
            "list",
            "sample-rate",
        ] {
            assert!(script.contains(due), "{shell}: no {due}");
        }
        if shell == "bash" && cfg!(unix) {
            // Bash itself reads it.
            let file = write(folder.path(), "cuelane.bash", &script);
            let line = format!("source {} && complete -p cuelane", file.display());
            let output = Command::new("bash").args(["-c", &line]).output();
            let output = output.expect("tests run where bash is");
            assert!(
                output.status.success(),
                "{}",
                String::from_utf8_lossy(&output.stderr)
            );
        }
    }
}

#[test]
fn manual_pages_are_there_for_the_program_and_each_command() {
    let folder = folder();
    let page = ok(folder.path(), &["man"]);
    assert!(page.contains("\n.TH cuelane 1"), "{page}");
    for section in [".SH NAME", ".SH SYNOPSIS", ".SH DESCRIPTION"] {
        assert!(page.contains(section), "no {section}");
    }
    for command in [
        "export",
        "show",
        "check",
        "swimmer",
        "list",
        "completions",
        "man",
    ] {
        let page = ok(folder.path(), &["man", command]);
        assert!(
            page.contains(&format!("\n.TH cuelane-{command} 1")),
            "{page}"
        );
    }
}

#[test]
fn a_short_rest_is_warned_of_below_15_percent_and_not_at_it() {
    // Design 4: rest under 15 % of the swim; 100 s of swimming, so 15 s (arithmetic).
    let folder = folder();
    for (rest, warned) in [("14.999999999 s", true), ("15 s", false), ("15.5 s", false)] {
        let text = format!(
            "[[set]]\nswim = \"1:40\"\nrate = \"54 spm\"\nrepeats = 2\nrest = \"{rest}\"\n"
        );
        write(folder.path(), "rest.toml", text);
        let shown = ok(folder.path(), &["show", "rest.toml"]);
        assert_eq!(shown.contains("15 %"), warned, "{rest}:\n{shown}");
    }
}

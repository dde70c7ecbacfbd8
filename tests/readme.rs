//! The README and the pages of `docs` hold: their files parse, their commands run in order and print
//! what is shown, and every key, flag, preset and JSON key there is stands on one of them.

mod citations;
mod developers;
mod follow;

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use crate::support::page::{Block, all_pages, blocks, flags, page, pages, quoted, words};
use crate::support::{cuelane, ok, refused, write};
use cuelane::model::keys::{Key, Level, Takes, keys_on};
use serde_json::Value;

/// Runs a line of the page, which must be refused where the page shows an error.
fn run_line(folder: &Path, line: &str, is_refused: bool) -> String {
    let words = words(line);
    let args: Vec<&str> = words.iter().skip(1).map(String::as_str).collect();
    if is_refused {
        refused(folder, &args, 2)
    } else {
        ok(folder, &args)
    }
}

/// The keys that a file accepts at a place, told by the refusal of one that it does not.
fn accepted_keys(folder: &Path, args: &[&str], before: &str) -> Vec<String> {
    write(folder, "keys.toml", format!("{before}\nnonsense = 1\n"));
    let message = refused(folder, args, 2);
    let line = (message
        .lines()
        .find_map(|line| line.strip_prefix("accepted: ")))
    .expect("the refusal lists the keys");
    line.split(", ").map(Into::into).collect()
}

/// The block that the page saves under a name, saved in `folder`.
fn save(folder: &Path, blocks: &[Block], name: &str) -> String {
    let first = format!("# {name}: ");
    let block = (blocks.iter().find(|block| block.text.starts_with(&first))).expect(name);
    write(folder, name, &block.text);
    block.text.clone()
}

/// Invented data that pages share.
fn examples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("docs/examples")
}

/// All of it, in a folder.
fn with_examples(folder: &Path) {
    for example in fs::read_dir(examples()).expect("a folder of the tree") {
        let example = example.expect("readable");
        fs::copy(example.path(), folder.join(example.file_name())).expect("room");
    }
}

/// What the page's files name: a folder of own sounds, and a bed.
fn own_sounds(folder: &Path) {
    fs::create_dir(folder.join("my-sounds")).expect("the test's own folder can be written");
    let tone: Vec<i16> = (0..44_100)
        .map(|n| ((f64::from(n) * 0.06).sin() * 8000.0) as i16)
        .collect();
    for name in [
        "my-sounds/kick-left.wav",
        "my-sounds/kick-right.wav",
        "waves.wav",
    ] {
        let spec = hound::WavSpec {
            channels: 1,
            sample_rate: 44_100,
            bits_per_sample: 16,
            sample_format: hound::SampleFormat::Int,
        };
        let path = folder.join(name);
        let mut file = hound::WavWriter::create(path, spec).expect("a file of its own");
        for sample in &tone {
            file.write_sample(*sample).expect("room");
        }
        file.finalize().expect("room");
    }
}

fn keys_of(value: &Value, keys: &mut BTreeSet<String>) {
    match value {
        Value::Object(map) => map.iter().for_each(|(key, value)| {
            keys.insert(key.clone());
            keys_of(value, keys);
        }),
        Value::Array(items) => items.iter().for_each(|item| keys_of(item, keys)),
        _ => {}
    }
}

fn files_below(folder: PathBuf, found: &mut Vec<PathBuf>) {
    for entry in fs::read_dir(folder).expect("a folder of the tree") {
        let path = entry.expect("readable").path();
        if path.is_dir() {
            files_below(path, found)
        } else {
            found.push(path)
        }
    }
}

#[test]
fn the_two_commands_come_right_after_the_job_in_one_paragraph() {
    let page = page("README.md");
    let mut parts = page.split("\n\n");
    assert_eq!(parts.next(), Some("# cuelane"));
    let job = parts.next().expect("a paragraph");
    assert!(
        job.lines()
            .all(|line| line.starts_with(|c: char| c.is_alphanumeric())),
        "no plain paragraph:\n{job}"
    );
    assert_eq!(parts.next(), Some("```sh\nmake demo\nmake test\n```"));
    let makefile = crate::support::page::page("Makefile");
    for target in [
        "\ndemo:\n\t@sh .ci/setup build\n",
        "\ntest:\n\t@sh .ci/setup test\n",
    ] {
        assert!(makefile.contains(target), "the Makefile has no {target:?}");
    }
}

#[test]
fn every_key_there_is_stands_in_an_example() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let folder = folder.path();
    own_sounds(folder);
    let (blocks, _) = blocks(&all_pages());
    let session = save(folder, &blocks, "every-key.toml");
    let swimmer = save(folder, &blocks, "everything.toml");
    let has = |text: &str, key: &str| {
        text.lines().any(|line| {
            let line = line.split('#').next().unwrap_or_default().trim();
            let given = line
                .split_once('=')
                .is_some_and(|(name, _)| name.trim() == key);
            given || line == format!("[{key}]") || line == format!("[[{key}]]")
        })
    };
    let (show, swimmer_show) = (["show", "keys.toml"], ["swimmer", "show", "keys.toml"]);
    for (text, args, before) in [
        (&session, &show[..], ""),
        (&session, &show[..], "[defaults]"),
        (&session, &show[..], "[[set]]"),
        (&swimmer, &swimmer_show[..], ""),
        (&swimmer, &swimmer_show[..], "[player]"),
        (&swimmer, &swimmer_show[..], "[measured]"),
    ] {
        let keys = accepted_keys(folder, args, before);
        assert!(keys.len() > 4, "{before}: {keys:?}");
        for key in keys {
            // Rivals cannot stand together in a swimmer's file.
            let rival = key == "stroke_length" && has(text, "pace");
            assert!(has(text, &key) || rival, "no example has {before} {key}");
        }
    }
}

/// The commands that a help lists, but the one that prints it.
fn commands_in(help: &str) -> impl Iterator<Item = &str> {
    let list = help.split("\nCommands:\n").nth(1).unwrap_or_default();
    let list = list.split("\n\n").next().unwrap_or_default();
    let own = list.lines().filter(|line| !line.starts_with("   "));
    own.filter_map(|line| line.split_whitespace().next())
        .filter(|command| *command != "help")
}

#[test]
fn every_flag_is_on_the_page_and_no_other() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut known = BTreeSet::new();
    let mut commands = vec![String::new()];
    let mut asked = 0;
    while let Some(command) = commands.pop() {
        let args: Vec<&str> = command.split_whitespace().chain(["--help"]).collect();
        let help = ok(folder.path(), &args);
        known.extend(flags(&help));
        commands.extend(commands_in(&help).map(|below| format!("{command} {below}")));
        asked += 1;
    }
    assert!(asked > 25, "{asked}");
    let page = all_pages();
    let told = flags(&page);
    for flag in &known {
        assert!(told.contains(flag), "the page does not name {flag}");
    }
    let of_others = [
        "--test",
        "--path",
        "--locked",
        "--no-default-features",
        "--features",
        "--install",
    ];
    for flag in told
        .iter()
        .filter(|flag| !of_others.contains(&flag.as_str()))
    {
        assert!(known.contains(flag), "no command knows {flag}");
    }
}

#[test]
fn every_json_key_is_on_the_page() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let folder = folder.path();
    own_sounds(folder);
    let page = all_pages();
    let (blocks, prose) = blocks(&page);
    save(folder, &blocks, "every-key.toml");
    save(folder, &blocks, "everything.toml");
    with_examples(folder);
    fs::create_dir(folder.join("empty")).expect("the test's own folder can be written");
    let mut keys = BTreeSet::new();
    for line in [
        "show every-key.toml --swimmer everything.toml",
        "export every-key.toml --swimmer everything.toml --out tracks",
        "check tracks every-key.toml --swimmer everything.toml",
        "check empty every-key.toml --swimmer everything.toml",
        "swimmer show everything.toml",
        "list presets",
        "list sounds",
        "timing marks.csv --fps 59.94 --again second.csv",
        "timing cued.csv --session evening.toml --swimmer alex.toml --sync 4.20",
        "timing cued.csv --session evening.toml --swimmer alex.toml --film cued-film.ogg",
        "tap --times taps.txt",
        "log list",
        "css 200m=2:50 400m=5:56",
        "css 200m=2:50 400m=5:56 800m=12:30",
        "steps log.csv --set Steps",
        "trial new --swimmer alex.toml --out trial",
        "trial read trial-log.csv",
        "plan show alex-plan.toml --today 2027-04-06",
        "plan show alex-course.toml --today 2027-01-04",
        "plan export alex-plan.toml --week 5 --out weeks",
    ] {
        let output = (cuelane(folder).args(line.split(' ')).arg("--json").output())
            .expect("the program starts");
        let value: Value = serde_json::from_slice(&output.stdout).expect(line);
        keys_of(&value, &mut keys);
    }
    let told: BTreeSet<&str> = quoted(&prose).into_iter().collect();
    assert!(keys.len() > 150, "{keys:?}");
    for key in &keys {
        assert!(
            told.contains(key.as_str()),
            "the page does not name the JSON key {key}"
        );
    }
}

#[test]
fn the_table_of_presets_is_the_programs_own() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let list: Value =
        serde_json::from_str(&ok(folder.path(), &["list", "presets", "--json"])).expect("JSON");
    let word = |preset: &Value, key: &str| preset[key].as_str().expect(key).to_string();
    let rows: Vec<String> = (list["presets"].as_array().expect("a list").iter())
        .map(|preset| format!("| `{}` | {} |", word(preset, "name"), word(preset, "for")))
        .collect();
    let table = format!("| name | for |\n|---|---|\n{}\n", rows.join("\n"));
    let page = all_pages();
    assert!(page.contains(&table), "the table is to be\n{table}");
    for swimmer in list["swimmers"].as_array().expect("a list") {
        assert!(page.contains(&format!("`{}`", word(swimmer, "name"))));
    }
}

#[test]
fn every_link_leads_somewhere() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut links = 0;
    let developers = ("DEVELOPERS.md".to_string(), page("DEVELOPERS.md"));
    for (name, text) in pages().into_iter().chain([developers]) {
        let folder = root.join(&name);
        let folder = folder.parent().expect("a page is in a folder");
        for link in text.split("](").skip(1) {
            let link = link.split(')').next().expect("a link ends");
            assert!(folder.join(link).exists(), "{name} links to {link}");
            links += 1;
        }
    }
    assert!(links > 20, "{links}");
}

#[test]
fn the_first_pages_are_short() {
    for name in ["README.md", "DEVELOPERS.md"] {
        let lines = page(name).lines().count();
        assert!(lines <= 250, "{name} has {lines} lines");
    }
}

#[test]
fn the_pictures_of_the_pages_are_what_the_program_draws() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let folder = folder.path();
    with_examples(folder);
    for (picture, line) in [
        (
            "cycle.svg",
            "timing marks.csv --fps 59.94 --swimmer alex.toml --chart cycle.svg",
        ),
        (
            "weeks.svg",
            "plan chart alex-plan.toml --today 2027-04-06 --out weeks.svg",
        ),
        (
            "poster.svg",
            "show evening.toml --swimmer alex.toml --svg poster.svg",
        ),
    ] {
        run_line(folder, &format!("cuelane {line}"), false);
        let drawn = fs::read_to_string(folder.join(picture)).expect(picture);
        let kept = page(&format!("docs/pictures/{picture}"));
        assert!(drawn == kept, "{picture} is another now: make pictures");
    }
}

/// A line of the table of keys.
fn row_of(key: &Key) -> String {
    let stands = key.on.iter().filter_map(|level| match level {
        Level::Session => Some("session"),
        Level::Set => Some("set"),
        Level::Swimmer => Some("swimmer"),
        Level::Flag => Some("flag"),
        // Whatever a set may say; players and films have tables of their own.
        Level::Defaults | Level::Player | Level::Measured => None,
    });
    let takes = match key.takes {
        Takes::All => (key.kind)(),
        Takes::From(low, high) => format!("{}, {low} to {high}", (key.kind)()),
        Takes::Within(_, _, accepted) => accepted.into(),
        Takes::OneOf(words) => words.join(", "),
    };
    format!(
        "| `{}` | {} |{}: {takes} | {} | `{}` |",
        key.name,
        stands.collect::<Vec<_>>().join(", "),
        key.about,
        (key.built_in)().unwrap_or_default(),
        key.example
    )
}

#[test]
fn the_table_of_keys_is_the_programs_own() {
    let keys = keys_on(Level::Session)
        .into_iter()
        .chain(keys_on(Level::Set));
    let rows: Vec<String> = keys.map(row_of).collect();
    let table = format!(
        "| key | stands in | what it says | built in | example |\n|---|---|---|---|---|\n{}\n",
        rows.join("\n")
    );
    let page = all_pages();
    assert!(page.contains(&table), "the table is to be\n{table}");
}

#[test]
fn the_page_says_what_the_usual_features_bring() {
    let manifest: toml::Table = page("Cargo.toml").parse().expect("a manifest is TOML");
    let (readme, features) = (page("README.md"), &manifest["features"]);
    let paragraph = (readme.split("\n\n"))
        .find(|paragraph| paragraph.contains("--no-default-features` leaves out"))
        .expect("the page says how to build without system libraries")
        .split_whitespace()
        .collect::<Vec<_>>()
        .join(" ");
    let libraries = [("live", "cpal"), ("mp3", "LAME"), ("phone", "tungstenite")];
    let usual = features["default"].as_array().expect("a list");
    assert_eq!(usual.len(), libraries.len(), "{usual:?}");
    for (feature, library) in libraries {
        let brought = features[feature].to_string();
        assert!(brought.contains(&library.to_lowercase()), "{brought}");
        let says = format!("`{feature}` is {library},");
        assert!(paragraph.contains(&says), "{says}\n{paragraph}");
    }
}

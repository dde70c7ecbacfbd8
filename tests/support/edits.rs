//! Texts that hold, and ways to spoil them: what the property tests and the fuzz targets share.

/// One change of a text. Any three numbers are a change: they are taken modulo what is there.
#[derive(Debug, Clone, Copy)]
pub struct Edit {
    /// What is done: see [`apply`].
    pub kind: u8,
    /// Where.
    pub at: u32,
    /// With what.
    pub with: u32,
}

/// Numbers at which readers stumble.
const NUMBERS: [&str; 24] = [
    "0",
    "-0",
    "1",
    "-1",
    "2",
    "0.5",
    "0.000000001",
    "0.0000000001",
    "1e9",
    "nan",
    "inf",
    "0x1f",
    "1_000",
    "59.999999999",
    "160",
    "10",
    "4294967295",
    "4294967296",
    "18446744073709551615",
    "999999999999",
    "99999999999",
    "170141183460469231731687303715884105728",
    "1:30",
    "33 1/3",
];

/// Words of the files, of TOML, and of neither.
const WORDS: [&str; 60] = [
    "[[set]]\n",
    "[defaults]\n",
    "[player]\n",
    "[measured]\n",
    "\n",
    "\r\n",
    "\"",
    "\"\"\"",
    "'",
    "{",
    "}",
    "[",
    "]",
    ",",
    "=",
    "#",
    ".",
    " = ",
    "\\",
    "\u{feff}",
    "é",
    "⅓",
    "９",
    "\u{1b}",
    "\"none\"",
    "true",
    "2026-11-25",
    "spm",
    "cpm",
    " %",
    "+2 spm",
    "s/stroke",
    " m",
    " yd",
    " s",
    " min",
    " ms",
    " / 100 m",
    "m/stroke",
    "m/cycle",
    "repeats = 4000000000\n",
    "swim = \"45 s\"\n",
    "swim = \"100 m\"\n",
    "rate = { from = \"52 spm\", to = \"60 spm\", by = \"repeat\" }\n",
    "by = \"time\"",
    "rest = \"5 s\"\n",
    "rest_after = \"1:00\"\n",
    "send_off = \"1:30\"\n",
    "stroke_length = \"0.95 m/stroke\"\n",
    "pace = \"2:05 / 100 m\"\n",
    "push_off = \"0 s\"\n",
    "glide = \"0 m\"\n",
    "walls = \"pause\"\n",
    "cues = [\"arm\", \"kick\", \"fill\", \"breath\", \"wall\"]\n",
    "breath = { every = 5, side = \"left\" }\n",
    "fade = { on = 1, off = 1, per = \"length\" }\n",
    "lead = { arm = \"300 ms\", kick = \"-300 ms\" }\n",
    "catch_after_entry = { left = 0, right = 0.5 }\n",
    "right_entry = 0.35\n",
    "kick = \"six-beat\"\n",
];

/// A session with every key, that holds for [`SWIMMER`].
pub const SESSION: &str = r#"format = 1
title = "Evening"
for = "whoever it is"
lead_in = "30 s"
[defaults]
rate = "+2 spm"
pool = "25 yd"
rest = "20 s"
[[set]]
name = "Settle"
repeats = 4
swim = "50 m"
pace = "2:05 / 100 m"
rest_after = "1:00"
rate = { from = "52 spm", to = "60 spm", by = "repeat" }
pairing = "same-side"
kick = "four-beat"
three_on = "right"
catch_after_entry = { left = 0.32, right = 0.30 }
right_entry = 0.48
first_arm = "right"
push_off = "3 s"
glide = "4 m"
walls = "pause"
cues = ["arm", "kick", "fill", "breath", "wall"]
breath = { every = 3, side = "right" }
fade = { on = 8, off = 4, per = "length" }
lead = { arm = "0 ms", kick = "40 ms" }
say = "Easy. Finish the kick as the hand takes hold."
[[set]]
swim = "1:30"
send_off = "2:00"
rate = { from = "96 %", to = "27 cpm", by = "time" }
fade = "none"
lead = "-40 ms"
[[set]]
swim = "33 1/3 m"
rate = "1.1 s/stroke"
stroke_length = "22 strokes / 25 m"
"#;

/// A swimmer with every key.
pub const SWIMMER: &str = r#"format = 1
name = "Alex"
pool = "25 m"
rate = "54 spm"
pace = "2:05 / 100 m"
pairing = "opposite-side"
kick = "six-beat"
three_on = "left"
catch_after_entry = 0.3
right_entry = 0.5
first_arm = "left"
breath = { every = 2, side = "left" }
push_off = "2.5 s"
glide = "5 m"
lead = "20 ms"
[player]
format = "wav"
sample_rate_hz = 48000
bits = 24
channels = "mono"
swapped = true
files = "per-repeat"
largest_mb = 2000
name_length = 40
[measured]
date = "2026-11-20"
rate = "52.4 spm"
rate_interval = ["51.6 spm", "53.1 spm"]
catch_after_entry = { left = 0.34, right = 0.31 }
catch_after_entry_interval = { left = [0.32, 0.36], right = [0.29, 0.33] }
right_entry = 0.49
right_entry_interval = [0.47, 0.51]
pairing = "undecided"
kick = "two-beat"
"#;

/// Makes one change. `other` is a text to splice from.
pub fn apply(text: &mut String, other: &str, edit: Edit) {
    let Edit { kind, at, with } = edit;
    let word = WORDS[with as usize % WORDS.len()];
    let number = NUMBERS[with as usize % NUMBERS.len()];
    match kind % 11 {
        0 => replace_char(
            text,
            at,
            char::from_u32(with % 0x3000).unwrap_or('\u{fffd}'),
        ),
        1 => replace_char(text, at, char::from(b' ' + (with % 95) as u8)),
        2 => text.insert_str(boundary(text, at), word),
        3 => {
            let start = boundary(text, at);
            let end = boundary(text, (start as u32).saturating_add(with % 20));
            text.replace_range(start..end.max(start), "");
        }
        4 => replace_run(text, at, number, |c| c.is_ascii_digit() || c == '.'),
        5 => replace_run(text, at, word, |c| c.is_alphabetic() || c == '_'),
        6 => edit_lines(text, |mut lines| {
            lines.remove(at as usize % lines.len());
            lines.concat()
        }),
        7 => edit_lines(text, |mut lines| {
            let line = lines[at as usize % lines.len()];
            lines.insert(with as usize % lines.len(), line);
            lines.concat()
        }),
        8 => edit_lines(text, |mut lines| {
            let count = lines.len();
            lines.swap(at as usize % count, with as usize % count);
            lines.concat()
        }),
        9 => edit_lines(text, |lines| {
            let taken = other.split_inclusive('\n');
            let few = taken.skip(with as usize % 40).take(1 + with as usize % 7);
            let (before, after) = lines.split_at(at as usize % lines.len());
            before
                .iter()
                .copied()
                .chain(few)
                .chain(after.iter().copied())
                .collect()
        }),
        _ => text.truncate(boundary(text, at)),
    }
}

/// A place between two characters.
fn boundary(text: &str, at: u32) -> usize {
    let at = at as usize % (text.len() + 1);
    (0..=at)
        .rev()
        .find(|at| text.is_char_boundary(*at))
        .unwrap_or(0)
}

fn replace_char(text: &mut String, at: u32, new: char) {
    let start = boundary(text, at);
    if let Some(old) = text[start..].chars().next() {
        text.replace_range(start..start + old.len_utf8(), new.encode_utf8(&mut [0; 4]));
    }
}

/// Replaces the first run of such characters at or after a place.
fn replace_run(text: &mut String, at: u32, new: &str, of_run: impl Fn(char) -> bool) {
    let from = boundary(text, at);
    if let Some(start) = text[from..].find(&of_run).map(|start| start + from) {
        let length = text[start..].find(|c| !of_run(c));
        let end = length.map_or(text.len(), |length| start + length);
        text.replace_range(start..end, new);
    }
}

fn edit_lines(text: &mut String, edit: impl FnOnce(Vec<&str>) -> String) {
    if !text.is_empty() {
        *text = edit(text.split_inclusive('\n').collect());
    }
}

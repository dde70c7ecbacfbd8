//! What a person may write wrongly in a session. Every message names file, line and column, what
//! was found, what is accepted, and an example that works where the fault stood.

use crate::support::message::{Fault, Message, check, check_examples, table};
use crate::support::refused;

const SHOW: [&str; 3] = ["show", "evening.toml", "--events"];

/// The whole file for a faulty piece of text.
fn frame(name: &str, text: &str) -> String {
    match name {
        // Line 7, in a set that has all it needs from the defaults.
        "set" => format!(
            "[defaults]\nswim = \"50 m\"\nrate = \"54 spm\"\npace = \"2:05 / 100 m\"\n\n[[set]]\n{text}\n"
        ),
        // Line 4, in a set by time.
        "timed" => format!("[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\n{text}\n"),
        // Line 5, in the defaults of a set by time.
        "defaults" => {
            format!("[[set]]\nswim = \"45 s\"\n\n[defaults]\n{text}\nrate = \"54 spm\"\n")
        }
        "top" => format!("{text}\n[[set]]\nswim = \"45 s\"\nrate = \"54 spm\"\n"),
        "file" => format!("{text}\n"),
        other => panic!("no frame {other}"),
    }
}

const UNKNOWN_KEYS: &str = r#"
top 1:1      | titel = "Evening"     | unknown key "titel" ; "title"? | title, for, trial, lead_in, opening, sounds, bed, defaults, set
top 1:2      | [default]             | unknown key "default" ; "defaults"? | defaults, set
defaults 5:1 | paec = "2:05 / 100 m" | defaults: unknown key "paec" ; "pace"? | pool, pace, stroke_length
set 7:1      | repeets = 4           | set 1: unknown key "repeets" ; "repeats"? | name, repeats, swim
set 8:1      | name = "a"\nkik = "pull" | set 1: unknown key "kik" ; "kick"? | pairing, kick, three_on
set 7:1      | xyzzy = 4             | set 1: unknown key "xyzzy" | fade, lead, count, say
set 7:10     | rate = { form = "52 spm", to = "60 spm", by = "repeat" } | set 1, rate: unknown key "form" ; "from"? | from, to, by
set 8:12     | cues = ["breath"]\nbreath = { evry = 3 } | set 1, breath: unknown key "evry" ; "every"? | every, side
set 7:18     | fade = { on = 8, of = 4 } | set 1, fade: unknown key "of" ; "off"? | on, off, per
set 7:24     | lead = { arm = "0 ms", kik = "9 ms" } | set 1, lead: unknown key "kik" ; "kick"? | arm, kick, breath
set 7:35     | catch_after_entry = { left = 0.3, rihgt = 0.3 } | catch_after_entry: unknown key "rihgt" ; "right"? | left, right
set 7:22     | fade = { on = "été", of = 4 } | unknown key "of" ; "off"? | on, off, per
"#;

#[test]
fn unknown_keys_are_refused_with_the_nearest_known_one() {
    check(&SHOW, "evening.toml", &table(UNKNOWN_KEYS, frame));
}

const WRONG_TYPES: &str = r#"
top 1:9  | title = 3          | title: found 3                | text in quotes
top 1:10 | format = "1"       | format: found "1"             | 1
top 1:10 | format = 2         | format: found 2               | 1
top 1:12 | defaults = 3       | defaults: found 3             | a table
set 7:8  | name = ["a"]       | set 1, name: found a list     | text in quotes
set 7:11 | repeats = "4"      | set 1, repeats: found "4"     | a whole number
set 7:11 | repeats = 4.5      | set 1, repeats: found 4.5     | a whole number
set 7:11 | repeats = 0x1f     | set 1, repeats: found 0x1f    | a whole number
set 7:8  | swim = true        | set 1, swim: found true       | a distance ; a time
set 7:8  | rate = ["54 spm"]  | set 1, rate: found a list     | 10 to 160 spm
set 7:8  | rest = 2026-11-25  | set 1, rest: found 2026-11-25 | a time
set 7:8  | kick = 2           | set 1, kick: found 2          | "two-beat" ; "pull"
set 7:8  | cues = "arm"       | set 1, cues: found "arm"      | a list ; arm, kick, fill, breath, wall
set 7:16 | cues = ["arm", 3]  | set 1, cues: found 3          | "arm", "kick", "fill", "breath", "wall"
set 8:10 | cues = ["breath"]\nbreath = 3 | set 1, breath: found 3 | a table
set 7:8  | fade = "8 on"      | set 1, fade: found "8 on"     | a table
set 7:8  | lead = true        | set 1, lead: found true       | a time
set 7:15 | right_entry = true | set 1, right_entry: found true | 0.35 to 0.65
set 7:21 | catch_after_entry = "0.3"  | catch_after_entry: found "0.3" | 0 to 0.5
set 7:7  | say = { text = "Easy" }    | set 1, say: found a table      | text in quotes
set 8:20 | cues = ["breath"]\nbreath = { every = "3" } | breath, every: found "3" | 2 to 5
"#;

#[test]
fn wrong_types_are_refused() {
    check(&SHOW, "evening.toml", &table(WRONG_TYPES, frame));
}

const BARE_NUMBERS: &str = r#"
set 7:8  | rate = 54             | 54, a bare number ; "54 spm" ; "54 cpm"       | 10 to 160 spm ; cpm ; s/stroke ; s/cycle
set 7:8  | rate = "54.5"         | 54.5, a bare number ; "54.5 spm" ; "54.5 cpm" | 10 to 160 spm
set 7:8  | rate = "+2"           | +2, a bare number ; "+2 spm" ; "+2 cpm"       | "+2 spm", "-3 spm", "96 %"
set 7:17 | rate = { from = 52, to = "60 spm", by = "repeat" } | rate, from: found 52, a bare number ; "52 spm" ; "52 cpm" | 10 to 160 spm
set 7:8  | swim = 50             | 50, a bare number ; "50 m" ; "50 yd" ; "50 s" ; "50 min" | 50 m ; 45 s
set 7:8  | swim = "50"           | 50, a bare number ; "50 m" ; "50 yd" ; "50 s" ; "50 min" | 50 m ; 45 s
set 7:8  | pool = 25             | 25, a bare number ; "25 m" ; "25 yd"          | 25 yd
set 7:8  | pace = 125            | 125, a bare number ; "125 s / 100 m"          | 2:05 / 100 m ; 1:50 / 100 yd
set 7:8  | pace = "2:05"         | "2:05" ; "2:05 / 100 m"                       | 2:05 / 100 m ; 1:50 / 100 yd
set 7:8  | pace = "2:05 / 100"   | 100, a bare number ; "100 m" ; "100 yd"       | 2:05 / 100 m ; 1:50 / 100 yd
set 7:17 | stroke_length = 0.95  | 0.95, a bare number ; "0.95 m/stroke" ; "0.95 m/cycle" | 1.90 m/cycle
set 7:8  | rest = 20             | 20, a bare number ; "20 s" ; "20 min"         | 45 s ; 1:30
set 7:14 | rest_after = "60"     | 60, a bare number ; "60 s" ; "60 min"         | 45 s ; 1:30
set 7:12 | send_off = 90         | 90, a bare number ; "90 s" ; "90 min"         | 45 s ; 1:30
top 1:11 | lead_in = 60          | 60, a bare number ; "60 s" ; "60 min"         | 45 s ; 1:30
set 7:12 | push_off = 3          | 3, a bare number ; "3 s"                      | a time
set 7:9  | glide = 4             | 4, a bare number ; "4 m" ; "4 yd"             | a length in m or yd
set 7:8  | lead = 40             | 40, a bare number ; "40 ms"                   | ms
"#;

#[test]
fn bare_numbers_are_refused_with_the_units_they_could_have_meant() {
    check(&SHOW, "evening.toml", &table(BARE_NUMBERS, frame));
}

// Strokes counted as cycles: the message of a rate shows both.
const OUT_OF_RANGE: &str = r#"
set 7:8  | rate = "9.9 spm"      | rate: found 9.9 spm (4.95 cycles/min), outside 10 to 160 spm  | 10 to 160 spm
set 7:8  | rate = "161 spm"      | rate: found 161 spm (80.5 cycles/min), outside 10 to 160 spm  | 10 to 160 spm
set 7:8  | rate = "96 cpm"       | rate: found 192 spm (96 cycles/min), outside 10 to 160 spm    | 10 to 160 spm
set 7:8  | rate = "0 s/stroke"   | rate: found 0 s                     | 10 to 160 spm
set 7:11 | repeats = 0           | repeats: found 0                    | from 1
set 7:11 | repeats = -4          | repeats: found -4                   | from 1
set 8:36 | repeats = 6\ncompare = { rate = "54 spm", at = [0] } | compare, at: found 0 | from 1 ; ascending
set 8:39 | repeats = 6\ncompare = { rate = "54 spm", at = [3, 3] } | compare, at: found 3, after 3 | ascending
set 8:36 | repeats = 6\ncompare = { rate = "54 spm", at = [2.5] } | compare, at: found 2.5 | from 1 ; ascending
set 8:35 | repeats = 6\ncompare = { rate = "54 spm", at = [] } | compare, at: found an empty list | from 1 ; ascending
set 8:35 | repeats = 6\ncompare = { rate = "54 spm", at = 3 } | compare, at: found 3 | from 1 ; ascending
set 8:11 | repeats = 6\ncompare = { rate = "54 spm" } | compare: a comparison needs rate and at | "none"
set 8:20 | repeats = 6\ncompare = { rate = 54, at = [3] } | compare, rate: found 54, a bare number ; 54 cpm | 10 to 160 spm
set 8:11 | repeats = 6\ncompare = { rate = "54 spm", at = [7] } | compare: repeat 7 ; repeats is 6 | from 1 to 6, not all
set 8:11 | repeats = 2\ncompare = { rate = "54 spm", at = [1, 2] } | compare: every repeat | from 1 to 2, not all
set 7:11 | compare = { rate = "54 spm", at = [1] } | compare: every repeat | "none"
set 8:11 | repeats = 6\ncompare = { rate = "+1 spm", at = [3] } | compare: found "+1 spm" ; no swimmer's rate | a rate itself
set 7:8  | swim = "0 lengths"    | swim: found "0 lengths"             | a distance ; 2 lengths ; a time
set 7:8  | swim = "1.5 lengths"  | swim: found "1.5 lengths" ; whole   | a distance ; 2 lengths ; a time
set 7:8  | swim = "-2 lengths"   | swim: found "-2 lengths" ; from 1   | a distance ; 2 lengths ; a time
set 7:8  | pool = "2 lengths"    | pool: found "2 lengths" ; only in a set's swim | in m or yd
set 7:9  | glide = "1 length"    | glide: found "1 length" ; only in a set's swim | a length in m or yd
set 7:8  | swim = "0 m"          | swim: found "0 m"                   | a distance
set 7:8  | swim = "-50 m"        | swim: found "-50 m"                 | a distance
set 7:8  | pool = "4 m"          | pool: found 4 m                     | 5 to 1000 m
set 7:8  | pool = "2000 yd"      | pool: found 2000 yd                 | 5 to 1000 m
set 7:8  | pace = "0 s / 100 m"  | pace: found "0 s / 100 m"           | a time over a distance
set 7:17 | stroke_length = "9 m/stroke" | found "9 m/stroke" ; outside 0 to 5 m | m/stroke
set 7:21 | catch_after_entry = 0.6 | catch_after_entry: found 0.6      | 0 to 0.5
set 7:21 | catch_after_entry = 0.1234567890123456789012345678 | more than 27 decimals     | 0 to 0.5
set 7:15 | right_entry = 0.7     | right_entry: found 0.7              | 0.35 to 0.65
set 7:12 | push_off = "61 s"     | push_off: found 1:01                | 0 to 60 s
set 7:9  | glide = "30 m"        | 30 m ; 25 m                         | shorter than the pool
set 7:8  | lead = "400 ms"       | lead: found 400 ms                  | -300 ms ; 300 ms
set 7:17 | lead = { kick = "-1 s" } | lead, kick: found -1000 ms       | -300 ms ; 300 ms
set 7:15 | fade = { on = 0, off = 4 } | fade, on: found 0              | from 1
set 7:8  | name = ""             | name: found an empty text           | 1 to 1000 characters
set 7:8  | name = "a\u0007b"     | name: found ; cannot be shown       | can be shown
"#;

#[test]
fn values_out_of_range_are_refused_with_the_range() {
    check(&SHOW, "evening.toml", &table(OUT_OF_RANGE, frame));
}

// A hair past a limit must not read as the limit. 300 strokes a minute by 49.9 spm is 6.012 s;
// 50 m at 125 s for 99.99998 m take 62.5000125 s.
const NEAR_A_LIMIT: &str = r#"
set 7:8  | rate = "9.999999999 spm"   | rate: found 9.999999999 spm (4.999999999 cycles/min), outside 10   | 10 to 160 spm
set 7:8  | rate = "160.000000001 spm" | rate: found 160.000000001 spm (80.000000000 ; cycles/min), outside 10 | 10 to 160 spm
set 7:8  | rate = "0.374999999 s/stroke" | rate: found 160.0000004 spm (80.0000002 cycles/min), outside 10 | 10 to 160 spm
set 7:8  | lead = "300.04 ms"         | lead: found 300.04 ms               | -300 ms ; 300 ms
set 7:8  | lead = "-300.04 ms"        | lead: found -300.04 ms              | -300 ms ; 300 ms
set 7:17 | stroke_length = "5.0001 m/stroke" | 5.0001 m a stroke, outside 0 to 5 m | m/stroke
set 8:10 | cues = ["breath"]\nbreath = { every = 5 }\nrate = "49.9 spm" | 6.01 s ; over 6 s | 6 s at the lowest rate
set 8:12 | pace = "2:05 / 99.99998 m"\nsend_off = "1:07.5" | found 1:07.5 ; takes 62.50001 s, | 67.50001 s or more
file 3:8 | lead_in = "5 s"\n[[set]]\nswim = "719:53"\nrate = "54 spm" | at 719:58, 3 s before the track: ; over 12 h | at most 12 h
file 3:8 | lead_in = "5 s"\n[[set]]\nswim = "719:55.2"\nrate = "54 spm" | at 720:00.2: ; over 12 h | at most 12 h
"#;

#[test]
fn what_is_a_hair_past_a_limit_does_not_read_as_the_limit() {
    check(&SHOW, "evening.toml", &table(NEAR_A_LIMIT, frame));
}

/// A free text that does not hold: the message says what is wrong with it, and the example is of
/// the key itself.
#[test]
fn a_refused_text_is_too_long_or_cannot_be_shown_and_has_its_own_example() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let long = "x".repeat(1001);
    let texts = [
        (long.as_str(), "found 1001 characters, too long"),
        (
            "a\\u0007b",
            "found \"a\\u{7}b\", with \\u{7}, which cannot be shown",
        ),
        (" ", "found an empty text"),
    ];
    let keys = [
        ("top", "title"),
        ("top", "for"),
        ("top", "trial"),
        ("top", "sounds"),
        ("set", "name"),
        ("set", "say"),
    ];
    for (text, found) in texts {
        for (name, key) in keys {
            let text = frame(name, &format!("{key} = \"{text}\""));
            crate::support::write(folder.path(), "evening.toml", text);
            let message = refused(folder.path(), &SHOW, 2);
            let message = Message::read(&message);
            assert!(
                message.first.ends_with(&format!("{key}: {found}")),
                "{message:?}"
            );
            let own = message.example.starts_with(&format!("{key} = \""));
            assert!(
                own && message.accepted.starts_with("1 to 1000"),
                "{message:?}"
            );
        }
    }
}

const WRONG_WORDS: &str = r#"
set 7:11 | pairing = "same side"  | pairing: found "same side" ; "same-side"? | "same-side", "opposite-side"
set 7:8  | kick = "two-beta"      | kick: found "two-beta" ; "two-beat"?      | "two-beat", "four-beat", "six-beat", "pull"
set 7:12 | three_on = "both"      | three_on: found "both"                    | "left", "right"
set 7:13 | first_arm = "rigth"    | first_arm: found "rigth" ; "right"?       | "left", "right"
set 7:9  | walls = "stop"         | walls: found "stop"                       | "through", "pause"
set 7:16 | cues = ["arm", "kik"]  | cues: found "kik" ; "kick"?               | "arm", "kick", "fill", "breath", "wall"
set 7:33 | fade = { on = 8, off = 4, per = "cycles" } | fade, per: found "cycles" ; "cycle"? | "cycle", "length"
set 7:47 | rate = { from = "52 spm", to = "60 spm", by = "repeats" } | rate, by: found "repeats" ; "repeat"? | "repeat", "time"
set 7:8  | rate = "54 bpm"        | rate: found "54 bpm"                      | 10 to 160 spm
set 7:8  | rate = "54,5 spm"      | rate: found 54,5 ; comma ; point          | 10 to 160 spm
set 7:8  | swim = "50 km"         | swim: found "50 km"                       | 50 m ; 45 s
set 7:8  | rest = "1:75"          | rest: found "1:75"                        | 1:30
"#;

#[test]
fn unknown_words_are_refused_with_the_words_there_are() {
    check(&SHOW, "evening.toml", &table(WRONG_WORDS, frame));
}

const MISSING: &str = r#"
set 7:8  | rate = { from = "52 spm", to = "60 spm" } | rate: a rate table needs from, to and by | "repeat" ; "time"
set 7:21 | catch_after_entry = { left = 0.3 } | needs left and right        | one value for both
set 8:10 | cues = ["breath"]\nbreath = { side = "left" } | needs every      | 2 to 5
set 7:8  | fade = { on = 8 }                  | needs on and off            | "none"
set 7:8  | rate = "+2 spm"                    | "+2 spm" ; relative         | --swimmer FILE
set 7:8  | rate = "96 %"                      | "96 %" ; relative           | --swimmer FILE
set 7:8  | rate = { from = "54 spm", to = "+2 spm", by = "time" } | "+2 spm" ; relative | --swimmer FILE
file 1:1 | [[set]]\nrate = "54 spm"\npace = "2:05 / 100 m" | set 1 ; no swim is given | a distance, lengths of the pool or a time
file 1:1 | [[set]]\nswim = "45 s"             | set 1 ; no rate is given    | the set ; --swimmer FILE ; --stroke-rate
file 1:1 | [[set]]\nswim = "50 m"\nrate = "54 spm" | 50 m ; neither pace nor stroke_length | the swimmer's file ; the set
file -   | # nothing but a remark             | no set                      | [[set]]
file -   | [defaults]\nrate = "54 spm"        | no set                      | [[set]]
"#;

#[test]
fn what_is_missing_is_named_with_the_places_where_it_may_stand() {
    check(&SHOW, "evening.toml", &table(MISSING, frame));
}

const NO_TOML: &str = r#"
set 7:8  | rate = 54 spm                     | not TOML                | key = value
set 7:15 | rate = "54 spm                    | not TOML                | key = value
set 8:1  | rest = "20 s"\nrest = "30 s"      | not TOML: duplicate key | key = value
file 1:7 | set = 3                           | set: found 3            | [[set]]
file 1:7 | set = [3]                         | set: found a list       | [[set]]
file 1:1 | [set]\nswim = "45 s"              | set: found a table      | [[set]]
"#;

#[test]
fn what_is_no_toml_is_refused_where_it_stops_being_toml() {
    check(&SHOW, "evening.toml", &table(NO_TOML, frame));
}

const RIVALS: &str = r#"
set 8:17      | pace = "2:00 / 100 m"\nstroke_length = "1 m/stroke" | pace and stroke_length | farther level
defaults 6:17 | pace = "2:00 / 100 m"\nstroke_length = "1 m/stroke" | pace and stroke_length | farther level
set 8:8       | send_off = "1:30"\nrest = "20 s"                    | rest and send_off      | farther level
defaults 6:8  | send_off = "1:30"\nrest = "20 s"                    | rest and send_off      | farther level
"#;

#[test]
fn rivals_on_one_level_are_refused_at_the_later_of_them() {
    check(&SHOW, "evening.toml", &table(RIVALS, frame));
}

// 50 m at 2:05 / 100 m take 62.5 s; so a send-off of 67.5 s is the least.
const TOO_SHORT: &str = r#"
set 7:12      | send_off = "1:07.4"       | set 1 ; send_off: found 1:07.4 ; takes 1:02.5 | 1:07.5
timed 4:12    | send_off = "49 s"         | send_off: found 49 s ; takes 45 s   | 50 s
defaults 5:12 | send_off = "49 s"         | set 1 ; found 49 s ; takes 45 s     | 50 s
set 7:8       | rest = "4.9 s"            | set 1 ; rest: found 4.9 s           | 5 s or more
set 7:8       | rest = "-20 s"            | set 1 ; rest: found -20 s           | 5 s or more
set 7:14      | rest_after = "4.9 s"      | set 1 ; rest_after: found 4.9 s     | 5 s or more
top 1:11      | lead_in = "4.9 s"         | lead_in: found 4.9 s                | 5 s or more
set 7:8       | swim = "2 s"              | set 1 ; 2 s ; push-off (3 s) ; 54 spm | one whole cycle
set 7:8       | swim = "4 m"              | set 1 ; 5 s ; push-off (3 s) ; 54 spm | one whole cycle
set 7:8       | swim = "4 m"\nstroke_length = "1 m/stroke" | set 1 ; 4 m       | longer than its glides
"#;

#[test]
fn times_too_short_are_refused_with_the_least_there_is() {
    check(&SHOW, "evening.toml", &table(TOO_SHORT, frame));
}

const TOO_LONG: &str = r#"
set 7:11 | repeats = 4000000000           | set 1 ; of 4000000000 ; over 12 h    | at most 12 h
set 7:11 | repeats = 4294967296           | repeats: found 4294967296            | 1 to 4294967295
set 7:8  | swim = "13 h"                  | set 1 ; over 12 h                    | at most 12 h
set 7:8  | swim = "99999999999 m"         | set 1 ; over 12 h                    | at most 12 h
set 7:8  | swim = "999999999999 m"        | swim: found                          | a distance
set 10:8 | swim = "11 h"\n\n[[set]]\nswim = "1 h" | set 2 ; over 12 h            | at most 12 h
"#;

#[test]
fn a_session_over_12_hours_is_refused_before_it_is_laid_out() {
    check(&SHOW, "evening.toml", &table(TOO_LONG, frame));
}

// Odd numbers end on the other hand: every 5 at 47 spm is 2.5 cycles of 120/47 s.
const BREATH: &str = r#"
set 8:20      | cues = ["breath"]\nbreath = { every = 8 } | found 8 ; breath-holding ; loss of consciousness  | 2 to 5 ; 6 s
set 8:20      | cues = ["breath"]\nbreath = { every = 6 } | found 6 ; breath-holding ; loss of consciousness  | 2 to 5 ; 6 s
set 8:20      | cues = ["breath"]\nbreath = { every = 1 } | found 1                                           | 2 to 5
set 8:20      | cues = ["breath"]\nbreath = { every = 0 } | found 0                                           | 2 to 5
set 8:10      | cues = ["breath"]\nbreath = { every = 5 }\nrate = "47 spm" | 47 spm ; 6.4 s ; over 6 s ; breath-holding | 6 s at the lowest rate
set 9:10      | cues = ["breath"]\nrate = { from = "60 spm", to = "30 spm", by = "time" }\nbreath = { every = 4 } | 30 spm ; 8.0 s ; breath-holding | 6 s at the lowest rate
defaults 5:20 | breath = { every = 9 } | found 9 ; breath-holding                          | 2 to 5
set 7:8       | cues = ["arm", "breath"] | cues has "breath" ; no breath table             | both, or neither
set 7:10      | breath = { every = 3 }   | breath table ; cues has no "breath"             | both, or neither
set 8:8       | breath = "none"\ncues = ["breath"] | cues has "breath" ; no breath table   | both, or neither
"#;

#[test]
fn long_gaps_between_breaths_are_refused_with_the_caution() {
    check(&SHOW, "evening.toml", &table(BREATH, frame));
}

const BY_TIME: &str = r#"
timed 4:8    | cues = ["arm", "wall"] | set 1 ; "wall" with a swim by time (45 s)    | a swim by distance
timed 4:9    | walls = "pause"        | set 1 ; "pause" with a swim by time (45 s)   | a swim by distance
defaults 5:9 | walls = "pause"        | set 1 ; "pause" with a swim by time (45 s)   | a swim by distance
timed 4:8    | fade = { on = 1, off = 1, per = "length" } | per length with a swim by time (45 s) | a swim by distance
"#;

#[test]
fn what_needs_walls_is_refused_for_a_swim_by_time() {
    check(&SHOW, "evening.toml", &table(BY_TIME, frame));
}

#[test]
fn every_example_works_where_the_fault_stood() {
    let tables = [
        UNKNOWN_KEYS,
        WRONG_TYPES,
        BARE_NUMBERS,
        OUT_OF_RANGE,
        NEAR_A_LIMIT,
        WRONG_WORDS,
        MISSING,
        RIVALS,
        TOO_SHORT,
        TOO_LONG,
        BREATH,
        BY_TIME,
    ];
    let faults: Vec<Fault> = tables.iter().flat_map(|rows| table(rows, frame)).collect();
    check_examples(&SHOW, "evening.toml", &faults);
}

/// What stands on the edge of a refusal is accepted.
#[test]
fn what_stands_just_inside_a_limit_holds() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for (name, line) in [
        ("set", "send_off = \"1:07.5\""),
        ("timed", "send_off = \"50 s\""),
        ("set", "rest = \"5 s\""),
        ("set", "rest = \"20 s\"\nsend_off = \"none\""),
        ("top", "lead_in = \"5 s\""),
        // Every 4 at 40 spm is two cycles of 3 s: 6 s.
        (
            "set",
            "rate = \"40 spm\"\ncues = [\"breath\"]\nbreath = { every = 4 }",
        ),
        ("set", "rate = \"10 spm\""),
        ("set", "rate = \"160 spm\""),
        ("top", "[defaults]\nbreath = { every = 3 }"),
    ] {
        let text = frame(name, line);
        crate::support::write(folder.path(), "evening.toml", &text);
        let output = crate::support::run(folder.path(), &SHOW);
        let message = String::from_utf8_lossy(&output.stderr);
        assert!(output.status.success(), "{text}{message}");
    }
}

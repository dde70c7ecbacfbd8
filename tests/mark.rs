//! The marking page in a real browser: headless Chromium, driven over the WebDriver protocol by
//! `mark/scenarios.py` with Python's standard library. The films are made by ffmpeg; each frame
//! carries its number as black and white blocks, which the test reads back from the picture, and
//! ffprobe tells the time of each frame. So what a mark should be comes from outside the page.

pub mod found;

use std::fs;
use std::path::Path;

use crate::support::{ok, refused, run};
use cuelane::files::parse_marks;
use cuelane::model::cue::Side;
use cuelane::model::record::{FilmSync, FoundPlace, FoundSync, Mark, Marks};
use found::{EVENTS, frame, half_a_frame, list, numbers, rows, scenario, scenario_with_cues, text};
use serde_json::Value;

/// The word of the file for a mark.
fn mark_word(mark: &Mark) -> String {
    let side = match mark.side {
        Side::Left => "left",
        Side::Right => "right",
    };
    format!("{side}_{}", mark.moment.word())
}

/// Each of the ten events was marked on the frame seen, and saved within half a frame of it.
/// Gives the worst error in seconds.
fn marks_hold(csv: &Value, seen: &Value, times: &Value) -> f64 {
    let (rows, times) = (rows(csv), numbers(times));
    assert_eq!(rows.len(), EVENTS.len());
    let mut worst: f64 = 0.0;
    for ((row, event), seen) in rows.iter().zip(EVENTS).zip(list(seen)) {
        let frame = frame(seen);
        let error = (row.0 - times[frame]).abs();
        assert_eq!(row.1, event);
        assert!(
            error < half_a_frame(&times, frame),
            "frame {frame}: {row:?}"
        );
        worst = worst.max(error);
    }
    worst
}

#[test]
#[allow(clippy::print_stdout)] // the figures are for people: cargo test -- --nocapture
fn marks_come_out_within_half_a_frame_also_at_a_varying_frame_rate() {
    let found = scenario("mark");
    let films = list(&found["marked"]);
    assert_eq!(films.len(), 3);
    for film in films {
        let worst = marks_hold(&film["csv"], &film["seen"], &film["times"]);
        println!("{}: worst error {:.6} s", film["film"], worst);
        // What the page saves is what `timing` reads, mark for mark.
        let csv = text(&film["csv"]);
        let read = parse_marks("marks.csv", csv, None).expect("timing reads the page's marks");
        let read: Vec<_> = (read.marks.iter())
            .map(|mark| (mark.time_s, mark_word(mark), mark.pass))
            .collect();
        assert_eq!(read, rows(&film["csv"]));
        // The browser tells the time of the frame itself, so nothing is lost but digits.
        assert!(worst < 2e-6, "{}: {worst}", film["film"]);
        let read = parse_marks("marks.csv", csv, None).expect("as before");
        assert_eq!(read.film.name.as_deref(), Some(text(&film["film"])));
        frame_rate_holds(&read, &numbers(&film["times"]), csv);
    }
    let said = text(&found["said"]);
    assert!(
        said.ends_with("Next: cuelane timing phone-marks.csv"),
        "{said}"
    );
}

/// The file says how long the frames of its marks last, as ffprobe has their times.
fn frame_rate_holds(read: &Marks, times: &[f64], csv: &str) {
    let mut squares = Vec::new();
    for line in csv.lines().skip(1) {
        let fields: Vec<&str> = line.split(',').collect();
        let Ok(length) = fields[3].parse::<f64>() else {
            assert_eq!(fields[3], "", "{line}");
            continue;
        };
        let time: f64 = fields[0].parse().expect("a time");
        let at = (times.iter()).position(|frame| (frame - time).abs() < 2e-6);
        let at = at.expect("a frame's own time");
        let is = |gap: f64| (gap - length).abs() < 3e-6;
        assert!(
            is(times[at] - times[at - 1]) || is(times[at + 1] - times[at]),
            "{line}"
        );
        squares.push(length * length);
    }
    assert!(squares.len() >= 5, "{csv}");
    let rate = (squares.len() as f64 / squares.iter().sum::<f64>()).sqrt();
    let told = read.frame_rate_hz.expect("the file tells it");
    assert!((told - rate).abs() < 1e-6 * rate, "{told} and {rate}");
}

#[test]
fn every_step_is_one_frame_also_where_the_frame_rate_changes() {
    let found = scenario("walk");
    for walk in list(&found["walks"]) {
        let times = numbers(&walk["times"]);
        let steps = usize::try_from(walk["steps"].as_u64().expect("a count")).expect("small");
        let seen = list(&walk["seen"]);
        assert_eq!(seen.len(), 2 * steps + 3);
        let first = frame(&seen[0][0]);
        for (step, one) in seen.iter().enumerate() {
            // On by `steps` frames, then back by three more, as far as the film goes.
            let should = if step < steps {
                first + step
            } else {
                (first + 2 * steps - 2).saturating_sub(step)
            };
            let film = text(&walk["film"]);
            assert_eq!(frame(&one[0]), should, "{film}, step {step}");
            let time = one[1].as_f64().expect("a time");
            assert!(
                (time - times[should]).abs() < 2e-6,
                "{film}, step {step}: {time}"
            );
        }
    }
    assert_eq!(found["tens"], 140);
    assert_eq!(
        found["first"],
        serde_json::json!(["That is the first frame.", 0])
    );
    assert_eq!(
        found["last"],
        serde_json::json!(["That is the last frame.", 149])
    );
}

#[test]
fn a_browser_that_tells_no_frame_times_works_by_an_asked_frame_rate() {
    let found = scenario("without-frame-times");
    assert_eq!(found["asked"], true);
    marks_hold(&found["csv"], &found["seen"], &found["times"]);
}

#[test]
fn slow_play_marks_real_frames_and_learns_their_times() {
    let found = scenario("play");
    assert_eq!(found["playing"], true);
    let times = numbers(&found["times"]);
    let index = |time: f64| times.iter().position(|at| (at - time).abs() < 2e-6);
    let rows = rows(&found["csv"]);
    assert_eq!(rows.len(), 2);
    let at = index(rows[0].0).expect("marked while playing: a frame's own time");
    assert!(times[at] > 0.3 && times[at] < 0.6, "{}", times[at]);
    assert_eq!(index(rows[1].0), Some(frame(&found["seen"])));
    assert_eq!(found["skips"], false);
    let learnt = list(&found["learnt"]);
    assert!(learnt.len() >= 5, "{} pairs", learnt.len());
    for pair in learnt {
        let pair = numbers(pair);
        let [earlier, later] = [pair[0], pair[1]].map(|time| index(time).expect("a frame"));
        assert_eq!(later, earlier + 1, "{pair:?} are no neighbours");
    }
}

/// Marks at frames 10, 20 and 30 of an even film at 30 frames a second, then changed.
fn edits_hold(found: &Value) {
    let times = |frames: &[u32]| -> Vec<f64> {
        let ms = |frame: &u32| (f64::from(*frame) / 30.0 * 1000.0).round() / 1000.0;
        frames.iter().map(ms).collect()
    };
    // What was done, the frames of the marks, their passes, the frame in the picture.
    let should: [(&str, &[u32], &[u32], u64); 11] = [
        (
            "on10 left_entry on10 left_catch on10 right_entry",
            &[10, 20, 30],
            &[1, 1, 1],
            30,
        ),
        ("moveOn", &[10, 20, 31], &[1, 1, 1], 31),
        ("moveBack moveBack", &[10, 20, 29], &[1, 1, 1], 29),
        ("undo", &[10, 20, 30], &[1, 1, 1], 29),
        ("earlierMark", &[10, 20, 30], &[1, 1, 1], 20),
        ("delete", &[10, 30], &[1, 1], 20),
        ("undo", &[10, 20, 30], &[1, 1, 1], 20),
        (
            "back back split on10 right_kick",
            &[10, 20, 28, 30],
            &[1, 2, 2, 2],
            28,
        ),
        ("join", &[10, 20, 28, 30], &[1, 1, 1, 1], 28),
        ("undo", &[10, 20, 28, 30], &[1, 2, 2, 2], 28),
        ("right_kick", &[10, 20, 28, 30], &[1, 2, 2, 2], 28),
    ];
    let steps = list(&found["steps"]);
    assert_eq!(steps.len(), should.len());
    for (step, (done, frames, passes, shown)) in steps.iter().zip(should) {
        assert_eq!(text(&step[0]), done);
        let rows = rows(&step[2]);
        let saved: Vec<f64> = rows.iter().map(|row| row.0).collect();
        assert_eq!(saved, times(frames), "{done}");
        let saved: Vec<u32> = rows.iter().map(|row| row.2).collect();
        assert_eq!(saved, passes, "{done}");
        assert_eq!(step[3], shown, "{done}");
    }
    let events: Vec<String> = rows(&steps[7][2]).into_iter().map(|row| row.1).collect();
    assert_eq!(
        events,
        ["left_entry", "left_catch", "right_kick", "right_entry"]
    );
    assert_eq!(
        text(&steps[4][1]),
        "Mark 2 of 3: left catch, 0.667 s, pass 1."
    );
    assert_eq!(text(&steps[10][1]), "right kick is marked here already.");
}

/// A coach who sees of a frame only whether the moment has come marks a swim by eye and led by the
/// page. Gives how many times fewer keys move from frame to frame, and how many fewer there are.
#[allow(clippy::print_stdout)] // the figures are for people: cargo test -- --nocapture
fn coach_is_led(name: &str) -> (f64, f64) {
    let found = scenario(name);
    let times = numbers(&found["times"]);
    let truth: Vec<(f64, String, u32)> = (list(&found["truth"]).iter())
        .map(|one| {
            let pass = frame(&one[2]).try_into().expect("a small number");
            (times[frame(&one[0])], text(&one[1]).into(), pass)
        })
        .collect();
    assert!(truth.len() >= 16);
    let costs = ["by_eye", "led"].map(|how| {
        let one = &found[how];
        // Every mark is on its frame, and nothing else is in the file: what was foretold is not.
        let mut rows = rows(&one["csv"]);
        let mut truth = truth.clone();
        let order = |a: &(f64, String, u32), b: &(f64, String, u32)| a.partial_cmp(b);
        rows.sort_by(|a, b| order(a, b).expect("no NaN"));
        truth.sort_by(|a, b| order(a, b).expect("no NaN"));
        assert_eq!(rows.len(), truth.len(), "{how}");
        for (row, should) in rows.iter().zip(&truth) {
            assert!((row.0 - should.0).abs() < 2e-6, "{how}: {row:?} {should:?}");
            assert_eq!((&row.1, row.2), (&should.1, should.2), "{how}");
        }
        let number = |key: &str| one[key].as_f64().expect("a number");
        let cycles = found["cycles"].as_f64().expect("a number");
        let a_cycle = ["moves", "keys", "seconds"].map(|key| number(key) / cycles);
        println!(
            "{name}, {how}: {:.1} moves, {:.1} keys, {:.2} s a cycle; {}",
            a_cycle[0], a_cycle[1], a_cycle[2], one["counts"]
        );
        a_cycle
    });
    (costs[0][0] / costs[1][0], costs[0][1] / costs[1][1])
}

/// The first cycle is marked by eye, and it is a fourth of these: the long form has a twelfth.
#[test]
fn led_by_the_page_a_coach_needs_far_fewer_moves_from_the_second_cycle_on() {
    let (moves, keys) = coach_is_led("coach-few-cycles");
    assert!(moves > 2.4 && keys > 2.1, "{moves:.2}, {keys:.2}");
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_a_coach_who_needs_a_quarter_of_the_moves_for_what_one_side_shows() {
    let (moves, keys) = coach_is_led("coach-near-side");
    assert!(moves > 4.0 && keys > 3.2, "{moves:.2}, {keys:.2}");
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_a_coach_who_marks_both_sides() {
    let (moves, keys) = coach_is_led("coach-both-sides");
    assert!(moves > 3.5 && keys > 2.8, "{moves:.2}, {keys:.2}");
}

#[test]
#[ignore = "long: make soak"]
fn soak_of_a_coach_who_marks_both_sides_of_two_lengths() {
    let (moves, keys) = coach_is_led("coach-two-lengths");
    assert!(moves > 3.6 && keys > 2.8, "{moves:.2}, {keys:.2}");
}

/// A swim of 2 s a cycle, exactly: what is foretold of it must be what is swum, whatever is wrong
/// with single marks.
#[test]
fn wrong_missing_and_rare_marks_do_not_lead_astray() {
    let found = scenario("cycles-foretold");
    let moment = |one: &Value| {
        let time = one["time"].as_f64().expect("a time");
        (text(&one["event"]).to_string(), time)
    };
    let cases = list(&found);
    assert_eq!(cases.len(), 8);
    for case in cases {
        let name = text(&case["name"]);
        let foretold: Vec<_> = list(&case["foretold"]).iter().map(moment).collect();
        let truth: Vec<_> = list(&case["truth"]).iter().map(moment).collect();
        for (event, time) in &foretold {
            let swum = (truth.iter()).any(|one| one.0 == *event && (one.1 - time).abs() < 0.03);
            assert!(swum, "{name}: {event} at {time}");
        }
        // A whole cycle, each moment of it once; kicks alone tell of no cycle.
        let mut events: Vec<&String> = truth.iter().map(|one| &one.0).collect();
        events.sort_unstable();
        events.dedup();
        for event in events {
            let times = foretold.iter().filter(|one| one.0 == *event);
            let often = if event.ends_with("kick") && name == "six kicks" {
                3
            } else {
                1
            };
            let range = match (often, event.ends_with("breath")) {
                (_, true) => 0..=1,
                (often, false) => often - often / 3..=often + 1,
            };
            assert!(
                range.contains(&times.count()),
                "{name}: {event}: {foretold:?}"
            );
        }
        assert_eq!(foretold.is_empty(), name == "kicks alone");
    }
}

/// An even film at 30 frames a second. Left entries at frames 10 and 50, a catch at 20, an exit at
/// 35: a cycle is 40 frames, and all that is foretold follows.
#[test]
fn the_page_foretells_from_one_cycle_and_marks_nothing_by_itself() {
    let found = scenario("foretell");
    let steps: Vec<(&str, &str, u64)> = (list(&found["steps"]).iter())
        .map(|step| {
            let number = step[2].as_u64().expect("a frame");
            (text(&step[0]), text(&step[1]), number)
        })
        .collect();
    let should = [
        // Before a cycle is marked there is nothing, and it says why.
        ("next", "it takes one hand marked twice, a cycle apart", 35),
        // The frame before the one foretold: one on, and its key, and the picture goes on.
        ("next", "Next: left catch, key 2", 59),
        ("left_catch", "Next: left exit, key 3", 74),
        ("miss", "Not seen: left exit. Next: left entry, key 1", 89),
        ("left_entry", "Next: left catch, key 2", 99),
        ("left_catch", "Next: left exit, key 3", 114),
        ("miss", "Not seen: left exit. Next: left entry, key 1", 129),
        // The key of another moment marks that one, asks about it, and leads nowhere.
        ("left_catch", "before foretold: is it the right one?", 129),
        ("undo", "Undone.", 129),
    ];
    assert_eq!(steps.len(), should.len(), "{steps:?}");
    for (step, should) in steps.iter().zip(should) {
        assert_eq!((step.0, step.2), (should.0, should.2), "{steps:?}");
        assert!(step.1.contains(should.1), "{should:?}: {}", step.1);
    }
    assert_eq!(found["doubted"], 1);
    // Twice in a row exits were not seen: they are no longer foretold.
    assert_eq!(found["exits"], 0);
    let events: Vec<String> = rows(&found["csv"]).into_iter().map(|row| row.1).collect();
    let should = [
        "left_entry",
        "left_catch",
        "left_exit",
        "left_entry",
        "left_catch",
        "left_entry",
        "left_catch",
    ];
    assert_eq!(events, should);
    // What was not seen is remembered with the marks, what was foretold is not.
    assert_eq!(found["unseen"], 2);
    assert_eq!(found["kept_foretold"], false);
    assert_eq!(found["outlines"], true);
    assert!(
        text(&found["counts"]).contains("a minute, usually"),
        "{}",
        found["counts"]
    );
}

/// Left entries at frames 10 and 50, a kick at 12: a cycle is 40 frames.
#[test]
fn going_on_and_not_seen_mark_nothing_and_go_forward() {
    let found = scenario("lead-past");
    // Whatever was foretold, gone to and not seen: the file has what was marked by its key.
    assert_eq!(rows(&found["before"]).len(), 3);
    assert_eq!(found["after"], found["before"]);
    assert_eq!(found["marked"], 3);
    let goes = numbers(&found["goes"]);
    assert!(goes.is_sorted(), "{goes:?}");
    // A kick that lies two frames on is gone to after the entry, and the entry not again.
    assert_eq!(goes[..3], [50.0, 51.0, 89.0]);
    let said: Vec<&str> = list(&found["said"]).iter().map(text).collect();
    // Where a hand was not seen the cycle after it is foretold; twice in a row, and it is not.
    assert!(said[0].contains("Not seen: left kick"), "{said:?}");
    assert!(
        said[1].contains("Not seen: left entry. Next: left kick"),
        "{said:?}"
    );
    assert!(
        said[3].contains("Nothing is foretold from here on"),
        "{said:?}"
    );
    assert!(said[5].contains("No moment is foretold here"), "{said:?}");
}

/// A cycle of 30 frames: left entry 5, kick 10, catch 14, right entry 20. In the next pass one right
/// entry, at 95.
#[test]
fn a_new_pass_goes_on_with_the_cycle_of_the_one_before_and_with_both_sides() {
    let found = scenario("next-pass");
    let foretold: Vec<(&str, f64)> = (list(&found["foretold"]).iter())
        .map(|one| (text(&one[0]), one[1].as_f64().expect("a frame")))
        .collect();
    // The right side's are half a cycle after the left one's.
    let should = [
        ("right_kick", 100.0),
        ("right_catch", 104.0),
        ("left_entry", 110.0),
        ("left_kick", 115.0),
        ("left_catch", 119.0),
        ("right_entry", 125.0),
    ];
    assert_eq!(foretold.len(), should.len(), "{foretold:?}");
    for (one, should) in foretold.iter().zip(should) {
        assert_eq!(one.0, should.0, "{foretold:?}");
        assert!((one.1 - should.1).abs() < 0.1, "{foretold:?}");
    }
    assert_eq!(rows(&found["csv"]).len(), 6);
}

#[test]
fn a_spreadsheet_reads_the_file_and_no_name_of_a_film_is_a_formula() {
    let found = scenario("spreadsheet");
    let name = text(&found["name"]);
    let saved = list(&found["rows"]);
    assert_eq!(saved.len(), 2);
    for (row, (event, pass)) in saved.iter().zip([("left_entry", "1"), ("right_kick", "2")]) {
        assert_eq!((text(&row["event"]), text(&row["pass"])), (event, pass));
        assert_eq!(text(&row["film"]), format!("'{name}"));
        assert_eq!(text(&row["mirrored"]), "no");
        assert_eq!(row.as_object().expect("columns").len(), 6, "{row}");
    }
    assert_eq!(text(&saved[0]["frame_s"]), "0.033000");
    let read = parse_marks("marks.csv", text(&found["csv"]), None).expect("it is read");
    assert_eq!(read.film.name.as_deref(), Some(name));
}

#[test]
fn a_mirrored_film_is_turned_round_and_the_file_says_so() {
    let found = scenario("flip");
    let question = text(&found["question"]);
    assert!(question.starts_with("2 marks set so far"), "{question}");
    // In the window right is left and left is right, and the magnifier shows what stands there.
    assert_eq!(found["seen_turned"], true);
    assert_eq!(found["magnified"], serde_json::json!([true, true]));
    let read = |key: &str| parse_marks("marks.csv", text(&found[key]), None).expect("it is read");
    let words = |marks: &Marks| -> Vec<String> { marks.marks.iter().map(mark_word).collect() };
    let (turned, back) = (read("turned"), read("back"));
    assert_eq!(words(&turned), ["right_entry", "left_kick", "left_catch"]);
    assert!(text(&found["turned"]).contains(",even.webm,yes\n"));
    assert!(turned.notes.concat().contains("turned round left to right"));
    assert_eq!(words(&back), ["left_entry", "right_kick", "right_catch"]);
    assert!(text(&found["back"]).contains(",even.webm,no\n"));
    assert_eq!(found["notice"], true);
    let marks = |key: &str| rows(&found[key]);
    assert_eq!(marks("after_reload"), marks("turned"));
    assert_eq!(found["undone"], found["after_reload"]);
}

#[test]
fn the_frames_around_a_mark_are_played_again_and_again_and_the_picture_comes_back() {
    let found = scenario("loop");
    let times = numbers(&found["seen"]);
    let mark = found["mark"].as_f64().expect("a time");
    // A frame lasts 1/30 s, and one more may be shown before the page hears of the end.
    let (first, last) = (mark - 0.2 - 0.035, mark + 0.2 + 0.1);
    assert!(
        times.iter().all(|time| (first..last).contains(time)),
        "{mark}: {times:?}"
    );
    let again = times.windows(2).filter(|pair| pair[1] < pair[0]).count();
    assert!(again >= 2, "{times:?}");
    assert!(found["speed"].as_f64().expect("a speed") <= 0.25);
    assert_eq!(found["back"], found["before"]);
    assert_eq!(found["playing"], false);
}

#[test]
fn light_and_the_magnifier_change_what_is_seen_and_nothing_else() {
    let found = scenario("look");
    assert_eq!(text(&found["filter"]), "brightness(2) contrast(1.5)");
    assert_eq!(found["lens_filter"], found["filter"]);
    // It follows the pointer, stays where it is left, and goes to where the picture is touched.
    let places = list(&found["places"]);
    assert_ne!(places[0], places[1]);
    assert_eq!(places[1], places[2]);
    assert_ne!(places[2], places[3]);
    assert_eq!(found["off"], true);
    assert_eq!(found["arrow_steps"], 1);
}

/// What the program writes into the page for a film, with one silent cue.
const CUES: &str = r#"{"timing_flags": "--session evening.toml --distance \"12 m\"", "sync_cues": "abcdefghijklmnop", "sync": {"answer": "cycles", "track_s_at_film_0": 61.25, "drift_ppm": -3.5,
"interval_ms": [-0.4, 1.2], "several_paths": true, "heard": 31, "places": [61.25, 63.5]}, "cues": [
{"kind": "arm", "side": "left", "film_s": 0.5, "sounds": true},
{"kind": "kick", "side": "left", "film_s": 0.5, "sounds": true},
{"kind": "fill", "side": "right", "film_s": 0.8, "sounds": true},
{"kind": "arm", "side": "right", "film_s": 1.6, "sounds": false}]}"#;

#[test]
fn cues_stand_on_the_strip_and_their_place_in_the_file() {
    let found = scenario_with_cues("cues", CUES);
    assert!(text(&found["said"]).contains("their moment in the cycle is known"));
    // Each in the lane of its hand or foot, where a mark at its time would stand.
    let knocks = list(&found["knocks"]);
    let shown: Vec<(&str, f64, f64)> = (knocks.iter())
        .map(|one| {
            let number = |at: usize| one[at].as_f64().expect("a number");
            (text(&one[0]), number(1), number(2))
        })
        .collect();
    let should = list(&found["should"]);
    assert_eq!(shown.len(), 4);
    for ((class, x, y), should) in shown.iter().zip(should) {
        let should = numbers(should);
        assert!(
            (x - should[0]).abs() < 1.0 && (y - should[1]).abs() < 1.0,
            "{class}"
        );
    }
    let classes: Vec<&str> = shown.iter().map(|one| one.0).collect();
    let sounds = "knock sounds";
    assert_eq!(classes, [sounds, sounds, sounds, "knock silent"]);
    assert!(text(&found["refused"]).contains("found already"));
    // The command that reads the marks, with the ways of sound that the page was made for.
    let command = "Next: cuelane timing even-marks.csv --session evening.toml --distance \"12 m\"";
    assert!(
        text(&found["command"]).ends_with(command),
        "{}",
        found["command"]
    );
    let read = parse_marks("marks.csv", text(&found["csv"]), None).expect("it is read");
    let should = FilmSync::Found(FoundSync {
        place: FoundPlace::Cycles,
        track_s_at_film_0: 61.25,
        drift_ppm: -3.5,
        interval_ms: Some((-0.4, 1.2)),
        several_paths: Some(true),
    });
    assert_eq!(read.film.sync, Some(should));
    assert_eq!(read.film.sync_cues.as_deref(), Some("abcdefghijklmnop"));
}

#[test]
fn no_mark_covers_the_name_of_its_lane_and_no_flag_is_broken() {
    let way = "--swimmer-distance \\\"6.5 m\\\" --distance";
    let found = scenario_with_cues("names", &CUES.replacen("--distance", way, 1));
    assert_eq!(found["shown"], 5);
    assert_eq!(found["covered"], serde_json::json!({}));
    // On three lines and more, as the page is wide.
    assert!(text(&found["command"]).contains("--swimmer-distance \"6.5 m\" --distance"));
    assert!(found["heights"].as_u64() >= Some(3), "{found}");
    assert_eq!(found["broken"], serde_json::json!([]));
}

#[test]
fn another_film_has_no_part_in_the_cues_of_one() {
    let of = |film: &str| CUES.replacen('{', &format!("{{\"film\": \"{film}\", "), 1);
    let found = scenario_with_cues("cues", &of("other.mp4"));
    let said = text(&found["said"]);
    assert!(said.contains("are of other.mp4: none are drawn"), "{said}");
    assert_eq!(found["knocks"], serde_json::json!([]));
    let read = parse_marks("marks.csv", text(&found["csv"]), None).expect("it is read");
    assert_eq!(read.film.sync, None);
    // The same film, saved in another form.
    let found = scenario_with_cues("cues", &of("even.mov"));
    assert_eq!(list(&found["knocks"]).len(), 4);
}

#[test]
fn where_the_program_cannot_decide_one_cue_is_set_by_hand() {
    let unsure = r#"{"sync_cues": "abcdefghijklmnop", "sync": {"answer": "unsure", "heard": 3, "places": []}, "cues": []}"#;
    for (cues, words, among) in [
        ("{}", "Step to the frame", None),
        (unsure, "set one by hand", Some("abcdefghijklmnop")),
    ] {
        let found = scenario_with_cues("cue-by-hand", cues);
        assert!(text(&found["said"]).contains(words), "{}", found["said"]);
        let read = parse_marks("marks.csv", text(&found["csv"]), None).expect("it is read");
        let should = FilmSync::Heard {
            time_s: found["time"].as_f64().expect("a time"),
            arm: Side::Right,
        };
        assert_eq!(read.film.sync, Some(should), "{}", found["csv"]);
        assert_eq!(read.film.sync_cues.as_deref(), among, "{}", found["csv"]);
        assert_eq!(read.marks.len(), 1);
        assert_eq!(found["muted"], serde_json::json!([true, false]));
    }
}

#[test]
fn marks_are_moved_undone_deleted_and_split_into_passes_by_keys() {
    edits_hold(&scenario("edit-by-keys"));
}

#[test]
fn marks_are_moved_undone_deleted_and_split_into_passes_by_touch() {
    let found = scenario("edit-by-touch");
    edits_hold(&found);
    // A finger 18 pixels off still chooses the mark; the middle of the long strip is frame 75.
    let chosen = serde_json::json!(["Mark 2 of 4: left catch, 0.667 s, pass 2.", 20]);
    assert_eq!(found["touched"], chosen);
    let middle = found["middle"].as_u64().expect("a frame");
    assert!(middle.abs_diff(75) <= 1, "{middle}");
}

#[test]
fn work_outlives_a_reload_and_belongs_to_its_film() {
    let found = scenario("reload");
    let before = rows(&found["before"]);
    assert_eq!(before.len(), 2);
    assert_eq!((before[0].2, before[1].2), (1, 2));
    assert_eq!(found["after"], found["before"]);
    assert_eq!(found["shown"], true);
    let told = text(&found["told"]);
    assert!(told.contains("choose the same file again") && told.contains("even.webm, 2 marks"));
    assert!(text(&found["welcome"]).contains("2 marks from before are here"));
    // The picture is where it was.
    assert_eq!(found["again"], found["at"]);
    assert_eq!(found["other"], 0);
    assert_eq!(text(&found["question"]), "Forget the 2 marks of even.webm?");
    // What is left is the other film's entry, without a mark in it.
    assert_eq!(found["left"], 1);
}

#[test]
fn nothing_is_requested_from_a_network_and_nothing_could_be() {
    let found = scenario("network");
    let asked: Vec<&str> = list(&found["asked"]).iter().map(text).collect();
    assert!(asked.contains(&text(&found["page"])), "{asked:?}");
    assert!(
        asked.iter().any(|url| url.starts_with("blob:")),
        "{asked:?}"
    );
    for url in &asked {
        assert!(
            *url == text(&found["page"]) || url.starts_with("blob:"),
            "{url}"
        );
    }
    assert_eq!(found["complaints"], serde_json::json!([]));
    // Every way out was tried: none reached a server that the same attempts reach from a page
    // without this policy.
    assert_eq!(found["from_page"], serde_json::json!([]));
    let reached: Vec<&str> = list(&found["bare"]).iter().map(text).collect();
    let stopped: Vec<&str> = list(&found["stopped"]).iter().map(text).collect();
    for way in [
        "fetch", "image", "script", "iframe", "link", "video", "beacon", "form",
    ] {
        assert!(
            reached.contains(&format!("/{way}").as_str()),
            "{way}: {reached:?}"
        );
    }
    let directives = [
        "connect-src",
        "img-src",
        "script-src-elem",
        "style-src-elem",
    ];
    for directive in directives
        .into_iter()
        .chain(["frame-src", "media-src", "form-action"])
    {
        assert!(stopped.contains(&directive), "{directive}: {stopped:?}");
    }
}

#[test]
fn errors_are_said_in_words() {
    let found = scenario("errors");
    let holds = |key: &str, words: &str| {
        let said = text(&found[key]);
        assert!(said.contains(words), "{key}: {said}");
    };
    holds("before", "Choose a film first.");
    holds(
        "text",
        "notes.webm cannot be shown: it is no film, or of a kind",
    );
    holds("empty", "empty.mp4 is empty");
    holds("sound", "sound.webm holds no picture");
    holds("then_a_film", "even.webm: Step to the frame");
    // Where nothing can be kept, the page says so, goes on, and still saves.
    let full = list(&found["QuotaExceededError"]);
    assert!(text(&full[0]).contains("has no room left"), "{full:?}");
    let forbidden = list(&found["SecurityError"]);
    assert!(
        text(&forbidden[0]).contains("does not let this page keep"),
        "{forbidden:?}"
    );
    for answer in [full, forbidden] {
        assert!(text(&answer[0]).contains("Press Save marks before"));
        assert_eq!(rows(&answer[1]).len(), 1);
    }
}

#[test]
fn nothing_overlaps_or_is_cut_and_every_target_is_large() {
    let found = scenario("layout");
    let sizes = list(&found["sizes"]);
    assert_eq!(sizes.len(), 6);
    for one in sizes {
        let size = numbers(&one["size"]);
        assert!(
            one["scroll_width"].as_f64().expect("a width") <= size[0],
            "{size:?}"
        );
        let boxes = list(&one["boxes"]);
        assert!(boxes.len() > 30, "{} boxes", boxes.len());
        let edges: Vec<Vec<f64>> = boxes.iter().map(|one| numbers(&one["box"])).collect();
        for (index, (a, edge)) in boxes.iter().zip(&edges).enumerate() {
            let what = format!("{} at {size:?}: {edge:?}", a["what"]);
            assert_eq!(a["cut"], false, "{what}");
            let inside =
                edge[0] >= 0.0 && edge[1] >= 0.0 && edge[2] <= size[0] && edge[3] <= size[1];
            assert!(inside, "{what}");
            let (width, height) = (edge[2] - edge[0], edge[3] - edge[1]);
            assert!(
                a["presses"] == false || (width >= 44.0 && height >= 44.0),
                "{what}"
            );
            for (b, other) in boxes.iter().zip(&edges).skip(index + 1) {
                let across = edge[2].min(other[2]) - edge[0].max(other[0]);
                let down = edge[3].min(other[3]) - edge[1].max(other[1]);
                assert!(
                    across <= 0.5 || down <= 0.5,
                    "{what} overlaps {}",
                    b["what"]
                );
            }
        }
    }
    let names = found["names"].as_object().expect("names by element");
    assert!(names.len() >= 40, "{}", names.len());
    let mut said: Vec<&str> = names.values().map(text).collect();
    said.sort_unstable();
    assert!(
        !said.contains(&"") && said.windows(2).all(|pair| pair[0] != pair[1]),
        "{said:?}"
    );
    // The Tab key reaches every button, and one sees where it is.
    let focus = list(&found["focus"]);
    let reached = |name: &str| focus.iter().any(|one| one[0] == name);
    for button in EVENTS.iter().chain(&[
        "choose",
        "save",
        "play",
        "split",
        "delete",
        "undo",
        "next",
        "miss",
        "loop",
        "more",
        "brightness",
        "flip",
        "magnify",
        "left_cue",
    ]) {
        assert!(reached(button), "{button}: {focus:?}");
    }
    for one in focus {
        assert!(
            one[1].as_f64().expect("a width") >= 3.0 && one[2] == "solid",
            "{one}"
        );
    }
    // WCAG 2, success criterion 1.4.6 (enhanced contrast), asks for 7.
    let contrast = list(&found["contrast"]);
    assert!(contrast[0].as_u64().expect("a count") > 60, "{contrast:?}");
    assert!(
        contrast[1].as_f64().expect("a ratio") >= 7.0,
        "{contrast:?}"
    );
}

#[test]
fn the_page_is_written_whole_or_not_at_all() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let folder = folder.path();
    let said = ok(folder, &["mark", "--out", "mark.html"]);
    assert!(
        said.contains("Wrote mark.html") && said.contains("stays on that machine"),
        "{said}"
    );
    assert!(
        said.lines().all(|line| line.chars().count() <= 80),
        "{said}"
    );
    let written = fs::read_to_string(folder.join("mark.html")).expect("the page is there");
    assert!(written.starts_with("<!doctype html>") && written.ends_with("</html>\n"));
    assert_eq!(ok(folder, &["mark", "--out", "-"]), written);
    // Who may be filmed is said once, before a film is chosen, and once in the docs.
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let docs = fs::read_to_string(root.join("docs/film.md"));
    for text in [&written, &docs.expect("the docs are there")] {
        assert_eq!(
            text.matches("swimmers agree; for minors their parents too")
                .count(),
            1
        );
    }
    let message = refused(folder, &["mark", "--out", "mark.html"], 1);
    assert!(
        message.contains("is there already") && message.contains("--force"),
        "{message}"
    );
    ok(folder, &["mark", "--out", "mark.html", "--force"]);
    let message = refused(folder, &["mark", "--out", "."], 2);
    assert!(message.contains("this names no file"), "{message}");
    refused(folder, &["mark", "--out", "nowhere/mark.html"], 1);
    refused(folder, &["mark"], 2);
    let left = fs::read_dir(folder).expect("the folder is there").count();
    assert_eq!(left, 1, "only the page is left");
    assert!(run(folder, &["help", "mark"]).status.success());
}

//! The marking page in a real browser: headless Chromium, driven over the WebDriver protocol by
//! `mark/scenarios.py` with Python's standard library. The films are made by ffmpeg; each frame
//! carries its number as black and white blocks, which the test reads back from the picture, and
//! ffprobe tells the time of each frame. So what a mark should be comes from outside the page.

mod found;

use std::fs;

use crate::support::{ok, refused, run};
use cuelane::files::parse_marks;
use cuelane::model::cue::Side;
use cuelane::model::record::Mark;
use found::{EVENTS, frame, half_a_frame, list, numbers, rows, scenario, text};
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
    }
    let said = text(&found["said"]);
    assert!(
        said.contains("cuelane timing phone-marks.csv --fps "),
        "{said}"
    );
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
    assert_eq!(sizes.len(), 3);
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
    assert!(names.len() >= 29, "{}", names.len());
    let mut said: Vec<&str> = names.values().map(text).collect();
    said.sort_unstable();
    assert!(
        !said.contains(&"") && said.windows(2).all(|pair| pair[0] != pair[1]),
        "{said:?}"
    );
    // The Tab key reaches every button, and one sees where it is.
    let focus = list(&found["focus"]);
    let reached = |name: &str| focus.iter().any(|one| one[0] == name);
    for button in EVENTS
        .iter()
        .chain(&["choose", "save", "play", "split", "delete", "undo"])
    {
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

//! Playing a scenario in the browser, and reading what came of it.

use std::fs;
use std::path::Path;

use serde_json::Value;

use crate::support::{ok, python_script};

/// What can be marked, in the order of the keys 1 to 0.
pub const EVENTS: [&str; 10] = [
    "left_entry",
    "left_catch",
    "left_exit",
    "left_kick",
    "left_breath",
    "right_entry",
    "right_catch",
    "right_exit",
    "right_kick",
    "right_breath",
];

/// Plays a scenario on a fresh page and gives what came of it.
pub fn scenario(name: &str) -> Value {
    scenario_with_cues(name, "{}")
}

/// The same on a page into which the program has written what it found in a film's sound.
pub fn scenario_with_cues(name: &str, cues: &str) -> Value {
    let folder = tempfile::tempdir().expect("a temporary folder");
    ok(folder.path(), &["mark", "--out", "mark.html"]);
    let page = folder.path().join("mark.html");
    let written = fs::read_to_string(&page).expect("the page is there");
    let cues = format!("id=\"cues\">{cues}<");
    assert_eq!(written.matches("id=\"cues\">{}<").count(), 1);
    fs::write(&page, written.replace("id=\"cues\">{}<", &cues)).expect("it can be written");
    let [page, films] = [&page, folder.path()].map(|path| path.to_str().expect("an ASCII path"));
    let printed = python_script("mark/scenarios.py", &[name, page, films]);
    if let Some(kept) = std::env::var_os("CUELANE_PICTURES") {
        keep_pictures(folder.path(), Path::new(&kept));
    }
    serde_json::from_str(&printed).expect("the scenario prints JSON")
}

/// Copies the pictures of the page for whoever wants to look.
pub fn keep_pictures(from: &Path, to: &Path) {
    fs::create_dir_all(to).expect("the folder for pictures can be made");
    for entry in fs::read_dir(from).expect("the folder is there").flatten() {
        if entry.path().extension().is_some_and(|kind| kind == "png") {
            fs::copy(entry.path(), to.join(entry.file_name())).expect("pictures can be copied");
        }
    }
}

pub fn list(value: &Value) -> &Vec<Value> {
    value.as_array().expect("a list")
}

pub fn text(value: &Value) -> &str {
    value.as_str().expect("a text")
}

pub fn numbers(value: &Value) -> Vec<f64> {
    let number = |one: &Value| one.as_f64().expect("a number");
    list(value).iter().map(number).collect()
}

/// A frame's number as read from the picture: an index into the film's times.
pub fn frame(value: &Value) -> usize {
    let number = value.as_u64().expect("the blocks in the picture are clear");
    usize::try_from(number).expect("a small number")
}

/// Half the time to the nearer neighbour: a mark farther off belongs to another frame.
pub fn half_a_frame(times: &[f64], frame: usize) -> f64 {
    let before = frame
        .checked_sub(1)
        .map(|before| times[frame] - times[before]);
    let after = times.get(frame + 1).map(|after| after - times[frame]);
    let nearer = before
        .into_iter()
        .chain(after)
        .fold(f64::INFINITY, f64::min);
    assert!(
        nearer.is_finite() && nearer > 0.0,
        "frame {frame} has no neighbour"
    );
    nearer / 2.0
}

/// The rows of a saved file, which must have the form that `timing` reads.
pub fn rows(csv: &Value) -> Vec<(f64, String, u32)> {
    let csv = text(csv);
    assert!(csv.ends_with('\n') && !csv.contains('\r'), "{csv:?}");
    let mut lines = csv.lines();
    let header = lines.next().expect("a header");
    assert!(
        header.starts_with("time,event,pass,frame_s,film,mirrored"),
        "{header}"
    );
    let columns = header.split(',').count();
    let row = |line: &str| {
        let fields: Vec<&str> = line.split(',').collect();
        assert_eq!(fields.len(), columns, "{line}");
        let (time, event, pass) = (fields[0], fields[1], fields[2]);
        let decimals = time.split_once('.').map(|(_, decimals)| decimals.len());
        assert_eq!(decimals, Some(6), "{line}");
        assert!(EVENTS.contains(&event), "{line}");
        let time = time.parse().expect("a number of seconds");
        (
            time,
            event.into(),
            pass.parse().expect("a number of a pass"),
        )
    };
    let rows: Vec<_> = lines.map(row).collect();
    assert!(rows.is_sorted_by(|a, b| a.0 <= b.0), "{csv}");
    rows
}

//! Somebody else's CSV listed as a log.

use crate::support::{ok, refused, write};
use serde_json::Value;

#[test]
fn a_foreign_file_must_say_whose_strokes_it_counts() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let watch = "Start,Metres,Duration,Strokes,Cue\n2026-03-14T07:10:00,50,48.1,22,54\n2026-03-14 07:12,50,,22,54\n2026-03-14,50,fast,22,54\n";
    write(folder.path(), "watch.csv", watch);
    let args = [
        "log",
        "list",
        "--json",
        "--import",
        "watch.csv",
        "--map",
        "date=Start",
        "--map",
        "distance=Metres:m",
        "--map",
        "time=Duration:s",
        "--map",
        "strokes=strokes",
        "--map",
        "rate_cued=Cue:spm",
    ];
    let message = refused(folder.path(), &args, 2);
    assert!(
        message.contains("one arm or of both") && message.contains("--counted one-arm"),
        "{message}"
    );
    let of = |counted: &str| -> Value {
        let args = [&args[..], &["--counted", counted]].concat();
        serde_json::from_str(&ok(folder.path(), &args)).expect("JSON")
    };
    let one = of("one-arm");
    assert_eq!(
        (&one["rows"][0]["strokes"], &one["rows"][0]["date"]),
        (&Value::from(44.0), &Value::from("2026-03-14"))
    );
    assert!(one["rows"][0].get("warning").is_none());
    assert_eq!(one["left_out"][0]["line"], 4);
    let both = of("both-arms");
    assert_eq!(both["rows"][0]["strokes"], 22.0);
    assert!(
        both["rows"][0]["warning"]
            .as_str()
            .is_some_and(|text| text.contains("half"))
    );
    assert!(
        !folder.path().join("log.csv").exists(),
        "listing writes nothing"
    );

    for (map, words) in [
        ("times=Duration", "did you mean \"time\"?"),
        ("time=Length", "no column \"length\""),
        (
            "time=Durations",
            "no column \"durations\"; is it \"duration\"?",
        ),
        ("time", "without an ="),
        ("time=", "names no column"),
    ] {
        let message = refused(
            folder.path(),
            &["log", "list", "--import", "watch.csv", "--map", map],
            2,
        );
        assert!(message.contains(words), "{map}: {message}");
    }
}

//! `tap`, `css` and `steps` as whole commands, their numbers held against numpy and scipy
//! (`measure.py`), published values, and arithmetic.

use std::collections::HashMap;
use std::fmt::Write as _;
use std::process::Stdio;

use crate::support::{cuelane, ok, python_script, refused, write};
use cuelane::analysis::Estimate;
use cuelane::analysis::stats::{line, parabola, t_quantile, theil_sen, weighted_line};
use serde_json::Value;

fn json(args: &[&str]) -> Value {
    let folder = tempfile::tempdir().expect("a temporary folder");
    serde_json::from_str(&ok(folder.path(), args)).expect("JSON")
}

fn number(value: &Value) -> f64 {
    value
        .as_f64()
        .unwrap_or_else(|| panic!("not a number: {value}"))
}

fn close(found: f64, wanted: f64) {
    let scale = wanted.abs().max(1e-3);
    assert!(
        (found - wanted).abs() <= 1e-8 * scale,
        "{found}, scipy has {wanted}"
    );
}

fn same(found: &Estimate, wanted: &[f64]) {
    let (lo, hi) = found.interval.expect("an interval");
    for (found, wanted) in [found.value, lo, hi].into_iter().zip(wanted) {
        close(found, *wanted);
    }
}

#[test]
fn lines_and_parabolas_are_those_of_numpy_and_scipy() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut rng = fastrand::Rng::with_seed(2);
    for round in 0..6 {
        let n = 5 + 4 * round;
        let points: Vec<(f64, f64)> = (0..n)
            .map(|i| {
                let x = 45.0 + f64::from(i) * 30.0 / f64::from(n) + rng.f64();
                (
                    x,
                    1.2 - 0.0008 * (x - 60.0).powi(2) + 0.01 * (rng.f64() - 0.5),
                )
            })
            .collect();
        let mut text = String::new();
        for (x, y) in &points {
            writeln!(text, "{x} {y}").expect("a string takes every text");
        }
        let file = write(folder.path(), "points.txt", text);
        let printed = python_script("measure.py", &[file.to_str().expect("UTF-8")]);
        let scipy: HashMap<&str, Vec<f64>> = (printed.lines())
            .map(|line| {
                let (key, numbers) = line.split_once(' ').expect("a key and numbers");
                let numbers = numbers.split(' ').map(|n| n.parse().expect("a number"));
                (key, numbers.collect())
            })
            .collect();

        let fit = line(&points).expect("different rates");
        same(&fit.slope, &scipy["slope"]);
        same(&fit.intercept, &scipy["intercept"]);
        let fit = weighted_line(&points, |x| 1.0 / (x * x)).expect("different rates");
        same(&fit.slope, &scipy["weighted-slope"]);
        same(&fit.intercept, &scipy["weighted-intercept"]);
        close(
            theil_sen(&points).expect("different rates"),
            scipy["theilslopes"][0],
        );
        let curve = parabola(&points).expect("different rates");
        for (found, wanted) in curve.coefficients.iter().zip(&scipy["polyfit"]) {
            close(*found, *wanted);
        }
        let vertex = curve.vertex.expect("it bends");
        close(vertex.x.value, scipy["vertex"][0]);
        match vertex.x.interval {
            Some(_) => same(&vertex.x, &scipy["vertex"]),
            // Unbounded: on one side or both every x is undecided.
            None => assert!(scipy["vertex"][1..].iter().any(|end| end.is_infinite())),
        }
        same(&vertex.y, &scipy["top"]);
        for df in [1, 2, 3, 5, 10, 100] {
            close(
                t_quantile(df).expect("some freedom"),
                scipy[format!("t{df}").as_str()][0],
            );
        }
    }
}

#[test]
fn critical_speed_is_the_published_arithmetic() {
    // Arithmetic: 200 m in 2:50 and 400 m in 5:56: 200/186 m/s, 1:33.0 / 100 m.
    let found = json(&["css", "200m=2:50", "400m=5:56", "--json"]);
    close(number(&found["critical_speed_m_s"]["value"]), 200.0 / 186.0);
    close(number(&found["pace_s_per_100m"]), 93.0);
    close(number(&found["intercept_m"]), 200.0 - 170.0 * 200.0 / 186.0);
    assert!(
        found["critical_speed_m_s"].get("lo").is_none(),
        "two swims have no interval"
    );
    assert_eq!(found["critical_speed_m_s"]["n"], 2);

    let folder = tempfile::tempdir().expect("a temporary folder");
    let text = ok(folder.path(), &["css", "200m=2:50", "400m=5:56"]);
    assert!(
        text.contains("1:33.0 / 100 m")
            && text.contains("unreliable")
            && text.contains("above the pace of a long steady swim"),
        "{text}"
    );
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );

    let found = json(&["css", "100m=1:20", "200m=2:50", "400m=5:56", "--json"]);
    let ends = ["lo", "hi"].map(|end| number(&found["critical_speed_m_s"][end]));
    let value = number(&found["critical_speed_m_s"]["value"]);
    assert!(ends[0] < value && value < ends[1]);
    close(number(&found["pace_ci95_s_per_100m"][1]), 100.0 / ends[0]);
}

#[test]
fn impossible_swims_are_refused_with_the_reason() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    for (args, reason) in [
        (
            &["css", "200m=1:20", "400m=3:00"][..],
            "faster than anybody has swum that far",
        ),
        (&["css", "200m=5:56", "400m=2:50"][..], "takes no longer"),
        (&["css", "200m=2:50", "400m=4:00"], "faster than anybody"),
        (&["css", "200m=2:50"], "two different distances"),
        (&["css", "200=2:50", "400m=5:56"], "\"200 m\" or \"200 yd\""),
        (&["css", "200m=170", "400m=5:56"], "\"170 s\""),
        (&["css", "200m=NaN", "400m=5:56"], "NaN"),
        (&["css", "200m=-2 s", "400m=5:56"], "nothing or less"),
        (&["css", "200m=0 s", "400m=5:56"], "nothing or less"),
        (&["css", "0 m=2:50", "400m=5:56"], "nothing or less"),
        (&["css", "200m", "400m=5:56"], "without an ="),
    ] {
        let message = refused(folder.path(), args, 2);
        assert!(
            message.contains(reason) && message.contains("accepted: "),
            "{args:?}: {message}"
        );
    }
}

const HUMP: &str =
    "rate_spm,speed_m_s\n50,1.060\n54,1.122\n58,1.169\n62,1.191\n66,1.180\n70,1.145\n74,1.068\n";

#[test]
fn a_step_test_finds_the_rate_of_best_speed() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let file = write(folder.path(), "steps.csv", HUMP);
    let file = file.to_str().expect("UTF-8");
    let found = json(&["steps", file, "--json"]);
    let rate = number(&found["best_rate_spm"]["value"]);
    assert!((60.0..65.0).contains(&rate), "{found}");
    assert!(
        number(&found["best_rate_spm"]["lo"]) < rate
            && rate < number(&found["best_rate_spm"]["hi"])
    );
    let [a, b, c] = [0, 1, 2].map(|i| number(&found["quadratic"][i]));
    close(rate, -b / (2.0 * a));
    close(
        number(&found["best_speed_m_s"]["value"]),
        c - b * b / (4.0 * a),
    );

    let text = ok(folder.path(), &["steps", file, "--chart", "steps.svg"]);
    assert!(
        text.contains("Rate of best speed: ") && text.contains("a wish, not an order"),
        "{text}"
    );
    assert!(
        text.lines().all(|line| line.chars().count() <= 80),
        "{text}"
    );
    let svg = std::fs::read_to_string(folder.path().join("steps.svg")).expect("the picture");
    assert!(svg.contains("rate, strokes/min") && svg.contains("speed, m/s"));
}

#[test]
fn rates_that_hold_no_best_speed_say_not_reached() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let rising =
        "rate_spm,time_s,distance_m\n44,52.1,50\n48,50.0,50\n52,48.1,50\n56,46.0,50\n60,44.2,50\n";
    write(folder.path(), "rising.csv", rising);
    let text = ok(folder.path(), &["steps", "rising.csv"]);
    assert!(
        text.contains("not reached: speed was still rising"),
        "{text}"
    );
    let found: Value =
        serde_json::from_str(&ok(folder.path(), &["steps", "rising.csv", "--json"])).expect("JSON");
    assert!(found["best_rate_spm"].is_null() && found["best_speed_m_s"].is_null());
    assert_eq!(found["quadratic"].as_array().map(Vec::len), Some(3));
    close(number(&found["steps"][0]["speed_m_s"]), 50.0 / 52.1);

    write(
        folder.path(),
        "two.csv",
        "rate_spm,speed_m_s\n50,1\n54,1.1\n",
    );
    let found: Value =
        serde_json::from_str(&ok(folder.path(), &["steps", "two.csv", "--json"])).expect("JSON");
    assert!(found["best_rate_spm"].is_null() && found["quadratic"].is_null());
}

#[test]
fn a_log_and_spreadsheets_numbers_are_step_tests_too() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    write(
        folder.path(),
        "de.csv",
        HUMP.replace(',', ";")
            .replace('.', ",")
            .replace('\n', "\r\n"),
    );
    write(folder.path(), "en.csv", HUMP);
    let of = |name: &str| -> Value {
        serde_json::from_str(&ok(folder.path(), &["steps", name, "--json"])).expect("JSON")
    };
    assert_eq!(of("de.csv")["best_rate_spm"], of("en.csv")["best_rate_spm"]);

    write(
        folder.path(),
        "log.csv",
        "date,distance,time,strokes\n2026-03-14,50 m,52 s,40\n2026-03-14,50 m,50 s,44\n2026-03-14,50 m,,44\n",
    );
    let found = of("log.csv");
    assert_eq!(found["steps"].as_array().map(Vec::len), Some(2));
    // By hand: 40 strokes in 52 s less two push-offs of 3 s; 50 m less two of 4 m.
    close(number(&found["steps"][0]["rate_spm"]), 40.0 / 46.0 * 60.0);
    close(
        number(&found["steps"][0]["distance_per_stroke_m"]),
        42.0 / 40.0,
    );
}

#[test]
fn a_broken_step_is_named_and_the_rest_used() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    write(
        folder.path(),
        "s.csv",
        "rate_spm,speed_m_s\n50,1.0\nNaN,1.1\n54,-1\n58,1.1,9\n29,1.1\n200,1.1\n62,1.2\n",
    );
    let found: Value =
        serde_json::from_str(&ok(folder.path(), &["steps", "s.csv", "--json"])).expect("JSON");
    assert_eq!(found["steps"].as_array().map(Vec::len), Some(3));
    let lines: Vec<_> = found["left_out"]
        .as_array()
        .expect("a list")
        .iter()
        .map(|b| b["line"].clone())
        .collect();
    assert_eq!(lines, [3, 4, 5, 7]);
    for (text, reason) in [
        ("a,b\n1,2\n", "found the header a,b"),
        ("rate_spm\n50\n", "no speed"),
        ("", "no header"),
        ("rate_spm,speed_m_s\n", "no swim has both"),
    ] {
        write(folder.path(), "bad.csv", text);
        let message = refused(folder.path(), &["steps", "bad.csv"], 2);
        assert!(message.contains(reason), "{text:?}: {message}");
    }
}

/// Runs `tap --times -` on a text.
fn tap(text: &str, more: &[&str]) -> std::process::Output {
    let folder = tempfile::tempdir().expect("a temporary folder");
    write(folder.path(), "taps.txt", text);
    let file = std::fs::File::open(folder.path().join("taps.txt")).expect("just written");
    (cuelane(folder.path())
        .args(["tap", "--times", "-"])
        .args(more))
    .stdin(Stdio::from(file))
    .output()
    .expect("the program starts")
}

#[test]
fn taps_give_the_rate_of_their_slope() {
    // One arm every 2.4 s is 25 cycles/min, 50 spm.
    let text: String = (0..12)
        .map(|i| format!("{:.2}\n", 2.4 * f64::from(i)))
        .collect();
    let found: Value = serde_json::from_slice(&tap(&text, &["--json"]).stdout).expect("JSON");
    close(number(&found["rate_spm"]["value"]), 50.0);
    close(number(&found["cycle_time_s"]["value"]), 2.4);
    assert_eq!(
        (&found["taps"], &found["enough"]),
        (&Value::from(12), &Value::from(true))
    );
    // The same list, both arms tapped: half of it.
    let found: Value =
        serde_json::from_slice(&tap(&text, &["--json", "--each", "stroke"]).stdout).expect("JSON");
    close(number(&found["rate_spm"]["value"]), 25.0);

    let said = String::from_utf8(tap("0 1.2 2.4 2.5 3.6, 6.0 7.2\n", &["--each", "stroke"]).stdout)
        .expect("UTF-8");
    for words in [
        "Set aside as doubles: tap 4",
        "Missing: 1, after tap 5",
        "a wish, not an order",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    let few: Value = serde_json::from_slice(&tap("0 1.2 2.4", &["--json"]).stdout).expect("JSON");
    assert!(few.get("rate_spm").is_none(), "three taps give no rate");
}

#[test]
fn taps_are_read_as_spreadsheets_write_them() {
    let plain: Value =
        serde_json::from_slice(&tap("0 1.2 2.4 3.6", &["--json"]).stdout).expect("JSON");
    for text in [
        "\u{feff}time_s\r\n0\r\n1.2\r\n2.4\r\n3.6\r\n",
        "0\r1.2\r2.4\r3.6",
        "sep=;\n0;1,2\n2,4;3,6\n",
        "sep=\t\r\n0\t1.2\r\n2.4\t3.6\r\n",
    ] {
        let found: Value = serde_json::from_slice(&tap(text, &["--json"]).stdout).expect("JSON");
        assert_eq!(found, plain, "{text:?}");
    }
}

#[test]
fn times_that_are_no_taps_are_refused() {
    for (text, reason) in [
        ("0 1.2 NaN", "not a time"),
        ("0 1.2 inf", "not a time"),
        ("0 2.4 1.2", "a tap before the one before"),
        ("0 1.2\n2.4 x", "standard input:2"),
        ("0 1.2\r2.4\r3.6 x", "standard input:3"),
        ("sep=|\n0 1.2", "standard input:1"),
        ("0 1.2\n2.4 \u{e9}", "not a time"),
        ("0 0.2 0.4 0.6 0.8 1.0", ""),
    ] {
        let output = tap(text, &[]);
        let message = String::from_utf8_lossy(&output.stderr);
        match reason {
            // Nothing regular that a swimmer could do: said, and no rate.
            "" => assert!(String::from_utf8_lossy(&output.stdout).contains("nothing regular")),
            _ => assert!(
                output.status.code() == Some(2) && message.contains(reason),
                "{text}: {message}"
            ),
        }
    }
    let folder = tempfile::tempdir().expect("a temporary folder");
    let output = cuelane(folder.path())
        .arg("tap")
        .stdin(Stdio::null())
        .output()
        .expect("it starts");
    assert_eq!(output.status.code(), Some(2));
}

#[cfg(unix)]
#[test]
fn keys_at_a_terminal_give_a_rate_and_the_terminal_back() {
    let program = env!("CARGO_BIN_EXE_cuelane");
    let told = python_script(
        "keys.py",
        &["enter", program, "tap", "--each", "stroke", "--json"],
    );
    let (printed, after) = told
        .trim_end()
        .rsplit_once("}\n")
        .expect("JSON, then two lines");
    let found: Value = serde_json::from_str(&format!("{printed}}}")).expect("JSON");
    assert_eq!((after, &found["taps"]), ("restored\n0", &Value::from(10)));
    // 0.65 s and whatever the machine adds: somewhere below 92 spm.
    let rate = number(&found["rate_spm"]["value"]);
    assert!((30.0..=93.0).contains(&rate), "{rate}");

    let told = python_script("keys.py", &["signal", program, "tap"]);
    assert!(told.trim_end().ends_with("restored\n0"), "{told}");
}

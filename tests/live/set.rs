//! A set run by two swimmers, timed by keys, on the screen.

use super::*;

const SESSION: &str = "title = \"Evening\"\nlead_in = \"5 s\"\n[[set]]\nname = \"Settle\"\nrepeats = 3\n\
    swim = \"50 m\"\npace = \"20 s / 50 m\"\nrest = \"6 s\"\nrate = \"54 spm\"\n";

/// Presses a key and gives the moments before and after, in s: it was taken between them.
fn press(terminal: &mut Terminal, key: &str, begun: Instant) -> [f64; 2] {
    let before = begun.elapsed().as_secs_f64();
    terminal.key(key);
    [before, begun.elapsed().as_secs_f64()]
}

#[test]
fn a_set_of_two_swimmers_is_timed_by_keys_and_written_as_measured() {
    let server = Server::start();
    support::write(server.folder(), "evening.toml", SESSION);
    for name in ["Alex", "Bo"] {
        let text = format!("name = \"{name}\"\nrate = \"54 spm\"\n");
        support::write(server.folder(), &format!("{name}.toml"), text);
    }
    let line = [
        "live",
        "evening.toml",
        "--silent",
        "--speech",
        "off",
        "--log",
        "log.csv",
    ];
    let who = [
        "--swimmer",
        "Alex.toml",
        "--with",
        "Bo.toml",
        "--apart",
        "2 s",
    ];
    let mut terminal = Terminal::start(&server, &[&line[..], &who].concat());
    terminal.wait_for("ready");
    let begun = Instant::now();
    // The clock runs from this key on; the first go is 5 s later, the second 7 s.
    let run = press(&mut terminal, "Space", begun);
    terminal.wait_for("Swimming 0:06");
    let first = press(&mut terminal, "c", begun);
    terminal.wait_for("Written: Alex");
    sleep(1.7);
    let second = press(&mut terminal, "c", begun);
    terminal.wait_for("Written: Bo");
    // All are in: the rest has begun, and results are entered in it.
    terminal.wait_for("Start in 0:0");
    terminal.key("r");
    terminal.wait_for("Results: Settle, repeat 1");
    for key in ["4", "4", "Down", "Right", "Enter"] {
        terminal.key(key);
    }
    terminal.wait_for("Start in 0:01");
    // Stopped half-way: no swim.
    terminal.wait_for("Swimming 0:02");
    terminal.key("n");
    terminal.wait_for("The swim is over; its rest begins.");
    terminal.wait_for("Then: the end of the session");
    terminal.wait_for("Swimming 0:03");
    terminal.key("?");
    terminal.key("c");
    // Any key closes the help, under which the time was taken.
    terminal.key("Escape");
    terminal.wait_for("Settle 3: Alex ");
    // Ctrl-C asks as q does.
    terminal.key("C-c");
    terminal.wait_for("Quit?");
    terminal.key("C-c");
    terminal.wait_for_end();
    check_rows(&server, run, first, second);
}

/// The rows hold what was typed, and times within 0.05 s of the keys.
fn check_rows(server: &Server, run: [f64; 2], first: [f64; 2], second: [f64; 2]) {
    let log = std::fs::read_to_string(server.folder().join("log.csv")).expect("a log");
    let rows: Vec<Vec<&str>> = log
        .lines()
        .skip(1)
        .map(|row| row.split(',').collect())
        .collect();
    let told: Vec<[&str; 4]> = (rows.iter())
        .map(|row| [row[1], row[4], row[7], row[12]])
        .collect();
    let due = [
        ["Alex", "1", "44", "yes"],
        ["Bo", "1", "", ""],
        ["Alex", "3", "", ""],
    ];
    assert_eq!(told, due, "{log}");
    for (row, key, go_s) in [(0, first, 5.0), (1, second, 7.0)] {
        let time: f64 = rows[row][6].trim_end_matches(" s").parse().expect("a time");
        let (least, most) = (key[0] - run[1] - go_s, key[1] - run[0] - go_s);
        assert!(
            (least - 0.05..=most + 0.05).contains(&time),
            "{time} s is not from {least} to {most} s: {log}"
        );
    }
}

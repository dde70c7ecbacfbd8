//! The page for a phone in a real browser, against the deck without sound: headless Chromium, driven
//! by `phone/scenarios.py`, which takes each from `on_the_page.py` or `over_the_link.py`. A wire of the
//! test's own between the two can be cut. And the server against clients that are no browser.

mod limits;

use std::io::Write;
use std::path::Path;
use std::process::Stdio;

use serde_json::{Value, json};

use crate::mark::found::{list, numbers, text};
use crate::support::system::in_time;
use crate::support::{cuelane, python_script, refused};

/// Plays a scenario and gives what came of it.
fn scenario(name: &str) -> Value {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let program = env!("CARGO_BIN_EXE_cuelane");
    let path = folder.path().to_str().expect("an ASCII path");
    let printed = python_script("phone/scenarios.py", &[name, program, path]);
    if let Some(kept) = std::env::var_os("CUELANE_PICTURES") {
        crate::mark::found::keep_pictures(folder.path(), Path::new(&kept));
    }
    serde_json::from_str(&printed).expect("the scenario prints JSON")
}

fn texts(value: &Value) -> Vec<&str> {
    list(value).iter().map(text).collect()
}

/// The times in rows of the log, s.
fn times(rows: &Value) -> Vec<f64> {
    let time = |row: &str| {
        let field = row.split(',').nth(6).expect("a time");
        field.trim_end_matches(" s").parse().expect("a time in s")
    };
    texts(rows).into_iter().map(time).collect()
}

/// Times as the log has them are the moments of the touches after the start, of swimmers who leave
/// 2 s after one another. The driver presses a little after it was told to.
fn times_hold(rows: &Value, pressed: &Value) {
    let (times, pressed) = (times(rows), numbers(pressed));
    assert_eq!(times.len(), 2, "{rows}");
    for (at, (time, pressed)) in times.iter().zip(pressed).enumerate() {
        let late = time + 2.0 * at as f64 - pressed;
        assert!((-0.1..=0.4).contains(&late), "{late} s: {rows}");
    }
}

#[test]
fn every_button_does_what_its_key_does() {
    let found = scenario("buttons");
    let told = texts(&found["by_buttons"]);
    assert_eq!(told, texts(&found["by_keys"]));
    assert!(told.len() >= 40, "{told:?}");
    let pressed = texts(&found["pressed"]);
    for label in texts(&found["labels"]) {
        assert!(pressed.contains(&label), "{label} was never pressed");
    }
    let rates = texts(&found["tapped"]).into_iter().map(|line| {
        let spm = line
            .strip_prefix("rate: ")
            .and_then(|rate| rate.split(' ').next());
        spm.expect("a rate").parse::<f64>().expect("a number")
    });
    let rates: Vec<f64> = rates.collect();
    assert!((rates[0] - rates[1]).abs() < 3.0, "{rates:?}");
}

#[test]
fn two_swimmers_are_timed_and_their_results_entered_as_the_log_has_them() {
    let found = scenario("times");
    times_hold(&found["rows"], &found["pressed"]);
    let [before, after] = ["before", "rows"].map(|key| texts(&found[key]));
    assert_eq!(before[0], after[0]);
    assert!(after[1].contains(" s,22/length,54 spm,"), "{}", after[1]);
    assert!(after[1].ends_with(",7,part,,"), "{}", after[1]);
    // First names only, with the times that lines tell and the log has.
    let legends = texts(&found["legends"]);
    let told = texts(&found["told"]);
    for ((legend, told), name) in legends.iter().zip(told).zip(["Alex", "Bo"]) {
        let time = legend
            .strip_prefix(&format!("{name}, "))
            .expect("a first name");
        assert!(
            told.ends_with(&format!("{name} Example in: {time}.")),
            "{told} {legend}"
        );
    }
    assert!(!found.to_string().contains("\"name\":\"Alex Example\""));
    // A film keeps the screen on, or the page says what to do where it cannot be played.
    let plays = found["film"] == json!([true, false, true]);
    assert!(
        plays || found["film"] == json!([false, true, true]),
        "{}",
        found["film"]
    );
    // It shakes for a moment as the hold is done, and for longer as the start is heard.
    let shaken: Vec<Vec<f64>> = list(&found["shaken"]).iter().map(numbers).collect();
    assert_eq!((shaken[0][0], shaken[1][0]), (40.0, 300.0));
    assert!(
        shaken[0][1] < -5000.0 && (-400.0..1500.0).contains(&shaken[1][1]),
        "{shaken:?}"
    );
    assert_eq!(found["shown"][0], "AlexBo");
}

#[test]
fn what_happens_without_a_link_is_delivered_once_in_its_own_time_and_wishes_never_late() {
    let found = scenario("outage");
    times_hold(&found["rows"], &found["pressed"]);
    assert_eq!(found["rows_meanwhile"], json!([]));
    assert_eq!(list(&found["ins"]).len(), 2);
    assert_eq!(
        found["rate"],
        json!(["54", "54"]),
        "a wish of before is not done"
    );
    assert_eq!(
        texts(&found["open"]),
        ["Time", "Cues", "Results", "in", "split", "tap"]
    );
    let greyed = texts(&found["greyed"]);
    for wish in [
        "faster", "slower", "silence", "go on", "next", "again", "pairing",
    ] {
        assert!(greyed.contains(&wish), "{greyed:?}");
    }
    // The deck's own answer stands beside it, and without a clock no wish can be told from a late one.
    assert_eq!(
        found["doubts"],
        json!([
            ["Times may be wrong by 0.03 s.", "Written.", false, false],
            ["The two clocks are being compared.", "Written.", true, true]
        ])
    );
    let said = text(&found["said"]);
    assert!(
        said.starts_with("faster did not get through. No link for ")
            && said.contains("2 things wait to be sent."),
        "{said}"
    );
}

#[test]
fn what_was_kept_outlives_a_reload_and_is_taken_once() {
    let found = scenario("reload");
    assert_eq!(found["kept"], 2);
    times_hold(&found["rows"], &found["pressed"]);
    assert_eq!(list(&found["ins"]).len(), 2);
}

#[test]
fn two_phones_see_the_same_and_each_takes_back_what_it_did() {
    let found = scenario("two");
    let states = list(&found["states"]);
    assert_eq!(states[0], states[1]);
    assert_eq!(states[0]["hands_silent"], true);
    assert_eq!(found["rate"], json!(["54", "54"]));
}

#[test]
fn a_deck_that_has_ended_is_left_and_its_next_start_has_another_secret() {
    let found = scenario("ended");
    assert_eq!(found["old"][0], false);
    let said = text(&found["old"][1]);
    assert!(
        said.starts_with("No link for ") && said.contains("One thing waits to be sent."),
        "{said}"
    );
    assert_eq!(found["new"], json!([true, "54"]));
    assert_eq!(
        found["kept"],
        json!([0, []]),
        "what was kept for one deck is never another's"
    );
    assert!(text(&found["quit"]).starts_with("The deck has ended."));
    assert_eq!(
        found["again"], true,
        "a deck that has ended is not asked again"
    );
    assert_eq!(found["same_secret"], false);
}

#[test]
fn after_the_end_silence_changes_nothing_and_a_hold_begins_anew_without_a_swim() {
    let found = scenario("over");
    let [buttons, hint, state] = &list(&found["at_the_end"])[..] else {
        panic!("{found}");
    };
    // Silence is greyed, and what begins anew is not.
    assert_eq!(*buttons, json!([true, false]));
    assert_eq!(hint, "hold: anew");
    let results = list(state)[2].clone();
    assert_eq!(*state, json!([true, false, results]));
    let time = text(&results["rows"][0]["time"]);
    assert!(time.ends_with(" s"), "{time}");
    let said = json!(["said: The session is over: it is silent."]);
    assert_eq!(found["silenced"], json!([said, found["at_the_end"]]));
    let told = [
        "said: At the beginning again. Space starts.",
        "clock: paused",
        "said: Nobody has started yet.",
    ];
    assert_eq!(found["anew"], json!([told, [false, false, 0]]));
    assert_eq!(list(&found["rows"][0]).len(), 1);
    assert_eq!(found["rows"][0], found["rows"][1]);
}

#[test]
fn a_wish_that_came_too_late_is_not_done_and_its_phone_is_told() {
    let found = scenario("late");
    let said = "faster came too late, and was not done.";
    assert_eq!(found["late"], json!({ "count": 1, "said": said }));
    assert_eq!(found["told"], said);
    assert_eq!(found["rate"], json!(["54", "54"]));
}

#[test]
fn the_page_works_at_an_address_of_ipv6_and_speaks_with_nobody_else() {
    let found = scenario("six");
    if found.is_null() {
        // Told past the tests' own keeping of what they print.
        writeln!(std::io::stderr(), "NOT RUN: this machine has no ::1").expect("it is told");
        return;
    }
    let stopped = texts(&found["stopped"]);
    assert!(stopped.len() == 2, "{stopped:?}");
    assert_eq!(found["said"], json!([]));
}

#[test]
fn nothing_is_asked_of_anybody_else_and_nobody_else_may_ask() {
    let found = scenario("elsewhere");
    let address = text(&found["address"]);
    let socket = format!("{}/socket", address.replace("http", "ws"));
    let asked = texts(&found["asked"]);
    let is_the_browsers_own =
        |url: &&&str| url.starts_with("chrome://") || url.starts_with("data:");
    let asked: Vec<&str> = asked
        .iter()
        .filter(|url| !is_the_browsers_own(url))
        .copied()
        .collect();
    assert_eq!(asked, [address, &socket]);
    let stopped = texts(&found["stopped"]);
    for directive in [
        "connect-src",
        "script-src-elem",
        "img-src",
        "media-src",
        "frame-src",
    ] {
        assert!(stopped.contains(&directive), "{directive}: {stopped:?}");
    }
    assert_eq!(found["foreign"], "refused");
    assert!(text(&found["without"][0]).contains("has no WebSockets"));
    assert_eq!(
        found["without"][1], false,
        "no button is left that could do nothing"
    );
}

/// From one box to another, CSS pixels; 0 where they touch or overlap.
fn between(one: &[f64], other: &[f64]) -> f64 {
    let gap = |lo: usize, hi: usize| (other[lo] - one[hi]).max(one[lo] - other[hi]).max(0.0);
    gap(0, 2).hypot(gap(1, 3))
}

/// No line of the head lies on another, however long they are.
fn lines_are_apart(page: &Value) {
    let lines = list(&page["boxes"])
        .iter()
        .filter(|one| one["line"] == true);
    let lines: Vec<_> = lines
        .map(|one| (text(&one["what"]), numbers(&one["seen"])))
        .filter(|(_, seen)| seen[3] > seen[1])
        .collect();
    assert!(lines.len() >= 4, "{lines:?}");
    for (at, (one, above)) in lines.iter().enumerate() {
        for (other, below) in &lines[at + 1..] {
            let across = above[2].min(below[2]) - above[0].max(below[0]);
            let down = above[3].min(below[3]) - above[1].max(below[1]);
            let place = format!("{} {}", page["size"], page["page"]);
            assert!(across.min(down) <= 1.0, "{place}: {one:?} on {other:?}");
        }
    }
}

/// No button lies on another, and those that are held are not beside "in".
fn stands_apart(page: &Value) {
    let seen = |one: &&Value| {
        let edges = numbers(&one["seen"]);
        one["button"] == true && edges[3] > edges[1]
    };
    let buttons: Vec<&Value> = list(&page["boxes"]).iter().filter(seen).collect();
    for (at, one) in buttons.iter().enumerate() {
        for other in &buttons[at + 1..] {
            let gap = between(&numbers(&one["seen"]), &numbers(&other["seen"]));
            let (one, other) = (*one, *other);
            let is_in = |button: &Value| button["what"] == "in";
            let is_apart =
                (one["held"] == true && is_in(other)) || (other["held"] == true && is_in(one));
            let slips = |silence: &Value, times: &Value| {
                silence["what"] == "silence" && times["times"] == true
            };
            // A thumb is about 10 mm wide, which is 63 pixels where a phone's is a 160th of an inch; a
            // slip is less than 8 mm (common practice, no source).
            let least = if is_apart {
                63.0
            } else if slips(one, other) || slips(other, one) {
                50.4
            } else {
                4.0
            };
            assert!(
                gap >= least,
                "{} {}: {gap} from {} to {}",
                page["size"],
                page["page"],
                one["what"],
                other["what"]
            );
        }
    }
}

/// Whoever takes a time or wants silence scrolls nothing, and reads what is told of it, on the lowest
/// screens too; elsewhere every line of the head is seen.
fn what_is_needed_is_seen(page: &Value) {
    let size = numbers(&page["size"]);
    let is_low = size[1] < if size[0] < size[1] { 500.0 } else { 340.0 };
    let mut count = 0;
    for one in list(&page["boxes"]) {
        let [seen, whole] = ["seen", "box"].map(|key| numbers(&one[key]));
        let place = format!("{} {} {}", page["size"], page["page"], one["what"]);
        let needed = one["times"] == true && one["button"] == true
            || one["what"] == "silence"
            || one["told"] == true
            || one["next"] == true && page["page"] == "time";
        let is_read = one["line"] == true && !is_low;
        if needed || is_read {
            let hidden = (seen[1] - whole[1]).max(whole[3] - seen[3]);
            assert!(hidden <= 1.0, "{place}: {hidden} of it are hidden");
            count += 1;
        }
    }
    let fewest = if page["page"] == "time" { 7 } else { 3 };
    assert!(count >= fewest, "{count}: {page}");
}

#[test]
fn the_page_fits_every_phone_with_buttons_for_a_thumb() {
    let found = scenario("layout");
    let pages = list(&found["pages"]);
    assert_eq!(pages.len(), 30);
    for page in pages {
        let mut seen = 0;
        what_is_needed_is_seen(page);
        stands_apart(page);
        lines_are_apart(page);
        for one in list(&page["boxes"]) {
            let (what, edges) = (text(&one["what"]), numbers(&one["box"]));
            let place = format!("{} {} {what}", page["size"], page["page"]);
            let (width, height) = (edges[2] - edges[0], edges[3] - edges[1]);
            assert_eq!(one["out"], false, "{place}");
            assert_eq!(one["cut"], false, "{place}");
            assert!(one["font"].as_f64().expect("a size") >= 13.0, "{place}");
            if one["button"] == true {
                assert!(
                    width >= 44.0 && height >= 42.0,
                    "{place}: {width} x {height}"
                );
                seen += 1;
            }
            // 25 mm, where a phone's pixel is a 160th of an inch: the unit dp, as Android has it.
            if what == "in" {
                assert!(
                    width >= 158.0 && height >= 158.0,
                    "{place}: {width} x {height}"
                );
            }
        }
        assert!(seen >= 7, "{seen} buttons");
    }
}

#[test]
fn a_palm_a_wet_hand_and_a_slow_one_time_one_swimmer() {
    let found = scenario("hands");
    assert_eq!(found["counts"], json!([1, 2, 3, 4, 5, 6]));
    assert_eq!(found["splits"], json!([]));
}

#[test]
fn a_tab_that_was_copied_loses_no_time() {
    let found = scenario("copied");
    assert_eq!(found["same"], true, "the copy has the store of the first");
    let said = text(&found["said"]);
    assert!(said.contains("to work here, open it anew"), "{said}");
    let (times, pressed) = (times(&found["rows"]), numbers(&found["pressed"]));
    assert_eq!(times.len(), 1, "{}", found["rows"]);
    let late = times[0] - pressed[0];
    assert!((-0.1..=0.4).contains(&late), "{late} s");
}

#[test]
fn silence_that_did_not_get_through_is_told_at_once_and_a_good_link_is_not_spoken_of() {
    let found = scenario("undone");
    assert_eq!(found["seen"], json!([]));
    assert_eq!(found["said"], "silence did not get through.");
    let after = found["after"].as_f64().expect("a time");
    assert!((0.9..2.0).contains(&after), "{after} s");
    // It is never done late, and is told of as the link is there again.
    assert_eq!(found["runs"], true);
    let later = text(&found["later"]);
    assert!(later.contains("silence"), "{later}");
    assert_eq!(found["end"], "");
}

#[test]
fn without_a_link_a_clock_is_doubted_as_soon_as_the_deck_would() {
    let found = scenario("doubt");
    assert_eq!(found["sure"][0], true);
    let sure_s = found["sure"][1].as_f64().expect("a time");
    let after = found["after"].as_f64().expect("a time");
    assert!((5.0..=60.0).contains(&sure_s), "{sure_s} s");
    assert!((0.0..1.5).contains(&(after - sure_s)), "{after} {sure_s}");
}

#[test]
fn results_of_two_phones_stand_beside_each_other_and_wrong_ones_are_told_where_they_are() {
    let found = scenario("entered");
    assert_eq!(
        found["shown"], "7",
        "it is taken up while strokes are typed"
    );
    let both = text(&found["both"]);
    assert!(both.contains(",44,") && both.contains(",7,"), "{both}");
    let apart = text(&found["apart"]);
    assert_eq!(found["waits"], "part");
    assert!(
        apart.contains(",44,") && apart.ends_with(",9,part,,"),
        "{apart}"
    );
    assert_eq!(
        (&found["drafted"], &found["put_back"]),
        (&json!(false), &json!([true, true]))
    );
    assert_eq!(
        found["wrong"],
        json!([
            "Strokes of Bo: found \"abc\". Accepted: strokes of both arms, as a number: 44 for the \
             whole swim, 22/length for each length. Example: 44",
            "abc",
            0,
            true
        ])
    );
    let accepted = cuelane::model::log::Strokes::ACCEPTED;
    assert!(text(&found["wrong"][0]).contains(accepted));
    let row = text(&found["row"]);
    assert!(!row.contains("abc"), "{row}");
    // The page refuses what the deck refuses, and nothing else.
    for verdict in list(&found["verdicts"]) {
        assert_eq!(verdict[1], verdict[2], "{}", verdict[0]);
    }
}

#[test]
fn the_page_says_which_entries_are_tapped() {
    let found = scenario("each");
    let told = texts(&found["told"]);
    assert!(
        told[0].starts_with("Tap each entry of the hand that starts;"),
        "{told:?}"
    );
    assert!(
        told[1].starts_with("Tap each entry of either hand;"),
        "{told:?}"
    );
}

/// A deck without sound for whoever comes by phone.
const LIVE: [&str; 6] = [
    "live",
    "--stroke-rate",
    "54 spm",
    "--silent",
    "--lines",
    "--phone",
];

#[test]
#[cfg(target_os = "linux")]
#[ignore = "has no network: make test runs it where that may be done"]
fn without_a_network_it_is_said_and_the_deck_runs_on() {
    let chosen = cuelane::phone::Addresses::of_this_machine().choose(None);
    let none = chosen.expect("nothing is named").is_none();
    assert!(none, "run it without one: unshare --net cargo test ...");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut deck = cuelane(folder.path())
        .args(LIVE)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    let mut keys = deck.stdin.take().expect("it is ours");
    keys.write_all(b"^oq").expect("it reads");
    let output = in_time(deck);
    assert!(
        output.status.success() && output.stderr.is_empty(),
        "{output:?}"
    );
    let told = String::from_utf8(output.stdout).expect("lines are UTF-8");
    let no_network =
        "No local network for phones: join one, or name an address by --phone-address.";
    assert!(told.contains("rate: 55 spm"), "{told}");
    assert_eq!(
        told.matches(no_network).count(),
        2,
        "at first and for o: {told}"
    );
    assert!(!told.contains("http"), "{told}");
}

/// What a deck does whose address goes while it runs; the network is a process's own.
const ADDRESS_GOES: &str = r#"
ip link set lo up && ip addr add 10.99.0.1/24 dev lo || exit 99
mkfifo -m 600 keys && exec 3<>keys
"$1" live evening.toml --silent --lines --speech off --log log.csv --phone --phone-address 10.99.0.1 <keys >told &
deck=$!
until grep -qs ' next:' told; do kill -0 "$deck" || exit 97; sleep 0.1; done
ip addr del 10.99.0.1/24 dev lo
sleep 0.3
if [ "$2" = q ]; then printf q >&3; else kill -"$2" "$deck"; fi
for tenth in $(seq 50); do kill -0 "$deck" 2>/dev/null || { wait "$deck"; exit; }; sleep 0.1; done
kill -KILL "$deck"; exit 98
"#;

#[test]
#[cfg(target_os = "linux")]
#[ignore = "needs a network of its own: make test runs it where that may be had"]
fn a_deck_whose_address_is_gone_still_ends() {
    let program = env!("CARGO_BIN_EXE_cuelane");
    for by in ["q", "TERM", "INT"] {
        let folder = tempfile::tempdir().expect("a temporary folder");
        let session = "title = \"Evening\"\n[[set]]\nname = \"Settle\"\nswim = \"50 m\"\n\
                       pace = \"20 s / 50 m\"\nrate = \"54 spm\"\n";
        std::fs::write(folder.path().join("evening.toml"), session).expect("our folder");
        // Its own: beside it others see that there is none.
        let ended = std::process::Command::new("unshare")
            .args(["--net", "sh", "-c", ADDRESS_GOES, "sh", program, by])
            .current_dir(folder.path())
            .status()
            .expect("a shell");
        assert_eq!(ended.code(), Some(0), "{by}: 98 where it had to be killed");
    }
}

#[test]
fn a_port_in_use_and_an_address_of_another_machine_are_refused() {
    let folder = tempfile::tempdir().expect("a temporary folder");
    let taken = std::net::TcpListener::bind("127.0.0.1:0").expect("a port");
    let port = taken.local_addr().expect("its own").port().to_string();
    let with = |more: &[&str], code| refused(folder.path(), &[&LIVE, more].concat(), code);
    let said = with(&["--phone-address", "127.0.0.1", "--port", &port], 1);
    assert!(
        said.contains(&format!(
            "--port: port {port} cannot be served: it is in use"
        )),
        "{said}"
    );
    // An address for documents (RFC 5737), which no machine has.
    let said = with(&["--phone-address", "203.0.113.9"], 2);
    assert!(said.contains("203.0.113.9 is not this machine's"), "{said}");
    assert!(
        said.contains("accepted: an address of this machine: "),
        "{said}"
    );
    let without = [&LIVE[..5], &["--port", "8090"]].concat();
    assert!(refused(folder.path(), &without, 2).contains("--phone"));
}

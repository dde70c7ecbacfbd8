//! Random input against everything that reads what a person wrote or a machine damaged: no panic.
//!
//! `CUELANE_FUZZ_CASES` sets the cases a target (20 000 unless told); `CUELANE_FUZZ_SEED` the
//! seed. Case n of a target depends on the seed and n alone, so a failure is run again by the
//! seed and number that it prints. Each target says how many cases a second it did, and how many
//! of them its reader accepted: a target that accepts nothing tests nothing behind the reader.
#![allow(clippy::print_stdout)] // the cases a second are its report

use std::fmt::Debug;
use std::io::Cursor;
use std::panic::{AssertUnwindSafe, catch_unwind};
use std::time::{Duration, Instant};

use crate::support::edits::{Edit, SESSION, SWIMMER, apply};
use crate::support::wavs;
use cuelane::analysis::timing::Timing;
use cuelane::analysis::weeks::follow;
use cuelane::error::Error;
use cuelane::export::TrackReader;
use cuelane::files::{
    NewPlan, PRESETS, SWIMMERS, log_csv, new_plan, parse_log, parse_marks, parse_plan,
    parse_session, parse_squad, parse_swimmer,
};
use cuelane::model::plan::{days_of, session_of};
use cuelane::model::resolve::resolve;
use cuelane::model::session::{RepeatSwim, SwimWish};
use cuelane::model::swimmer::Swimmer;
use cuelane::model::wishes::Wishes;
use cuelane::timeline::{Schedule, Timeline};
use cuelane::units::{Length, Pace, Quantity, Rate, RateWish, StrokeLength, Time};
use fastrand::Rng;

/// A case that takes longer is told with its input.
const SLOW: Duration = Duration::from_millis(100);

fn setting(name: &str, otherwise: u64) -> u64 {
    match std::env::var(name) {
        Ok(text) => text
            .parse()
            .unwrap_or_else(|_| panic!("{name}={text} is no number")),
        Err(_) => otherwise,
    }
}

/// Runs a target's cases. `case` gives whether the input was accepted.
fn fuzz<I: Debug>(target: &str, make: impl Fn(&mut Rng) -> I, case: impl Fn(&I) -> bool) {
    let cases = setting("CUELANE_FUZZ_CASES", 20_000);
    let seed = setting("CUELANE_FUZZ_SEED", 20_261_125);
    println!("{target}: {cases} cases from seed {seed}");
    let start = Instant::now();
    let (mut accepted, mut slow, mut slowest) = (0_u64, 0_u64, Duration::ZERO);
    for number in 0..cases {
        let mut rng = Rng::with_seed(seed.wrapping_add(number.wrapping_mul(0x9e37_79b9_7f4a_7c15)));
        let input = make(&mut rng);
        let run = || {
            let begun = Instant::now();
            let held = catch_unwind(AssertUnwindSafe(|| case(&input)));
            (held, begun.elapsed())
        };
        let (held, took) = run();
        match held {
            Ok(held) => accepted += u64::from(held),
            Err(_) => panic!("{target}: seed {seed}, case {number}, input:\n{input:?}"),
        }
        // A busy machine makes any case slow for once: the quickest of four counts.
        let took = if took > SLOW {
            (0..3).map(|_| run().1).fold(took, Duration::min)
        } else {
            took
        };
        slowest = slowest.max(took);
        if took > SLOW {
            slow += 1;
            if slow <= 20 {
                println!("{target}: case {number} took {took:?}:\n{input:?}");
            }
        }
    }
    let seconds = start.elapsed().as_secs_f64();
    println!(
        "{target}: {cases} cases in {seconds:.1} s, {:.0} a second; {:.1} % accepted; \
         slowest {slowest:?}, {slow} over {SLOW:?}",
        cases as f64 / seconds,
        100.0 * accepted as f64 / cases as f64
    );
    assert!(
        accepted > 0 && accepted < cases,
        "{target}: {accepted} of {cases} accepted"
    );
}

/// One to six changes, few more often than many.
fn spoil(text: &str, other: &str, rng: &mut Rng) -> String {
    let mut text = text.to_string();
    for _ in 0..=rng.u32(0..6).min(rng.u32(0..6)) {
        let edit = Edit {
            kind: rng.u8(..),
            at: rng.u32(..),
            with: rng.u32(..),
        };
        apply(&mut text, other, edit);
    }
    text
}

/// What quantities are made of, and what they are not, between bars.
const NUMBERS: &str = "0|1|2|5|9|10|25|54|100|160|0.5|0.95|1.03|33|1/3|⅓|⅔|1:30|59:59.9|1:00:00|\
                       +2|-3|33 1/3|99999999999|999999999999|0.000000001|0.0000000001|1_000|nan";
const UNITS: &str = "spm|SPM|cpm|strokes/min|cycles/min|s/stroke|s/cycle|m/stroke|m/cycle|%|\
                     m|yd|km|s|min|ms|h| / 100 m| strokes / 25 m| cycles / 25 yd|s / 100 yd";
const OTHERS: &str = ".|,|:|/|+|-|_|%| |  |\t|\n|\u{a0}|\u{0}|\u{202e}|９|½|é|µ|e9|inf|0x1f";

/// The alphabet of the unit target.
struct Alphabet {
    numbers: Vec<&'static str>,
    units: Vec<&'static str>,
    all: Vec<&'static str>,
}

impl Alphabet {
    fn new() -> Self {
        let numbers: Vec<&str> = NUMBERS.split('|').collect();
        let units: Vec<&str> = UNITS.split('|').collect();
        let all = [&numbers[..], &units, &OTHERS.split('|').collect::<Vec<_>>()].concat();
        Self {
            numbers,
            units,
            all,
        }
    }

    /// Pieces at random, or a number with a unit, as it is or spoilt.
    fn quantity(&self, rng: &mut Rng) -> String {
        let pick = |from: &[&'static str], rng: &mut Rng| from[rng.usize(..from.len())];
        let kind = rng.u32(0..3);
        if kind == 0 {
            return (0..rng.usize(1..7)).map(|_| pick(&self.all, rng)).collect();
        }
        let space = if rng.bool() { " " } else { "" };
        let text = pick(&self.numbers, rng).to_string() + space + pick(&self.units, rng);
        match kind {
            1 => text,
            _ => spoil(&text, "", rng),
        }
    }
}

/// Reads a quantity. A refusal says why; what was read prints.
fn read<Q: Quantity + ToString>(text: &str) -> Option<(Q, String)> {
    match Q::parse(text) {
        Err(why) => {
            assert!(!why.is_empty());
            None
        }
        Ok(quantity) => {
            let printed = quantity.to_string();
            assert!(!printed.is_empty());
            Some((quantity, printed))
        }
    }
}

/// Whether a quantity is read; if so, what it prints must be the same quantity again.
fn reads_back<Q: Quantity + ToString + PartialEq + Debug>(text: &str) -> bool {
    let Some((quantity, printed)) = read::<Q>(text) else {
        return false;
    };
    assert_eq!(Q::parse(&printed), Ok(quantity), "printed {printed:?}");
    true
}

#[test]
fn units() {
    let alphabet = Alphabet::new();
    let make = |rng: &mut Rng| alphabet.quantity(rng);
    fuzz("units", make, |text| {
        // A time may be written finer or longer than it is printed and read (ms have nine decimals
        // too, hours twelve digits), and a change of rate wider: those need only print.
        let read = [
            reads_back::<Rate>(text),
            reads_back::<Length>(text),
            reads_back::<StrokeLength>(text),
            read::<RateWish>(text).is_some(),
            read::<Pace>(text).is_some(),
            read::<Time>(text).is_some(),
            read::<RepeatSwim>(text).is_some(),
            read::<SwimWish>(text).is_some(),
        ];
        read.contains(&true)
    });
}

/// A refusal names its file and shows nothing that a terminal would obey.
fn refused(error: &Error, files: &[&str]) -> bool {
    let message = error.to_string();
    let names = |file: &&str| message.starts_with(&format!("{file}:"));
    assert!(files.iter().any(names), "no file is named: {message}");
    let shown = message.chars().any(|c| c.is_control() && c != '\n');
    assert!(!shown, "a control character is shown: {message:?}");
    false
}

/// Lays a session out; where `deep`, down to its first events, which costs ten times as much.
fn lay_out(text: &str, swimmer: Option<&Swimmer>, deep: bool) -> Result<(), Error> {
    let session = parse_session("evening.toml", text)?;
    let resolved = resolve(&session, swimmer, &Wishes::default())?;
    let schedule = Schedule::new(&resolved)?;
    if !deep {
        return Ok(());
    }
    let timeline = Timeline::new(&resolved, &schedule, 44_100);
    let mut before = 0;
    for event in timeline.events().take(200) {
        assert!(event.frame >= before, "events stand in order");
        before = event.frame;
    }
    Ok(())
}

#[test]
fn sessions() {
    let presets = PRESETS.iter().map(|preset| preset.text);
    let texts: Vec<&str> = [SESSION; 3].into_iter().chain(presets).collect();
    let swimmer = parse_swimmer("alex.toml", SWIMMER).expect("it holds");
    let make = |rng: &mut Rng| {
        let text = texts[rng.usize(..texts.len())];
        let other = texts[rng.usize(..texts.len())];
        let (alone, deep) = (rng.u32(0..8) == 0, rng.u32(0..32) == 0);
        (spoil(text, other, rng), alone, deep)
    };
    fuzz("sessions", make, |(text, alone, deep)| {
        let swimmer = (!alone).then_some(&swimmer);
        match lay_out(text, swimmer, *deep) {
            Ok(()) => true,
            Err(error) => refused(&error, &["evening.toml", "alex.toml"]),
        }
    });
}

#[test]
fn swimmers() {
    let presets = SWIMMERS.iter().map(|preset| preset.text);
    let texts: Vec<&str> = [SWIMMER; 2].into_iter().chain(presets).collect();
    let session = parse_session("evening.toml", SESSION).expect("it holds");
    let make = |rng: &mut Rng| {
        let text = texts[rng.usize(..texts.len())];
        let other = texts[rng.usize(..texts.len())];
        spoil(text, other, rng)
    };
    fuzz("swimmers", make, |text| {
        let read = parse_swimmer("alex.toml", text).and_then(|swimmer| {
            let resolved = resolve(&session, Some(&swimmer), &Wishes::default())?;
            Schedule::new(&resolved)
        });
        match read {
            Ok(_) => true,
            Err(error) => refused(&error, &["alex.toml", "evening.toml"]),
        }
    });
}

/// A plan as `plan new` writes it, with what it leaves out as well.
fn plan_text() -> String {
    let new = NewPlan {
        swimmer: "alex.toml".into(),
        from: "52 spm".into(),
        to: "60 spm".into(),
        weeks: "12".into(),
        days: ["mon", "wed", "fri"].map(String::from).to_vec(),
        start: "2027-03-01".into(),
        time: Some("18:00".into()),
        zone: Some("Europe/Berlin".into()),
        log: Some("log.csv".into()),
        confirmed: true,
        ..NewPlan::default()
    };
    new_plan("plan.toml", &new).expect("it holds").0
}

#[test]
fn plans() {
    let text = plan_text();
    let swims: Vec<cuelane::analysis::weeks::LoggedSwim> = Vec::new();
    let make = |rng: &mut Rng| (spoil(&text, SWIMMER, rng), rng.u32(0..64) == 0);
    fuzz("plans", make, |(text, deep)| {
        let plan = match parse_plan("plan.toml", text) {
            Ok(plan) => plan,
            Err(error) => return refused(&error, &["plan.toml"]),
        };
        if !deep {
            return true;
        }
        let standing = follow(&plan, &swims, None, &[], plan.last_day(), None);
        let placed: Vec<_> = standing.weeks.iter().map(|week| week.placed).collect();
        let path = plan.path();
        for day in days_of(&plan, &placed).iter().take(9) {
            if let Err(error) = session_of(&plan, &path, day, None, Some(24.0)) {
                assert!(!error.to_string().is_empty());
            }
        }
        true
    });
}

#[test]
fn squads() {
    let one = "[[swimmer]]\nplan = \"alex-plan.toml\"\nfolder = \"tracks/alex\"\n";
    let text = format!("format = 1\n{one}{}", one.replace("alex", "sam"));
    let make = |rng: &mut Rng| spoil(&text, one, rng);
    fuzz("squads", make, |text| {
        match parse_squad("squad.toml", text) {
            Ok(members) => !members.is_empty(),
            Err(error) => refused(&error, &["squad.toml"]),
        }
    });
}

#[test]
fn tracks() {
    fuzz("tracks", wavs::spoilt, |bytes| {
        let mut reader = match TrackReader::new(Cursor::new(bytes), "x.wav") {
            Ok(reader) => reader,
            Err(error) => return refused(&error, &["x.wav"]),
        };
        assert!((8_000..=192_000).contains(&reader.sample_rate_hz()));
        assert!(reader.tolerance() > 0.0);
        let mut frames = [[0.0_f32; 2]; 256];
        // A header may promise 4 GiB: the first sixteen blocks are enough.
        for _ in 0..reader.frames().div_ceil(256).min(16) {
            if let Err(error) = reader.read(&mut frames) {
                return refused(&error, &["x.wav"]);
            }
            let sound = frames.iter().flatten().all(|sample| sample.is_finite());
            assert!(sound, "a sample is no number");
        }
        true
    });
}

const MARK_PIECES: [&str; 30] = [
    ",",
    ";",
    "\t",
    "\n",
    "\r\n",
    "\"",
    "left_entry",
    "right_entry",
    "left_catch",
    "right_kick",
    "1",
    "3.5",
    "4,25",
    "-1",
    "NaN",
    "1e9",
    "00:00:01:02",
    "00:00:01;02",
    "0:01.5",
    "00:10:00;00",
    "99999999999",
    ":",
    ".",
    " ",
    "é",
    "time,event\n",
    "1,left_entry\n",
    "2,left_kick\n",
    "3,left_entry\n",
    "5,left_entry\n",
];

#[test]
fn marks_are_read_or_refused() {
    let make = |rng: &mut Rng| {
        let headers = [
            "time,event\n",
            "time;event;pass\n",
            "frame,event\n",
            "\u{feff}",
        ];
        let mut text = headers[rng.usize(..headers.len())].to_string();
        for _ in 0..rng.usize(..12) {
            // Whole lines half the time, so that some noise gets past the first of them.
            let from = if rng.bool() { MARK_PIECES.len() - 4 } else { 0 };
            text.push_str(MARK_PIECES[rng.usize(from..MARK_PIECES.len())]);
        }
        (
            text,
            [None, Some("30"), Some("29.97"), Some("x")][rng.usize(..4)],
        )
    };
    fuzz("marks", make, |(text, fps)| {
        let Ok(marks) = parse_marks("noise.csv", text, *fps) else {
            return false;
        };
        assert!((marks.marks.iter()).all(|mark| mark.time_s.is_finite() && mark.time_s >= 0.0));
        if let Ok(timing) = Timing::of(&marks) {
            assert!(timing.rate_spm.value.is_finite() && timing.rate_spm.value > 0.0);
        }
        true
    });
}

/// Pieces of a log: whole and half rows, what parts fields, what quotes, what ends lines.
const LOG_PIECES: [&str; 20] = [
    "2026-03-14",
    "50 m",
    "48.1 s",
    "48,1 s",
    "22/length",
    "=1+1",
    "'-",
    "\"",
    "\"\"",
    ",",
    ";",
    "\t",
    "\n",
    "\r",
    "\r\n",
    "\u{feff}",
    "\u{202e}",
    "2026-03-14,50 m,48.1 s,easy\n",
    "2026-03-14;50 m;48,1 s;\"two\nlines\"\n",
    ",25 yd,1:02.4,\"a, b\"\r\n",
];

#[test]
fn logs_are_read_line_by_line() {
    let make = |rng: &mut Rng| {
        let headers = [
            "date,distance,time,note\n",
            "date;distance;time;note\r\n",
            "sep=;\ndate;distance;time;note\r",
            "\u{feff}\"date\"\t\"distance\"\t\"time\"\t\"note\"\n",
            "sep=,",
        ];
        let mut text = headers[rng.usize(..headers.len())].to_string();
        for _ in 0..rng.usize(0..12) {
            text.push_str(LOG_PIECES[rng.usize(..LOG_PIECES.len())]);
        }
        text
    };
    fuzz("logs", make, |text| {
        let Ok(log) = parse_log("noise.csv", text.as_bytes()) else {
            return false;
        };
        // Every line is one thing: a row, or broken.
        let rows = log.rows.iter().map(|line| line.line);
        let mut lines: Vec<usize> = rows
            .chain(log.broken.iter().map(|slip| slip.line))
            .collect();
        lines.sort_unstable();
        assert!(lines.windows(2).all(|pair| pair[0] < pair[1]), "{lines:?}");
        // What was read is written as it was.
        let rows: Vec<_> = log.rows.into_iter().map(|line| line.row).collect();
        let again = parse_log("again.csv", log_csv(&rows).as_bytes()).expect("a log");
        let again: Vec<_> = again.rows.into_iter().map(|line| line.row).collect();
        assert_eq!(again, rows);
        !rows.is_empty()
    });
}

/// What a page sends, and a browser's request for it.
#[cfg(feature = "phone")]
const FROM_PHONES: [&str; 5] = [
    r#"{"is":"hello","phone":"Ab_-9","load":7}"#,
    r#"{"is":"clock","asked_ms":1.5,"got_ms":20,"answered_ms":20.25}"#,
    r#"{"is":"wish","wish":"go_on","at_ms":20.5}"#,
    r#"{"is":"keep","number":1,"load":7,"what":{"is":"in","at_ms":12345.6}}"#,
    r#"{"is":"keep","number":2,"load":7,"what":{"is":"result","swim":0,"swimmer":1,"strokes":"22/length","kept":"yes","effort":"7"}}"#,
];

#[test]
#[cfg(feature = "phone")]
fn messages_of_phones() {
    let pick = |rng: &mut Rng| FROM_PHONES[rng.usize(..FROM_PHONES.len())];
    let make = |rng: &mut Rng| {
        let (text, other) = (pick(rng), pick(rng));
        spoil(text, other, rng)
    };
    fuzz(
        "messages of phones",
        make,
        |text| match cuelane::phone::Message::read(text) {
            Ok(message) => {
                assert!(text.len() <= 4096, "{message:?}");
                true
            }
            Err(why) => {
                assert!(!why.is_empty());
                false
            }
        },
    );
}

#[test]
#[cfg(feature = "phone")]
fn requests_of_browsers() {
    use cuelane::phone::{LetIn, Secret, asked};
    const HOST: &str = "192.168.43.20:8080";
    let secret = Secret::new().expect("random bits");
    let headers = "Upgrade: websocket\r\nConnection: Upgrade\r\n\
                   Sec-WebSocket-Key: dGhlIHNhbXBsZSBub25jZQ==\r\nSec-WebSocket-Version: 13\r\n";
    let of = |path: &str| {
        let host = format!("Host: {HOST}\r\nOrigin: http://{HOST}\r\n");
        format!("GET /{path} HTTP/1.1\r\n{host}{headers}\r\n")
    };
    let texts = [of(secret.text()), of(&format!("{}/socket", secret.text()))];
    let make = |rng: &mut Rng| {
        let text = spoil(&texts[rng.usize(..2)], &texts[rng.usize(..2)], rng);
        let mut bytes = text.into_bytes();
        if !bytes.is_empty() && rng.u32(0..4) == 0 {
            let at = rng.usize(..bytes.len());
            bytes[at] = rng.u8(..);
        }
        bytes
    };
    fuzz("requests of browsers", make, |bytes| {
        let found = asked(bytes, &secret, HOST);
        let is_let_in = matches!(found, LetIn::Page | LetIn::Socket(_));
        // Whatever else was spoilt: nobody is let in without the whole secret.
        let has_secret = String::from_utf8_lossy(bytes).contains(secret.text());
        assert!(!is_let_in || has_secret);
        is_let_in
    });
}

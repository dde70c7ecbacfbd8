//! `log list`: rows and what follows from them, from the log or from any other CSV.

use serde_json::{Value, json};
use std::fmt::Write as _;

use crate::cli::shared::out;
use crate::cli::shared::picked::{Picked, WantedRows};
use crate::cli::shared::swum::Swam;
use crate::cli::shared::table::{self, Column};
use crate::cli::shared::words::fill;
use crate::error::Result;
use crate::files::{Mapped, Rows, import_log, open_log};
use crate::model::log::{Broken, CountedWrong, LogLine, Row, Swum};
use crate::units::{Length, to_f64};

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane log list --swimmer Alex --from 2026-03-01\n  \
                  cuelane log list --import watch.csv --map date=Date --map distance=Metres:m \\\n    \
                  --map time=Duration:s --map strokes=Strokes --counted one-arm"
)]
pub struct LogListArgs {
    #[command(flatten)]
    pub wanted: WantedRows,
    /// Read this CSV file instead of the log, and leave the log alone
    #[arg(long, value_name = "FILE", requires = "map")]
    pub import: Option<String>,
    /// Which of its columns is which: COLUMN=HEADER, or COLUMN=HEADER:UNIT for bare numbers
    #[arg(long, value_name = "COLUMN=HEADER", requires = "import")]
    pub map: Vec<String>,
    /// Whose strokes the imported file counts
    #[arg(long, requires = "import")]
    pub counted: Option<Counted>,
    /// Print the result as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Clone, Copy, clap::ValueEnum)]
pub enum Counted {
    /// One arm: a stroke of the file is a cycle
    OneArm,
    /// Both arms
    BothArms,
}

/// Runs `log list`.
pub fn list(args: &LogListArgs) -> Result<()> {
    let mut rows = match &args.import {
        None => open_log(&args.wanted.log)?,
        Some(file) => {
            let map = args
                .map
                .iter()
                .map(|text| Mapped::parse(text))
                .collect::<Result<Vec<_>>>()?;
            let arms = args.counted.map(|counted| match counted {
                Counted::OneArm => 1,
                Counted::BothArms => 2,
            });
            import_log(file, &map, arms)?
        }
    };
    let picked = Picked::new(&args.wanted)?;
    if args.json {
        print_json(&picked, &mut rows)
    } else {
        print_table(&picked, &mut rows)
    }
}

/// What the strokes' count looks like against the cue.
fn slip(row: &Row, swum: &Swum) -> Option<CountedWrong> {
    let cued = to_f64(row.rate_cued.as_ref()?.spm());
    CountedWrong::of(swum.rate_spm?, cued)
}

fn print_table(picked: &Picked, rows: &mut Rows) -> Result<()> {
    let swam = &picked.swam;
    let mut text = out::Growing::default();
    let mut counted = 0;
    let mut slips = Vec::new();
    while let Some(LogLine { line, row }) = picked.read(rows)? {
        if counted == 0 {
            let head = COLUMNS.map(|(name, column, _)| (column, name.into()));
            text.add(&format!("{}\n", table::line(head)))?;
        }
        counted += 1;
        let swum = row.swum(&swam.water);
        let cells = COLUMNS.map(|(_, column, told)| (column, told(&row, &swum)));
        text.add(&format!("{}\n", table::line(cells)))?;
        slips.extend(slip(&row, &swum).map(|slip| (line, slip)));
    }
    if counted == 0 {
        text.add(&format!("No rows in {} that fit.\n", rows.file))?;
        return text.end();
    }
    text.add("\n")?;
    for (line, slip) in slips {
        text.add(&format!("line {line}: rate swum {}\n", slip.in_words()))?;
    }
    let counted = match counted {
        1 => "1 row.".to_string(),
        rows => format!("{rows} rows."),
    };
    let last = fill(&format!("{counted} {} {EXPLAINED}", swam.in_words()));
    text.add(&format!("{last}\n"))?;
    text.end()
}

/// A column of the table: its name, its place, and what stands in it.
type Told = (&'static str, Column, fn(&Row, &Swum) -> String);

/// In 79 columns where no field is uncommonly wide.
const COLUMNS: [Told; 12] = [
    ("date", Column::Left(10), |row, _| said(row.date.as_ref())),
    ("set", Column::Cut(8), |row, _| {
        let name = if row.set.is_empty() {
            &row.session
        } else {
            &row.set
        };
        name.clone()
    }),
    ("rep", Column::Right(3), |row, _| said(row.repeat.as_ref())),
    ("dist.", Column::Right(6), |row, _| {
        said(row.distance.as_ref())
    }),
    ("time", Column::Right(7), |row, _| said(row.time.as_ref())),
    ("m/s", Column::Right(5), |_, swum| number(swum.speed_m_s, 2)),
    ("spm", Column::Right(5), |_, swum| number(swum.rate_spm, 1)),
    ("cued", Column::Right(5), |row, _| {
        number(row.rate_cued.as_ref().map(|rate| to_f64(rate.spm())), 1)
    }),
    ("m/st.", Column::Right(5), |_, swum| {
        number(swum.stroke_length_m, 2)
    }),
    ("plain", Column::Right(5), |_, swum| {
        number(swum.plain_stroke_length_m, 2)
    }),
    ("index", Column::Right(5), |_, swum| {
        number(swum.stroke_index_m2_s, 2)
    }),
    ("kept", Column::Left(4), |row, _| {
        said(row.kept.map(|kept| kept.word()).as_ref())
    }),
];

fn said(value: Option<&impl ToString>) -> String {
    value.map(ToString::to_string).unwrap_or_default()
}

fn number(value: Option<f64>, places: usize) -> String {
    said(value.map(|value| format!("{value:.places$}")).as_ref())
}

/// What the columns mean.
const EXPLAINED: &str = "m/s: by the clock, push-offs included. spm: the rate swum, both arms, \
    push-offs out; cued: the rate cued. m/st.: metres per stroke, push-offs out; plain: distance \
    over strokes. index: stroke index, m/s times m/st.";

/// The rows are written as they are read; what is only known behind the last of them follows.
fn print_json(picked: &Picked, rows: &mut Rows) -> Result<()> {
    let swam = &picked.swam;
    let head = json!({
        "format": 1,
        "file": rows.file,
        "pool_m": metres(&swam.water.pool),
        "push_off_s": out::micro(to_f64(swam.water.push_off.s())),
        "glide_m": metres(&swam.water.glide),
    });
    let mut text = out::Growing::default();
    text.add(out::escaped(&format!("{head:#}")).trim_end_matches("\n}"))?;
    text.add(",\n  \"rows\": [")?;
    let mut listed = Items::default();
    while let Some(line) = picked.read(rows)? {
        listed.add(&mut text, &in_json(swam, &line))?;
    }
    listed.end(&mut text)?;
    text.add(",\n  \"left_out\": [")?;
    let mut listed = Items::default();
    for Broken { line, why } in &rows.broken {
        let broken = [("line", Some(json!(line))), ("why", Some(json!(why)))];
        listed.add(&mut text, &object(broken))?;
    }
    listed.end(&mut text)?;
    let tail = format!("{:#}\n", json!({ "notes": rows.notes }));
    text.add(",")?;
    text.add(out::escaped(&tail).trim_start_matches('{'))?;
    text.end()
}

/// The objects of a list, each written when it is known.
#[derive(Default)]
struct Items {
    any: bool,
}

impl Items {
    fn add(&mut self, text: &mut out::Growing, item: &str) -> Result<()> {
        text.add(if self.any { ",\n" } else { "\n" })?;
        self.any = true;
        text.add(&out::escaped(item))
    }

    fn end(self, text: &mut out::Growing) -> Result<()> {
        text.add(if self.any { "\n  ]" } else { "]" })
    }
}

/// An object as it stands in a list of the result; fields without a value are left out.
fn object<const N: usize>(fields: [(&str, Option<Value>); N]) -> String {
    let mut text = String::from("    {");
    let mut before = "\n";
    for (key, value) in fields {
        if let Some(value) = value {
            text.push_str(before);
            let _ = write!(text, "      \"{key}\": {value}");
            before = ",\n";
        }
    }
    text.push_str("\n    }");
    text
}

fn metres(length: &Length) -> Value {
    out::micro(to_f64(length.metres()))
}

/// A row as it stands in the list of rows; what it does not say is left out.
fn in_json(swam: &Swam, LogLine { line, row }: &LogLine) -> String {
    let swum = row.swum(&swam.water);
    let text = |text: &String| (!text.is_empty()).then(|| json!(text));
    let number = |value: Option<f64>| value.map(|value| json!(value));
    let rate_cued = row.rate_cued.as_ref();
    let strokes = row.strokes.as_ref().zip(row.distance.as_ref());
    let strokes = strokes.map(|(strokes, distance)| strokes.total(swam.water.lengths(distance)));
    let slip = slip(row, &swum).map(|slip| format!("rate swum {}", slip.in_words()));
    object([
        ("line", Some(json!(line))),
        ("date", row.date.map(|date| json!(date.to_string()))),
        ("swimmer", text(&row.swimmer)),
        ("session", text(&row.session)),
        ("set", text(&row.set)),
        ("repeat", row.repeat.map(|repeat| json!(repeat))),
        ("distance_m", row.distance.as_ref().map(metres)),
        (
            "time_s",
            (row.time.as_ref()).map(|time| out::micro(to_f64(time.s()))),
        ),
        ("strokes", strokes.map(|total| out::micro(to_f64(&total)))),
        (
            "rate_cued_spm",
            rate_cued.map(|rate| out::micro(to_f64(rate.spm()))),
        ),
        ("pairing", row.pairing.map(|pairing| json!(pairing.word()))),
        ("kick", row.kick.map(|kick| json!(kick.word()))),
        (
            "effort",
            (row.effort.as_ref()).map(|effort| out::micro(to_f64(effort))),
        ),
        ("kept", row.kept.map(|kept| json!(kept.word()))),
        ("trial", text(&row.trial)),
        ("note", text(&row.note)),
        ("speed_m_s", number(swum.speed_m_s)),
        ("rate_swum_spm", number(swum.rate_spm)),
        ("distance_per_stroke_m", number(swum.stroke_length_m)),
        (
            "distance_per_stroke_plain_m",
            number(swum.plain_stroke_length_m),
        ),
        ("stroke_index_m2_s", number(swum.stroke_index_m2_s)),
        ("warning", slip.map(|slip| json!(slip))),
    ])
}

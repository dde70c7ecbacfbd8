//! `log list`: rows and what follows from them, from the log or from any other CSV.

use jiff::civil::Date;
use serde_json::{Value, json};
use textwrap::core::display_width;

use super::out;
use super::water::{Swam, WaterArgs, broken, fill, quantity, say_broken};
use crate::error::{Error, Result};
use crate::files::{Mapped, import_log, read_log, set_field};
use crate::model::log::{CountedWrong, Line, Log, Row, Swum};
use crate::units::{Length, to_f64};

/// Which rows.
#[derive(Debug, clap::Args)]
pub struct Wanted {
    /// The log (- is standard input)
    #[arg(long, value_name = "FILE", default_value = "log.csv")]
    pub log: String,
    /// Only this session
    #[arg(long)]
    pub session: Option<String>,
    /// Only this set
    #[arg(long)]
    pub set: Option<String>,
    /// Only this trial
    #[arg(long)]
    pub trial: Option<String>,
    /// Only from this day on
    #[arg(long, value_name = "DATE")]
    pub from: Option<String>,
    /// Only up to this day
    #[arg(long, value_name = "DATE")]
    pub to: Option<String>,
    /// Only swims of this distance
    #[arg(long)]
    pub distance: Option<String>,
    /// Only this pairing
    #[arg(long)]
    pub pairing: Option<String>,
    /// Only where the kick was kept: yes, part, no
    #[arg(long)]
    pub kept: Option<String>,
    #[command(flatten)]
    pub water: WaterArgs,
}

#[derive(Debug, clap::Args)]
#[command(
    after_help = "Examples:\n  cuelane log list --swimmer Alex --from 2026-03-01\n  \
                  cuelane log list --import watch.csv --map date=Date --map distance=Metres:m \\\n    \
                  --map time=Duration:s --map strokes=Strokes --counted one-arm"
)]
pub struct ListArgs {
    #[command(flatten)]
    pub wanted: Wanted,
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
pub fn list(args: &ListArgs) -> Result<()> {
    let (swam, log) = match &args.import {
        None => listed(&args.wanted)?,
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
            filtered(&args.wanted, import_log(file, &map, arms)?)?
        }
    };
    match args.json {
        true => out::json(&in_json(&swam, &log)),
        false => out::result(&table(&swam, &log)),
    }
}

/// The rows asked for, out of the log; what was left out of it is said.
///
/// # Errors
/// When the log or a filter does not hold.
pub fn listed(wanted: &Wanted) -> Result<(Swam, Log)> {
    filtered(wanted, read_log(&wanted.log)?)
}

/// The rows asked for, out of a log at hand.
///
/// # Errors
/// When a filter does not hold.
pub fn filtered(wanted: &Wanted, mut log: Log) -> Result<(Swam, Log)> {
    let swam = Swam::new(&wanted.water)?;
    for note in &log.notes {
        out::note(&format!("{}: {note}", log.file));
    }
    say_broken(&log.file, &log.broken);
    let filter = Filter::new(wanted, &swam)?;
    log.rows.retain(|line| filter.takes(&line.row));
    Ok((swam, log))
}

/// A text field of a row.
type Text = fn(&Row) -> &str;

struct Filter<'a> {
    texts: [(Option<&'a str>, Text); 4],
    from: Option<Date>,
    to: Option<Date>,
    distance: Option<Length>,
    /// A row with the fields that must be equal.
    like: Row,
}

impl<'a> Filter<'a> {
    fn new(wanted: &'a Wanted, swam: &'a Swam) -> Result<Self> {
        let day = |flag: &str, text: &Option<String>| -> Result<Option<Date>> {
            let mut row = Row::default();
            let text = text.as_deref().unwrap_or_default();
            set_field(&mut row, "date", text).map_err(|why| {
                Error::input(why)
                    .at(flag)
                    .example(format!("{flag} 2026-03-14"))
            })?;
            Ok(row.date)
        };
        let mut like = Row::default();
        for (flag, column, text) in [
            ("--pairing", "pairing", &wanted.pairing),
            ("--kept", "kept", &wanted.kept),
        ] {
            let text = text.as_deref().unwrap_or_default();
            set_field(&mut like, column, text).map_err(|why| Error::input(why).at(flag))?;
        }
        let distance = wanted.distance.as_ref();
        Ok(Self {
            texts: [
                (swam.name.as_deref(), |row| &row.swimmer),
                (wanted.session.as_deref(), |row| &row.session),
                (wanted.set.as_deref(), |row| &row.set),
                (wanted.trial.as_deref(), |row| &row.trial),
            ],
            from: day("--from", &wanted.from)?,
            to: day("--to", &wanted.to)?,
            distance: distance
                .map(|text| quantity("--distance", text))
                .transpose()?,
            like,
        })
    }

    fn takes(&self, row: &Row) -> bool {
        let texts = self.texts.iter().all(|(wanted, of)| {
            wanted.is_none_or(|wanted| wanted.to_lowercase() == of(row).to_lowercase())
        });
        texts
            && self
                .from
                .is_none_or(|from| row.date.is_some_and(|date| date >= from))
            && self
                .to
                .is_none_or(|to| row.date.is_some_and(|date| date <= to))
            && (self.distance.as_ref())
                .is_none_or(|distance| row.distance.as_ref() == Some(distance))
            && (self.like.pairing).is_none_or(|pairing| row.pairing == Some(pairing))
            && (self.like.kept).is_none_or(|kept| row.kept == Some(kept))
    }
}

/// What the strokes' count looks like against the cue.
fn slip(row: &Row, swum: &Swum) -> Option<CountedWrong> {
    let cued = to_f64(row.rate_cued.as_ref()?.spm());
    CountedWrong::of(swum.rate_spm?, cued)
}

fn table(swam: &Swam, log: &Log) -> String {
    if log.rows.is_empty() {
        return format!("No rows in {} that fit.\n", log.file);
    }
    let mut text = line_of(
        [
            "date", "set", "rep", "dist.", "time", "m/s", "spm", "cued", "m/st.", "plain", "index",
            "kept",
        ]
        .map(String::from),
    );
    let mut slips = Vec::new();
    for Line { line, row } in &log.rows {
        let swum = row.swum(&swam.water);
        let number = |value: Option<f64>, places: usize| {
            value
                .map(|value| format!("{value:.places$}"))
                .unwrap_or_default()
        };
        let cued = row.rate_cued.as_ref().map(|rate| to_f64(rate.spm()));
        let said = |text: Option<String>| text.unwrap_or_default();
        let name = if row.set.is_empty() {
            &row.session
        } else {
            &row.set
        };
        text.push_str(&line_of([
            said(row.date.map(|date| date.to_string())),
            name.clone(),
            said(row.repeat.map(|repeat| repeat.to_string())),
            said(row.distance.as_ref().map(Length::to_string)),
            said(row.time.as_ref().map(|time| time.to_string())),
            number(swum.speed_m_s, 2),
            number(swum.rate_spm, 1),
            number(cued, 1),
            number(swum.stroke_length_m, 2),
            number(swum.plain_stroke_length_m, 2),
            number(swum.stroke_index_m2_s, 2),
            said(row.kept.map(|kept| kept.word().to_string())),
        ]));
        slips.extend(
            slip(row, &swum).map(|slip| format!("line {line}: rate swum {}", slip.in_words())),
        );
    }
    text.push('\n');
    for slip in &slips {
        text.push_str(&format!("{slip}\n"));
    }
    let counted = match log.rows.len() {
        1 => "1 row.".to_string(),
        rows => format!("{rows} rows."),
    };
    text.push_str(&format!(
        "{}\n",
        fill(&format!("{counted} {} {EXPLAINED}", swam.in_words()))
    ));
    text
}

/// What the columns mean.
const EXPLAINED: &str = "m/s: by the clock, push-offs included. spm: the rate swum, both arms, \
    push-offs out; cued: the rate cued. m/st.: metres per stroke, push-offs out; plain: distance \
    over strokes. index: stroke index, m/s times m/st.";

/// One line of the table, in 79 columns where no field is uncommonly wide.
fn line_of(fields: [String; 12]) -> String {
    let [
        date,
        set,
        rep,
        distance,
        time,
        speed,
        rate,
        cued,
        length,
        plain,
        index,
        kept,
    ] = fields;
    let set = fit(&set, 8);
    let line = format!(
        "{date:<10} {set} {rep:>3} {distance:>6} {time:>7} {speed:>5} {rate:>5} {cued:>5} \
         {length:>5} {plain:>5} {index:>5} {kept}"
    );
    format!("{}\n", line.trim_end())
}

/// A text cut or filled to so many columns.
fn fit(text: &str, columns: usize) -> String {
    let mut cut = String::new();
    for c in text.chars() {
        cut.push(c);
        if display_width(&cut) > columns {
            cut.pop();
            break;
        }
    }
    let missing = columns - display_width(&cut);
    cut + &" ".repeat(missing)
}

fn in_json(swam: &Swam, log: &Log) -> Value {
    let metres = |length: &Length| out::micro(to_f64(length.metres()));
    let row = |Line { line, row }: &Line| {
        let swum = row.swum(&swam.water);
        let mut value = json!({ "line": line });
        let mut put = |key: &str, found: Option<Value>| {
            if let Some(found) = found {
                value[key] = found;
            }
        };
        let text = |text: &String| (!text.is_empty()).then(|| json!(text));
        put("date", row.date.map(|date| json!(date.to_string())));
        put("swimmer", text(&row.swimmer));
        put("session", text(&row.session));
        put("set", text(&row.set));
        put("repeat", row.repeat.map(|repeat| json!(repeat)));
        put("distance_m", row.distance.as_ref().map(metres));
        put(
            "time_s",
            row.time.as_ref().map(|time| out::micro(to_f64(time.s()))),
        );
        let lengths = row
            .distance
            .as_ref()
            .map(|distance| swam.water.lengths(distance));
        let strokes = row.strokes.as_ref().zip(lengths);
        put(
            "strokes",
            strokes.map(|(strokes, lengths)| out::micro(to_f64(&strokes.total(lengths)))),
        );
        put(
            "rate_cued_spm",
            row.rate_cued
                .as_ref()
                .map(|rate| out::micro(to_f64(rate.spm()))),
        );
        put("pairing", row.pairing.map(|pairing| json!(pairing.word())));
        put("kick", row.kick.map(|kick| json!(kick.word())));
        put(
            "effort",
            row.effort.as_ref().map(|effort| out::micro(to_f64(effort))),
        );
        put("kept", row.kept.map(|kept| json!(kept.word())));
        put("trial", text(&row.trial));
        put("note", text(&row.note));
        put("speed_m_s", swum.speed_m_s.map(|value| json!(value)));
        put("rate_swum_spm", swum.rate_spm.map(|value| json!(value)));
        put(
            "distance_per_stroke_m",
            swum.stroke_length_m.map(|value| json!(value)),
        );
        put(
            "distance_per_stroke_plain_m",
            swum.plain_stroke_length_m.map(|value| json!(value)),
        );
        put(
            "stroke_index_m2_s",
            swum.stroke_index_m2_s.map(|value| json!(value)),
        );
        put(
            "warning",
            slip(row, &swum).map(|slip| json!(format!("rate swum {}", slip.in_words()))),
        );
        value
    };
    json!({
        "format": 1,
        "file": log.file,
        "pool_m": metres(&swam.water.pool),
        "push_off_s": out::micro(to_f64(swam.water.push_off.s())),
        "glide_m": metres(&swam.water.glide),
        "rows": log.rows.iter().map(row).collect::<Vec<_>>(),
        "left_out": broken(&log.broken),
        "notes": log.notes,
    })
}

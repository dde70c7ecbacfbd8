//! Rows of a log as a table and as JSON. Both are written while the rows are read: a log may be
//! longer than memory is large. What is only known behind the last row follows it.

use std::cell::{Cell, RefCell};

use serde::ser::{Error as _, SerializeMap, SerializeSeq};
use serde::{Serialize, Serializer};

use crate::cli::shared::out::Growing;
use crate::cli::shared::picked::Picked;
use crate::cli::shared::report::{LeftOut, Micro, tell_json};
use crate::cli::shared::table::Column::{self, Cut, Left, Right};
use crate::cli::shared::table::line as line_of;
use crate::cli::shared::words::{count, fill};
use crate::error::{Error, Result};
use crate::files::Rows;
use crate::model::log::{Broken, CountedWrong, Kept, LogLine, Row, Swum, Water};
use crate::model::value::Word;
use crate::units::{Fix, Length, Rate, Time, to_f64};

/// What the strokes' count looks like against the cue.
fn slip(row: &Row, swum: &Swum) -> Option<CountedWrong> {
    let cued = to_f64(row.rate_cued.as_ref()?.spm());
    CountedWrong::of(swum.rate_spm?, cued)
}

/// A column of the table: its name, its place, and what stands in it.
type Told = (&'static str, Column, fn(&Row, &Swum) -> String);

/// In 79 columns where no field is uncommonly wide.
const COLUMNS: [Told; 12] = [
    ("date", Left(10), |row, _| said(row.date)),
    ("set", Cut(8), |row, _| set_or_session(row).into()),
    ("rep", Right(3), |row, _| said(row.repeat)),
    ("dist.", Right(6), |row, _| said(row.distance.as_ref())),
    ("time", Right(7), |row, _| said(row.time.as_ref())),
    ("m/s", Right(5), |_, swum| number(swum.speed_m_s, 2)),
    ("spm", Right(5), |_, swum| number(swum.rate_spm, 1)),
    ("cued", Right(5), |row, _| {
        number(row.rate_cued.as_ref().map(|rate| to_f64(rate.spm())), 1)
    }),
    ("m/st.", Right(5), |_, swum| number(swum.stroke_length_m, 2)),
    ("plain", Right(5), |_, swum| {
        number(swum.plain_stroke_length_m, 2)
    }),
    ("index", Right(5), |_, swum| {
        number(swum.stroke_index_m2_s, 2)
    }),
    ("kept", Left(4), |row, _| {
        said(row.kept.map(|kept| match kept {
            Kept::FeltYes => "most",
            Kept::FeltPart => "half",
            Kept::FeltNo => "few",
            seen => seen.word(),
        }))
    }),
];

fn set_or_session(row: &Row) -> &str {
    if row.set.is_empty() {
        &row.session
    } else {
        &row.set
    }
}

fn said(value: Option<impl ToString>) -> String {
    value.map(|value| value.to_string()).unwrap_or_default()
}

fn number(value: Option<f64>, places: usize) -> String {
    said(value.map(|value| format!("{value:.places$}")))
}

/// What the columns mean.
const EXPLAINED: &str = "m/s: by the clock, push-offs included. spm: the rate swum, both arms, \
    push-offs out; cued: the rate cued. m/st.: metres per stroke, push-offs out; plain: distance \
    over strokes. index: stroke index, m/s times m/st. kept: most, half, few is \
    what the swimmer felt.";

/// Prints the table.
///
/// # Errors
/// When the log cannot be read on, or standard output not be written.
pub fn print_table(picked: &Picked, rows: &mut Rows) -> Result<()> {
    let mut text = Growing::default();
    let mut counted = 0;
    let (mut slips, mut fades) = (Vec::new(), Vec::new());
    while let Some(LogLine { line, row }) = picked.read(rows)? {
        if counted == 0 {
            let head = COLUMNS.map(|(name, column, _)| (column, name.into()));
            text.line(line_of(head))?;
        }
        counted += 1;
        let swum = row.swum(&picked.swam.water);
        let cells = COLUMNS.map(|(_, column, told)| (column, told(&row, &swum)));
        text.line(line_of(cells))?;
        slips.extend(slip(&row, &swum).map(|slip| (line, slip)));
        fades.extend(fade_in_words(&row, &picked.swam.water).map(|fade| (line, fade)));
    }
    if counted == 0 {
        text.line(format_args!("No rows in {} that fit.", rows.file))?;
        return text.end();
    }
    text.line("")?;
    for (line, slip) in slips {
        text.line(format_args!("line {line}: rate swum {}", slip.in_words()))?;
    }
    for (line, fade) in fades {
        text.line(format_args!("line {line}: {fade}"))?;
    }
    let (counted, water) = (count(counted, "row"), picked.swam.in_words());
    text.line(fill(&format!("{counted}. {water} {EXPLAINED}")))?;
    text.end()
}

/// By how much the last part of a swim is faster than the first, in percent; negative is slower.
fn fade_percent(speeds: &[f64]) -> Option<f64> {
    let (first, last) = (speeds.first()?, speeds.last()?);
    Some((last / first - 1.0) * 100.0)
}

/// How speed fades inside a swim, by its splits.
fn fade_in_words(row: &Row, water: &Water) -> Option<String> {
    let speeds = row.part_speeds_m_s(water);
    let fade = fade_percent(&speeds)?;
    let word = if fade < 0.0 { "slower" } else { "faster" };
    let speeds: Vec<String> = speeds.iter().map(|speed| format!("{speed:.2}")).collect();
    Some(format!(
        "{} m/s between splits; the last part {:.1} % {word} than the first",
        speeds.join(", "),
        fade.abs()
    ))
}

/// Prints the rows as JSON.
///
/// # Errors
/// Those of [`print_table`].
pub fn print_json(picked: &Picked, rows: Rows) -> Result<()> {
    let listing = Listing {
        picked,
        rows: rows.into(),
        failed: Cell::default(),
    };
    tell_json(&listing).map_err(|error| listing.failed.take().unwrap_or(error))
}

struct Listing<'a> {
    picked: &'a Picked,
    rows: RefCell<Rows<'a>>,
    /// Why the log could not be read on.
    failed: Cell<Option<Error>>,
}

impl Serialize for Listing<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        let water = &self.picked.swam.water;
        let mut all = to.serialize_map(None)?;
        all.serialize_entry("file", &self.rows.borrow().file)?;
        all.serialize_entry("pool_m", &Micro::from(water.pool.metres()))?;
        all.serialize_entry("push_off_s", &Micro::from(water.push_off.s()))?;
        all.serialize_entry("glide_m", &Micro::from(water.glide.metres()))?;
        all.serialize_entry("rows", &RowsRead(self))?;
        let rows = self.rows.borrow();
        all.serialize_entry("left_out", &LinesLeftOut(&rows.broken))?;
        all.serialize_entry("notes", &rows.notes)?;
        all.end()
    }
}

struct RowsRead<'a, 'b>(&'a Listing<'b>);

impl Serialize for RowsRead<'_, '_> {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        let Listing {
            picked,
            rows,
            failed,
        } = self.0;
        let mut list = to.serialize_seq(None)?;
        loop {
            match picked.read(&mut rows.borrow_mut()) {
                Ok(Some(line)) => list.serialize_element(&RowTold(&picked.swam.water, line))?,
                Ok(None) => return list.end(),
                Err(error) => {
                    let why = S::Error::custom(&error);
                    failed.set(Some(error));
                    return Err(why);
                }
            }
        }
    }
}

struct LinesLeftOut<'a>(&'a [Broken]);

impl Serialize for LinesLeftOut<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        to.collect_seq((self.0.iter()).map(|Broken { line, why }| LeftOut::new(*line, why)))
    }
}

/// A row, and what follows from it; what it does not say is left out.
struct RowTold<'a>(&'a Water, LogLine);

impl Serialize for RowTold<'_> {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        let Self(water, LogLine { line, row }) = self;
        let swum = row.swum(water);
        let micro = |value: Option<&Fix>| value.map(Micro::from);
        let strokes = row.strokes.as_ref().zip(row.distance.as_ref());
        let strokes = strokes.map(|(strokes, swum)| strokes.total(water.lengths(swum)));
        let warning = slip(row, &swum).map(|slip| format!("rate swum {}", slip.in_words()));
        let mut told = Keys(to.serialize_map(None)?);
        told.put("line", Some(line))?;
        told.put("date", row.date.map(|date| date.to_string()))?;
        told.put("swimmer", some(&row.swimmer))?;
        told.put("session", some(&row.session))?;
        told.put("set", some(&row.set))?;
        told.put("repeat", row.repeat)?;
        told.put(
            "distance_m",
            micro(row.distance.as_ref().map(Length::metres)),
        )?;
        told.put("time_s", micro(row.time.as_ref().map(Time::s)))?;
        told.put("strokes", micro(strokes.as_ref()))?;
        told.put(
            "rate_cued_spm",
            micro(row.rate_cued.as_ref().map(Rate::spm)),
        )?;
        told.put("pairing", row.pairing.map(Word::word))?;
        told.put("kick", row.kick.map(Word::word))?;
        told.put("effort", micro(row.effort.as_ref()))?;
        told.put("kept", row.kept.map(Kept::word))?;
        told.put("trial", some(&row.trial))?;
        told.put("note", some(&row.note))?;
        told.put("speed_m_s", swum.speed_m_s)?;
        told.put("rate_swum_spm", swum.rate_spm)?;
        told.put("distance_per_stroke_m", swum.stroke_length_m)?;
        told.put("distance_per_stroke_plain_m", swum.plain_stroke_length_m)?;
        told.put("stroke_index_m2_s", swum.stroke_index_m2_s)?;
        let speeds = row.part_speeds_m_s(water);
        let splits: Vec<Micro> = row
            .splits
            .iter()
            .map(|split| Micro::from(split.s()))
            .collect();
        told.put("splits_s", (!splits.is_empty()).then_some(splits))?;
        told.put("speed_fade_percent", fade_percent(&speeds))?;
        told.put("part_speeds_m_s", (!speeds.is_empty()).then_some(speeds))?;
        told.put("warning", warning)?;
        told.0.end()
    }
}

/// A text that is not empty.
fn some(text: &str) -> Option<&str> {
    (!text.is_empty()).then_some(text)
}

/// An object whose absent parts are left out.
struct Keys<M>(M);

impl<M: SerializeMap> Keys<M> {
    fn put(
        &mut self,
        key: &str,
        value: Option<impl Serialize>,
    ) -> std::result::Result<(), M::Error> {
        value.map_or(Ok(()), |value| self.0.serialize_entry(key, &value))
    }
}

//! Which rows of a log a command takes: its flags, and the rows that fit them, one after another.

use jiff::civil::Date;

use crate::cli::shared::out;
use crate::cli::shared::swum::{Swam, WaterArgs, flag, say_broken};
use crate::error::{Error, Result};
use crate::files::{Rows, set_field};
use crate::model::log::{LogLine, Row};
use crate::units::Length;

/// Which rows.
#[derive(Debug, clap::Args)]
pub struct WantedRows {
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

/// The rows asked for: of whom, in which water, and what a row must say.
pub struct Picked {
    /// Who swam, and the water.
    pub swam: Swam,
    filter: Filter,
}

impl Picked {
    /// Reads the filters.
    ///
    /// # Errors
    /// When one of them does not hold.
    pub fn new(wanted: &WantedRows) -> Result<Self> {
        let swam = Swam::new(&wanted.water)?;
        let filter = Filter::new(wanted, &swam)?;
        Ok(Self { swam, filter })
    }

    /// The next row asked for. At the end what was left out is said, and nothing given.
    ///
    /// # Errors
    /// When the log cannot be read on.
    pub fn read(&self, rows: &mut Rows) -> Result<Option<LogLine>> {
        while let Some(line) = rows.read()? {
            if self.filter.takes(&line.row) {
                return Ok(Some(line));
            }
        }
        for note in &rows.notes {
            out::note(&format!("{}: {note}", rows.file));
        }
        say_broken(&rows.file, &rows.broken);
        Ok(None)
    }
}

/// A text field of a row.
type Text = fn(&Row) -> &str;

struct Filter {
    /// In lower case.
    texts: [(Option<String>, Text); 4],
    from: Option<Date>,
    to: Option<Date>,
    distance: Option<Length>,
    /// A row with the fields that must be equal.
    like: Row,
}

impl Filter {
    fn new(wanted: &WantedRows, swam: &Swam) -> Result<Self> {
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
        let lower = |text: &Option<String>| text.as_ref().map(|text| text.to_lowercase());
        Ok(Self {
            texts: [
                (lower(&swam.name), |row| &row.swimmer),
                (lower(&wanted.session), |row| &row.session),
                (lower(&wanted.set), |row| &row.set),
                (lower(&wanted.trial), |row| &row.trial),
            ],
            from: day("--from", &wanted.from)?,
            to: day("--to", &wanted.to)?,
            distance: flag("--distance", wanted.distance.as_deref())?,
            like,
        })
    }

    fn takes(&self, row: &Row) -> bool {
        (self.texts.iter()).all(|(wanted, of)| {
            (wanted.as_ref()).is_none_or(|wanted| *wanted == of(row).to_lowercase())
        }) && (self.from).is_none_or(|from| row.date.is_some_and(|date| date >= from))
            && (self.to).is_none_or(|to| row.date.is_some_and(|date| date <= to))
            && (self.distance.as_ref())
                .is_none_or(|distance| row.distance.as_ref() == Some(distance))
            && (self.like.pairing).is_none_or(|pairing| row.pairing == Some(pairing))
            && (self.like.kept).is_none_or(|kept| row.kept == Some(kept))
    }
}

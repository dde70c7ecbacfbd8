//! What `export` wrote, as JSON and in words.

use serde::{Serialize, Serializer};

use crate::cli::shared::report::{Micro, Report};
use crate::cli::shared::words::{Page, count};
use crate::export::{SHEET, TrackFile, Written, bytes_in_words};
use crate::model::words;
use crate::units::Time;

/// What `export` wrote.
#[derive(Debug, Serialize)]
pub struct ExportReport {
    pub session: String,
    pub swimmer: Option<String>,
    pub folder: String,
    pub file_format: &'static str,
    pub sample_rate_hz: u32,
    pub bits: u16,
    pub channels: u16,
    pub swapped: bool,
    pub files: Vec<WrittenTrack>,
    pub contents: &'static str,
    pub bytes: u64,
    pub duration_s: Micro,
    pub speech: bool,
    pub warnings: Vec<String>,
    /// Whether people want the figures of loudness.
    #[serde(skip)]
    pub detail: bool,
    #[serde(skip)]
    pub total: Time,
    /// Other tracks in the folder.
    #[serde(skip)]
    pub stray: Vec<String>,
    /// Whether there were tracks in the folder before.
    #[serde(skip)]
    pub louder: bool,
    #[serde(skip)]
    pub has_bed: bool,
}

/// One file.
#[derive(Debug, Serialize)]
pub struct WrittenTrack {
    name: String,
    bytes: u64,
    frames: u64,
    duration_s: Micro,
    set: u32,
    repeat: u32,
    #[serde(flatten)]
    loudness: Option<Measured>,
}

/// How loud a file is; nothing of what is silence.
#[derive(Debug, Serialize)]
struct Measured {
    #[serde(serialize_with = "to_hundredths")]
    loudness_lufs: Option<f64>,
    #[serde(serialize_with = "to_hundredths")]
    true_peak_dbtp: Option<f64>,
}

fn to_hundredths<S: Serializer>(value: &Option<f64>, to: S) -> Result<S::Ok, S::Error> {
    value
        .map(|value| (value * 100.0).round() / 100.0)
        .serialize(to)
}

impl WrittenTrack {
    /// A part as it was written.
    pub fn new(file: Written, part: &TrackFile, sample_rate_hz: u32) -> Self {
        Self {
            name: file.name,
            bytes: file.bytes,
            frames: part.length(),
            duration_s: (part.length() as f64 / f64::from(sample_rate_hz)).into(),
            set: part.set,
            repeat: part.repeat,
            loudness: file.loudness.map(|measured| Measured {
                loudness_lufs: measured.lufs,
                true_peak_dbtp: measured.true_peak_dbtp,
            }),
        }
    }
}

impl Report for ExportReport {
    fn words(&self, to: &mut Page) {
        let whose = self.swimmer.as_ref().map(|name| format!(" for {name}"));
        to.line(format_args!(
            "{} of \"{}\"{},\n{}, {}, in {}",
            count(self.files.len(), "track"),
            self.session,
            whose.unwrap_or_default(),
            self.total.rounded(),
            bytes_in_words(self.bytes),
            self.folder
        ));
        if !self.stray.is_empty() {
            to.fill(format!(
                "Also there, and not of this session: {}. A player would play them too.",
                self.stray.join(", ")
            ));
        }
        if let Some(told) = loudness(&self.files).filter(|_| self.detail) {
            to.line(told);
        }
        if self.louder {
            to.fill(words::LOUDER);
        }
        to.line(format_args!(
            "Next: copy the folder onto the player, play the files in the order of their\n\
             names, and take {SHEET} (what each file holds, how to join in) to the pool.\n"
        ));
        to.fill(words::CAUTIONS[0]);
        to.fill(words::CAUTIONS[2]);
        if self.has_bed {
            to.fill(words::BED_CAUTION);
        }
        to.fill(words::RATE_CAUTION);
    }
}

/// How loud the files are, in one line for all of them.
fn loudness(files: &[WrittenTrack]) -> Option<String> {
    let range = |of: fn(&Measured) -> Option<f64>, unit: &str| {
        let values = files.iter().filter_map(|file| of(file.loudness.as_ref()?));
        let tenths: Vec<i64> = values.map(|value| (value * 10.0).round() as i64).collect();
        let (least, most) = (tenths.iter().min()?, tenths.iter().max()?);
        let shown = |tenths: &i64| format!("{:.1}", *tenths as f64 / 10.0);
        Some(if least == most {
            format!("{} {unit}", shown(most))
        } else {
            format!("{} to {} {unit}", shown(least), shown(most))
        })
    };
    let lufs = range(|measured| measured.loudness_lufs, "LUFS")?;
    let peak = range(|measured| measured.true_peak_dbtp, "dBTP")?;
    Some(format!("Loudness {lufs}, true peak {peak}"))
}

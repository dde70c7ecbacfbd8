//! What a command found, as data: one value, seen on the screen or as JSON.

use serde::Serialize;

use super::out;
use super::words::Page;
use crate::analysis::Estimate;
use crate::error::Result;
use crate::model::log::Broken;

/// A command's result. Its fields, in their order, are the keys of its JSON.
pub trait Report: Serialize {
    /// The result for a person.
    fn words(&self, to: &mut Page);
}

/// The number of the form of every JSON that the program prints.
const FORMAT: u32 = 1;

#[derive(Serialize)]
struct Numbered<'a, R> {
    format: u32,
    #[serde(flatten)]
    report: &'a R,
}

/// Prints a result: in words, or as JSON.
///
/// # Errors
/// When standard output cannot be written.
pub fn tell(report: &impl Report, json: bool) -> Result<()> {
    if json {
        tell_json(report)
    } else {
        let mut page = Page::default();
        report.words(&mut page);
        out::result(&page.text())
    }
}

/// Prints a result as JSON.
///
/// # Errors
/// When standard output cannot be written.
pub fn tell_json(report: &impl Serialize) -> Result<()> {
    let format = FORMAT;
    let text = serde_json::to_string_pretty(&Numbered { format, report });
    let text = text.expect("names as keys, and numbers and texts in them");
    out::result(&out::escaped(&format!("{text}\n")))
}

/// An estimate as data: the ends of its interval only where there is one.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct Estimated {
    value: f64,
    #[serde(skip_serializing_if = "Option::is_none")]
    lo: Option<f64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    hi: Option<f64>,
    n: usize,
}

impl From<Estimate> for Estimated {
    fn from(estimate: Estimate) -> Self {
        Self {
            value: estimate.value,
            lo: estimate.interval.map(|(lo, _)| lo),
            hi: estimate.interval.map(|(_, hi)| hi),
            n: estimate.n,
        }
    }
}

/// A line of a file that was left out, as data.
#[derive(Debug, Serialize)]
pub struct LeftOut {
    line: usize,
    why: String,
}

impl LeftOut {
    /// All of them.
    pub fn of(broken: &[Broken]) -> Vec<Self> {
        let one = |Broken { line, why }: &Broken| Self {
            line: *line,
            why: why.clone(),
        };
        broken.iter().map(one).collect()
    }
}

//! What a command found, as data: one value, seen on the screen or as JSON.

use std::io::{self, Write};

use serde::ser::SerializeMap;
use serde::{Serialize, Serializer};

use super::out::{self, Growing};
use super::words::Page;
use crate::analysis::{Estimate, Sides};
use crate::error::{Error, Result};
use crate::model::cue::PerSide;
use crate::model::log::Broken;
use crate::units::{Fix, to_f64};

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
    let mut out = Growing::json();
    serde_json::to_writer_pretty(&mut out, &Numbered { format, report })
        .map_err(io::Error::from)
        .and_then(|()| out.write_all(b"\n"))
        .and_then(|()| out.flush())
        .map_err(|error| out::broken(&error))
}

/// A number rounded to millionths: what is computed exactly prints without noise.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
#[serde(transparent)]
pub struct Micro(f64);

impl From<f64> for Micro {
    fn from(value: f64) -> Self {
        Self(micro(value))
    }
}

fn micro(value: f64) -> f64 {
    (value * 1e6).round() / 1e6
}

impl From<&Fix> for Micro {
    fn from(value: &Fix) -> Self {
        to_f64(value).into()
    }
}

/// A share of the cycle for each side of the body.
#[derive(Clone, Copy, Debug, Serialize)]
pub struct SidesShown {
    left: Micro,
    right: Micro,
}

impl From<&PerSide<Fix>> for SidesShown {
    fn from(sides: &PerSide<Fix>) -> Self {
        Self {
            left: (&sides.left).into(),
            right: (&sides.right).into(),
        }
    }
}

/// An estimate as data: the ends of its interval only where there is one.
#[derive(Clone, Copy, Debug)]
pub struct Estimated(pub Estimate);

impl Estimated {
    /// With its numbers rounded as [`Micro`] is.
    pub fn rounded(estimate: Estimate) -> Self {
        Self(estimate.map(micro))
    }
}

impl Serialize for Estimated {
    fn serialize<S: Serializer>(&self, to: S) -> std::result::Result<S::Ok, S::Error> {
        let Estimate { value, interval, n } = self.0;
        let mut object = to.serialize_map(None)?;
        object.serialize_entry("value", &value)?;
        if let Some((lo, hi)) = interval {
            object.serialize_entry("lo", &lo)?;
            object.serialize_entry("hi", &hi)?;
        }
        object.serialize_entry("n", &n)?;
        object.end()
    }
}

/// Keys in their order, each there only where something is known of it.
#[derive(Debug)]
pub struct Known<T>(Vec<(&'static str, T)>);

impl<T> Known<T> {
    /// Those of the keys of which something is known.
    pub fn of<const N: usize>(keys: [(&'static str, Option<T>); N]) -> Self {
        let known = |(key, value): (_, Option<T>)| Some((key, value?));
        Self(keys.into_iter().filter_map(known).collect())
    }

    /// One thing for each side, where it could be had.
    pub fn by_side<F>(found: &Sides<F>, told: impl Fn(&F) -> T) -> Self {
        let [left, right] = [&found.left, &found.right].map(|side| side.as_ref().map(&told));
        Self::of([("left", left), ("right", right)])
    }

    /// Whether nothing is known.
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// Itself, where anything is known.
    pub fn unless_empty(self) -> Option<Self> {
        (!self.is_empty()).then_some(self)
    }
}

impl<T: Serialize> Serialize for Known<T> {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        to.collect_map(self.0.iter().map(|(key, value)| (key, value)))
    }
}

/// One of several things that were tried: what came of it, or why it failed.
#[derive(Debug, Serialize)]
#[serde(untagged)]
pub enum Attempt<T> {
    /// What came of it.
    Done(T),
    /// Why it failed.
    Failed {
        /// The error as a person reads it.
        error: String,
    },
}

impl<T> From<Result<T, &Error>> for Attempt<T> {
    fn from(outcome: Result<T, &Error>) -> Self {
        match outcome {
            Ok(done) => Self::Done(done),
            Err(error) => Self::Failed {
                error: error.to_string(),
            },
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
    /// One line.
    pub fn new(line: usize, why: &str) -> Self {
        let why = why.into();
        Self { line, why }
    }

    /// All of them.
    pub fn of(broken: &[Broken]) -> Vec<Self> {
        let one = |Broken { line, why }: &Broken| Self::new(*line, why);
        broken.iter().map(one).collect()
    }
}

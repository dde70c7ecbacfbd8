//! A list of taps: times in seconds, as people and spreadsheets write them, with or without a
//! header.

use super::csv::{Lines, open, told_delimiter, whole};
use super::{name_of, text_of};
use crate::error::{Error, Result};

/// Reads times in seconds, parted by white space, commas or semicolons; none before the one before
/// it. `-` is standard input. Where commas are read as decimal points, that is noted.
///
/// # Errors
/// At the line whose times are none, or run backwards.
pub fn read_tap_times(file: &str, note: impl FnOnce(&str)) -> Result<Vec<f64>> {
    let from = open(file)?;
    let file = name_of(file);
    let text = text_of(whole(file, from)?, file)?;
    let decimal_commas = has_decimal_commas(&text);
    if decimal_commas {
        note("decimal commas are read as decimal points");
    }
    let mut times: Vec<f64> = Vec::new();
    let mut lines = Lines::of(file, text.as_bytes())?;
    let mut is_first = true;
    while let Some(span) = lines.line()? {
        let place = format!("{file}:{}", lines.number());
        let line = String::from_utf8_lossy(lines.text(span)).into_owned();
        lines.pass(span);
        if std::mem::take(&mut is_first)
            && let Some(told) = told_delimiter(line.as_bytes())
        {
            told.map_err(|refused| refused.at(&place))?;
            continue;
        }
        let line = if decimal_commas {
            line.replace(',', ".")
        } else {
            line
        };
        let words = line.split([',', ';', ' ', '\t', '\r', '\n']);
        for word in words.filter(|word| !word.is_empty()) {
            // A header that names the column is no tap.
            if times.is_empty() && matches!(word, "time_s" | "time") {
                continue;
            }
            let time = time_of(word, times.last()).map_err(|why| {
                Error::input(why)
                    .at(&place)
                    .accepted("times in s that do not run backwards, as 0.00 2.21 4.40")
            })?;
            times.push(time);
        }
    }
    Ok(times)
}

fn time_of(word: &str, last: Option<&f64>) -> Result<f64, String> {
    let time: f64 = (word.parse().ok().filter(|time: &f64| time.is_finite()))
        .ok_or_else(|| format!("found {word:?}, which is not a time in s"))?;
    match last {
        Some(&last) if time < last => Err(format!(
            "found {time} after {last}: a tap before the one before"
        )),
        _ => Ok(time),
    }
}

/// Whether commas are decimal signs: no number has a point, and each that has a comma has one,
/// between digits. `0,2,4` and `0, 2, 4` are lists.
fn has_decimal_commas(text: &str) -> bool {
    let words = || text.split([';', ' ', '\t', '\n', '\r']);
    let is_decimal = |word: &str| {
        let digits = |part: &str| !part.is_empty() && part.bytes().all(|b| b.is_ascii_digit());
        word.split_once(',')
            .is_some_and(|(whole, rest)| digits(whole) && digits(rest))
    };
    let mut commas = words().filter(|word| word.contains(',')).peekable();
    !text.contains('.') && commas.peek().is_some() && commas.all(is_decimal)
}

#[cfg(test)]
mod tests {
    use super::has_decimal_commas;

    #[test]
    fn commas_are_decimal_where_every_number_has_one() {
        for text in ["0\n2,2\n4,4\n", "0 2,25 4,5", "0;2,2;4,4"] {
            assert!(has_decimal_commas(text), "{text:?}");
        }
        for text in [
            "0,2,4,6",
            "0, 2, 4",
            "0 2.2 4.4",
            "0,2.2",
            "0 2 4",
            "0 2, 4,5",
            "",
        ] {
            assert!(!has_decimal_commas(text), "{text:?}");
        }
    }
}

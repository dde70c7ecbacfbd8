//! Times: swims, rests, send-offs, leads.

use std::fmt;

use super::decimal::print_rounded;
use super::{
    Fix, Quantity, bare, decimal, exact, in_range, print_apart, print_decimal, split_unit,
};

/// A span of time in seconds. Negative only where a lead is meant.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Time {
    s: Fix,
}

impl Time {
    /// A span of so many seconds.
    pub fn from_s(s: Fix) -> Self {
        Self { s }
    }

    /// A span of so many whole seconds.
    pub fn whole_s(s: i64) -> Self {
        Self { s: exact(s) }
    }

    /// Seconds.
    pub fn s(&self) -> &Fix {
        &self.s
    }

    /// Whole milliseconds for a person, rounded: `-40 ms`.
    pub fn in_ms(&self) -> String {
        format!("{} ms", print_rounded(&(self.s * exact(1000)), 1))
    }

    /// As it prints, or in seconds with more decimals where it would read as another time.
    pub fn apart(&self, other: &Self) -> String {
        match self.to_string() {
            same if same == other.to_string() => format!("{} s", print_apart(&self.s, &other.s, 3)),
            differs => differs,
        }
    }

    /// For a table: tenths below a minute, whole seconds from a minute on. Not exact.
    pub fn rounded(&self) -> String {
        let tenths = print_rounded(&self.s, 1);
        if self.s < exact(60) && tenths != "60" {
            return format!("{tenths} s");
        }
        let s = self.s.nearest();
        format!("{}:{:02}", s / 60, s % 60)
    }
}

impl fmt::Display for Time {
    /// Fix: `45 s` below a minute, `m:ss` with its decimals from a minute on.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        // Milliseconds of nine places have twelve as seconds.
        let ms = print_decimal(&(self.s * exact(1000)));
        if let (None, Some(ms)) = (print_decimal(&self.s), ms) {
            return write!(f, "{ms} ms");
        }
        // What has no short decimal is rounded before minutes are split off: never 1:60.
        let s = match print_decimal(&self.s) {
            Some(_) => self.s,
            None => Fix::from_integer((self.s * exact(1000)).nearest()) / exact(1000),
        };
        let text = |s: &Fix| print_decimal(s).unwrap_or_else(|| print_rounded(s, 3));
        if s < exact(60) {
            return write!(f, "{} s", text(&s));
        }
        let minutes = (s / exact(60)).whole_below();
        let seconds = text(&(s - Fix::from_integer(minutes * 60)));
        let pad = if seconds
            .split('.')
            .next()
            .is_some_and(|whole| whole.len() < 2)
        {
            "0"
        } else {
            ""
        };
        write!(f, "{minutes}:{pad}{seconds}")
    }
}

impl Quantity for Time {
    const ACCEPTED: &'static str = "a time such as 45 s, 6 min, 1:30, 1:02.4, 59:20 or 350 ms";
    const EXAMPLE: &'static str = "1:30";

    fn parse(text: &str) -> Result<Self, String> {
        let s = if text.contains(':') {
            clock(text.trim())?
        } else {
            measured(text)?
        };
        in_range(text, s).map(Self::from_s)
    }
}

fn measured(text: &str) -> Result<Fix, String> {
    let (number, unit) = split_unit(text);
    match unit.as_str() {
        "s" => decimal(number),
        "min" => Ok(decimal(number)? * exact(60)),
        "h" => Ok(decimal(number)? * exact(3600)),
        "ms" => Ok(decimal(number)? / exact(1000)),
        "" if !number.is_empty() => Err(bare(number, &["s", "min", "ms"])),
        _ => Err(format!("found {text:?}, which is not a time")),
    }
}

/// `m:ss`, `m:ss.sss` or `h:mm:ss`; the minutes of `m:ss` may pass 59.
fn clock(text: &str) -> Result<Fix, String> {
    let wrong = || format!("found {text:?}, which is not a clock time such as 1:30 or 1:02.4");
    let parts: Vec<&str> = text.split(':').collect();
    let (hours, minutes, seconds) = match parts[..] {
        [minutes, seconds] => ("0", minutes, seconds),
        [hours, minutes, seconds] if minutes.len() == 2 => (hours, minutes, seconds),
        _ => return Err(wrong()),
    };
    let whole = |part: &str| {
        if part.bytes().all(|b| b.is_ascii_digit()) {
            decimal(part).map_err(|_| wrong())
        } else {
            Err(wrong())
        }
    };
    let two_digits = seconds
        .split('.')
        .next()
        .is_some_and(|whole| whole.len() == 2);
    let (hours, minutes) = (whole(hours)?, whole(minutes)?);
    let seconds = decimal(seconds).map_err(|_| wrong())?;
    let sixty = exact(60);
    if !two_digits
        || seconds.is_negative()
        || seconds >= sixty
        || (parts.len() == 3 && minutes >= sixty)
    {
        return Err(wrong());
    }
    Ok((hours * sixty + minutes) * sixty + seconds)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::fraction;
    use proptest::prelude::*;

    fn time(text: &str) -> Time {
        Time::parse(text).expect(text)
    }

    #[test]
    fn every_form_is_read() {
        for (text, s) in [
            ("45 s", exact(45)),
            ("45s", exact(45)),
            ("6 min", exact(360)),
            ("1:30", exact(90)),
            ("1:02.4", fraction(624, 10)),
            ("59:20", exact(3560)),
            ("75:00", exact(4500)),
            ("1:15:00", exact(4500)),
            ("350 ms", fraction(35, 100)),
            ("-40 ms", fraction(-4, 100)),
            ("2 h", exact(7200)),
        ] {
            assert_eq!(time(text).s, s, "{text}");
        }
    }

    #[test]
    fn a_minute_and_more_prints_as_a_clock() {
        for (text, printed) in [
            ("45 s", "45 s"),
            ("59.9 s", "59.9 s"),
            ("60 s", "1:00"),
            ("1:02.4", "1:02.4"),
            ("75:00", "75:00"),
            ("350 ms", "0.35 s"),
            ("40.123456789 ms", "40.123456789 ms"),
        ] {
            assert_eq!(time(text).to_string(), printed);
        }
        assert_eq!(time("59.97 s").rounded(), "1:00");
        assert_eq!(time("44.26 s").rounded(), "44.3 s");
        assert_eq!(time("44.26 s").in_ms(), "44260 ms");
        let third = Time::from_s(exact(120) - fraction(1, 30_000));
        assert_eq!(third.to_string(), "2:00");
        assert_eq!(third.apart(&time("2:00")), "119.99997 s");
    }

    #[test]
    fn what_is_no_time_is_refused() {
        for text in [
            "", "1:60", "1:5", "1:-5.0", ":30", "1:", "1:2:30", "1:61:00", "a:30", "1:30 s", "s",
            "5 m", "-1:30",
        ] {
            assert!(Time::parse(text).is_err(), "{text}");
        }
        let why = Time::parse("90").expect_err("bare");
        assert!(why.contains("\"90 s\" or \"90 min\" or \"90 ms\""), "{why}");
    }

    proptest! {
        #[test]
        fn a_printed_time_reads_back(nano in 0i64..100_000_000_000_000) {
            let time = Time::from_s(fraction(nano, 1_000_000_000));
            prop_assert_eq!(Time::parse(&time.to_string()), Ok(time));
        }
    }
}

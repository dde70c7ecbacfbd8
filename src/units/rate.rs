//! Stroke rate, absolute and relative to the swimmer's own.

use std::fmt;

use super::decimal::print_rounded;
use super::{
    Fix, Quantity, apart, decimal, exact, in_range, print_apart, print_decimal, split_unit,
};

/// Stroke rate, both arms counted. Range 10 to 160 strokes/min.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Rate {
    spm: Fix,
}

/// The slowest and the fastest rate accepted, strokes/min.
const SLOWEST_SPM: i64 = 10;
const FASTEST_SPM: i64 = 160;

impl Rate {
    /// The rates that are accepted, strokes/min.
    pub const RANGE_SPM: std::ops::RangeInclusive<f64> = SLOWEST_SPM as f64..=FASTEST_SPM as f64;

    /// A rate from strokes/min.
    ///
    /// # Errors
    /// Outside 10 to 160 spm; the message shows cycles/min beside it, since a mix-up of
    /// the two halves or doubles the rate.
    pub fn from_spm(spm: Fix) -> Result<Self, String> {
        let limit = match spm < exact(SLOWEST_SPM) {
            true => exact(SLOWEST_SPM),
            false if spm > exact(FASTEST_SPM) => exact(FASTEST_SPM),
            false => return Ok(Self { spm }),
        };
        let two = exact(2);
        Err(format!(
            "found {} spm ({} cycles/min), outside 10 to 160 spm",
            print_apart(&spm, &limit, 3),
            print_apart(&(spm / two), &(limit / two), 3)
        ))
    }

    /// A measured rate that is none: to one decimal, or to more where it would read as one.
    pub fn outside(spm: f64) -> String {
        let limit = if spm < SLOWEST_SPM as f64 {
            SLOWEST_SPM
        } else {
            FASTEST_SPM
        };
        format!("{} spm", apart(spm, limit as f64, 1))
    }

    /// A computed rate as a coach would say it: strokes/min to the nearest half, halves of that up.
    pub fn to_half(spm: Fix) -> Fix {
        let halves = (spm.times(2) + Fix::HALF).whole_below();
        Fix::new(halves, 2)
    }

    /// Strokes a minute.
    pub fn spm(&self) -> &Fix {
        &self.spm
    }

    /// Cycles a second: spm / 120.
    pub fn cycles_per_second(&self) -> Fix {
        self.spm / exact(120)
    }

    /// Strokes a second: spm / 60.
    pub fn strokes_per_second(&self) -> Fix {
        self.spm / exact(60)
    }

    /// Seconds a cycle: 120 / spm.
    pub fn cycle_s(&self) -> Fix {
        exact(120) / self.spm
    }

    /// Both ways of counting, in the open: `56 spm (28 cycles/min)`.
    pub fn both_ways(&self) -> String {
        let cpm = self.spm / exact(2);
        format!("{} ({} cycles/min)", self.short(), print_rounded(&cpm, 2))
    }

    /// Strokes/min to two decimals, or to more where it would read as another rate.
    pub fn apart(&self, other: &Fix) -> String {
        format!("{} spm", print_apart(&self.spm, other, 2))
    }

    /// For a table: strokes/min to two decimals.
    pub fn short(&self) -> String {
        format!("{} spm", print_rounded(&self.spm, 2))
    }
}

impl Rate {
    /// In the first unit in which the rate is a short decimal, if there is one.
    fn in_short_decimals(&self) -> Option<String> {
        let with = |number: Option<String>, unit: &str| Some(format!("{} {unit}", number?));
        with(print_decimal(&self.spm), "spm")
            .or_else(|| with(print_decimal(&(exact(60) / self.spm)), "s/stroke"))
            .or_else(|| with(print_decimal(&self.cycle_s()), "s/cycle"))
    }

    /// For a file that must read back to it: a computed rate (a share of another) with all its
    /// decimals.
    pub fn exactly(&self) -> String {
        let short = self.in_short_decimals();
        short
            .filter(|short| Self::parse(short).as_ref() == Ok(self))
            .unwrap_or_else(|| format!("{} spm", self.spm))
    }
}

impl fmt::Display for Rate {
    /// Fix where that is short; a computed rate is rounded, and said to be.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self.in_short_decimals() {
            Some(short) => f.write_str(&short),
            None => write!(f, "about {}", self.short()),
        }
    }
}

impl Quantity for Rate {
    const ACCEPTED: &'static str = "10 to 160 spm (strokes/min, both arms counted), \
        or the same as cpm (cycles/min), s/stroke or s/cycle";
    const EXAMPLE: &'static str = "54 spm";

    fn parse(text: &str) -> Result<Self, String> {
        let (number, unit) = split_unit(text);
        if number.starts_with(['+', '-']) {
            return Err(format!(
                "found {text:?}, a change of rate, where a rate itself is needed"
            ));
        }
        let spm = match unit.as_str() {
            "spm" | "strokes/min" => Fix::decimal(number)?,
            "cpm" | "cycles/min" => in_range(text, decimal(number)? * exact(2))?,
            "s/stroke" => per(number, 60)?,
            "s/cycle" => per(number, 120)?,
            "" if !number.is_empty() => return Err(ambiguous(number)),
            "%" => {
                return Err(format!(
                    "found {text:?}, a share of a rate, where a rate itself is needed"
                ));
            }
            _ => return Err(unknown(text)),
        };
        Self::from_spm(spm)
    }
}

/// A rate as a session may ask for it: itself, or relative to the swimmer's own.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum RateWish {
    /// The rate itself.
    Absolute(Rate),
    /// Strokes/min more (or fewer) than the swimmer's rate.
    Change(Fix),
    /// A share of the swimmer's rate, to half a stroke a minute; 1, 100 %, is that rate as it is.
    Share(Fix),
}

impl RateWish {
    /// The rate for a swimmer whose own rate is `own`.
    ///
    /// # Errors
    /// When it is relative and there is no own rate, or the result is out of range.
    pub fn resolve(&self, own: Option<&Rate>) -> Result<Rate, String> {
        let missing =
            || format!("found \"{self}\", which is relative, but no swimmer's rate is known");
        match self {
            Self::Absolute(rate) => Ok(rate.clone()),
            Self::Change(spm) => Rate::from_spm(own.ok_or_else(missing)?.spm() + spm),
            Self::Share(share) if *share == Fix::ONE => Ok(own.ok_or_else(missing)?.clone()),
            Self::Share(share) => {
                Rate::from_spm(Rate::to_half(own.ok_or_else(missing)?.spm() * share))
            }
        }
    }
}

impl RateWish {
    /// For a file that must read back to it.
    pub fn exactly(&self) -> String {
        match self {
            Self::Absolute(rate) => rate.exactly(),
            relative => relative.to_string(),
        }
    }
}

impl fmt::Display for RateWish {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = |value: &Fix| print_decimal(value).unwrap_or_else(|| print_rounded(value, 9));
        match self {
            Self::Absolute(rate) => rate.fmt(f),
            Self::Change(spm) if spm.is_negative() => write!(f, "{} spm", text(spm)),
            Self::Change(spm) => write!(f, "+{} spm", text(spm)),
            Self::Share(share) => write!(f, "{} %", text(&(share * exact(100)))),
        }
    }
}

impl Quantity for RateWish {
    const ACCEPTED: &'static str = "10 to 160 spm (strokes/min, both arms counted), \
        the same as cpm (cycles/min), s/stroke or s/cycle, \
        or relative to the swimmer's rate: \"+2 spm\", \"-3 spm\", \"96 %\"";
    const EXAMPLE: &'static str = "54 spm";

    fn parse(text: &str) -> Result<Self, String> {
        let (number, unit) = split_unit(text);
        match (number.starts_with(['+', '-']), unit.as_str()) {
            (true, "spm" | "strokes/min") => Ok(Self::Change(decimal(number)?)),
            (true, "cpm" | "cycles/min") => {
                Ok(Self::Change(in_range(text, decimal(number)? * exact(2))?))
            }
            (true, "") => Err(ambiguous(number)),
            (true, _) => Err(format!(
                "found {text:?}; a change of rate is in spm or cpm, as \"+2 spm\""
            )),
            (false, "%") => Ok(Self::Share(decimal(number)? / exact(100))),
            (false, _) => Rate::parse(text).map(Self::Absolute),
        }
    }
}

/// Seconds a stroke or a cycle as strokes/min.
fn per(number: &str, strokes_times_60: i64) -> Result<Fix, String> {
    let seconds = decimal(number)?;
    if seconds.is_zero() {
        return Err(format!("found {number} s, no time at all"));
    }
    Ok(exact(strokes_times_60) / seconds)
}

/// The mix-up of strokes and cycles is the commonest and costs a factor of two: both are spelt out.
fn ambiguous(number: &str) -> String {
    format!(
        "found {number}, a bare number; it could have meant \"{number} spm\" (strokes/min, both arms \
         counted) or \"{number} cpm\" (cycles/min, twice as many strokes)"
    )
}

fn unknown(text: &str) -> String {
    format!("found {text:?}, which is not a stroke rate")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::fraction;
    use proptest::prelude::*;

    fn rate(text: &str) -> Rate {
        Rate::parse(text).expect(text)
    }

    #[test]
    fn spelling_does_not_matter() {
        for text in [
            "56spm",
            "56 SPM",
            "28 cpm",
            "56.0 spm",
            " 56  spm ",
            "28 cycles/min",
        ] {
            assert_eq!(rate(text), rate("56 spm"), "{text}");
        }
    }

    #[test]
    fn both_ways_shows_strokes_and_cycles() {
        assert_eq!(rate("28 cpm").both_ways(), "56 spm (28 cycles/min)");
        assert_eq!(
            rate("1.03 s/stroke").both_ways(),
            "58.25 spm (29.13 cycles/min)"
        );
    }

    #[test]
    fn times_a_stroke_and_a_cycle_convert_exactly() {
        assert_eq!(rate("1.03 s/stroke").spm(), &fraction(6000, 103));
        assert_eq!(rate("2.07 s/cycle").spm(), &fraction(12000, 207));
        assert_eq!(rate("2.07 s / cycle").cycle_s(), fraction(207, 100));
    }

    #[test]
    fn a_bare_number_is_refused_with_its_meanings() {
        let why = RateWish::parse("56").expect_err("bare");
        assert!(
            why.contains("\"56 spm\"") && why.contains("\"56 cpm\""),
            "{why}"
        );
        assert!(
            RateWish::parse("+2")
                .expect_err("bare")
                .contains("\"+2 spm\"")
        );
    }

    #[test]
    fn the_range_includes_its_ends_and_nothing_beyond() {
        for text in ["10 spm", "160 spm", "80 cpm", "5 cpm"] {
            rate(text);
        }
        for text in [
            "9.999 spm",
            "160.001 spm",
            "81 cpm",
            "0 spm",
            "0 s/stroke",
            "0.0 s/cycle",
        ] {
            assert!(Rate::parse(text).is_err(), "{text}");
        }
    }

    #[test]
    fn a_relative_rate_needs_the_swimmers() {
        let own = rate("56 spm");
        let resolve = |text: &str| RateWish::parse(text).expect(text).resolve(Some(&own));
        assert_eq!(resolve("+2 spm"), Ok(rate("58 spm")));
        assert_eq!(resolve("-3 spm"), Ok(rate("53 spm")));
        assert_eq!(resolve("+1 cpm"), Ok(rate("58 spm")));
        // 53.76 and 54.04 spm, and a half of a half: nobody would say them.
        assert_eq!(resolve("96 %"), Ok(rate("54 spm")));
        assert_eq!(resolve("96.5 %"), Ok(rate("54 spm")));
        assert_eq!(resolve("96.875 %"), Ok(rate("54.5 spm")));
        assert!(resolve("300 %").is_err_and(|why| why.contains("168 spm")));
        // What somebody has said stays.
        let own = rate("56.3 spm");
        let resolve = |text: &str| RateWish::parse(text).expect(text).resolve(Some(&own));
        assert_eq!(resolve("100 %"), Ok(own.clone()));
        assert_eq!(resolve("+1 spm"), Ok(rate("57.3 spm")));
        let alone = RateWish::parse("+2 spm").expect("parses").resolve(None);
        assert!(alone.is_err_and(|why| why.contains("no swimmer's rate")));
    }

    #[test]
    fn words_that_are_no_rate_are_refused() {
        for text in [
            "",
            "fast",
            "56 bpm",
            "56 spm spm",
            "spm",
            "% 5",
            "+5 %",
            "1 s",
            "56 spm (28)",
        ] {
            assert!(RateWish::parse(text).is_err(), "{text}");
        }
    }

    proptest! {
        #[test]
        fn a_printed_rate_reads_back(micro in 10_000_000i64..=160_000_000, form in 0usize..4) {
            let number = |value: Fix| print_decimal(&value).expect("short");
            let text = match form {
                0 => format!("{} spm", number(fraction(micro, 1_000_000))),
                1 => format!("{} cpm", number(fraction(micro, 2_000_000))),
                2 => format!("{} s/stroke", number(fraction(60_000_000_000 / micro, 1000))),
                _ => format!("{} s/cycle", number(fraction(120_000_000_000 / micro, 1000))),
            };
            if let Ok(rate) = Rate::parse(&text) {
                prop_assert_eq!(Rate::parse(&rate.to_string()), Ok(rate));
            }
        }

        #[test]
        fn a_printed_wish_reads_back(micro in -20_000_000i64..20_000_000, share in 1i64..3_000_000) {
            for wish in [RateWish::Change(fraction(micro, 1_000_000)), RateWish::Share(fraction(share, 1_000_000))] {
                prop_assert_eq!(RateWish::parse(&wish.to_string()), Ok(wish));
            }
        }

        #[test]
        fn converting_there_and_back_is_near(micro in 10_000_000i64..=160_000_000) {
            let rate = Rate::from_spm(fraction(micro, 1_000_000)).expect("in range");
            prop_assert!((exact(120) / rate.cycle_s()).is_near(*rate.spm()));
            prop_assert!((rate.cycles_per_second() * exact(2)).is_near(rate.strokes_per_second()));
        }
    }
}

//! Two ways to predict a swim: a clock pace, or the distance each stroke gives.

use std::fmt;

use super::decimal::print_rounded;
use super::{
    Fix, Length, Quantity, Rate, Time, bare, decimal, exact, in_range, print_apart, split_unit,
};

/// A clock pace, push-offs included: so much time for so much distance.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pace {
    time: Time,
    distance: Length,
}

impl Pace {
    /// Metres a second.
    pub fn speed_m_s(&self) -> Fix {
        self.distance.metres() / self.time.s()
    }
}

impl fmt::Display for Pace {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} / {}", self.time, self.distance)
    }
}

impl Quantity for Pace {
    const ACCEPTED: &'static str = "a time over a distance, such as 2:05 / 100 m or 1:50 / 100 yd";
    const EXAMPLE: &'static str = "2:05 / 100 m";

    fn parse(text: &str) -> Result<Self, String> {
        let Some((time, distance)) = text.split_once('/') else {
            let number = text.trim();
            if decimal(number).is_ok() {
                return Err(format!(
                    "found {number}, a bare number; it could have meant \"{number} s / 100 m\" or \
                     \"{number} s / 100 yd\""
                ));
            }
            return Err(match Time::parse(number) {
                Ok(_) => {
                    format!("found {text:?}; a pace needs its distance, as \"{number} / 100 m\"")
                }
                Err(_) => format!("found {text:?}, which is not a pace"),
            });
        };
        let (time, distance) = (Time::parse(time)?, Length::parse(distance)?);
        if !time.s().is_positive() || distance.metres().is_zero() {
            return Err(format!("found {text:?}, a pace of nothing"));
        }
        Ok(Self { time, distance })
    }
}

/// Metres a stroke while swimming: the metres of the push-offs are not counted.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StrokeLength {
    metres: Fix,
    written: String,
}

impl StrokeLength {
    /// Metres a stroke.
    pub fn metres(&self) -> &Fix {
        &self.metres
    }

    /// The stroke length that goes as fast at rate `to` as this one at `from` spm, both arms counted; in
    /// decimals, and where they do not hold it a little faster: a swim that were longer would have room
    /// for a cue that fell on its end.
    ///
    /// # Errors
    /// Where no stroke is that long.
    pub fn at(&self, from: &Fix, to: &Rate) -> Result<Self, String> {
        if from == to.spm() {
            return Ok(self.clone());
        }
        let a_minute = self.metres * from;
        let (whole, billion) = (a_minute.floor(), 1_000_000_000);
        let part = (a_minute - whole).times(billion).whole_above();
        let metres = print_rounded(&(whole + Fix::new(part, billion)), 9);
        Self::parse(&format!("{} strokes / {metres} m", to.spm()))
    }

    /// As written, and in metres a stroke where that is not what was written.
    pub fn both_ways(&self) -> String {
        if self.written.to_lowercase().ends_with("m/stroke") {
            self.written.clone()
        } else {
            format!(
                "{} ({} m/stroke)",
                self.written,
                print_rounded(&self.metres, 3)
            )
        }
    }
}

impl fmt::Display for StrokeLength {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.written)
    }
}

impl Quantity for StrokeLength {
    const ACCEPTED: &'static str = "metres swum a stroke, such as 0.95 m/stroke, 1.90 m/cycle or \
        22 strokes / 21 m (metres swum, push-off left out)";
    const EXAMPLE: &'static str = "0.95 m/stroke";

    fn parse(text: &str) -> Result<Self, String> {
        let (number, unit) = split_unit(text);
        let metres = match unit.as_str() {
            "m/stroke" => decimal(number)?,
            "m/cycle" => decimal(number)? / exact(2),
            "" if !number.is_empty() => return Err(bare(number, &["m/stroke", "m/cycle"])),
            _ => counted(text)?,
        };
        let most = exact(5);
        let shown = if metres > most {
            print_apart(&metres, &most, 3)
        } else {
            print_rounded(&metres, 3)
        };
        if !metres.is_positive() || metres > most {
            return Err(format!(
                "found {text:?}, {shown} m a stroke, outside 0 to 5 m"
            ));
        }
        Ok(Self {
            metres,
            written: text.split_whitespace().collect::<Vec<_>>().join(" "),
        })
    }
}

/// `22 strokes / 25 m`: taken as it stands, 25/22 m a stroke.
fn counted(text: &str) -> Result<Fix, String> {
    let wrong = || format!("found {text:?}, which is not a distance per stroke");
    let (count, distance) = text.split_once('/').ok_or_else(wrong)?;
    let (number, unit) = split_unit(count);
    let count = match unit.as_str() {
        "strokes" => decimal(number)?,
        "cycles" => in_range(text, decimal(number)? * exact(2))?,
        _ => return Err(wrong()),
    };
    if !count.is_positive() {
        return Err(format!("found {text:?}, no strokes at all"));
    }
    in_range(text, Length::parse(distance)?.metres() / count)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::units::fraction;
    use proptest::prelude::*;

    #[test]
    fn a_pace_is_a_speed() {
        // Arithmetic: 200 m in 2:50 and 400 m in 5:56 give 200/186 m/s, 1:33 / 100 m.
        let pace = Pace::parse("1:33 / 100 m").expect("parses");
        assert_eq!(pace.speed_m_s(), fraction(200, 186));
        let yards = Pace::parse("1:40/100 yd").expect("parses");
        assert_eq!(yards.speed_m_s(), fraction(9144, 10_000));
        assert_eq!(yards.to_string(), "1:40 / 100 yd");
    }

    #[test]
    fn a_stroke_length_reads_the_same_in_every_form() {
        let metres = |text: &str| StrokeLength::parse(text).expect(text).metres;
        assert_eq!(metres("0.95 m/stroke"), fraction(95, 100));
        assert_eq!(metres("1.90 m/cycle"), fraction(95, 100));
        assert_eq!(metres("20 strokes / 19 m"), fraction(95, 100));
        assert_eq!(metres("10 cycles / 19 m"), fraction(95, 100));
        assert_eq!(metres("22 strokes / 25 m"), fraction(25, 22));
    }

    #[test]
    fn at_another_rate_a_stroke_of_another_length_is_as_fast() {
        let at = |length: &str, from: i64, to: &str| {
            let length = StrokeLength::parse(length).expect(length);
            length.at(&exact(from), &Rate::parse(to).expect(to))
        };
        // 54 strokes of 0.95 m a minute are 51.3 m, and so are 57 of 0.9 m.
        let longer = at("0.95 m/stroke", 54, "57 spm").expect("short enough");
        assert_eq!(longer.metres, fraction(9, 10));
        assert_eq!(longer.to_string(), "57 strokes / 51.3 m");
        let exact = at("22 strokes / 21 m", 44, "57 spm").expect("short enough");
        assert_eq!(exact.to_string(), "57 strokes / 42 m");
        // 57 x 21 / 22 is 54.40909..., for ever.
        let faster = at("22 strokes / 21 m", 57, "92 spm").expect("short enough");
        assert_eq!(faster.to_string(), "92 strokes / 54.40909091 m");
        let same = at("1.9 m/cycle", 54, "54 spm").expect("the same");
        assert_eq!(same.to_string(), "1.9 m/cycle");
        assert!(at("0.95 m/stroke", 54, "10 spm").is_err_and(|why| why.contains("5.13 m")));
    }

    #[test]
    fn bare_numbers_and_nonsense_are_refused() {
        for text in [
            "",
            "2:05",
            "2:05 / 100",
            "0 s / 100 m",
            "1:00 / 0 m",
            "-5 s / 100 m",
            "fast / 100 m",
        ] {
            assert!(Pace::parse(text).is_err(), "{text}");
        }
        for text in [
            "",
            "0.95",
            "0 m/stroke",
            "9 m/stroke",
            "22 strokes",
            "0 strokes / 25 m",
            "22 strokes / 25",
            "m/stroke",
        ] {
            assert!(StrokeLength::parse(text).is_err(), "{text}");
        }
        assert!(
            StrokeLength::parse("0.95")
                .expect_err("bare")
                .contains("\"0.95 m/cycle\"")
        );
    }

    proptest! {
        #[test]
        fn what_is_printed_reads_back(milli in 1i64..5000, s in 1i64..10_000, m in 1i64..3000) {
            let length = StrokeLength::parse(&format!("{milli} strokes / {} m", milli * 2)).expect("2 m");
            prop_assert_eq!(StrokeLength::parse(&length.to_string()), Ok(length));
            let pace = Pace::parse(&format!("{s} s / {m} m")).expect("positive");
            prop_assert_eq!(Pace::parse(&pace.to_string()), Ok(pace));
        }
    }
}

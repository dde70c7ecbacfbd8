//! Film times: seconds, clock times, and time code with or without dropped frame numbers.

use super::key_value::quoted;
use crate::error::{Error, Result};

/// Which form a film time is written in.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TimeForm {
    /// `12.480`
    Seconds,
    /// `0:12.480` or `1:02:12.480`
    Clock,
    /// `00:00:12:14`
    Code,
    /// `00:00:12;14`
    DropCode,
}

impl TimeForm {
    pub fn in_words(self) -> &'static str {
        match self {
            Self::Seconds => "seconds",
            Self::Clock => "minutes and seconds",
            Self::Code => "time code",
            Self::DropCode => "drop-frame time code",
        }
    }

    pub fn example(self) -> &'static str {
        match self {
            Self::Seconds => "12.480",
            Self::Clock => "0:12.480",
            Self::Code => "00:00:12:14",
            Self::DropCode => "00:00:12;14",
        }
    }
}

/// A film time as written; time code becomes seconds once the frame rate is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum WrittenTime {
    Seconds(f64),
    Clock(f64),
    /// Whole seconds, frame number, and whether the code is drop-frame.
    Code {
        seconds: u32,
        frame: u32,
        drop: bool,
    },
}

impl WrittenTime {
    /// Reads one of the forms; nothing where the text is none of them.
    pub fn parse(text: &str) -> Option<Self> {
        let parts: Vec<&str> = text.split([':', ';']).collect();
        let drop = text.contains(';');
        match parts[..] {
            [seconds] if !drop => decimal(seconds).map(Self::Seconds),
            [minutes, seconds] if !drop => Some(Self::Clock(
                f64::from(whole(minutes)?) * 60.0 + below_sixty(seconds)?,
            )),
            [hours, minutes, seconds] if !drop => {
                let minutes = two_digits(minutes, 60)?;
                let whole_minutes = whole(hours)?.checked_mul(60)?.checked_add(minutes)?;
                Some(Self::Clock(
                    f64::from(whole_minutes) * 60.0 + below_sixty(seconds)?,
                ))
            }
            [hours, minutes, seconds, frame]
                // Only the last mark may be the semicolon.
                if text.matches(';').count() == usize::from(drop)
                    && (!drop || text.rfind(';') > text.rfind(':')) =>
            {
                let minutes = whole(hours)?.checked_mul(60)? + two_digits(minutes, 60)?;
                Some(Self::Code {
                    seconds: minutes.checked_mul(60)? + two_digits(seconds, 60)?,
                    frame: whole(frame).filter(|_| frame.len() >= 2)?,
                    drop,
                })
            }
            _ => None,
        }
    }

    pub fn kind(&self) -> TimeForm {
        match self {
            Self::Seconds(_) => TimeForm::Seconds,
            Self::Clock(_) => TimeForm::Clock,
            Self::Code { drop: false, .. } => TimeForm::Code,
            Self::Code { drop: true, .. } => TimeForm::DropCode,
        }
    }

    /// Seconds from the film's start. Time code needs `fps`, which the caller has made sure of.
    ///
    /// # Errors
    /// A frame number that a second of this film does not have, or that drop-frame code skips.
    pub fn seconds(&self, fps: Option<f64>) -> Result<f64, String> {
        let (seconds, frame, drop) = match *self {
            Self::Seconds(s) | Self::Clock(s) => return Ok(s),
            Self::Code {
                seconds,
                frame,
                drop,
            } => (seconds, frame, drop),
        };
        let fps = fps.ok_or("found time code of a film of unknown frame rate")?;
        Ok(code_frame(seconds, frame, drop, fps)? as f64 / fps)
    }
}

/// The frame that a time code names, from 0.
///
/// Drop-frame code at 30000/1001 frames/s (SMPTE ST 12-1, from memory) skips
/// the numbers 00 and 01 each minute except every tenth; at 60000/1001 it skips twice as many.
///
/// # Errors
/// A number past the frames of a second, a skipped one, or a rate without drop-frame code.
pub fn code_frame(seconds: u32, frame: u32, drop: bool, fps: f64) -> Result<u64, String> {
    let numbers = fps.ceil() as u32;
    if frame >= numbers {
        return Err(format!(
            "found frame number {frame}; a second of {fps:.3} frames/s has the numbers 0 to {}",
            numbers - 1
        ));
    }
    let (minutes, second) = (seconds / 60, seconds % 60);
    let counted = u64::from(seconds) * u64::from(numbers) + u64::from(frame);
    if !drop {
        return Ok(counted);
    }
    let is_dropping = |nominal: f64| (fps - nominal * 1000.0 / 1001.0).abs() < 1e-6;
    if !is_dropping(30.0) && !is_dropping(60.0) {
        return Err(format!(
            "found drop-frame time code, which a film of {fps:.3} frames/s does not have; \
             it has 29.97 or 59.94"
        ));
    }
    let dropped = numbers / 15;
    if second == 0 && minutes % 10 != 0 && frame < dropped {
        return Err(format!(
            "found frame number {frame}, which drop-frame code skips in this minute"
        ));
    }
    Ok(counted - u64::from(dropped) * u64::from(minutes - minutes / 10))
}

/// A frame rate as a person writes it: `30`, `29.97` (30000/1001 exactly), `30000/1001`.
///
/// # Errors
/// When it is no rate of a film.
pub fn frame_rate(text: &str) -> Result<f64> {
    let value = match text.split_once('/') {
        Some((above, below)) => decimal(above.trim())
            .zip(decimal(below.trim()))
            .map(|(above, below)| above / below),
        None => decimal(text.trim()),
    };
    let fps = value
        .filter(|fps| (1.0..=10_000.0).contains(fps))
        .ok_or_else(|| {
            Error::input(format!("found {}", quoted(text)))
                .at("--fps")
                .accepted("frames a second, from 1 to 10000; 29.97, 59.94 and 30000/1001 are known")
                .example("--fps 30")
        })?;
    // 23.976, 29.97, 59.94 and 119.88 are short for multiples of 1000/1001.
    let nominal = (fps * 1.001).round();
    let ntsc = nominal * 1000.0 / 1001.0;
    let is_short_for = fps.fract() != 0.0 && (fps - ntsc).abs() < 0.005;
    Ok(if is_short_for { ntsc } else { fps })
}

/// The refusal of what is no film time.
pub fn unaccepted_time(text: &str) -> Error {
    Error::input(format!("found {}", quoted(text)))
        .accepted("seconds, m:ss.mmm, or time code hh:mm:ss:ff or hh:mm:ss;ff, from 0 on")
        .example("12.480")
}

/// A plain decimal: digits and at most one point. No sign, no exponent, no word.
fn decimal(text: &str) -> Option<f64> {
    let plain = text.bytes().all(|b| b.is_ascii_digit() || b == b'.');
    let digits = text.bytes().any(|b| b.is_ascii_digit());
    text.parse().ok().filter(|_| plain && digits)
}

fn whole(text: &str) -> Option<u32> {
    let plain = !text.is_empty() && text.bytes().all(|b| b.is_ascii_digit());
    text.parse().ok().filter(|n| plain && *n < 100_000)
}

fn two_digits(text: &str, below: u32) -> Option<u32> {
    whole(text).filter(|n| text.len() == 2 && *n < below)
}

/// The seconds of a clock time: two whole digits, below sixty.
fn below_sixty(text: &str) -> Option<f64> {
    let digits = text.split('.').next().map_or(0, str::len);
    decimal(text).filter(|s| digits == 2 && *s < 60.0)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn drop_frame(text: &str, fps: f64) -> Result<u64, String> {
        match WrittenTime::parse(text) {
            Some(WrittenTime::Code {
                seconds,
                frame,
                drop: true,
            }) => code_frame(seconds, frame, true, fps),
            other => panic!("{text} is {other:?}"),
        }
    }

    #[test]
    fn ten_minutes_of_drop_frame_code_are_frame_17982() {
        // SMPTE ST 12-1, from memory: 00:10:00;00 is frame 17 982, 599.9994 s.
        let ntsc = 30_000.0 / 1001.0;
        assert_eq!(drop_frame("00:10:00;00", ntsc), Ok(17_982));
        assert_eq!(drop_frame("00:00:59;29", ntsc), Ok(1799));
        assert_eq!(drop_frame("00:01:00;02", ntsc), Ok(1800));
        let s = WrittenTime::parse("00:10:00;00").map(|form| form.seconds(Some(ntsc)));
        let s = s.expect("a form").expect("a frame");
        assert!((s - 599.9994).abs() < 5e-5, "{s}");
    }

    #[test]
    fn numbers_that_drop_frame_code_skips_are_refused() {
        let ntsc = 30_000.0 / 1001.0;
        assert!(drop_frame("00:01:00;00", ntsc).is_err());
        assert!(drop_frame("00:01:00;01", ntsc).is_err());
        assert!(drop_frame("00:01:00;03", 2.0 * ntsc).is_err());
        assert!(drop_frame("00:00:01;30", ntsc).is_err());
        assert!(drop_frame("00:00:01;10", 25.0).is_err());
    }

    #[test]
    fn every_drop_frame_number_is_one_frame_after_the_one_before() {
        let ntsc = 30_000.0 / 1001.0;
        let mut expected = 0;
        for seconds in 0..1260 {
            for frame in 0..30 {
                if let Ok(found) = code_frame(seconds, frame, true, ntsc) {
                    assert_eq!(found, expected, "{seconds} s {frame}");
                    expected += 1;
                }
            }
        }
        assert_eq!(expected, 2 * 17_982 + 1800);
    }

    #[test]
    fn short_rates_are_read_as_what_they_are_short_for() {
        let rate = |text| frame_rate(text).expect(text);
        assert_eq!(rate("29.97"), 30_000.0 / 1001.0);
        assert_eq!(rate("30000/1001"), 30_000.0 / 1001.0);
        assert_eq!(rate("23.976"), 24_000.0 / 1001.0);
        assert_eq!(rate("30"), 30.0);
        assert_eq!(rate("12.5"), 12.5);
        for text in ["0", "-30", "thirty", "nan", "1/0", "1e9", ""] {
            assert!(frame_rate(text).is_err(), "{text}");
        }
    }
}

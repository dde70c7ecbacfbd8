//! How fast a swim of a plan is expected to be at a rate that is not the swimmer's own.
//!
//! The swimming alone changes, not the push-offs. Below the own rate speed falls by half of what
//! the rate falls by (common practice, no source). Above it speed follows the line of the
//! swimmer's step test, where there is one, and else stays: an end tone that comes early cuts the
//! swim, one that comes late costs nothing.

use super::super::resolve::{Resolved, Set};
use super::super::session::{Going, RatePlan, RepeatSwim};
use super::super::wishes::{Session, said};
use crate::units::{Pace, Quantity, Rate, StrokeLength, ceil_u64, to_f64};

/// A swimmer's speed as it is known.
#[derive(Debug, Clone, Copy)]
pub struct OwnSpeed<'a> {
    /// The rate at which it holds.
    pub rate: &'a Rate,
    /// How distance per stroke falls with rate by a step test, m a stroke/min.
    pub line: Option<f64>,
}

impl OwnSpeed<'_> {
    /// Speed of the strokes at a rate over that at the own one; `length_m` is the distance per
    /// stroke at the own rate.
    fn factor(&self, spm: f64, length_m: f64) -> f64 {
        let own = to_f64(self.rate.spm());
        if spm < own {
            return f64::midpoint(1.0, spm / own);
        }
        let line = self.line.filter(|_| spm > own);
        line.map_or(1.0, |slope| {
            // A line is no law far off: half the length is the least it may foretell.
            let length = (1.0 + slope * (spm - own) / length_m).max(0.5);
            length * spm / own
        })
    }

    /// Lets the sets of a session whose speed is the swimmer's own follow their rates. `decided`
    /// is the same session with every value decided.
    pub fn follow(&self, session: &mut Session, decided: &Resolved) {
        let defaults = &session.defaults;
        if defaults.pace.is_some() || defaults.stroke_length.is_some() {
            return;
        }
        for (wishes, set) in session.sets.iter_mut().zip(&decided.sets) {
            let wishes = &mut wishes.value;
            if wishes.pace.is_some() || wishes.stroke_length.is_some() {
                continue;
            }
            match self.going(set) {
                Some(Going::Pace(pace)) => wishes.pace = said(pace),
                Some(Going::StrokeLength(length)) => wishes.stroke_length = said(length),
                None => {}
            }
        }
    }

    /// How a set goes at its rate; none where it goes as it says, or its time is not predicted.
    fn going(&self, set: &Set) -> Option<Going> {
        let (RepeatSwim::Distance(distance), RatePlan::Steady(rate)) = (&set.swim, &set.rate)
        else {
            return None;
        };
        let (own, spm) = (to_f64(self.rate.spm()), to_f64(rate.spm()));
        let metres = to_f64(distance.metres());
        let lengths = ceil_u64(&(distance.metres() / set.pool.metres()))? as f64;
        let pushed_s = lengths * to_f64(set.push_off.s());
        let swum_m = metres - lengths * to_f64(set.glide.metres());
        let going = set.going()?;
        let swum_s = match &going {
            Going::Pace(pace) => metres / to_f64(&pace.speed_m_s()) - pushed_s,
            Going::StrokeLength(length) => swum_m / (to_f64(length.metres()) * own / 60.0),
        };
        if swum_m <= 0.0 || swum_s <= 0.0 {
            return None;
        }
        let length_m = swum_m / swum_s * 60.0 / own;
        // Of comparison repeats and the others the slower one, which none of them is cut by.
        let compared = set
            .compare
            .as_ref()
            .map_or(spm, |compare| to_f64(compare.rate.spm()));
        let factor = self
            .factor(spm, length_m)
            .min(self.factor(compared, length_m));
        let swum_s = swum_s / factor;
        match going {
            Going::Pace(_) if factor == 1.0 => None,
            Going::StrokeLength(_) if spm == own => None,
            Going::Pace(_) => {
                let tenths = ((pushed_s + swum_s) / metres * 1000.0).ceil() as u64;
                let (minutes, tenths) = (tenths / 600, tenths % 600);
                let text = format!("{minutes}:{:02}.{} / 100 m", tenths / 10, tenths % 10);
                Pace::parse(&text).ok().map(Going::Pace)
            }
            Going::StrokeLength(_) => {
                let text = format!("{:.3} m/stroke", swum_m / swum_s * 60.0 / spm);
                StrokeLength::parse(&text).ok().map(Going::StrokeLength)
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rate(text: &str) -> Rate {
        Rate::parse(text).expect(text)
    }

    fn going(line: Option<f64>, keys: &str) -> Option<String> {
        let own = rate("54 spm");
        let own = OwnSpeed { rate: &own, line };
        let text = format!("[[set]]\nswim = \"50 m\"\nrest = \"30 s\"\n{keys}\n");
        let session = crate::files::parse_session("own.toml", &text).expect("parses");
        let decided = crate::model::resolve::resolve(&session, None, &Default::default());
        let going = own.going(&decided.expect("holds").sets[0])?;
        Some(match going {
            Going::Pace(pace) => pace.to_string(),
            Going::StrokeLength(length) => length.to_string(),
        })
    }

    // 50 m at 2:05 / 100 m are 62.5 s, 6 of them push-offs and 56.5 s of 42 m of strokes.

    #[test]
    fn below_the_own_rate_speed_falls_by_half_of_the_change() {
        // By hand: 51 is 5.556 % below 54; 56.5 / 0.97222 = 58.114; 64.114 s, 2:08.3.
        let found = going(None, "pace = \"2:05 / 100 m\"\nrate = \"51 spm\"");
        assert_eq!(found, Some("2:08.3 / 100 m".into()));
        let found = going(None, "pace = \"2:05 / 100 m\"\nrate = \"54 spm\"");
        assert_eq!(found, None);
    }

    #[test]
    fn above_it_speed_stays_or_follows_the_swimmers_own_line() {
        let set = "pace = \"2:05 / 100 m\"\nrate = \"58 spm\"";
        assert_eq!(going(None, set), None);
        // By hand: 42 m in 56.5 s at 54 spm are 0.82596 m a stroke; 4 x 0.006 m less are 0.80196:
        // speed x 0.97094 x 58 / 54 = 1.04286; 54.178 + 6 s, 2:00.4.
        assert_eq!(going(Some(-0.006), set), Some("2:00.4 / 100 m".into()));
        let compared = format!("{set}\nrepeats = 3\ncompare = {{ rate = \"54 spm\", at = [2] }}");
        assert_eq!(
            going(Some(-0.006), &compared),
            None,
            "one of them is no faster"
        );
        // By hand: the same speed at 58 spm is 0.9 x 54 / 58 m a stroke.
        let found = going(None, "stroke_length = \"0.9 m/stroke\"\nrate = \"58 spm\"");
        assert_eq!(found, Some("0.838 m/stroke".into()));
    }
}

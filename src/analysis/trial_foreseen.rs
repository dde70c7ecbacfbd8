//! What a trial can find, said before anything is swum.
//!
//! In: how times of like swims scatter. Out: the smallest difference between the pairings that is
//! found in four trials of five, and how many pairs a difference takes.

use super::stats::median;

/// SwimScatter of the times of like swims, per cent, of a swimmer of whom no log tells it (common
/// practice, no source). It holds the 0.2 s of a hand-held time, 0.7 % of 30 s.
pub const USUAL_PERCENT: f64 = 1.0;
/// Fewer differences than that tell nothing about a scatter.
pub const FEWEST_DIFFERENCES: usize = 12;
/// The usual scatter weighs as much as so many differences.
const USUAL_WEIGHT: f64 = 8.0;
/// Two-sided 0.05 and four chances in five: 1.960 + 0.842.
const QUANTILES: f64 = 2.80;
/// 1.960² / 2: for a scatter that is itself estimated (Guenther 1981, from memory).
const ESTIMATED: f64 = 1.92;
/// Looking early costs so much more.
const LOOKS_COST: f64 = 1.08;
/// A day is two blocks of four swims.
pub const PAIRS_A_DAY: usize = 4;

/// How the times of like swims scatter: the standard deviation of one swim, per cent of its time.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SwimScatter {
    /// Per cent.
    pub percent: f64,
    /// So many differences of neighbours tell it; 0 where it is the usual one.
    pub differences: usize,
}

impl SwimScatter {
    /// From 100 ln (time / time of the swim before), of neighbours that are alike: by the median
    /// distance from their median, together with the usual scatter. Too few give the usual one.
    pub fn of(differences: &[f64]) -> Self {
        let n = differences.len();
        let middle = median(differences).filter(|_| n >= FEWEST_DIFFERENCES);
        let sizes =
            |middle: f64| -> Vec<f64> { differences.iter().map(|d| (d - middle).abs()).collect() };
        let Some(size) = middle.and_then(|middle| median(&sizes(middle))) else {
            return Self {
                percent: USUAL_PERCENT,
                differences: 0,
            };
        };
        // 1.4826: a normal distribution's standard deviation over its median distance. Two swims
        // scatter by root two times as much as one.
        let variance = (1.4826 * size).powi(2) / 2.0;
        let weight = n as f64;
        let both = USUAL_WEIGHT * USUAL_PERCENT.powi(2) + weight * variance;
        Self {
            percent: (both / (USUAL_WEIGHT + weight)).sqrt(),
            differences: n,
        }
    }

    /// The smallest difference, per cent, that so many pairs find in four trials of five:
    /// 2.80 √2 cv / √(n - 1.92). None below three pairs.
    pub fn least_percent(&self, pairs: usize) -> Option<f64> {
        let left = pairs as f64 - ESTIMATED;
        (left > 1.0).then(|| QUANTILES * (2.0 / left).sqrt() * self.percent)
    }

    /// How many pairs find a difference of so many per cent in four trials of five, looks
    /// included, in whole days: 1.08 (2 (2.80 cv / d)² + 1.92).
    pub fn pairs_for(&self, percent: f64) -> usize {
        let pairs = 2.0 * (QUANTILES * self.percent / percent).powi(2) + ESTIMATED;
        ((LOOKS_COST * pairs).ceil() as usize).next_multiple_of(PAIRS_A_DAY)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_pairs_find_is_arithmetic() {
        let usual = SwimScatter::of(&[]);
        assert_eq!(
            usual,
            SwimScatter {
                percent: 1.0,
                differences: 0
            }
        );
        let least = |pairs| {
            usual
                .least_percent(pairs)
                .map(|least| (100.0 * least).round() / 100.0)
        };
        // By hand: 2.80 x 1.41421 / sqrt(6.08), sqrt(10.08), sqrt(18.08), sqrt(38.08).
        assert_eq!(
            [8, 12, 20, 40].map(least),
            [1.61, 1.25, 0.93, 0.64].map(Some)
        );
        assert_eq!(usual.least_percent(2), None);
        // By hand: 1.08 x (2 x 5.6² + 1.92) = 69.8; 1.08 x 17.6 = 19.01; 1.08 x 5.84 = 6.3.
        assert_eq!([0.5, 1.0, 2.0].map(|d| usual.pairs_for(d)), [72, 20, 8]);
        let steady = SwimScatter {
            percent: 0.6,
            ..usual
        };
        assert!((steady.least_percent(20).expect("enough") - 0.56).abs() < 0.005);
    }

    #[test]
    fn a_swimmers_own_scatter_counts_beside_the_usual_one() {
        // Median size 0.7: 1.4826 x 0.7 / sqrt 2 = 0.7339; (8 + 16 x 0.5385) / 24 = 0.6924.
        let own: Vec<f64> = (0..16)
            .map(|n| if n % 2 == 0 { 0.7 } else { -0.7 })
            .collect();
        let found = SwimScatter::of(&own);
        assert_eq!(found.differences, 16);
        assert!(
            (found.percent - 0.692_4_f64.sqrt()).abs() < 1e-4,
            "{found:?}"
        );
        assert_eq!(SwimScatter::of(&own[..11]).differences, 0, "too few");
        // Tiring along the way moves all differences alike, and one wild time is one.
        let mut tired: Vec<f64> = own.iter().map(|d| d + 0.5).collect();
        tired[0] = 40.0;
        assert!((SwimScatter::of(&tired).percent - found.percent).abs() < 0.2);
    }
}

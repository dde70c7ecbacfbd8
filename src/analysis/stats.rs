//! The general statistics that measuring needs: medians, lines, parabolas.
//!
//! Held against numpy and scipy in `tests/measure.rs`. Numbers in are finite: whoever reads a
//! file or a line makes sure.

use super::Estimate;
use super::student::factor_95;

/// An estimate so many standard errors wide to either side.
fn symmetric(value: f64, standard_error: f64, df: usize, n: usize) -> Estimate {
    let half = t_quantile(df).map(|t| t * standard_error);
    Estimate {
        value,
        interval: half.map(|half| (value - half, value + half)),
        n,
    }
}

/// The 97.5 % quantile of Student's t with `df` degrees of freedom; none without any.
pub fn t_quantile(df: usize) -> Option<f64> {
    (df > 0).then(|| factor_95(df as f64))
}

/// The mean; none of nothing.
pub fn mean(values: &[f64]) -> Option<f64> {
    (!values.is_empty()).then(|| values.iter().sum::<f64>() / values.len() as f64)
}

/// The median; of an even count the mean of the middle two; none of nothing.
pub fn median(values: &[f64]) -> Option<f64> {
    let n = values.len();
    if n == 0 {
        return None;
    }
    let mut values = values.to_vec();
    let (below, upper, _) = values.select_nth_unstable_by(n / 2, f64::total_cmp);
    if n % 2 == 1 {
        return Some(*upper);
    }
    let lower = below.iter().copied().fold(f64::MIN, f64::max);
    Some((lower + *upper) / 2.0)
}

/// y = intercept + slope x, by least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fit {
    /// Slope, with an interval from three points on.
    pub slope: Estimate,
    /// Intercept, with an interval from three points on.
    pub intercept: Estimate,
}

/// Least squares through points (x, y), intervals by Student's t with n - 2 degrees of freedom.
/// None where all x are one, or for fewer than two points.
pub fn line(points: &[(f64, f64)]) -> Option<Fit> {
    weighted_line(points, |_| 1.0)
}

/// The same where the variance of a point is in proportion to 1 / `weight` of its x.
pub fn weighted_line(points: &[(f64, f64)], weight: impl Fn(f64) -> f64) -> Option<Fit> {
    let n = points.len();
    let sum = |f: &dyn Fn(f64, f64) -> f64| -> f64 {
        points.iter().map(|&(x, y)| weight(x) * f(x, y)).sum()
    };
    let all = sum(&|_, _| 1.0);
    if n < 2 {
        return None;
    }
    let (x_mean, y_mean) = (sum(&|x, _| x) / all, sum(&|_, y| y) / all);
    let sxx = sum(&|x, _| (x - x_mean).powi(2));
    if sxx <= 0.0 {
        return None;
    }
    let slope = sum(&|x, y| (x - x_mean) * (y - y_mean)) / sxx;
    let rest = sum(&|x, y| (y - y_mean - slope * (x - x_mean)).powi(2));
    let df = n.saturating_sub(2);
    let variance = if df > 0 { rest / df as f64 } else { 0.0 };
    let at_zero = variance * (1.0 / all + x_mean * x_mean / sxx);
    Some(Fit {
        slope: symmetric(slope, (variance / sxx).sqrt(), df, n),
        intercept: symmetric(y_mean - slope * x_mean, at_zero.sqrt(), df, n),
    })
}

/// More points than this have too many pairs.
pub const MOST_POINTS: usize = 3000;

/// The median of the slopes between all pairs of points (Theil 1950, Sen 1968): a line's slope
/// that a few wild points do not move. None where all x are one, or beyond [`MOST_POINTS`].
pub fn theil_sen(points: &[(f64, f64)]) -> Option<f64> {
    if points.len() > MOST_POINTS {
        return None;
    }
    median(&pair_slopes(points).collect::<Vec<f64>>())
}

/// The slopes between all pairs of points (x, y) whose x differ.
pub fn pair_slopes(points: &[(f64, f64)]) -> impl Iterator<Item = f64> {
    (points.iter().enumerate()).flat_map(|(index, (x, y))| {
        (points[index + 1..].iter())
            .filter(move |(next, _)| next != x)
            .map(move |(next_x, next_y)| (next_y - y) / (next_x - x))
    })
}

/// y = a x² + b x + c by least squares.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Parabola {
    /// a, b, c.
    pub coefficients: [f64; 3],
    /// The highest (or lowest) point, where the curve has one.
    pub vertex: Option<Vertex>,
}

/// Where a fitted parabola turns.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vertex {
    /// x there. Its interval is Fieller's: every x at which a level tangent is not ruled out.
    /// None with fewer than four points, or where the points do not rule out a straight line.
    pub x: Estimate,
    /// y there, with the interval of the fitted curve.
    pub y: Estimate,
    /// Whether it is a highest point.
    pub highest: bool,
}

/// Least squares through points (x, y); none with fewer than three different x.
pub fn parabola(points: &[(f64, f64)]) -> Option<Parabola> {
    let n = points.len();
    let centre = mean(&points.iter().map(|(x, _)| *x).collect::<Vec<_>>())?;
    let scale = (points.iter().map(|(x, _)| (x - centre).abs())).fold(0.0, f64::max);
    let mut different: Vec<f64> = points.iter().map(|(x, _)| *x).collect();
    different.sort_by(f64::total_cmp);
    different.dedup();
    if different.len() < 3 {
        return None;
    }
    // In u = (x - centre) / scale, from -1 to 1, the normal equations are tame.
    let us: Vec<f64> = points.iter().map(|(x, _)| (x - centre) / scale).collect();
    let power = |k: i32| us.iter().map(|u| u.powi(k)).sum::<f64>();
    let normal = [
        [power(4), power(3), power(2)],
        [power(3), power(2), power(1)],
        [power(2), power(1), n as f64],
    ];
    let inverse = invert(&normal)?;
    let moment = |k: i32| {
        (us.iter().zip(points))
            .map(|(u, (_, y))| u.powi(k) * y)
            .sum::<f64>()
    };
    let right = [moment(2), moment(1), moment(0)];
    let [a, b, c] = inverse.map(|row| dot(&row, &right));
    let value = |u: f64| (a * u + b) * u + c;
    let rest: f64 = (us.iter().zip(points))
        .map(|(u, (_, y))| (y - value(*u)).powi(2))
        .sum();
    let df = n - 3;
    let variance = if df > 0 { rest / df as f64 } else { 0.0 };

    let vertex = (a != 0.0).then(|| {
        let u = -b / (2.0 * a);
        let basis = [u * u, u, 1.0];
        let spread = variance * dot(&inverse.map(|row| dot(&row, &basis)), &basis);
        let back = |u: f64| centre + scale * u;
        let ends = level_tangent([a, b], &inverse, variance, df);
        Vertex {
            x: Estimate {
                value: back(u),
                interval: ends.map(|(lo, hi)| (back(lo), back(hi))),
                n,
            },
            y: symmetric(value(u), spread.sqrt(), df, n),
            highest: a < 0.0,
        }
    });
    let (a, b, c) = (a / scale.powi(2), b / scale, c);
    Some(Parabola {
        coefficients: [a, b - 2.0 * a * centre, (a * centre - b) * centre + c],
        vertex: vertex.filter(|vertex| vertex.x.value.is_finite()),
    })
}

/// Fieller's interval (1954) of the u at which 2 a u + b is zero: those with
/// (2 a u + b)² <= t² Var(2 a u + b), a quadratic in u. None where it is unbounded.
fn level_tangent(
    [a, b]: [f64; 2],
    inverse: &[[f64; 3]; 3],
    variance: f64,
    df: usize,
) -> Option<(f64, f64)> {
    let t2s2 = t_quantile(df)?.powi(2) * variance;
    let square = 4.0 * (a * a - t2s2 * inverse[0][0]);
    let linear = 4.0 * (a * b - t2s2 * inverse[0][1]);
    let constant = b * b - t2s2 * inverse[1][1];
    if square <= 0.0 {
        return None;
    }
    // Never negative in exact numbers: -b / 2a itself is a solution.
    let root = (linear * linear - 4.0 * square * constant).max(0.0).sqrt();
    Some((
        (-linear - root) / (2.0 * square),
        (-linear + root) / (2.0 * square),
    ))
}

fn dot(a: &[f64; 3], b: &[f64; 3]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}

/// The inverse of a symmetric 3 x 3 matrix, by cofactors.
fn invert(m: &[[f64; 3]; 3]) -> Option<[[f64; 3]; 3]> {
    let minor = |r: [usize; 2], c: [usize; 2]| {
        m[r[0]][c[0]] * m[r[1]][c[1]] - m[r[0]][c[1]] * m[r[1]][c[0]]
    };
    const OTHERS: [[usize; 2]; 3] = [[1, 2], [0, 2], [0, 1]];
    let cofactor = |r: usize, c: usize| {
        let sign = if r.abs_diff(c) == 1 { -1.0 } else { 1.0 };
        sign * minor(OTHERS[r], OTHERS[c])
    };
    let determinant: f64 = (0..3).map(|c| m[0][c] * cofactor(0, c)).sum();
    let inverse = [0, 1, 2].map(|r| [0, 1, 2].map(|c| cofactor(c, r) / determinant));
    (determinant > 0.0).then_some(inverse)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn edges_give_nothing_or_themselves() {
        assert_eq!(median(&[]), None);
        assert_eq!(median(&[3.0]), Some(3.0));
        assert_eq!(median(&[4.0, 1.0, 3.0, 2.0]), Some(2.5));
        assert_eq!(line(&[(1.0, 2.0)]), None);
        assert_eq!(line(&[(1.0, 2.0), (1.0, 3.0)]), None);
        assert_eq!(theil_sen(&[(1.0, 2.0), (1.0, 3.0)]), None);
        assert_eq!(parabola(&[(1.0, 2.0), (2.0, 3.0), (1.0, 2.5)]), None);
        assert_eq!(t_quantile(0), None);
    }

    #[test]
    fn two_points_give_a_line_without_an_interval() {
        let fit = line(&[(170.0, 200.0), (356.0, 400.0)]).expect("two points");
        assert!((fit.slope.value - 200.0 / 186.0).abs() < 1e-15);
        assert_eq!(fit.slope.interval, None);
    }

    #[test]
    fn an_exact_parabola_turns_where_it_turns() {
        let points: Vec<(f64, f64)> = (50..=70)
            .step_by(4)
            .map(|x| (f64::from(x), 1.2 - 0.001 * f64::from(x - 62).powi(2)))
            .collect();
        let fit = parabola(&points).expect("six points");
        let vertex = fit.vertex.expect("it bends");
        assert!((vertex.x.value - 62.0).abs() < 1e-9 && (vertex.y.value - 1.2).abs() < 1e-12);
        assert!(vertex.highest);
        let (lo, hi) = vertex.x.interval.expect("six points rule out a line");
        assert!(hi - lo < 1e-6, "{lo} {hi}");
    }

    #[test]
    fn a_straight_line_with_noise_turns_nowhere_in_particular() {
        let noise = [0.01, -0.02, 0.015, -0.01, 0.02, -0.015];
        let points: Vec<(f64, f64)> = (noise.iter().enumerate())
            .map(|(i, noise)| (50.0 + 4.0 * i as f64, 1.0 + 0.01 * i as f64 + noise))
            .collect();
        let vertex = parabola(&points)
            .and_then(|fit| fit.vertex)
            .expect("some bend");
        assert_eq!(vertex.x.interval, None);
    }

    #[test]
    fn one_wild_point_does_not_move_the_robust_slope() {
        let mut points: Vec<(f64, f64)> =
            (0..9).map(|i| (f64::from(i), 2.0 * f64::from(i))).collect();
        points[4].1 = 1000.0;
        assert_eq!(theil_sen(&points), Some(2.0));
    }
}

//! The middle of a run of numbers, what lies at a share of it, and the first of the greatest.

/// The median; 0 of nothing. Of an even number the mean of the middle two.
pub fn median(values: &[f32]) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let mut values = values.to_vec();
    let middle = values.len() / 2;
    let is_odd = values.len() % 2 == 1;
    let (below, upper, _) = values.select_nth_unstable_by(middle, f32::total_cmp);
    if is_odd {
        *upper
    } else {
        0.5 * (below.iter().copied().fold(f32::NEG_INFINITY, f32::max) + *upper)
    }
}

/// What lies at a share (0 to 1) of sorted values, on a straight line between two of them.
pub fn quantile(sorted: &[f64], share: f64) -> f64 {
    let at = share * (sorted.len() - 1) as f64;
    let below = at.floor() as usize;
    let above = (below + 1).min(sorted.len() - 1);
    sorted[below] + (at - below as f64) * (sorted[above] - sorted[below])
}

/// Where the first of the greatest values is, and what it is; none of nothing.
pub fn first_greatest<T: PartialOrd>(values: impl IntoIterator<Item = T>) -> Option<(usize, T)> {
    let values = values.into_iter().enumerate();
    values.reduce(|most, one| if one.1 > most.1 { one } else { most })
}

/// How far the nearest of sorted values lies from `value`; signed, nearest minus value. None of nothing.
pub fn to_nearest(sorted: &[f64], value: f64) -> Option<f64> {
    let above = sorted.partition_point(|one| *one < value);
    let after = sorted.get(above).map(|one| one - value);
    let before = above.checked_sub(1).map(|below| sorted[below] - value);
    match (before, after) {
        (Some(before), Some(after)) => Some(if after.abs() < before.abs() {
            after
        } else {
            before
        }),
        (one, other) => one.or(other),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_median_is_in_the_middle() {
        assert_eq!(median(&[]), 0.0);
        assert_eq!(median(&[3.0, 1.0, 2.0]), 2.0);
        assert_eq!(median(&[4.0, 1.0, 2.0, 3.0]), 2.5);
    }

    #[test]
    fn a_share_lies_between_two_values() {
        assert_eq!(quantile(&[1.0, 2.0, 4.0], 0.5), 2.0);
        assert_eq!(quantile(&[1.0, 2.0, 4.0], 0.75), 3.0);
        assert_eq!(quantile(&[1.0], 0.9), 1.0);
    }

    #[test]
    fn the_first_of_equals_is_the_greatest() {
        assert_eq!(first_greatest([1.0, 3.0, 3.0, 2.0]), Some((1, 3.0)));
        assert_eq!(first_greatest::<f64>([]), None);
    }

    #[test]
    fn the_nearest_is_found_at_the_ends_too() {
        assert_eq!(to_nearest(&[], 1.0), None);
        assert_eq!(to_nearest(&[1.0, 3.0], 0.0), Some(1.0));
        assert_eq!(to_nearest(&[1.0, 3.0], 2.5), Some(0.5));
        assert_eq!(to_nearest(&[1.0, 3.0], 5.0), Some(-2.0));
    }
}

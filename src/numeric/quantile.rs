//! One definition of a quantile for the whole program.

/// The `p` quantile (0 to 1) of values in any order, by linear interpolation between order statistics:
/// the place is `(n - 1) p` counted from the least (Hyndman & Fan 1996, type 7). `None` without values.
/// Values that are not numbers are left out.
pub fn quantile(values: &[f64], p: f64) -> Option<f64> {
    let mut sorted: Vec<f64> = values.iter().copied().filter(|v| !v.is_nan()).collect();
    sorted.sort_unstable_by(f64::total_cmp);
    of_sorted(&sorted, p)
}

/// As [`quantile`], of values that are numbers and already ascend.
pub fn of_sorted(sorted: &[f64], p: f64) -> Option<f64> {
    let last = sorted.len().checked_sub(1)?;
    let place = p.clamp(0.0, 1.0) * last as f64;
    let below = place.floor() as usize;
    let above = (below + 1).min(last);
    let part = place - below as f64;
    Some(if part == 0.0 {
        sorted[below]
    } else {
        sorted[below] + part * (sorted[above] - sorted[below])
    })
}

/// The median; `None` without values.
pub fn median(values: &[f64]) -> Option<f64> {
    quantile(values, 0.5)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn interpolates_between_order_statistics() {
        // place (n - 1) p = 0.75 in 1 2 3 4
        assert_eq!(quantile(&[4.0, 2.0, 1.0, 3.0], 0.25), Some(1.75));
        assert_eq!(median(&[1.0, 3.0, 2.0]), Some(2.0));
        assert_eq!(quantile(&[1.0, 2.0], 1.0), Some(2.0));
        assert_eq!(quantile(&[], 0.5), None);
        assert_eq!(quantile(&[f64::NAN, 5.0], 0.9), Some(5.0));
    }
}

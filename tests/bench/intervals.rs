//! The interval that holds a share with 95 % confidence, from how often something happened.

use evenfield::numeric::distributions::beta_quantile;

/// Never too narrow (Clopper & Pearson 1934).
pub fn clopper_pearson(hits: usize, n: usize) -> (f64, f64) {
    let (k, rest) = (hits as f64, (n - hits) as f64);
    let low = if hits == 0 {
        0.0
    } else {
        beta_quantile(0.025, k, rest + 1.0)
    };
    let high = if hits == n {
        1.0
    } else {
        beta_quantile(0.975, k + 1.0, rest)
    };
    (low, high)
}

/// Right on the average (Wilson 1927).
pub fn wilson(hits: usize, n: usize) -> (f64, f64) {
    const Z: f64 = 1.959_963_985;
    if n == 0 {
        return (0.0, 1.0);
    }
    let (hits, n) = (hits as f64, n as f64);
    let share = hits / n;
    let spread = Z * (share * (1.0 - share) / n + Z * Z / (4.0 * n * n)).sqrt();
    let (middle, whole) = (share + Z * Z / (2.0 * n), 1.0 + Z * Z / n);
    ((middle - spread) / whole, (middle + spread) / whole)
}

//! An exponential without branches, so that loops over it become vector instructions. The library's
//! own is a call per value; a map asks for millions.

const ROUNDING: f64 = 6_755_399_441_055_744.0; // 1.5 * 2^52: adding it leaves the nearest integer in the low bits
const LN2_HIGH: f64 = 6.931_471_803_691_238e-1; // the first 32 bits of ln 2: times an integer below 2^20 it is exact
const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;
/// Beyond this the answer is as good as nothing (1e-304) but still a normal number.
const FARTHEST: f64 = 700.0;
/// The polynomial that equals the exponential at the eleven Chebyshev nodes of ±1.0001 ln 2 / 2. Its error is
/// at most `h^11 / (11! 2^10)` = 2e-16 with `h` half the width; 0 is a node, so 1 stays 1.
const POLYNOMIAL: [f64; 11] = [
    1.0,
    1.000_000_000_000_006_7,
    0.500_000_000_000_000_6,
    0.166_666_666_665_543_14,
    0.041_666_666_666_573_066,
    0.008_333_333_385_699_212,
    0.001_388_888_893_251_478,
    0.000_198_411_702_305_702_86,
    2.480_150_431_378_554e-5,
    2.764_019_739_169_484e-6,
    2.762_637_106_569_634_6e-7,
];

/// Logarithms are kept where their exponential is a normal number.
const LARGEST_LOG: f64 = 600.0;

/// A logarithm, kept where its exponential is a normal number.
pub fn bounded(log: f64) -> f64 {
    log.clamp(-LARGEST_LOG, LARGEST_LOG)
}

/// `exp(-u)` for `u` >= -700, to about two units in the last place; beyond 700 that of 700.
#[inline(always)]
pub fn exp_minus(u: f64) -> f64 {
    let u = if u < FARTHEST { u } else { FARTHEST };
    let shifted = ROUNDING - u * std::f64::consts::LOG2_E;
    let n = shifted - ROUNDING;
    let f = (u + n * LN2_HIGH) + n * LN2_LOW; // exp(-u) = 2^n exp(-f)
    // Estrin's order: short chains, so that neighbouring operations overlap
    let [c0, c1, c2, c3, c4, c5, c6, c7, c8, c9, c10] = POLYNOMIAL;
    let (f2, f4) = (f * f, (f * f) * (f * f));
    let a = (c0 - f * c1) + f2 * (c2 - f * c3);
    let b = (c4 - f * c5) + f2 * (c6 - f * c7);
    let c = (c8 - f * c9) + f2 * c10;
    let series = a + f4 * (b + f4 * c);
    let power_of_two = f64::from_bits((shifted.to_bits() << 52).wrapping_add(1023 << 52));
    series * power_of_two
}

/// `ln(u)` for finite `u` >= 1, to a few units in the last place: the exponent and, for the rest `f` in
/// [√½, √2), the series of 2 artanh((f-1)/(f+1)).
#[inline(always)]
pub fn ln_from_one(u: f64) -> f64 {
    const HALF_ROOT: u64 = std::f64::consts::FRAC_1_SQRT_2.to_bits();
    let above = u.to_bits().wrapping_sub(HALF_ROOT);
    let n = above >> 52;
    let f = f64::from_bits(u.to_bits().wrapping_sub(n << 52));
    // an integer below 2^52 as a number without a conversion, which has no vector form everywhere
    let n = f64::from_bits(n | 0x4330_0000_0000_0000) - 4_503_599_627_370_496.0;
    let s = (f - 1.0) / (f + 1.0);
    let z = s * s;
    let (z2, z4) = (z * z, (z * z) * (z * z));
    let low = (1.0 + z * (1.0 / 3.0)) + z2 * (1.0 / 5.0 + z * (1.0 / 7.0));
    let high = (1.0 / 9.0 + z * (1.0 / 11.0)) + z2 * (1.0 / 13.0 + z * (1.0 / 15.0));
    let series = low + z4 * (high + z4 * (1.0 / 17.0 + z * (1.0 / 19.0)));
    n * std::f64::consts::LN_2 + 2.0 * s * series
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_logarithm_agrees_with_the_library() {
        assert_eq!(ln_from_one(1.0), 0.0);
        for i in 0..400_000 {
            let u = 1.0 + f64::from(i) * 0.0013 * f64::from(i % 97);
            let (expected, got) = (u.ln(), ln_from_one(u));
            assert!(
                (got - expected).abs() <= 4e-15 * (1e-3 + expected),
                "{u}: {got} {expected}"
            );
        }
    }

    #[test]
    fn agrees_with_the_library() {
        for i in -200_000..200_000 {
            let u = f64::from(i) * 0.0035;
            let expected = (-u).exp();
            let got = exp_minus(u);
            assert!(
                ((got - expected) / expected).abs() < 2e-15,
                "{u}: {got} {expected}"
            );
        }
        assert_eq!(exp_minus(0.0), 1.0);
        assert!(exp_minus(f64::INFINITY) < 1e-300);
    }
}

//! Random numbers that are the same on every machine and for any number of threads.

use rand_chacha::ChaCha8Rng;
use rand_chacha::rand_core::SeedableRng;
use rand_distr::{Distribution, StandardNormal};

/// Standard normal numbers of one stream: a seed has 2⁶⁴ streams that do not overlap, so that draw 17
/// is the same whoever makes it.
#[derive(Debug, Clone)]
pub struct Normals {
    generator: ChaCha8Rng,
}

impl Normals {
    /// The stream `stream` of a seed.
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut generator = ChaCha8Rng::seed_from_u64(seed);
        generator.set_stream(stream);
        Self { generator }
    }

    /// The next number.
    pub fn draw(&mut self) -> f64 {
        StandardNormal.sample(&mut self.generator)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn normal_and_repeatable() {
        let draw = |stream| {
            let mut n = Normals::new(7, stream);
            (0..20_000).map(|_| n.draw()).collect::<Vec<_>>()
        };
        let a = draw(0);
        assert_eq!(a, draw(0));
        let b = draw(1);
        assert_ne!(a[0], b[0]);
        let n = a.len() as f64;
        let mean = a.iter().sum::<f64>() / n;
        let variance = a.iter().map(|x| (x - mean).powi(2)).sum::<f64>() / n;
        let between = a.iter().zip(&b).map(|(x, y)| x * y).sum::<f64>() / n;
        assert!(mean.abs() < 0.03 && (variance - 1.0).abs() < 0.04 && between.abs() < 0.03);
    }
}

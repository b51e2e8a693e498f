//! Draws that depend on a station's seed and on nothing else.

use rand::{Rng, RngExt, SeedableRng};
use rand_chacha::ChaCha8Rng;
use rand_distr::StandardNormal;

pub struct Chance {
    rng: ChaCha8Rng,
}

impl Chance {
    /// Streams of one seed do not overlap.
    pub fn new(seed: u64, stream: u64) -> Self {
        let mut rng = ChaCha8Rng::seed_from_u64(seed);
        rng.set_stream(stream);
        Self { rng }
    }

    pub fn between(&mut self, low: f64, high: f64) -> f64 {
        self.rng.random_range(low..=high)
    }

    /// Both ends included.
    pub fn whole(&mut self, low: u32, high: u32) -> u32 {
        self.rng.random_range(low..=high)
    }

    pub fn happens(&mut self, probability: f64) -> bool {
        self.rng.random_range(0.0..1.0) < probability
    }

    /// A standard normal draw.
    pub fn normal(&mut self) -> f64 {
        self.rng.sample(StandardNormal)
    }

    pub fn seed(&mut self) -> u64 {
        self.rng.next_u64()
    }
}

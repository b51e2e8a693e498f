//! Linear algebra, an optimiser, straight lines, distributions, uncertainties put together, quantiles, random numbers, an exponential and vector
//! instructions for long loops, and the nearest of many points: numbers behind one door, knowing nothing of lamps.

pub mod cholesky;
pub mod combine;
pub mod distributions;
pub mod exponential;
pub mod line;
pub mod neighbours;
pub mod optimise;
pub mod quantile;
pub mod random;
pub mod triangle;
pub mod wide;

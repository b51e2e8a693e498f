//! What families are solved with: covariances, trends, and the linear system of both.

pub mod kernel;
mod system;
pub mod trend;

pub(super) use system::System;

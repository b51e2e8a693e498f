//! The families that a field can be of, and the one answer of all of them.
//!
//! A further family is a folder here and a variant of [`Model`](model::Model) or, without joint draws, of
//! [`Plain`](plain::Plain).

pub(super) mod blend;
mod draws;
pub mod kriging;
pub(super) mod lamp;
pub(super) mod model;
pub(super) mod plain;

pub use lamp::SPACER_BLOCK;
pub use plain::thin_plate;

//! What was read, made ready for families: where positions lie, what is left out together, and many readings taken
//! together.

mod drift;
mod ground;
mod groups;
mod pooled;
mod reach;
mod spread;

pub(super) use drift::{Amounts, Drifting};
pub use drift::{Drift, Round, Visit};
pub(super) use ground::Ground;
pub(super) use groups::Groups;
pub(super) use pooled::Pooled;
pub(super) use reach::Reach;
pub(super) use spread::spread_part;

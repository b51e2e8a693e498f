//! The side panel of each step: forms, tables and figures. A panel reads the session and sends
//! commands; what is half typed or chosen on the screen lives in [`PanelState`].

mod cautions;
pub mod change;
pub mod export;
pub mod field;
pub mod findings;
pub mod fixture;
mod form;
pub mod limits;
pub(super) mod numbers;
mod panel;
pub mod placement;
pub mod plan;
mod prepare;
pub mod readings;
mod state;
pub mod upkeep;

pub use panel::{Panel, heading, heading_of};
use panel::{room_for, sample_link, would_take, would_take_length};
pub use state::{PanelState, Thing};

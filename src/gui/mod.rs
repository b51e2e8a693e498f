//! The window. It reads the session and sends commands; pictures come from `sheet` and are painted
//! here by role.

mod app;
mod bars;
mod body;
mod centre;
mod dialogs;
mod import;
mod keys;
mod log;
mod panes;
mod run;
mod search;
mod steps;
mod words;

pub mod paint;
pub mod panels;
pub mod theme;
pub mod turns;
pub mod widgets;

pub use app::{App, Start};
pub use log::install_log;
pub use run::run;

//! The window. It reads the session and sends commands; pictures come from `sheet` and are painted
//! here by role.

mod dialogs;
mod keys;
mod run;

pub mod paint;
pub mod panels;
pub mod theme;
pub mod widgets;

pub use run::run;

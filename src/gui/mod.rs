//! The window: what a person sees and touches.

//! The window. It reads the session and sends commands; pictures come from `sheet` and are painted
//! here by role.

pub mod paint;
pub mod theme;
pub mod widgets;

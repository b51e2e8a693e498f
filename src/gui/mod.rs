//! The window: what a person sees and touches.

pub mod widgets;

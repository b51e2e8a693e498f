//! Pieces of the window that know nothing of panels: values in, what the person did out.

pub mod axes;
pub mod colour_bar;
pub mod height_strip;
pub mod plan_view;

//! The pieces that panels are made of. None knows the document; each is told what to show and says
//! what the person asked for.

pub mod field_row;
pub mod grid;

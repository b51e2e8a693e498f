//! Tests of the core that need no window: one binary, one module a subject.

mod cli;
mod contours;
mod field_properties;
mod field_truth;
mod files;
mod golden_pages;
mod kept;
mod killed;
mod layers;
mod mutations;
mod published_kriging;
mod published_radiometry;
mod readings_files;
mod sample;
mod session;
mod station;
mod strategies;

//! Tests of the core that need no window: one binary, one module a subject.

mod cli;
mod contours;
mod field_properties;
mod field_truth;
mod files;
mod golden_pages;
mod killed;
mod layers;
mod published_kriging;
mod published_radiometry;
mod sample;
mod session;
mod station;
mod strategies;

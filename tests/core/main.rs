//! Tests of the core that need no window: one binary, one module a subject.

mod cli;
mod contours;
mod field_properties;
mod field_truth;
mod files;
mod golden_pages;
mod layers;
mod published_kriging;
mod published_radiometry;
mod published_trials;
mod sample;
mod session;
mod station;
mod strategies;
mod trials;
mod trials_truth;

//! Tests of the core that need no window: one binary, one module a subject.

mod contours;
mod field_properties;
mod field_truth;
mod layers;
mod published_kriging;
mod published_radiometry;
mod sample;
mod files;
mod station;
mod strategies;
mod golden_pages;

//! Tests of the core that need no window: one binary, one module a subject.

mod layers;
mod published_radiometry;
mod sample;

//! Tests of the core that need no window: one binary, one module a subject.

mod golden_pages;

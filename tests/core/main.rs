//! Tests of the core that need no window: one binary, one module a subject.

mod at_the_bond;
mod beginning;
mod beliefs;
mod change;
mod cli;
mod contours;
mod detector;
mod drift;
mod expected;
mod field_properties;
mod field_truth;
mod files;
mod format;
mod golden_pages;
mod kept;
mod killed;
mod layers;
mod limits;
mod limits_truth;
mod looking;
mod mutations;
mod nearly_dark;
mod out_of_line;
mod pallet_out;
mod placement;
mod posted;
mod published_bond;
mod published_filter;
mod published_kriging;
mod published_radiometry;
mod published_repeat;
mod published_route;
mod published_trials;
mod published_upkeep;
mod readings_csv;
mod readings_files;
mod repeat;
mod sample;
mod session;
mod shapes;
mod slow_disk;
mod station;
mod strategies;
mod trials;
mod trials_truth;
mod upkeep;

mod upkeep_edges;
mod upkeep_trend;

// what the studies draw their stations with
#[path = "../bench/study/chance.rs"]
#[allow(dead_code)]
mod chance;
#[path = "../bench/intervals.rs"]
mod intervals;
#[path = "../bench/study/kinds/mod.rs"]
#[allow(dead_code)]
mod kinds;
#[path = "../bench/limits/trial.rs"]
mod limits_trial;
#[path = "../bench/study/splines.rs"]
#[allow(dead_code)]
mod splines;
#[path = "../bench/study/station/mod.rs"]
#[allow(dead_code)]
mod study_station;

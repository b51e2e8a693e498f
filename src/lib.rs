//! Evenfield turns a few radiometer readings into the field of irradiance over a fixture under a
//! flood lamp, finds the coldest spot and how sure that is, and writes the map, the probe-position
//! plan and the record.
//!
//! The rooms are the steps of the job. Data flows one way, down this table; the test `layers`
//! reads every `use` and holds the code to it.
//!
//! | room | what it is | may know |
//! | --- | --- | --- |
//! | [`units`], [`geometry`], [`numeric`], [`progress`] | the leaves: quantities and points, outlines, linear algebra, "how far, and stop?" | each other, downwards |
//! | [`work`] | work in the background: newest request wins, or runs to its end | `progress` |
//! | [`station`] | the document, plain data; findings; edits | leaves |
//! | [`field`] | the numeric core: samples in, a fitted field out | leaves |
//! | [`lamps`] | simulated lamps with known truth | leaves |
//! | [`trials`] | cure trials: the least level of full cure, its bound and why; one exposure in time | `station`, leaves |
//! | [`files`] | station files, readings files, the journal, this person's settings | `station`, leaves |
//! | [`assess`] | a survey's answer: coldest and hottest spot, bounds, uniformity, warnings; limits and verdict | `station`, `field`, `trials`, leaves |
//! | [`probing`] | the probe-position plan: route, spacer, gaps, what it can show | `station`, `field`, `lamps`, leaves, `assess` |
//! | [`placement`] | where parts may lie, and how many | `station`, `field`, leaves, `assess` |
//! | [`change`] | one survey against another: common change, cold zones, what is no wear | `station`, `field`, leaves, `assess` |
//! | [`repeat`] | several rounds over the same positions: repeatability, reproducibility, reload | `station`, `field`, leaves, `assess` |
//! | [`upkeep`] | the irradiance log's trend, lamp life, radiometers side by side | `station`, leaves, `assess` |
//! | [`proof`] | published examples, worked out on this machine | `field`, `lamps`, `trials`, `upkeep`, leaves |
//! | [`record`] | what `--json` and `summary.json` say | `assess`, `probing`, `placement`, `change`, `repeat`, `upkeep`, `station`, leaves |
//! | [`sheet`] | what is drawn and written, in true millimetres | `record`, the rooms above, leaves |
//! | [`export`] | PDF, SVG, PNG, CSV, JSON of a sheet; all of a station in one bundle | `sheet` and all it knows, `files` |
//! | [`session`] | the running program without a window | all above |
//! | [`cli`] | the command line | all above but `session`, `work` |
//! | `gui` | the window | `session` and all it knows |

pub mod assess;
pub mod change;
pub mod cli;
pub mod export;
pub mod field;
pub mod files;
pub mod geometry;
#[cfg(feature = "gui")]
pub mod gui;
pub mod lamps;
pub mod numeric;
pub mod placement;
pub mod probing;
pub mod progress;
pub mod proof;
pub mod record;
pub mod repeat;
pub mod session;
pub mod sheet;
pub mod station;
pub mod trials;
pub mod units;
pub mod upkeep;
pub mod work;

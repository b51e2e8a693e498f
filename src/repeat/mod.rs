//! How well a reading is repeated: rounds over the same positions by several people or on several days.
//!
//! The logarithm of a reading is `position + round + position × person + position × setting of the pallet + rest`. What a round
//! has in common, lamp and radiometer that day, is taken out first and shown ([`Study::rounds`]); what is left is shared out by
//! analysis of variance over contrasts of the rounds ([`strata`]): people, then settings of the pallet (how often it was put
//! back), then the rest. All figures are relative standard deviations (1 is 100 % of the reading), with 95 % intervals
//! ([`interval`]).
//!
//! | file | what it is |
//! | --- | --- |
//! | `strata` | a table of positions and rounds, its contrasts and mean squares |
//! | `interval` | what mean squares say of a component, and how sure that is |
//! | `table` | the readings that all rounds have |
//! | `study` | what is asked and what is found |
//! | `split` | noise and error of placement told apart by the slope of the field |

pub mod interval;
mod split;
pub mod strata;
mod study;
mod table;

pub use split::{Split, split};
pub use study::{Between, Found, NoStudy, RoundRead, Scattered, Study, Unknown};

//! Tests of the screen through the real widgets: one file for each job a person does.

mod bench;
mod change;
mod field_step;
mod fixture_form;
mod forms;
mod grid;
mod host;
mod import;
mod limits;
mod looking;
mod main_job;
mod midnight;
mod names;
mod panes;
mod placement;
mod plan_form;
mod plan_round;
mod readings_entry;
mod repeat;
mod trials_form;
mod typing;
mod upkeep;
mod view;

//! Tests of the screen through the real widgets: one file for each job a person does.

mod forms;
mod grid;
mod host;
mod plan_form;
mod readings_entry;

//! Tests of the screen through the real widgets: one file for each job a person does.

<<<<<<< HEAD
mod forms;
mod grid;
=======
mod view;
>>>>>>> view

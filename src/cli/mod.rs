//! The command line: the same work as in the window, for scripts and record systems. Results go to
//! standard output, messages to standard error; exit status 2 when a command could not do its work, and
//! those of `verdict`.

mod change;
mod check;
mod common;
mod export;
mod field;
mod import;
mod limits;
mod log;
mod next;
mod place;
mod plan;
mod repeat;
mod verdict;
mod words;

use std::path::PathBuf;
use std::process::ExitCode;

use clap::{Parser, Subcommand};

use common::Failure;

/// The field of irradiance under a flood lamp, from a few radiometer readings.
///
/// Without a subcommand the window opens, on the built-in sample when no file is named. Lengths are
/// in mm, irradiance in mW/cm²; the datum is the fixture's front left corner, x to the right, y to
/// the back, height up from the fixture's base.
#[derive(Debug, Parser)]
#[command(version, args_conflicts_with_subcommands = true)]
pub struct Arguments {
    /// The station file to open in the window.
    pub station: Option<PathBuf>,
    /// What to do instead of opening the window.
    #[command(subcommand)]
    pub command: Option<Command>,
}

/// The subcommands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// Make a station from a file of readings, or add a survey to one.
    Import(import::Import),
    /// Write the field at one height as CSV.
    Field(field::Field),
    /// Say where it is coldest and hottest, how sure that is, which figure governs, and whether the limits
    /// are met: exit status 0 meets, 1 fails, 3 not proven.
    Verdict(verdict::Verdict),
    /// Say what has changed from one survey to another: what is common, cold zones, what to do next.
    Change(change::Change),
    /// Say how well a reading is repeated: repeatability, reproducibility, reload of the pallet.
    Repeat(repeat::Repeat),
    /// Say where to measure next, so that the assured minimum rises most.
    Next(next::Next),
    /// Say which limits hold, what must be read at the monitor position, and what other distances do.
    Limits(limits::Limits),
    /// Say where parts may lie inside the limits, and how many fit.
    Place(place::Place),
    /// Say what the irradiance log tells and what is due, and put readings into it.
    Log(log::Log),
    /// Say whether a file is as it was saved, what a page was made from, and whether the published examples come out: exit status 0
    /// where all of it holds, else 1.
    Check(check::Check),
    /// Print the probe-position plan in the order of its route.
    Plan(plan::Plan),
    /// Write the map, the plan and the record into a folder.
    Export(export::Export),
}

/// Runs a subcommand and says its exit status.
pub fn run(command: Command) -> ExitCode {
    let done = match command {
        Command::Import(c) => c.run(),
        Command::Field(c) => c.run(),
        Command::Verdict(c) => c.run(),
        Command::Change(c) => c.run(),
        Command::Repeat(c) => c.run(),
        Command::Next(c) => c.run(),
        Command::Limits(c) => c.run(),
        Command::Place(c) => c.run(),
        Command::Log(c) => c.run(),
        Command::Check(c) => c.run(),
        Command::Plan(c) => c.run(),
        Command::Export(c) => c.run(),
    };
    match done {
        Ok(code) => code,
        Err(Failure(message)) => {
            eprintln!("{message}");
            ExitCode::from(2)
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use clap::CommandFactory;

    #[test]
    fn the_arguments_are_sound() {
        Arguments::command().debug_assert();
    }

    #[test]
    fn every_command_explains_itself_and_stands_in_the_readme() {
        const README: &str = include_str!("../../README.md");
        let mut all = Arguments::command();
        all.build();
        let commands = all.get_subcommands().filter(|c| c.get_name() != "help");
        for command in commands {
            let name = command.get_name();
            assert!(command.get_about().is_some(), "{name}");
            assert!(
                README.contains(&format!("evenfield {name} ")),
                "README.md does not name {name}"
            );
            for argument in command.get_arguments() {
                let help = argument.get_help().map(ToString::to_string);
                assert!(
                    help.is_some_and(|h| h.len() > 3),
                    "{name}: {} is not explained",
                    argument.get_id()
                );
            }
        }
    }
}

//! The program: without a subcommand the window, with one the command line.
#![cfg_attr(not(debug_assertions), windows_subsystem = "windows")]

use std::process::ExitCode;

use clap::Parser;
use evenfield::cli::{self, Arguments};

fn main() -> ExitCode {
    start_log();
    let arguments = Arguments::parse();
    match arguments.command {
        Some(command) => cli::run(command),
        None => window(arguments),
    }
}

/// What the program logs goes to its standard error, as `RUST_LOG` asks.
fn start_log() {
    #[cfg(feature = "gui")]
    evenfield::gui::install_log(env_logger::Builder::from_default_env().build());
    #[cfg(not(feature = "gui"))]
    env_logger::init();
}

#[cfg(feature = "gui")]
fn window(arguments: Arguments) -> ExitCode {
    evenfield::gui::run(arguments.station)
}

#[cfg(not(feature = "gui"))]
fn window(_: Arguments) -> ExitCode {
    eprintln!("This build has no window; use 'evenfield export' and the other subcommands");
    ExitCode::from(2)
}

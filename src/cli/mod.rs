//! The command line: what was typed, what was meant, one library call, and what is printed.
//!
//! In: arguments. Out: files (through `output`, the only writer of paths, and `replace`, which puts
//! a folder in its place), text on the terminal, and an exit status: 0 done, 1 the survey has
//! errors, 2 wrong usage, 3 the machine failed.
//! A pipe that was closed is success: the reader has seen enough.
//! Left out: any computation.

mod archive;
mod args;
mod check;
mod compare;
mod export;
mod figure;
mod forecast;
mod load;
mod metadata;
mod new;
#[cfg(not(feature = "viewer"))]
mod no_view;
mod options;
mod output;
mod pack;
mod printed;
mod rebuild;
mod replace;
mod simulate;
mod study;
mod summary;
mod terminal;
#[cfg(feature = "viewer")]
mod view;

use args::{Arguments, Command};
use clap::error::ErrorKind;
use clap::{CommandFactory, Parser};
use std::ffi::OsString;
use std::fmt;
use std::io;
use std::process::ExitCode;
use terminal::Terminal;

#[cfg(not(feature = "viewer"))]
use no_view as view;

/// Why a command did not end well.
#[derive(Debug)]
pub(crate) enum Failure {
    /// The survey has errors, which have been printed.
    Survey,
    /// The survey does not hold what was asked for, in a sentence.
    Lacking(String),
    /// The command was used wrongly.
    Usage(String),
    /// The machine failed.
    Machine(String),
    /// Whoever read the output has gone.
    ClosedPipe,
}

impl From<io::Error> for Failure {
    fn from(error: io::Error) -> Self {
        match error.kind() {
            io::ErrorKind::BrokenPipe => Self::ClosedPipe,
            _ => Self::Machine(error.to_string()),
        }
    }
}

impl fmt::Display for Failure {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Survey => out.write_str("the survey has errors"),
            Self::Lacking(text) | Self::Usage(text) | Self::Machine(text) => out.write_str(text),
            Self::ClosedPipe => out.write_str("the output was closed"),
        }
    }
}

/// Every command, option and help text, for a manual page or a shell.
pub fn command() -> clap::Command {
    Arguments::command()
}

/// Runs the program with these arguments, the program's name first.
pub fn run(arguments: impl IntoIterator<Item = impl Into<OsString> + Clone>) -> ExitCode {
    let mut terminal = Terminal::standard();
    let parsed = match Arguments::try_parse_from(arguments) {
        Ok(parsed) => parsed,
        Err(error) => {
            let asked = matches!(error.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion);
            // Nobody is left to tell if this fails.
            let _printed = error.print();
            return ExitCode::from(if asked { 0 } else { 2 });
        }
    };
    let outcome = match parsed.command {
        Command::New(args) => new::run(&args, &mut terminal),
        Command::Check(args) => check::run(&args, &mut terminal),
        Command::Rebuild(args) => rebuild::run(&args, &mut terminal),
        Command::Compare(args) => compare::run(&args, &mut terminal),
        Command::Forecast(args) => forecast::run(&args, &mut terminal),
        Command::Export(args) => export::run(&args, &mut terminal),
        Command::Archive(args) => archive::run(&args, &mut terminal),
        Command::Load(args) => load::run(&args, &mut terminal),
        Command::Simulate(args) => simulate::run(&args, &mut terminal),
        Command::Figure(args) => figure::run(&args, &mut terminal),
        Command::View(args) => view::run(&args, &mut terminal),
    };
    match outcome {
        Ok(()) | Err(Failure::ClosedPipe) => ExitCode::SUCCESS,
        Err(Failure::Survey) => ExitCode::from(1),
        Err(failure @ Failure::Lacking(_)) => terminal.complain(&failure, 1),
        Err(failure @ Failure::Usage(_)) => terminal.complain(&failure, 2),
        Err(failure @ Failure::Machine(_)) => terminal.complain(&failure, 3),
    }
}

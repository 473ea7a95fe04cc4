//! The program: arguments in, exit status out.

use perchline::cli;
use std::process::ExitCode;

fn main() -> ExitCode {
    cli::run(std::env::args_os())
}

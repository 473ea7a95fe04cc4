//! Writes the manual pages and what shells need to complete a command, for a package:
//! `cargo run --example manual -- FOLDER`.

use clap_complete::Shell;
use perchline::cli;
use std::env;
use std::error::Error;
use std::fs;
use std::path::PathBuf;

fn main() -> Result<(), Box<dyn Error>> {
    let folder = env::args_os().nth(1).map(PathBuf::from).ok_or("manual wants a FOLDER")?;
    fs::create_dir_all(&folder)?;
    // A page for the program, and one for each of its commands.
    let without_help = cli::command().disable_help_subcommand(true);
    clap_mangen::generate_to(without_help, &folder)?;
    for shell in [Shell::Bash, Shell::Zsh, Shell::Fish] {
        clap_complete::generate_to(shell, &mut cli::command(), "perchline", &folder)?;
    }
    Ok(())
}

//! Surveys spoilt by the thousand: none makes the program panic, hang, swell or harm old results.
//! The table of `docs/reliability.md`.
//!
//! `cargo build --release && cargo run --release --example mutations -- 100000`
//!
//! A survey that breaks the program is kept in `target/mutations`; shrunk it belongs into a test.

#![expect(clippy::print_stdout, reason = "the table is the result")]
#![expect(clippy::disallowed_methods, reason = "surveys that broke the program are kept")]

use spoil::{Files, sound, spoilt};
use std::error::Error;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::time::Duration;
use std::{env, fs, io, thread};
use trial::{Ended, MEGABYTES, tried};

mod spoil;
mod trial;

/// How long one run may take.
const SOON: Duration = Duration::from_secs(2);

/// How trials ended.
#[derive(Default)]
struct Tally {
    rebuilt: u64,
    refused: u64,
    broken: u64,
}

impl Tally {
    fn add(&mut self, other: &Self) {
        self.rebuilt += other.rebuilt;
        self.refused += other.refused;
        self.broken += other.broken;
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let wanted: u64 = env::args().nth(1).map_or(Ok(1000), |text| text.parse())?;
    let first: u64 = env::args().nth(2).map_or(Ok(0), |text| text.parse())?;
    let beside = env::current_exe()?;
    let release = beside.parent().and_then(Path::parent).ok_or("no folder of programs")?;
    let (program, kept) = (release.join("perchline"), release.with_file_name("mutations"));
    let sound = sound()?;
    let next = AtomicU64::new(first);
    let workers = thread::available_parallelism()?.get();
    let run = |worker: usize| {
        let folder = env::temp_dir().join(format!("perchline-mutations-{worker}"));
        let mut tally = Tally::default();
        loop {
            let number = next.fetch_add(1, Ordering::Relaxed);
            if number >= first + wanted {
                if folder.exists() {
                    fs::remove_dir_all(&folder)?;
                }
                break Ok(tally);
            }
            let (files, how) = spoilt(&sound, number);
            match tried(&program, &folder, &files, SOON)? {
                Ok(Ended::Rebuilt) => tally.rebuilt += 1,
                Ok(Ended::Refused) => tally.refused += 1,
                Err(wrong) => {
                    tally.broken += 1;
                    println!("{number}: {}\n    {wrong}", how.join("; "));
                    keep(&kept.join(number.to_string()), &files)?;
                }
            }
        }
    };
    let tallies: Vec<io::Result<Tally>> = thread::scope(|scope| {
        let run = &run;
        let started: Vec<_> = (0..workers).map(|at| scope.spawn(move || run(at))).collect();
        let over = |thread: thread::ScopedJoinHandle<'_, io::Result<Tally>>| {
            thread.join().unwrap_or_else(|_| Err(io::Error::other("a worker panicked")))
        };
        started.into_iter().map(over).collect()
    });
    let mut all = Tally::default();
    for tally in tallies {
        all.add(&tally?);
    }
    let Tally { rebuilt, refused, broken } = all;
    println!("| spoilt surveys | rebuilt | refused | broken |\n|---|---|---|---|");
    println!("| {wanted} | {rebuilt} | {refused} | {broken} |");
    println!("Each within {SOON:?} and {MEGABYTES} MB.");
    if broken > 0 { Err(format!("kept in {}", kept.display()).into()) } else { Ok(()) }
}

fn keep(folder: &PathBuf, files: &Files) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    for (name, bytes) in files {
        fs::write(folder.join(name), bytes)?;
    }
    Ok(())
}

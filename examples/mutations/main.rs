//! Surveys, settings, workbooks and rasters spoilt, and commands mistyped, by the thousand: none
//! makes the program panic, hang, swell or harm old results. The table of `docs/reliability.md`.
//!
//! `cargo build --release && cargo run --release --example mutations -- surveys 100000`
//!
//! tries so many; a third number says with which to begin. The program may be another, named by
//! `PERCHLINE`. What breaks it is kept in `target/mutations`; shrunk it belongs into a test. A
//! folder for temporary files in memory (`TMPDIR`) saves two thirds of the time.

#![expect(clippy::print_stdout, reason = "the table is the result")]
#![expect(clippy::disallowed_methods, reason = "what broke the program is kept")]

use spoil::{Files, sound};
use std::error::Error;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU64, Ordering};
use std::{env, fs, io, thread};
use subject::Subject;
use trial::{Ended, MEGABYTES, Trial};

mod books;
mod commands;
mod dice;
mod grids;
mod settings;
mod spoil;
mod subject;
mod tiffs;
mod trial;

/// Processor time that one run may take.
const SECONDS: usize = 2;

/// How trials ended.
#[derive(Default)]
struct Tally {
    done: u64,
    refused: u64,
    broken: u64,
}

impl Tally {
    fn add(&mut self, other: &Self) {
        self.done += other.done;
        self.refused += other.refused;
        self.broken += other.broken;
    }
}

/// Trials that several workers share.
struct Round<'r> {
    name: &'r str,
    subject: Subject,
    program: PathBuf,
    /// Where what broke the program is kept.
    kept: PathBuf,
    next: AtomicU64,
    end: u64,
}

impl Round<'_> {
    /// Tries what is next until nothing is.
    fn run(&self, worker: usize) -> io::Result<Tally> {
        let own = format!("perchline-mutations-{}-{worker}", std::process::id());
        let folder = env::temp_dir().join(own);
        let trial = Trial { program: &self.program, folder: &folder, seconds: SECONDS };
        let mut tally = Tally::default();
        loop {
            let number = self.next.fetch_add(1, Ordering::Relaxed);
            if number >= self.end {
                break;
            }
            let spoilt = self.subject.spoilt(number)?;
            match spoilt.tried(&trial)? {
                Ok(Ended::Done) => tally.done += 1,
                Ok(Ended::Refused) => tally.refused += 1,
                Err(wrong) => {
                    tally.broken += 1;
                    println!("{number}: {}\n    {wrong}", spoilt.how.join("; "));
                    keep(&self.kept.join(format!("{}-{number}", self.name)), &spoilt.files)?;
                }
            }
        }
        if folder.exists() {
            fs::remove_dir_all(&folder)?;
        }
        Ok(tally)
    }
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = env::args().skip(1).collect();
    let name = arguments.first().map_or("surveys", String::as_str);
    let subject = Subject::named(name, &sound()?)?;
    let wanted: u64 = arguments.get(1).map_or(Ok(1000), |text| text.parse())?;
    let first: u64 = arguments.get(2).map_or(Ok(0), |text| text.parse())?;
    let beside = env::current_exe()?;
    let release = beside.parent().and_then(Path::parent).ok_or("no folder of programs")?;
    let program = env::var_os("PERCHLINE").map_or_else(|| release.join("perchline"), PathBuf::from);
    let kept = release.with_file_name("mutations");
    let round =
        Round { name, subject, program, kept, next: AtomicU64::new(first), end: first + wanted };
    let workers = thread::available_parallelism()?.get();
    let tallies: Vec<io::Result<Tally>> = thread::scope(|scope| {
        let round = &round;
        let started: Vec<_> = (0..workers).map(|at| scope.spawn(move || round.run(at))).collect();
        let over = |thread: thread::ScopedJoinHandle<'_, io::Result<Tally>>| {
            thread.join().unwrap_or_else(|_| Err(io::Error::other("a worker panicked")))
        };
        started.into_iter().map(over).collect()
    });
    let mut all = Tally::default();
    for tally in tallies {
        all.add(&tally?);
    }
    let Tally { done, refused, broken } = all;
    println!("| spoilt | tried | done | refused | broken |\n|---|---|---|---|---|");
    println!("| {name} | {wanted} | {done} | {refused} | {broken} |");
    println!("Each within {SECONDS} s of processor time and {MEGABYTES} MB.");
    if broken > 0 { Err(format!("kept in {}", round.kept.display()).into()) } else { Ok(()) }
}

fn keep(folder: &Path, files: &Files) -> io::Result<()> {
    for (name, bytes) in files {
        let path = folder.join(name);
        fs::create_dir_all(path.parent().unwrap_or(folder))?;
        fs::write(path, bytes)?;
    }
    Ok(())
}

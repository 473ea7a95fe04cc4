//! What is printed, in colour only on a terminal, and never by colour alone.

use super::Failure;
use crate::results::progress::Progress;
use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::{self, IsTerminal, Write};
use std::process::ExitCode;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread;
use std::time::Duration;

/// Standard output and standard error.
pub(super) struct Terminal {
    out: io::BufWriter<Box<dyn Write>>,
    colour: bool,
    bar: bool,
}

/// How a word is set off.
#[derive(Clone, Copy, Debug)]
pub(super) enum Tone {
    Bad,
    Doubtful,
    Good,
    Faint,
    Strong,
}

impl Terminal {
    pub(super) fn standard() -> Self {
        let plain = std::env::var_os("NO_COLOR").is_some();
        Self {
            out: io::BufWriter::new(Box::new(io::stdout())),
            colour: io::stdout().is_terminal() && !plain,
            bar: io::stderr().is_terminal(),
        }
    }

    /// One for words that go to the window.
    #[cfg(feature = "viewer")]
    pub(super) fn plain() -> Self {
        Self { out: io::BufWriter::new(Box::new(io::stdout())), colour: false, bar: false }
    }

    /// Leaves standard output to a file that is printed there: words go to standard error.
    pub(super) fn step_aside(&mut self) {
        self.out = io::BufWriter::new(Box::new(io::stderr()));
        self.colour = self.colour && self.bar;
    }

    /// Prints text to standard output, unless that is left to a file.
    pub(super) fn print(&mut self, text: &str) -> Result<(), Failure> {
        self.out.write_all(text.as_bytes())?;
        Ok(())
    }

    /// Sends what was printed on its way.
    pub(super) fn flush(&mut self) -> Result<(), Failure> {
        self.out.flush()?;
        Ok(())
    }

    /// `text` in its tone.
    pub(super) fn toned(&self, tone: Tone, text: &str) -> String {
        let code = match tone {
            Tone::Bad => "1;31",
            Tone::Doubtful => "33",
            Tone::Good => "32",
            Tone::Faint => "2",
            Tone::Strong => "1",
        };
        if self.colour { format!("\u{1b}[{code}m{text}\u{1b}[0m") } else { text.to_owned() }
    }

    /// Says on standard error why the command failed.
    pub(super) fn complain(&mut self, failure: &Failure, status: u8) -> ExitCode {
        let _flushed = self.out.flush();
        let _told = writeln!(io::stderr(), "perchline: {failure}");
        ExitCode::from(status)
    }

    /// Does `work` under a progress bar, which shows itself only after a second.
    pub(super) fn with_progress<T: Send>(
        &self,
        quiet: bool,
        work: impl FnOnce(&Progress) -> T + Send,
    ) -> T {
        let progress = Progress::default();
        if quiet || !self.bar {
            return work(&progress);
        }
        let done = AtomicBool::new(false);
        thread::scope(|scope| {
            let ticker = scope.spawn(|| show(&progress, &done));
            let result = work(&progress);
            done.store(true, Ordering::Relaxed);
            ticker.thread().unpark();
            result
        })
    }
}

/// Draws the bar ten times a second until the work is done.
fn show(progress: &Progress, done: &AtomicBool) {
    const TICK: Duration = Duration::from_millis(100);
    let bar = ProgressBar::with_draw_target(None, ProgressDrawTarget::hidden());
    if let Ok(style) = ProgressStyle::with_template("{msg} [{bar:30}] {percent} %") {
        bar.set_style(style.progress_chars("=> "));
    }
    bar.set_message("adjusting and drawing");
    let mut ticks = 0_u32;
    while !done.load(Ordering::Relaxed) {
        thread::park_timeout(TICK);
        ticks += 1;
        if ticks == 10 {
            bar.set_draw_target(ProgressDrawTarget::stderr());
        }
        let (finished, total) = progress.state();
        bar.set_length(total.max(1) as u64);
        bar.set_position(finished as u64);
    }
    bar.finish_and_clear();
}

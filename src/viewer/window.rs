//! Opens the window, and reads the files in a thread of its own while it is open.

use super::app::{Desk, SIZE};
use super::follow::{Follow, Shows, Step};
use super::snapshot::{Refused, quietly};
use super::view::View;
use super::{Outcome, Source};
use kiss3d::pollster::block_on;
use kiss3d::window::{CanvasSetup, NumSamples, Window};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Sender, channel};
use std::thread;
use std::time::Duration;

/// Between two looks at the files.
const LOOK_EVERY: Duration = Duration::from_millis(100);

/// What comes from the files.
pub(super) enum Word {
    Read(Outcome),
    Gone,
}

/// Opens a window on a survey and follows its files until the window is closed. They are read while
/// it opens.
///
/// # Errors
/// No display, or no driver that can draw.
pub fn window<S: Source + Sync + 'static>(
    source: S,
    title: &str,
    view: View,
) -> Result<(), Refused> {
    if !has_display() {
        return Err(Refused::NoDisplay);
    }
    let source = Arc::new(source);
    let (send, words) = channel();
    let open = Arc::new(AtomicBool::new(true));
    let follower = {
        let (source, open) = (Arc::clone(&source), Arc::clone(&open));
        thread::spawn(move || follow(source.as_ref(), &open, &send))
    };
    let setup = CanvasSetup { vsync: true, samples: NumSamples::Four, ..CanvasSetup::default() };
    // The library panics where it cannot open a window; its words would only frighten.
    let opened = quietly(|| block_on(Window::new_with_setup(title, SIZE[0], SIZE[1], setup)));
    let drawn = opened.ok_or(Refused::NoDriver).and_then(|window| {
        let mut desk = Desk::new(window, view);
        block_on(desk.run(source.as_ref(), &words))
    });
    open.store(false, Ordering::Relaxed);
    // A follower that panicked has nothing left to say.
    let _joined = follower.join();
    drawn
}

/// Whether the system has a display; only where that can be told without trying.
fn has_display() -> bool {
    let set = |name: &str| std::env::var_os(name).is_some_and(|value| !value.is_empty());
    !cfg!(all(unix, not(target_os = "macos"))) || set("DISPLAY") || set("WAYLAND_DISPLAY")
}

/// Reads the files, and looks at them until the window is closed.
fn follow<S: Source>(source: &S, open: &AtomicBool, send: &Sender<Word>) {
    let mut follow = Follow::from(source.stamp());
    if send.send(Word::Read(source.read())).is_err() {
        return;
    }
    while open.load(Ordering::Relaxed) {
        thread::sleep(LOOK_EVERY);
        let word = match follow.look(source.stamp()) {
            Step::Rest => continue,
            Step::TellGone => Word::Gone,
            Step::Rebuild => {
                let outcome = source.read();
                let has_errors = matches!(outcome, Outcome::Faults(_));
                if follow.outcome(has_errors, source.stamp().as_ref()) == Shows::Nothing {
                    continue;
                }
                Word::Read(outcome)
            }
        };
        if send.send(word).is_err() {
            return;
        }
    }
}

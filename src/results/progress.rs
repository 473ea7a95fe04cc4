//! How far a computation has come, told to whoever wants to know.

use std::sync::atomic::{AtomicUsize, Ordering};

/// Counts pieces of work; shared between threads.
#[derive(Debug, Default)]
pub struct Progress {
    done: AtomicUsize,
    total: AtomicUsize,
}

impl Progress {
    /// Says that `pieces` more are to be done.
    pub fn set_total(&self, pieces: usize) {
        self.total.fetch_add(pieces, Ordering::Relaxed);
    }

    /// Says that one more is done.
    pub fn step(&self) {
        self.done.fetch_add(1, Ordering::Relaxed);
    }

    /// Done, and to be done in all.
    pub fn state(&self) -> (usize, usize) {
        (self.done.load(Ordering::Relaxed), self.total.load(Ordering::Relaxed))
    }
}

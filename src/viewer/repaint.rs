//! When widgets want to be drawn again though nothing happens: a hint comes up after a while.

use kiss3d::egui::Context;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// The next time at which they want it.
pub(super) struct Wake(Arc<Mutex<Option<Instant>>>);

impl Wake {
    /// Listens to what the widgets of `context` ask for. What they want at once is drawn anyway.
    pub(super) fn of(context: &Context) -> Self {
        let due = Arc::new(Mutex::new(None));
        let noted = Arc::clone(&due);
        context.set_request_repaint_callback(move |info| {
            if info.delay > Duration::ZERO {
                let at = Instant::now().checked_add(info.delay);
                let mut due = noted.lock().unwrap_or_else(PoisonError::into_inner);
                *due = [*due, at].into_iter().flatten().min();
            }
        });
        Self(due)
    }

    /// Whether it has come; it is told once.
    pub(super) fn take_due(&self) -> bool {
        let mut due = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        due.take_if(|at| *at <= Instant::now()).is_some()
    }
}

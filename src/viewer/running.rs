//! While the window is open: when a picture is drawn anew.

use super::Source;
use super::app::Desk;
use super::snapshot::{Refused, is_black};
use super::walk::go_on;
use super::window::Word;
use kiss3d::egui::Pos2;
use kiss3d::event::{Action, MouseButton, WindowEvent};
use kiss3d::window::NumSamples;
use std::sync::mpsc::Receiver;
use std::thread;
use std::time::{Duration, Instant};

/// Between two looks at hand and keys while nothing happens.
const IDLE: Duration = Duration::from_millis(12);
/// So many pictures are drawn after the last thing that happened: a grid of words learns the widths
/// of its columns in the first, and the note around it its own in the second.
const SETTLING: u32 = 3;
/// A picture that takes longer shows a slow driver; the first ones, which set everything up, do not
/// count.
const SLOW: Duration = Duration::from_millis(150);
const FIRST: u32 = 6;
/// Edges become smooth again where nothing moves for so long.
const CALM: Duration = Duration::from_millis(500);
/// A window that was uncovered is drawn anew, at the latest, at the first move of the pointer after
/// this.
const UNCOVERED: Duration = Duration::from_secs(1);
/// The walk is kept so many pixels from the edges.
const AROUND_WALK: f64 = 120.0;

impl Desk {
    /// Draws whenever something happens, until the window is closed.
    ///
    /// # Errors
    /// No driver that can draw.
    pub(super) async fn run<S: Source>(
        &mut self,
        source: &S,
        words: &Receiver<Word>,
    ) -> Result<(), Refused> {
        let mut settling = SETTLING;
        let mut checked = false;
        let mut last = Instant::now();
        loop {
            for word in words.try_iter() {
                self.take(word);
                settling = SETTLING;
            }
            self.window.canvas_mut().poll_events();
            if self.stirred() {
                settling = SETTLING;
            }
            let seconds = last.elapsed().as_secs_f64().min(0.5);
            last = Instant::now();
            if go_on(&mut self.view, &self.rebuilt.space, seconds) {
                self.follow_walk();
                settling = SETTLING;
            }
            if self.news_until.is_some_and(|until| Instant::now() > until) {
                self.news_until = None;
                self.said.news = None;
                settling = SETTLING;
            }
            if settling == 0 && !self.wants_smooth_edges() {
                thread::sleep(IDLE);
                continue;
            }
            self.edges();
            settling = settling.saturating_sub(1);
            let start = Instant::now();
            if !self.draw(source).await {
                return Ok(());
            }
            self.drawn += 1;
            self.slow |= self.drawn > FIRST && start.elapsed() > SLOW;
            if self.wheel_goes_on {
                settling = SETTLING;
            }
            if !checked && settling == 0 {
                checked = true;
                let mut pixels = Vec::new();
                self.window.snap(&mut pixels);
                if is_black(&pixels) {
                    return Err(Refused::NoDriver);
                }
            }
        }
    }

    /// Whether something happened that a picture must show. A pointer that moves over the space shows
    /// nothing new; but the library does not tell when the window was uncovered, so that it calls for
    /// a picture now and then. What is seen here is handed on to the next picture.
    fn stirred(&mut self) -> bool {
        let buttons = [MouseButton::Button1, MouseButton::Button2, MouseButton::Button3];
        let held =
            buttons.into_iter().any(|button| self.window.get_mouse_button(button) == Action::Press);
        let scale = self.window.scale_factor();
        let mut stirred = self.wake.take_due();
        for event in self.window.events().iter() {
            let WindowEvent::CursorPos(x, y, _) = event.value else {
                stirred = true;
                continue;
            };
            #[expect(clippy::cast_possible_truncation, reason = "pixels")]
            let at = Pos2::new((x / scale) as f32, (y / scale) as f32);
            let over = self.window.egui_context().layer_id_at(at).is_some();
            stirred |= held || over || self.over_widget || self.drawn_at.elapsed() > UNCOVERED;
            self.over_widget = over;
        }
        stirred
    }

    /// Keeps the place that the walk has come to in the picture.
    fn follow_walk(&mut self) {
        let size = self.size().map(f64::from);
        if let Some([at, _]) = self.shown().walked() {
            let margins = [self.panel() + AROUND_WALK, AROUND_WALK, AROUND_WALK, AROUND_WALK];
            let kept = self.view.eye.keeping(at, size, margins);
            self.fitted = self.fitted.filter(|_| kept == self.view.eye);
            self.view.eye = kept;
        }
    }

    /// Whether edges are still rough though nothing moves any more.
    fn wants_smooth_edges(&self) -> bool {
        self.slow && self.window.samples() == 1 && self.drawn_at.elapsed() > CALM
    }

    /// On a slow driver edges are rough while the onlooker moves. To change that sets up anew all that
    /// is drawn on, so it is done only where a move begins and where it has come to rest.
    fn edges(&mut self) {
        let walks = self.view.walk.as_ref().is_some_and(|walk| walk.going);
        let dragged = self.window.egui_context().input(|i| i.pointer.is_decidedly_dragging());
        if self.slow && (walks || dragged || self.wheel_goes_on) {
            self.window.set_samples(NumSamples::One);
        } else if self.wants_smooth_edges() {
            self.window.set_samples(NumSamples::Four);
        }
    }
}

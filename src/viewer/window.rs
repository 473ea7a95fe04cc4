//! The window: what hand and keys do, and what comes from the files while it is open.

use super::follow::{Follow, Shows, Step};
use super::hand::Hand;
use super::keys::{Asked, go_on, let_go, press};
use super::lay::Laid;
use super::marks::{Marks, Shown};
use super::overlay::Setting;
use super::panel::{self, Said};
use super::snapshot::{Refused, encode, framed, is_black, letters, picture, quietly};
use super::stage::{Camera, Stage, dress, paint, width};
use super::view::View;
use super::{Outcome, Rebuilt, Source, space_of};
use kiss3d::egui::Context;
use kiss3d::pollster::block_on;
use kiss3d::window::{CanvasSetup, NumSamples, Window};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, channel};
use std::thread;
use std::time::{Duration, Instant};

/// Between two looks at the files.
const LOOK_EVERY: Duration = Duration::from_millis(100);
/// Between two looks at hand and keys while nothing happens.
const IDLE: Duration = Duration::from_millis(12);
/// So many pictures are still drawn after the last thing that happened: widgets settle.
const SETTLING: u32 = 3;
/// How long news are shown.
const NEWS: Duration = Duration::from_secs(6);
/// The window at first, pixels.
const SIZE: [u32; 2] = [1280, 800];
/// Pictures that are saved are so many times larger than the window.
const SAVED: u32 = 2;
/// A picture that takes longer shows a slow driver; the first ones, which set everything up, do not
/// count.
const SLOW: Duration = Duration::from_millis(150);
const FIRST: u32 = 6;
/// Letters over the picture are no smaller than this, in points.
const LETTERS: f32 = 13.0;
/// Metres are laid out anew when the scale has changed by this.
const RESCALED: f64 = 1.15;
/// With more legs lines keep their metres while the onlooker moves.
const MANY: usize = 20_000;

/// What comes from the files.
enum Word {
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

/// What lies on the table: the window, what is shown in it, and what is said.
struct Desk {
    window: Window,
    stage: Stage,
    camera: Camera,
    rebuilt: Rebuilt,
    view: View,
    said: Said,
    laid: Laid,
    marks: Marks,
    /// As it was when the marks were made.
    made: Option<(View, [u32; 2], bool)>,
    news_until: Option<Instant>,
    fit: bool,
    drawn: u32,
}

impl Desk {
    fn new(mut window: Window, view: View) -> Self {
        dress(&mut window);
        window.rebind_close_key(None);
        let rebuilt = Rebuilt::empty();
        Self {
            stage: Stage::new(),
            camera: Camera::new(view.eye, SIZE),
            laid: Laid::of(&rebuilt.space, &view),
            rebuilt,
            view,
            said: Said { first: true, ..Said::default() },
            marks: Marks::default(),
            made: None,
            news_until: None,
            fit: true,
            drawn: 0,
            window,
        }
    }

    /// Takes what comes from the files.
    fn take(&mut self, word: Word) {
        match word {
            Word::Gone => self.said.gone = true,
            Word::Read(Outcome::Faults(faults)) => {
                self.said.gone = false;
                self.said.faults = faults;
            }
            Word::Read(Outcome::Rebuilt(rebuilt)) => {
                self.said.gone = false;
                self.said.faults.clear();
                let was_empty = self.rebuilt.space.scene.trails.is_empty();
                self.fit |= was_empty;
                self.rebuilt = *rebuilt;
                self.laid = Laid::of(&self.rebuilt.space, &self.view);
                self.view.tried = self.view.tried.filter(|at| *at < self.rebuilt.suspicions.len());
                if !was_empty {
                    self.tell("the tables were read again".to_owned());
                }
            }
        }
        self.made = None;
    }

    fn tell(&mut self, news: String) {
        self.said.news = Some(news);
        self.news_until = Some(Instant::now() + NEWS);
    }

    fn stale(&self) -> bool {
        self.said.gone || !self.said.faults.is_empty()
    }

    fn size(&self) -> [u32; 2] {
        [self.window.width(), self.window.height()]
    }

    async fn run<S: Source>(&mut self, source: &S, words: &Receiver<Word>) -> Result<(), Refused> {
        let mut settling = SETTLING;
        let mut checked = false;
        let mut last = Instant::now();
        loop {
            for word in words.try_iter() {
                self.take(word);
                settling = SETTLING;
            }
            self.window.canvas_mut().poll_events();
            // What is seen here is handed on to the next picture.
            if self.window.events().iter().count() > 0 {
                settling = SETTLING;
            }
            let seconds = last.elapsed().as_secs_f64().min(0.5);
            last = Instant::now();
            if go_on(&mut self.view, &self.rebuilt.space, seconds) {
                settling = SETTLING;
            }
            if self.news_until.is_some_and(|until| Instant::now() > until) {
                self.news_until = None;
                self.said.news = None;
                settling = SETTLING;
            }
            if settling == 0 {
                thread::sleep(IDLE);
                continue;
            }
            settling -= 1;
            let start = Instant::now();
            if !self.draw(source).await {
                return Ok(());
            }
            self.rough_if_slow(start.elapsed());
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

    /// On a slow driver edges are rough from then on; going back and forth would set up anew, each
    /// time, all that is drawn on.
    fn rough_if_slow(&mut self, took: Duration) {
        self.drawn += 1;
        if self.drawn > FIRST && took > SLOW && self.window.samples() > 1 {
            self.window.set_samples(NumSamples::One);
        }
    }

    /// One picture; whether the window stays open.
    async fn draw<S: Source>(&mut self, source: &S) -> bool {
        let asked = self.ui();
        self.answer(asked, source).await;
        if std::mem::take(&mut self.fit) {
            let size = self.size().map(f64::from);
            let left = f64::from(panel::WIDE) * self.window.scale_factor();
            self.view = framed(&self.rebuilt, &self.view, size, left);
        }
        self.make();
        self.camera.eye = self.view.eye;
        self.camera.reach = self.stage.reach;
        self.stage.light_for(&self.view.eye);
        self.window.render_3d(&mut self.stage.root, &mut self.camera).await
    }

    /// Makes marks anew where something else is shown than before.
    fn make(&mut self) {
        let (size, stale) = (self.size(), self.stale());
        let same = |(made, made_size, made_stale): &(View, [u32; 2], bool)| {
            let eye = made.eye;
            let few = self.rebuilt.space.trails.iter().map(|t| t.legs.len()).sum::<usize>() < MANY;
            let times = eye.metres_high / self.view.eye.metres_high;
            let scaled = few && !(1.0 / RESCALED..RESCALED).contains(&times);
            let side = |view: &View| (view.eye.tilt.abs() < 1.0).then_some(view.eye);
            *made_size == size
                && *made_stale == stale
                && !scaled
                && side(made) == side(&self.view)
                && View { eye, ..self.view.clone() } == *made
        };
        if self.made.as_ref().is_some_and(same) {
            return;
        }
        self.laid = Laid::of(&self.rebuilt.space, &self.view);
        self.marks = self.shown().marks();
        self.stage.show(&self.marks);
        self.made = Some((self.view.clone(), size, stale));
    }

    fn shown(&self) -> Shown<'_> {
        Shown {
            space: &self.rebuilt.space,
            laid: &self.laid,
            view: &self.view,
            suspicions: &self.rebuilt.suspicions,
            stale: self.stale(),
            size: self.size().map(f64::from),
        }
    }

    /// Panel, words and what hand and keys did.
    fn ui(&mut self) -> Vec<Asked> {
        let context = self.window.egui_context().clone();
        let scale = self.window.scale_factor();
        let mut asked = Vec::new();
        let mut ui = None;
        self.window.draw_ui(|context| ui = Some(context.clone()));
        let context = ui.unwrap_or(context);
        asked.extend(self.hand(&context, scale));
        let points = letters(self.size().map(|pixels| f64::from(pixels) / scale)).max(LETTERS);
        if !self.rebuilt.space.scene.trails.is_empty() {
            let shown = self.shown();
            let logical = Shown { size: shown.size.map(|pixels| pixels / scale), ..shown };
            let setting = Setting {
                line: 1.3 * f64::from(points),
                width: &|text, bold| width(&context, points, text, bold),
                left: f64::from(panel::WIDE),
            };
            paint(&context, &logical.overlay(&self.marks, setting), points);
        }
        panel::reading(&context, &self.shown().reading(), &self.view.picked);
        panel::tried(&context, &self.view, &self.rebuilt.suspicions);
        panel::said(&context, &mut self.said);
        asked.push(panel::panel(&context, &mut self.view, &self.rebuilt));
        asked
    }

    /// What hand and keys did to the view.
    fn hand(&mut self, context: &Context, scale: f64) -> Vec<Asked> {
        let size = self.size().map(|pixels| f64::from(pixels) / scale);
        let hand = Hand::of(context);
        let over_panel = self.window.is_egui_capturing_mouse();
        self.said.first &= hand.rests();
        if !over_panel && hand.began().is_some_and(|[x, _]| x > f64::from(panel::WIDE)) {
            self.view.eye = hand.moved(self.view.eye, size);
            if let Some(at) = hand.clicked {
                let picked = Shown { size, ..self.shown() }.under(at);
                self.view.pick(picked);
            }
        }
        if hand.escape {
            let_go(&mut self.view);
            self.said.help = false;
        }
        let suspects = self.rebuilt.suspicions.len();
        let space = &self.rebuilt.space;
        hand.typed.iter().map(|letter| press(*letter, &mut self.view, space, suspects)).collect()
    }

    async fn answer<S: Source>(&mut self, asked: Vec<Asked>, source: &S) {
        for asked in asked {
            match asked {
                Asked::Nothing => {}
                Asked::Fit => self.fit = true,
                Asked::Help => self.said.help = !self.said.help,
                Asked::Zoom(steps) => {
                    let size = self.size().map(f64::from);
                    let middle = size.map(|s| 0.5 * s);
                    let times = 1.25_f64.powi(i32::from(steps));
                    self.view.eye = self.view.eye.zoomed(times, middle, size);
                }
                Asked::Suspect => self.go_to_suspect(),
                Asked::Save => {
                    let size = self.size().map(|pixels| SAVED * pixels);
                    let pixels = picture(&self.rebuilt, &self.view, size).await;
                    let news = match encode(&pixels, size) {
                        Ok(png) => source.save(&png),
                        Err(why) => why.to_string(),
                    };
                    self.tell(news);
                }
            }
        }
    }

    /// Brings the suspect that is tried on into the middle.
    fn go_to_suspect(&mut self) {
        let tried = self.view.tried.and_then(|at| self.rebuilt.suspicions.get(at));
        let Some((trail, from, _)) = tried.and_then(|s| space_of(&self.rebuilt.space, s)) else {
            return;
        };
        let name = self.rebuilt.space.scene.trails[trail].name.clone();
        self.view.hidden.remove(&name);
        self.view.eye.target = self.laid.points[trail][from];
    }
}

//! What lies on the table: the window, what is shown in it, and what hand and keys do to that.

use super::camera::Place;
use super::keys::{Asked, let_go, press};
use super::layout::Laid;
use super::marks::{Marks, Shown};
use super::notes::{self, Said};
use super::overlay::Setting;
use super::panel;
use super::pointer::Hand;
use super::renderer::{Camera, Stage, dress, paint, width};
use super::repaint::Wake;
use super::snapshot::{LINE, encode, framed, letters, margins, picture};
use super::view::View;
use super::window::Word;
use super::{Outcome, Rebuilt, Source, space_of};
use kiss3d::egui::Context;
use kiss3d::window::Window;
use std::time::{Duration, Instant};

/// How long news are shown.
const NEWS: Duration = Duration::from_secs(6);
/// The window at first, pixels: no higher than a small laptop's screen.
pub(super) const SIZE: [u32; 2] = [1280, 720];
/// Pictures that are saved are so many times larger than the window.
const SAVED: u32 = 2;
/// Letters over the picture are no smaller than this, in points.
const LETTERS: f32 = 13.0;
/// Metres are laid out anew when the scale has changed by this.
const RESCALED: f64 = 1.15;
/// With more legs lines keep their metres while the onlooker moves.
const MANY: usize = 20_000;

/// What marks were made for.
pub(super) struct Made {
    view: View,
    size: [u32; 2],
    stale: bool,
    magnified: f64,
}

/// What lies on the table: the window, what is shown in it, and what is said.
#[expect(
    clippy::struct_excessive_bools,
    reason = "each is another thing that the next picture has to know"
)]
pub(super) struct Desk {
    pub(super) window: Window,
    pub(super) stage: Stage,
    pub(super) camera: Camera,
    pub(super) rebuilt: Rebuilt,
    pub(super) view: View,
    pub(super) said: Said,
    pub(super) laid: Laid,
    pub(super) marks: Marks,
    /// As it was when the marks were made.
    pub(super) made: Option<Made>,
    pub(super) news_until: Option<Instant>,
    pub(super) fit: bool,
    /// Pixels and stretch with which all was fitted, until the hand moves the onlooker.
    pub(super) fitted: Option<([u32; 2], f64)>,
    /// The stretch of the last picture.
    pub(super) stretched: f64,
    pub(super) drawn: u32,
    pub(super) drawn_at: Instant,
    /// When the widgets want to be drawn again by themselves: a hint that comes up.
    pub(super) wake: Wake,
    /// Whether the pointer was last seen over a widget.
    pub(super) over_widget: bool,
    /// Whether the driver is so slow that edges are rough while something moves.
    pub(super) slow: bool,
    /// Whether the wheel's last turn is not yet used up.
    pub(super) wheel_goes_on: bool,
}

impl Desk {
    pub(super) fn new(mut window: Window, view: View) -> Self {
        dress(&mut window);
        window.rebind_close_key(None);
        let rebuilt = Rebuilt::empty();
        Self {
            stage: Stage::new(),
            camera: Camera::new(view.eye, SIZE),
            laid: Laid::of(&rebuilt.space, &view),
            rebuilt,
            stretched: view.stretch,
            view,
            said: Said { first: true, ..Said::default() },
            marks: Marks::default(),
            made: None,
            news_until: None,
            fit: true,
            fitted: None,
            drawn: 0,
            drawn_at: Instant::now(),
            wake: Wake::of(window.egui_context()),
            over_widget: false,
            slow: false,
            wheel_goes_on: false,
            window,
        }
    }

    /// Takes what comes from the files.
    pub(super) fn take(&mut self, word: Word) {
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

    pub(super) fn tell(&mut self, news: String) {
        self.said.news = Some(news);
        self.news_until = Some(Instant::now() + NEWS);
    }

    fn stale(&self) -> bool {
        self.said.gone || !self.said.faults.is_empty()
    }

    pub(super) fn size(&self) -> [u32; 2] {
        [self.window.width(), self.window.height()]
    }

    /// Pixels that the panel takes.
    pub(super) fn panel(&self) -> f64 {
        f64::from(panel::WIDE) * self.window.scale_factor()
    }

    /// One picture; whether the window stays open. Words are set after everything that moves the
    /// onlooker, so that they stand beside what they tell of.
    pub(super) async fn draw<S: Source>(&mut self, source: &S) -> bool {
        let mut opened = None;
        self.window.draw_ui(|context| opened = Some(context.clone()));
        let context = opened.unwrap_or_else(|| self.window.egui_context().clone());
        let mut asked = self.hand(&context);
        let magnified = self.shown().magnified();
        asked.push(panel::panel(&context, &mut self.view, &self.rebuilt, magnified));
        self.answer(asked, source).await;
        // A widget that was clicked keeps the keys no longer than the button is held.
        if context.input(|input| input.pointer.any_released()) {
            context.memory_mut(|memory| {
                if let Some(widget) = memory.focused() {
                    memory.surrender_focus(widget);
                }
            });
        }
        self.frame();
        self.make();
        self.words(&context);
        self.camera.eye = self.view.eye;
        self.camera.reach = self.stage.reach;
        self.stage.light_for(&self.view.eye);
        self.drawn_at = Instant::now();
        self.window.render_3d(&mut self.stage.root, &mut self.camera).await
    }

    /// Brings all that is shown into the picture where that was asked, and again where the window or
    /// the stretch has changed since; an onlooker who has gone nearer keeps what is in the middle.
    fn frame(&mut self) {
        let now = (self.size(), self.view.stretch);
        if std::mem::take(&mut self.fit) || self.fitted.is_some_and(|then| then != now) {
            let size = now.0.map(f64::from);
            self.view = framed(&self.rebuilt, &self.view, size, self.panel());
            self.fitted = Some(now);
        } else {
            let times = self.view.stretch / self.stretched;
            self.view.eye = self.view.eye.raised(self.laid.floor, times);
        }
        self.stretched = self.view.stretch;
    }

    /// Makes marks anew where something else is shown than before.
    fn make(&mut self) {
        let (size, stale, magnified) = (self.size(), self.stale(), self.shown().magnified());
        let same = |known: &Made| {
            let made = &known.view;
            let eye = made.eye;
            let few = self.rebuilt.space.trails.iter().map(|t| t.legs.len()).sum::<usize>() < MANY;
            let times = eye.metres_high / self.view.eye.metres_high;
            let scaled = few && !(1.0 / RESCALED..RESCALED).contains(&times);
            let side = |view: &View| (view.eye.tilt.abs() < 1.0).then_some(view.eye);
            (known.size, known.stale) == (size, stale)
                && (known.magnified - magnified).abs() < 1e-9
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
        self.made = Some(Made { view: self.view.clone(), size, stale, magnified });
    }

    pub(super) fn shown(&self) -> Shown<'_> {
        Shown {
            space: &self.rebuilt.space,
            laid: &self.laid,
            view: &self.view,
            suspicions: &self.rebuilt.suspicions,
            stale: self.stale(),
            size: self.size().map(f64::from),
        }
    }

    /// What is written over the picture, and the notes at its edges.
    fn words(&mut self, context: &Context) {
        let scale = self.window.scale_factor();
        let points = letters(self.size().map(|pixels| f64::from(pixels) / scale)).max(LETTERS);
        if !self.rebuilt.space.scene.trails.is_empty() {
            let shown = self.shown();
            let logical = Shown { size: shown.size.map(|pixels| pixels / scale), ..shown };
            let setting = Setting {
                line: LINE * f64::from(points),
                width: &|text, bold| width(context, points, text, bold),
                left: f64::from(panel::WIDE),
            };
            paint(context, &logical.overlay(&self.marks, setting), points);
        }
        notes::reading(context, &self.shown().reading());
        notes::tried(context, &self.view, &self.rebuilt.suspicions);
        let is_drawn = !self.rebuilt.space.scene.trails.is_empty();
        notes::said(context, &mut self.said, is_drawn);
    }

    /// What hand and keys did to the view.
    fn hand(&mut self, context: &Context) -> Vec<Asked> {
        let scale = self.window.scale_factor();
        let size = self.size().map(|pixels| f64::from(pixels) / scale);
        let hand = Hand::of(context);
        let over_panel = self.window.is_egui_capturing_mouse();
        self.said.first &= hand.rests();
        self.wheel_goes_on = hand.wheel_turns();
        if !over_panel && hand.began().is_some_and(|[x, _]| x > f64::from(panel::WIDE)) {
            self.view.eye = hand.moved(self.view.eye, size);
            self.fitted = self.fitted.filter(|_| !hand.moves());
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
                    self.fitted = None;
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

    /// Brings the trail of the suspect that is tried on into the picture, as it is and as it would be.
    fn go_to_suspect(&mut self) {
        if self.rebuilt.suspicions.is_empty() {
            self.tell("no reading stands out".to_owned());
        }
        let Some(tried) = self.view.tried.and_then(|at| self.rebuilt.suspicions.get(at)) else {
            return;
        };
        let Some((trail, ..)) = space_of(&self.rebuilt.space, tried) else { return };
        let would_be = tried.would_be.get(&trail).into_iter().flatten().copied();
        let would_be: Vec<Place> = would_be.map(|at| self.laid.place(trail, at)).collect();
        let places = self.laid.points[trail].iter().chain(&self.laid.feet[trail]).chain(&would_be);
        let size = self.size().map(f64::from);
        let margins = margins(&self.shown(), self.panel());
        self.view.eye = self.view.eye.framing(places.copied(), size, margins);
        self.fitted = None;
        self.view.hidden.remove(&self.rebuilt.space.scene.trails[trail].name);
    }
}

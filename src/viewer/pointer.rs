//! What hand and keys did since the last picture.

use super::camera::{Eye, Size};
use kiss3d::egui::{Context, Event, InputState, Key, PointerButton, Pos2};

/// Points of the wheel that bring everything twice as near: five notches of a mouse, of ten points.
const WHEEL: f64 = 50.0;

/// How a drag moves the onlooker.
#[derive(Clone, Copy, Debug)]
enum Drag {
    Turn,
    Move,
}

/// Hand and keys, in points from the left and from the top.
pub(super) struct Hand {
    at: Option<[f64; 2]>,
    pressed_at: Option<[f64; 2]>,
    drag: Option<Drag>,
    dragged: [f64; 2],
    wheel: f64,
    /// Where a click was made.
    pub(super) clicked: Option<[f64; 2]>,
    /// Whether Escape was pressed.
    pub(super) escape: bool,
    /// What was typed.
    pub(super) typed: Vec<char>,
}

impl Hand {
    /// What the window's library has noted.
    pub(super) fn of(context: &Context) -> Self {
        let mut hand = context.input(|input| {
            let pointer = &input.pointer;
            let at = pointer.interact_pos().map(spot);
            let delta = pointer.delta();
            Self {
                at,
                pressed_at: pointer.press_origin().map(spot),
                drag: drag(input),
                dragged: [f64::from(delta.x), f64::from(delta.y)],
                wheel: f64::from(input.smooth_scroll_delta().y),
                clicked: at.filter(|_| pointer.primary_clicked()),
                escape: input.key_pressed(Key::Escape),
                typed: input.events.iter().filter_map(typed).collect(),
            }
        });
        // A widget that was reached with the Tab key takes the space for itself.
        if context.memory(|memory| memory.focused().is_some()) {
            hand.typed.retain(|letter| *letter != ' ');
        }
        hand
    }

    /// Whether nothing was done.
    pub(super) fn rests(&self) -> bool {
        self.drag.is_none() && self.clicked.is_none() && self.wheel == 0.0 && self.typed.is_empty()
    }

    /// Whether the onlooker is brought elsewhere or nearer; turning is neither.
    pub(super) fn moves(&self) -> bool {
        matches!(self.drag, Some(Drag::Move)) || self.wheel != 0.0
    }

    /// Whether the wheel turns, or what it turned is not yet used up.
    pub(super) fn wheel_turns(&self) -> bool {
        self.wheel != 0.0
    }

    /// Where it began.
    pub(super) fn began(&self) -> Option<[f64; 2]> {
        self.pressed_at.or(self.at)
    }

    /// The onlooker, moved.
    pub(super) fn moved(&self, eye: Eye, size: Size) -> Eye {
        let eye = match self.drag {
            Some(Drag::Turn) => eye.orbited(self.dragged, size),
            Some(Drag::Move) => eye.panned(self.dragged, size),
            None => eye,
        };
        match self.at {
            Some(at) if self.wheel != 0.0 => eye.zoomed((self.wheel / WHEEL).exp2(), at, size),
            _ => eye,
        }
    }
}

/// A press that may still become a click turns nothing.
fn drag(input: &InputState) -> Option<Drag> {
    if !input.pointer.is_decidedly_dragging() {
        return None;
    }
    let down = |button| input.pointer.button_down(button);
    let other = down(PointerButton::Secondary) || down(PointerButton::Middle);
    match (down(PointerButton::Primary), other, input.modifiers.shift) {
        (_, true, _) | (true, _, true) => Some(Drag::Move),
        (true, false, false) => Some(Drag::Turn),
        (false, false, _) => None,
    }
}

fn spot(at: Pos2) -> [f64; 2] {
    [f64::from(at.x), f64::from(at.y)]
}

fn typed(event: &Event) -> Option<char> {
    match event {
        Event::Text(text) => text.chars().next(),
        _ => None,
    }
}

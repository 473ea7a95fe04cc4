//! What each key does.

use super::camera::Look;
use super::layout::Laid;
use super::view::{ColourBy, View};
use super::walk;
use crate::products::scene::Space;

/// The keys and what they do, for the key to the keys.
pub const KEYS: [(&str, &str); 20] = [
    ("drag", "turn"),
    ("right button, or Shift and drag", "move"),
    ("wheel, + and −", "zoom"),
    ("click", "read an anchor or leg; a second anchor gives the distance"),
    ("1 to 6", LOOKS),
    ("0", "fit all that is shown"),
    ("C", "what colours say"),
    ("D", "plumb lines and trace on the ground"),
    ("G", "metre grid"),
    ("L", "names"),
    ("E", "ellipsoids of 95 %"),
    ("M", "misclosures"),
    ("R", "raw beside adjusted"),
    ("T", "tree trunks"),
    ("A", "trails side by side, or where they lie"),
    ("V", "heights 1, 2, 3 or 5 times taller"),
    ("Space, < and >", "walk along the trail that was clicked; back and forth"),
    ("X", "next reading to look at, and the path without the slip"),
    ("P", "save a picture"),
    ("?", "these keys; Escape lets go of everything"),
];

const LOOKS: &str = "from above, looking north, east, south, west (ahead, right, back, left where no north is known), aslant";

/// The line at first sight.
pub const FIRST: &str = "drag to turn · right button to move · wheel to zoom · click an anchor to read it · ? for all keys";

/// What a key asks of the window, besides what it changes of the view.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Asked {
    /// Nothing more.
    Nothing,
    /// To bring all that is shown into the picture.
    Fit,
    /// To show or hide the keys.
    Help,
    /// To save a picture.
    Save,
    /// To bring a suspect into the picture, or to say that there is none.
    Suspect,
    /// To zoom by this many steps.
    Zoom(i8),
}

/// Metres of a step of the walk.
const STEP_M: f64 = 0.5;
const STRETCHES: [f64; 4] = [1.0, 2.0, 3.0, 5.0];

/// Does what the key with this letter does.
pub fn press(letter: char, view: &mut View, space: &Space, suspects: usize) -> Asked {
    let layers = &mut view.layers;
    match letter.to_ascii_lowercase() {
        look @ '1'..='6' => {
            let at = usize::from(look as u8 - b'1');
            view.eye = view.eye.turned_to(Look::ALL[at]);
            return Asked::Fit;
        }
        '0' => return Asked::Fit,
        '?' | '/' | 'h' => return Asked::Help,
        'p' => return Asked::Save,
        '+' | '=' => return Asked::Zoom(1),
        '-' | '−' => return Asked::Zoom(-1),
        'c' => view.colour = ColourBy::next(view.colour),
        'd' => layers.drops = !layers.drops,
        'g' => layers.grid = !layers.grid,
        'l' => layers.labels = !layers.labels,
        'e' => layers.ellipsoids = !layers.ellipsoids,
        'm' => layers.misclosures = !layers.misclosures,
        'r' => layers.raw = !layers.raw,
        't' => layers.trunks = !layers.trunks,
        'a' => {
            let is_apart = Laid::of(space, view).apart;
            view.apart = Some(!is_apart);
            return Asked::Fit;
        }
        'v' => {
            let at = STRETCHES.iter().position(|s| *s > view.stretch + 1e-9).unwrap_or(0);
            view.stretch = STRETCHES[at];
        }
        ' ' => walk::start_or_stop(view, space),
        '<' | ',' => walk::step(view, space, -STEP_M),
        '>' | '.' => walk::step(view, space, STEP_M),
        'x' if suspects == 0 => return Asked::Suspect,
        'x' => {
            let next = view.tried.map_or(0, |at| at + 1);
            view.tried = (next < suspects).then_some(next);
            return if view.tried.is_some() { Asked::Suspect } else { Asked::Nothing };
        }
        _ => {}
    }
    Asked::Nothing
}

/// Lets go of what was clicked, tried and walked.
pub fn let_go(view: &mut View) {
    view.pick(None);
    view.tried = None;
    view.walk = None;
}

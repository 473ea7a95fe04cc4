//! What each key does.

use super::eye::Look;
use super::lay::Laid;
use super::view::{ColourBy, Pick, View, Walk};
use crate::scene::Space;

/// The keys and what they do, for the key to the keys.
pub const KEYS: [(&str, &str); 20] = [
    ("drag", "turn"),
    ("right button, or Shift and drag", "move"),
    ("wheel, + and −", "zoom"),
    ("click", "read an anchor or leg; a second anchor gives the distance"),
    ("1 to 6", "from above, looking north, east, south, west, aslant"),
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
    ("X", "next suspect: the path as it would be with that reading"),
    ("P", "save a picture"),
    ("?", "these keys; Escape lets go of everything"),
];

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
    /// To bring a suspect into the picture.
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
        ' ' => walk(view, space),
        '<' | ',' => step(view, space, -STEP_M),
        '>' | '.' => step(view, space, STEP_M),
        'x' if suspects > 0 => {
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

/// Begins a walk along the trail that was clicked last, or the first one shown; stops one that goes.
fn walk(view: &mut View, space: &Space) {
    if let Some(walk) = &mut view.walk {
        walk.going = !walk.going;
        return;
    }
    let clicked = view.picked.last().map(|picked| match picked {
        Pick::Anchor(trail, _) | Pick::Leg(trail, _) => trail.clone(),
    });
    let first = space.scene.trails.iter().map(|trail| &trail.name).find(|name| view.shows(name));
    if let Some(trail) = clicked.or_else(|| first.cloned()) {
        view.walk = Some(Walk { trail, along: 0.0, going: true });
    }
}

fn step(view: &mut View, space: &Space, metres: f64) {
    if view.walk.is_none() {
        walk(view, space);
    }
    if let Some(walk) = &mut view.walk {
        walk.going = false;
        walk.along = (walk.along + metres).clamp(0.0, length(space, &walk.trail));
    }
}

/// Goes on by `seconds` at an unhurried pace: the whole trail in half a minute.
pub fn go_on(view: &mut View, space: &Space, seconds: f64) -> bool {
    const WHOLE_S: f64 = 30.0;
    let Some(walk) = view.walk.as_mut().filter(|walk| walk.going) else { return false };
    let whole = length(space, &walk.trail);
    walk.along = (walk.along + whole * seconds / WHOLE_S).min(whole);
    walk.going = walk.along < whole;
    true
}

fn length(space: &Space, name: &str) -> f64 {
    let trail = space.scene.trails.iter().find(|trail| trail.name == name);
    trail.and_then(|trail| trail.points.last()).map_or(0.0, |point| point.along)
}

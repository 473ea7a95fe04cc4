//! The paths in space: the canvas with its controls, and the same in numbers.

use super::html::Html;
use super::paths::Drawing;
use super::tables;
use crate::results::Analysis;
use crate::results::overview::{TRAIL_HEADS, trail_lines};

/// What each key does, for the key to the keys.
const KEYS: [(&str, &str); 9] = [
    ("drag, arrow keys", "turn"),
    ("right button or Shift and drag, two fingers, Shift and arrow keys", "move"),
    ("wheel after a click, Ctrl and wheel, pinch, + and −", "zoom"),
    ("1 to 6", LOOKS),
    ("0", "fit all that is shown"),
    ("N and P", "next and previous anchor"),
    ("T", "next trail for the walk"),
    ("Space", "walk, and stop"),
    ("Escape", "let go of the anchor"),
];

const LOOKS: &str = "from above, looking north, east, south, west (ahead, right, back, left where no north is known), aslant";

pub(super) fn section(analysis: &Analysis, drawing: &Drawing<'_>, html: &mut Html) {
    if !drawing.trails.is_empty() {
        html.within("div", &[("id", "view"), ("class", "view")], view);
        html.within("noscript", &[], |html| {
            html.paragraph("The drawing needs this page's own script, which is turned off.");
        });
    }
    drawing.left_out.iter().for_each(|why| html.element("p", &[("class", "note")], why));
    let caption = ["The trails in numbers.".to_owned(), "In brackets: 95 % intervals.".to_owned()];
    tables::table("trails-table", &caption, &TRAIL_HEADS, &trail_lines(analysis), html);
}

fn view(html: &mut Html) {
    html.within("div", &[("class", "stage")], |html| {
        let canvas = [
            ("id", "canvas"),
            ("tabindex", "0"),
            ("role", "application"),
            ("aria-roledescription", "drawing in space"),
            ("aria-label", "The paths in space. Arrow keys turn, N and P read the anchors."),
            ("aria-describedby", "keys"),
        ];
        html.element("canvas", &canvas, "");
        html.element("div", &[("id", "tip"), ("class", "tip"), ("hidden", "")], "");
        html.within("div", &[("id", "looks"), ("class", "looks")], |_| {});
    });
    html.within("div", &[("class", "under")], |html| {
        html.element("div", &[("id", "legend"), ("class", "legend")], "");
        html.element("output", &[("id", "reading"), ("class", "reading")], "");
    });
    html.within("div", &[("id", "panel"), ("class", "panel")], |_| {});
    html.within("details", &[("class", "keys"), ("id", "keys")], |html| {
        html.element("summary", &[], "Keys and gestures");
        html.within("dl", &[], |html| {
            for (key, what) in KEYS {
                html.element("dt", &[], key);
                html.element("dd", &[], what);
            }
        });
    });
}

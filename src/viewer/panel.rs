//! The panel beside the picture.

use super::camera::Look;
use super::keys::Asked;
use super::reading::times;
use super::renderer::{font, ink};
use super::view::{ColourBy, View};
use super::{Rebuilt, Suspicion};
use crate::maths::quantity::count_of;
use crate::products::scene::Space;
use crate::products::scene::palette::{ALERT, category};
use kiss3d::egui::{self, Context, RichText, Ui};

/// Pixels that the panel takes at the left.
pub(super) const WIDE: f32 = 232.0;
/// The library takes a notch of the wheel for ten points, half a line.
pub(super) const WHEEL: f32 = 4.0;

/// The panel; gives what was asked of the window. Misclosures are `magnified` so many times now.
pub(super) fn panel(
    context: &Context,
    view: &mut View,
    rebuilt: &Rebuilt,
    magnified: f64,
) -> Asked {
    let mut asked = Asked::Nothing;
    let high = context.content_rect().height();
    egui::Window::new("panel")
        .title_bar(false)
        .resizable(false)
        .movable(false)
        .fixed_pos([0.0, 0.0])
        .frame(egui::Frame::NONE.fill(egui::Color32::from_gray(247)).inner_margin(10.0))
        .show(context, |ui| {
            ui.set_width(WIDE - 20.0);
            ui.spacing_mut().slider_width = 60.0;
            ui.set_height(high - 20.0);
            let wheel = egui::Vec2::splat(WHEEL);
            let scroll = egui::ScrollArea::vertical().wheel_scroll_multiplier(wheel);
            scroll.show(ui, |ui| {
                asked = looks(ui, view, &rebuilt.space);
                doings(ui, &mut asked);
                colours(ui, view);
                layers(ui, view, magnified);
                suspects(ui, view, &rebuilt.suspicions, &mut asked);
                warnings(ui, &rebuilt.warnings);
                trails(ui, view, rebuilt, &mut asked);
            });
        });
    asked
}

/// Before the list of trails, which may be longer than the window is high.
fn doings(ui: &mut Ui, asked: &mut Asked) {
    ui.add_space(2.0);
    ui.horizontal(|ui| {
        if ui.small_button("save a picture").clicked() {
            *asked = Asked::Save;
        }
        if ui.small_button("keys").clicked() {
            *asked = Asked::Help;
        }
    });
}

fn head(ui: &mut Ui, text: &str) {
    ui.add_space(8.0);
    ui.label(RichText::new(text).font(font(13.0, true)));
}

fn looks(ui: &mut Ui, view: &mut View, space: &Space) -> Asked {
    let has_north = view.has_north(space);
    let mut asked = Asked::Nothing;
    ui.label(RichText::new("look").font(font(13.0, true)));
    ui.horizontal_wrapped(|ui| {
        for look in Look::ALL {
            if ui.small_button(look.words(has_north)).clicked() {
                view.eye = view.eye.turned_to(look);
                asked = Asked::Fit;
            }
        }
        if ui.small_button("fit all").clicked() {
            asked = Asked::Fit;
        }
    });
    asked
}

fn colours(ui: &mut Ui, view: &mut View) {
    head(ui, "colour by");
    egui::ComboBox::from_id_salt("colour").selected_text(view.colour.name()).show_ui(ui, |ui| {
        for by in ColourBy::ALL {
            ui.selectable_value(&mut view.colour, by, by.name());
        }
    });
}

fn layers(ui: &mut Ui, view: &mut View, magnified: f64) {
    head(ui, "show");
    let layers = &mut view.layers;
    for (on, words) in [
        (&mut layers.drops, "plumb lines and ground trace"),
        (&mut layers.grid, "metre grid"),
        (&mut layers.labels, "names"),
        (&mut layers.trunks, "tree trunks"),
        (&mut layers.ellipsoids, "ellipsoids of 95 %"),
        (&mut layers.raw, "raw beside adjusted"),
        (&mut layers.misclosures, "misclosures"),
    ] {
        ui.checkbox(on, words);
    }
    if layers.misclosures {
        let mut magnified = magnified;
        let words = drawn("misclosures", magnified);
        let slider = egui::Slider::new(&mut magnified, 1.0..=50.0).logarithmic(true);
        if ui.add(slider.show_value(false).text(words)).changed() {
            view.magnified = Some(magnified);
        }
    }
    let words = drawn("heights", view.stretch);
    let slider = egui::Slider::new(&mut view.stretch, 1.0..=5.0).step_by(0.5);
    ui.add(slider.show_value(false).text(words));
}

/// How many times larger something is drawn: `heights 2 times`.
fn drawn(what: &str, value: f64) -> String {
    let is_own = (value - 1.0).abs() < 0.005;
    if is_own { format!("{what} as they are") } else { format!("{what} {}", times(value)) }
}

fn suspects(ui: &mut Ui, view: &mut View, suspicions: &[Suspicion], asked: &mut Asked) {
    if suspicions.is_empty() {
        return;
    }
    head(ui, "suspect readings");
    for (at, suspicion) in suspicions.iter().enumerate() {
        let first = suspicion.words.lines().next().unwrap_or_default().trim();
        let tried = view.tried == Some(at);
        let text = RichText::new(first).font(font(11.0, false)).color(ink(ALERT));
        if ui.selectable_label(tried, text).on_hover_text("the path as it would be").clicked() {
            view.tried = (!tried).then_some(at);
            *asked = Asked::Suspect;
        }
    }
}

fn trails(ui: &mut Ui, view: &mut View, rebuilt: &Rebuilt, asked: &mut Asked) {
    let trails = &rebuilt.space.scene.trails;
    if trails.is_empty() {
        return;
    }
    head(ui, "trails");
    ui.horizontal(|ui| {
        if ui.small_button("all").clicked() {
            view.hidden.clear();
            *asked = Asked::Fit;
        }
        if ui.small_button("none").clicked() {
            view.hidden = trails.iter().map(|trail| trail.name.clone()).collect();
        }
    });
    for (at, trail) in trails.iter().enumerate() {
        let mut on = view.shows(&trail.name);
        let animal = trail.animal.as_deref().unwrap_or_default();
        let mut text = RichText::new(format!("{}  {animal}", trail.name));
        if view.colour == ColourBy::Trail {
            text = text.color(ink(category(at).colour)).strong();
        }
        let row = ui.checkbox(&mut on, text);
        if row.clicked() {
            view.toggle(&trail.name);
        }
        if row.double_clicked() {
            let others = trails.iter().filter(|other| other.name != trail.name);
            view.hidden = others.map(|other| other.name.clone()).collect();
            *asked = Asked::Fit;
        }
        row.on_hover_text("double click: this one alone");
    }
}

fn warnings(ui: &mut Ui, warnings: &[String]) {
    if warnings.is_empty() {
        return;
    }
    ui.add_space(8.0);
    ui.collapsing(count_of(warnings.len(), "warning"), |ui| {
        for warning in warnings {
            ui.label(RichText::new(warning.trim_end()).font(font(11.0, false)));
        }
    });
}

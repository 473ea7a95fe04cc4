//! The panel beside the picture, and the small windows over it.

use super::eye::Look;
use super::keys::{Asked, FIRST, KEYS};
use super::stage::{font, ink};
use super::view::{ColourBy, View};
use super::{Rebuilt, Suspicion};
use crate::quantity::count_of;
use crate::scene::palette::{ALERT, QUIET, category};
use kiss3d::egui::{self, Align2, Context, RichText, Ui};

/// Pixels that the panel takes at the left.
pub(super) const WIDE: f32 = 232.0;

/// What is said besides the space.
#[derive(Debug, Default)]
pub(super) struct Said {
    /// The faults that keep the survey from being rebuilt.
    pub(super) faults: Vec<String>,
    /// Whether the survey is not there any more.
    pub(super) gone: bool,
    /// The last thing that happened.
    pub(super) news: Option<String>,
    /// Whether the keys are shown.
    pub(super) help: bool,
    /// Whether nothing has been done yet.
    pub(super) first: bool,
}

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
            ui.spacing_mut().slider_width = 70.0;
            ui.set_height(high - 20.0);
            egui::ScrollArea::vertical().show(ui, |ui| {
                asked = looks(ui, view);
                colours(ui, view);
                layers(ui, view, magnified);
                suspects(ui, view, &rebuilt.suspicions, &mut asked);
                trails(ui, view, rebuilt);
                warnings(ui, &rebuilt.warnings);
                ui.add_space(8.0);
                ui.horizontal(|ui| {
                    if ui.button("save a picture").clicked() {
                        asked = Asked::Save;
                    }
                    if ui.button("keys").clicked() {
                        asked = Asked::Help;
                    }
                });
            });
        });
    asked
}

fn head(ui: &mut Ui, text: &str) {
    ui.add_space(8.0);
    ui.label(RichText::new(text).font(font(13.0, true)));
}

fn looks(ui: &mut Ui, view: &mut View) -> Asked {
    let mut asked = Asked::Nothing;
    ui.label(RichText::new("look").font(font(13.0, true)));
    ui.horizontal_wrapped(|ui| {
        for look in Look::ALL {
            if ui.small_button(look.words()).clicked() {
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
        let mut times = magnified;
        let slider = egui::Slider::new(&mut times, 1.0..=50.0).logarithmic(true);
        if ui.add(slider.text("× length")).changed() {
            view.magnified = Some(times);
        }
    }
    ui.add(egui::Slider::new(&mut view.stretch, 1.0..=5.0).step_by(0.5).text("× heights"));
}

fn suspects(ui: &mut Ui, view: &mut View, suspicions: &[Suspicion], asked: &mut Asked) {
    if suspicions.is_empty() {
        return;
    }
    head(ui, "readings to look at");
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

fn trails(ui: &mut Ui, view: &mut View, rebuilt: &Rebuilt) {
    head(ui, "trails");
    let trails = &rebuilt.space.scene.trails;
    ui.horizontal(|ui| {
        if ui.small_button("all").clicked() {
            view.hidden.clear();
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

/// A window over the picture at one of its edges.
fn note(context: &Context, name: &str, at: Align2, add: impl FnOnce(&mut Ui)) {
    let off = |edge: egui::Align| match edge {
        egui::Align::Min => 14.0,
        egui::Align::Center => 0.0,
        egui::Align::Max => -14.0,
    };
    let left = if at.x() == egui::Align::Max { 0.0 } else { WIDE };
    let middle = if at.x() == egui::Align::Center { 0.5 } else { 1.0 };
    egui::Window::new(name)
        .title_bar(false)
        .resizable(false)
        .movable(false)
        .anchor(at, [off(at.x()) + middle * left, off(at.y())])
        .show(context, |ui| add(ui));
}

/// What was clicked, and where the walk has come to.
pub(super) fn reading(context: &Context, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    note(context, "reading", Align2::RIGHT_TOP, |ui| {
        ui.set_max_width(280.0);
        for line in lines {
            let heading =
                line.contains(", anchor ") || line.contains(", leg ") || line.starts_with("from ");
            ui.label(RichText::new(line).font(font(13.0, heading)));
        }
    });
}

/// What happened to a reading that is tried on.
pub(super) fn tried(context: &Context, view: &View, suspicions: &[Suspicion]) {
    let Some(suspicion) = view.tried.and_then(|at| suspicions.get(at)) else { return };
    note(context, "tried", Align2::CENTER_TOP, |ui| {
        ui.set_max_width(560.0);
        for line in suspicion.words.lines() {
            ui.label(RichText::new(line.trim()).color(ink(ALERT)));
        }
        let would = if suspicion.would_be.is_empty() {
            "no single slip explains it, so there is no other path to show"
        } else {
            "dashed: the path as it would be with that reading"
        };
        ui.label(RichText::new(would).color(ink(QUIET)));
    });
}

/// Faults, news, and the line at first sight.
pub(super) fn said(context: &Context, said: &mut Said) {
    if said.gone {
        note(context, "gone", Align2::CENTER_CENTER, |ui| {
            ui.label("The survey is not there any more. Its last path stays until it comes back.");
        });
    } else if !said.faults.is_empty() {
        note(context, "faults", Align2::CENTER_BOTTOM, |ui| {
            ui.set_max_width(720.0);
            let errors = count_of(said.faults.len(), "fault");
            let head = format!("The tables have errors ({errors}); correct them and save.");
            ui.label(RichText::new(head).font(font(14.0, true)).color(ink(ALERT)));
            egui::ScrollArea::vertical().max_height(340.0).show(ui, |ui| {
                for fault in &said.faults {
                    ui.label(RichText::new(fault.trim_end()).font(font(12.0, false)));
                }
            });
        });
    } else if let Some(news) = &said.news {
        note(context, "news", Align2::CENTER_BOTTOM, |ui| {
            ui.label(news);
        });
    } else if said.first {
        note(context, "first", Align2::CENTER_BOTTOM, |ui| {
            ui.add(egui::Label::new(FIRST).wrap_mode(egui::TextWrapMode::Extend));
        });
    }
    if said.help {
        note(context, "keys", Align2::CENTER_CENTER, |ui| {
            egui::Grid::new("keys").num_columns(2).spacing([18.0, 5.0]).show(ui, |ui| {
                for (key, does) in KEYS {
                    ui.label(RichText::new(key).font(font(13.0, true)));
                    ui.add(egui::Label::new(does).wrap_mode(egui::TextWrapMode::Extend));
                    ui.end_row();
                }
            });
            if ui.button("close").clicked() {
                said.help = false;
            }
        });
    }
}

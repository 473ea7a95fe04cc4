//! The small windows over the picture: what was clicked, what is tried on, faults, news, the keys.

use super::Suspicion;
use super::keys::{FIRST, KEYS};
use super::panel::{WHEEL, WIDE};
use super::renderer::{font, ink, width};
use super::view::View;
use crate::maths::quantity::count_of;
use crate::products::scene::palette::{ALERT, QUIET};
use kiss3d::egui::{self, Align2, Context, RichText, Ui};

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

/// Points across that the key to the keys takes at the most.
const KEYS_WIDE: f32 = 620.0;

/// Points across that the panel leaves to a note.
fn room(context: &Context) -> f32 {
    (context.content_rect().width() - WIDE - 48.0).max(120.0)
}

/// What was clicked, and where the walk has come to.
pub(super) fn reading(context: &Context, lines: &[String]) {
    if lines.is_empty() {
        return;
    }
    note(context, "reading", Align2::RIGHT_TOP, |ui| {
        ui.set_max_width(room(context).min(340.0));
        for (at, line) in lines.iter().enumerate() {
            let heading =
                line.contains(", anchor ") || line.contains(", leg ") || line.starts_with("from ");
            if heading && at > 0 {
                ui.add_space(6.0);
            }
            ui.label(RichText::new(line).font(font(13.0, heading)));
        }
    });
}

/// What happened to a reading that is tried on.
pub(super) fn tried(context: &Context, view: &View, suspicions: &[Suspicion]) {
    let Some(suspicion) = view.tried.and_then(|at| suspicions.get(at)) else { return };
    note(context, "tried", Align2::CENTER_TOP, |ui| {
        ui.set_max_width(room(context).min(560.0));
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

/// Faults, news, and the line at first sight. Where nothing `is_drawn`, faults have the whole room.
pub(super) fn said(context: &Context, said: &mut Said, is_drawn: bool) {
    let high = context.content_rect().height();
    if said.gone {
        note(context, "gone", Align2::CENTER_BOTTOM, |ui| {
            ui.set_max_width(room(context));
            ui.label("The survey is not there any more. Its last path stays until it comes back.");
        });
    } else if !said.faults.is_empty() {
        let at = if is_drawn { Align2::CENTER_BOTTOM } else { Align2::CENTER_CENTER };
        let most = if is_drawn { 0.45 * high } else { high - 90.0 };
        note(context, "faults", at, |ui| {
            ui.set_max_width(room(context).min(720.0));
            let errors = count_of(said.faults.len(), "fault");
            let head = format!("The tables have errors ({errors}); correct them and save.");
            ui.label(RichText::new(head).font(font(14.0, true)).color(ink(ALERT)));
            let most = most.max(80.0);
            let scroll = egui::ScrollArea::vertical().max_height(most).min_scrolled_height(most);
            scroll.wheel_scroll_multiplier(egui::Vec2::splat(WHEEL)).show(ui, |ui| {
                for fault in &said.faults {
                    for (at, line) in fault.lines().enumerate() {
                        self::fault(ui, at, line);
                    }
                    ui.add_space(5.0);
                }
            });
        });
    } else if let Some(news) = &said.news {
        note(context, "news", Align2::CENTER_BOTTOM, |ui| {
            ui.set_max_width(room(context));
            ui.label(news);
        });
    } else if said.first {
        note(context, "first", Align2::CENTER_BOTTOM, |ui| {
            #[expect(clippy::cast_possible_truncation, reason = "pixels")]
            let wide = width(context, 13.0, FIRST, false).ceil() as f32;
            ui.set_width(room(context).min(wide));
            ui.label(RichText::new(FIRST).font(font(13.0, false)));
        });
    }
    if said.help {
        note(context, "keys", Align2::CENTER_CENTER, |ui| {
            ui.set_width(room(context).min(KEYS_WIDE));
            let most = (high - 100.0).max(80.0);
            let scroll = egui::ScrollArea::both().max_height(most).min_scrolled_height(most);
            scroll.wheel_scroll_multiplier(egui::Vec2::splat(WHEEL)).show(ui, keys);
            if ui.button("close").clicked() {
                said.help = false;
            }
        });
    }
}

/// One line of a fault. What is found, expected and hinted stands in columns, which the terminal makes
/// with spaces and letters of unequal width do not.
fn fault(ui: &mut Ui, at: usize, line: &str) {
    let text = |words: &str, bold: bool| RichText::new(words).font(font(12.0, bold));
    let (head, rest) = line.trim_start().split_once(' ').unwrap_or((line, ""));
    if at == 0 || !line.starts_with(' ') {
        ui.label(text(line, true));
        return;
    }
    ui.horizontal_top(|ui| {
        ui.spacing_mut().item_spacing.x = 0.0;
        let (place, _) = ui.allocate_exact_size(egui::vec2(72.0, 14.0), egui::Sense::hover());
        let painter = ui.painter();
        let at = place.left_top() + egui::vec2(12.0, 0.0);
        painter.text(at, Align2::LEFT_TOP, head, font(12.0, false), ink(QUIET));
        ui.add(egui::Label::new(text(rest.trim_start(), false)).wrap());
    });
}

fn keys(ui: &mut Ui) {
    egui::Grid::new("keys").num_columns(2).spacing([18.0, 5.0]).show(ui, |ui| {
        for (key, does) in KEYS {
            ui.label(RichText::new(key).font(font(13.0, true)));
            ui.add(egui::Label::new(does).wrap_mode(egui::TextWrapMode::Extend));
            ui.end_row();
        }
    });
}

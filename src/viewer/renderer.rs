//! Marks and words handed to the library that draws. One node a shape, and all marks of that shape as
//! its instances, so that a picture is four draws however many legs there are.

use super::camera::{Eye, Place};
use super::line_mesh::rod;
use super::marks::{Ball, Marks, Tube};
use super::material::Matt;
use super::overlay::{Align, Overlay, Text};
use crate::products::fonts::Weight;
use crate::products::scene::palette::{Colour, PAPER};
use kiss3d::camera::Camera3d;
use kiss3d::color::Color;
use kiss3d::egui;
use kiss3d::event::WindowEvent;
use kiss3d::glamx::{Mat3, Mat4, Pose3, Quat, Vec3, Vec4};
use kiss3d::light::{Light, LightType};
use kiss3d::post_processing::Tonemap;
use kiss3d::scene::{InstanceData3d, SceneNode3d};
use kiss3d::window::{Canvas, Window};
use std::f32::consts::PI;
use std::rc::Rc;
use std::sync::Arc;

/// Light that comes from everywhere, of 1; the rest comes from beside the onlooker, so that what
/// faces the light has its true colour.
const AMBIENT: f32 = 0.58;
/// Sides of a tube, which is a few pixels wide at any scale.
const SIDES: u32 = 6;
/// More tubes than this are drawn as thin lines are: each then is hardly wider than one.
const MANY: usize = 20_000;
/// Paths are seen through ellipsoids.
const CLOUD_ALPHA: f32 = 0.3;
/// Behind words that are chosen on the panel: red ones can be read on it.
const CHOSEN: Colour = Colour(0xfb, 0xec, 0xcf);
/// Where the light stands beside the onlooker: across, up, towards.
const LIGHT_FROM: [f64; 3] = [-0.35, 0.45, 1.0];

/// What stands in the picture.
pub(super) struct Stage {
    pub(super) root: SceneNode3d,
    tubes: SceneNode3d,
    lines: SceneNode3d,
    beads: SceneNode3d,
    clouds: SceneNode3d,
    light: SceneNode3d,
    /// How far marks lie from the origin, metres.
    pub(super) reach: f64,
}

#[expect(clippy::cast_possible_truncation, reason = "a driver takes single precision")]
pub(super) fn single(place: Place) -> Vec3 {
    Vec3::new(place[0] as f32, place[1] as f32, place[2] as f32)
}

/// A colour as light: the library encodes with an exponent of 1 / 2.2.
fn light_of(Colour(r, g, b): Colour) -> Color {
    let linear = |channel: u8| (f32::from(channel) / 255.0).powf(2.2);
    Color::new(linear(r), linear(g), linear(b), 1.0)
}

pub(super) fn ink(Colour(r, g, b): Colour) -> egui::Color32 {
    egui::Color32::from_rgb(r, g, b)
}

impl Stage {
    pub(super) fn new() -> Self {
        let mut root = SceneNode3d::empty();
        let paint = Matt::for_nodes();
        let tubes =
            SceneNode3d::cylinder_with_subdiv(1.0, 1.0, SIDES).set_material(Rc::clone(&paint));
        let lines = rod().set_material(Rc::clone(&paint));
        let beads = SceneNode3d::sphere_with_subdiv(1.0, 14, 10).set_material(paint);
        let mut clouds = SceneNode3d::sphere_with_subdiv(1.0, 20, 14);
        clouds.set_roughness(1.0);
        clouds.set_reflectance(0.0);
        clouds.set_color(Color::new(1.0, 1.0, 1.0, CLOUD_ALPHA));
        for node in [&tubes, &lines, &beads, &clouds] {
            root.add_child(node.clone());
        }
        let light =
            root.add_light(Light::directional(Vec3::NEG_Z).with_intensity((1.0 - AMBIENT) * PI));
        Self { root, tubes, lines, beads, clouds, light, reach: 1.0 }
    }

    /// Replaces what stands in the picture.
    pub(super) fn show(&mut self, marks: &Marks) {
        let round = if marks.tubes.len() > MANY { 0 } else { marks.tubes.len() };
        let (tubes, slim) = marks.tubes.split_at(round);
        let lines = || marks.lines.iter().chain(slim);
        let balls = |all: &[Ball]| all.iter().map(ball).collect::<Vec<_>>();
        fill(&mut self.tubes, &tubes.iter().filter_map(tube).collect::<Vec<_>>());
        fill(&mut self.lines, &lines().filter_map(tube).collect::<Vec<_>>());
        fill(&mut self.beads, &balls(&marks.beads));
        fill(&mut self.clouds, &balls(&marks.clouds));
        let ends = tubes.iter().chain(lines()).flat_map(|tube| tube.ends);
        let far = ends.filter(|place| place.iter().all(|x| x.is_finite()));
        self.reach = far.map(|p| p[0].hypot(p[1]).hypot(p[2])).fold(1.0, f64::max);
    }

    /// Turns the light to the onlooker.
    pub(super) fn light_for(&mut self, eye: &Eye) {
        let axes = eye.axes();
        let [across, up, towards] = LIGHT_FROM;
        let from =
            [0, 1, 2].map(|k| across * axes.across[k] + up * axes.up[k] - towards * axes.into[k]);
        self.light.modify_light(|light| {
            light.light_type = LightType::Directional(-single(from).normalize());
        });
    }
}

fn fill(node: &mut SceneNode3d, instances: &[InstanceData3d]) {
    node.set_visible(!instances.is_empty());
    // The library prepares for what can be seen through as long as a node could show such.
    node.set_surface_rendering_activation(!instances.is_empty());
    if !instances.is_empty() {
        node.set_instances(instances);
    }
}

/// The library's cylinder stands along its second axis, one long.
fn tube(tube: &Tube) -> Option<InstanceData3d> {
    let [a, b] = tube.ends.map(single);
    let along = b - a;
    let unit = along.try_normalize()?;
    #[expect(clippy::cast_possible_truncation, reason = "a driver takes single precision")]
    let radius = tube.radius as f32;
    let side = unit.any_orthonormal_vector();
    let other = side.cross(unit);
    Some(InstanceData3d {
        position: (a + b) * 0.5,
        deformation: Mat3::from_cols(side * radius, along, other * radius),
        color: light_of(tube.colour),
        ..Default::default()
    })
}

fn ball(ball: &Ball) -> InstanceData3d {
    let [x, y, z] = ball.axes.map(single);
    InstanceData3d {
        position: single(ball.middle),
        deformation: Mat3::from_cols(x, y, z),
        color: light_of(ball.colour),
        ..Default::default()
    }
}

/// The onlooker, as the library wants one.
pub(super) struct Camera {
    pub(super) eye: Eye,
    /// How far marks lie from the origin, metres.
    pub(super) reach: f64,
    size: [u32; 2],
}

impl Camera {
    pub(super) fn new(eye: Eye, size: [u32; 2]) -> Self {
        Self { eye, reach: 1.0, size }
    }

    /// Metres from the onlooker to what stands in the middle.
    fn distance(&self) -> f64 {
        let [e, n, u] = self.eye.target;
        1.5 * (self.reach + e.hypot(n).hypot(u)) + 10.0
    }

    fn projection(&self) -> Mat4 {
        let [near, far] = [0.1, 2.0 * self.distance()];
        let high = self.eye.metres_high;
        let wide = high * f64::from(self.size[0]) / f64::from(self.size[1].max(1));
        #[expect(clippy::cast_possible_truncation, reason = "a driver takes single precision")]
        let column =
            |x: f64, y: f64, z: f64, w: f64| Vec4::new(x as f32, y as f32, z as f32, w as f32);
        Mat4::from_cols(
            column(2.0 / wide, 0.0, 0.0, 0.0),
            column(0.0, 2.0 / high, 0.0, 0.0),
            column(0.0, 0.0, -1.0 / (far - near), 0.0),
            column(0.0, 0.0, -near / (far - near), 1.0),
        )
    }
}

impl Camera3d for Camera {
    fn handle_event(&mut self, _: &Canvas, event: &WindowEvent) {
        if let WindowEvent::FramebufferSize(wide, high) = *event {
            self.size = [wide, high];
        }
    }

    fn eye(&self) -> Vec3 {
        let into = self.eye.axes().into;
        let distance = self.distance();
        single([0, 1, 2].map(|k| self.eye.target[k] - distance * into[k]))
    }

    fn view_transform(&self) -> Pose3 {
        let axes = self.eye.axes();
        let [across, up, back] = [single(axes.across), single(axes.up), -single(axes.into)];
        let rotation = Quat::from_mat3(&Mat3::from_cols(across, up, back).transpose());
        Pose3::from_parts(-(rotation * self.eye()), rotation)
    }

    fn transformation(&self) -> Mat4 {
        self.projection() * self.view_transform().to_mat4()
    }

    fn inverse_transformation(&self) -> Mat4 {
        self.transformation().inverse()
    }

    fn clip_planes(&self) -> (f32, f32) {
        #[expect(clippy::cast_possible_truncation, reason = "a driver takes single precision")]
        let far = (2.0 * self.distance()) as f32;
        (0.1, far)
    }

    fn update(&mut self, _: &Canvas) {}

    fn view_transform_pair(&self, _: usize) -> (Pose3, Mat4) {
        (self.view_transform(), self.projection())
    }
}

/// White paper, even light, no shadows: without the last the library would still keep half a
/// gigabyte for them.
pub(super) fn dress(window: &mut Window) {
    window.set_background_color(light_of(PAPER));
    window.set_ambient(AMBIENT);
    window.set_tonemap(Tonemap::None);
    window.set_bloom_enabled(false);
    window.set_shadows_enabled(false);
    window.set_shadow_resolution(16);
    window.set_shadow_atlas_layers(1);
    let context = window.egui_context();
    context.set_fonts(fonts());
    context.set_theme(egui::Theme::Light);
    context.all_styles_mut(|style| {
        style.animation_time = 0.0;
        style.visuals.window_shadow = egui::Shadow::NONE;
        style.visuals.selection.bg_fill = ink(CHOSEN);
    });
}

const BOLD: &str = "bold";

/// The letters of the figures.
fn fonts() -> egui::FontDefinitions {
    let mut fonts = egui::FontDefinitions::default();
    let faces = [("regular", Weight::Regular), (BOLD, Weight::Bold)];
    for (name, weight) in faces {
        let data = Arc::new(egui::FontData::from_static(weight.bytes()));
        fonts.font_data.insert(name.to_owned(), data);
    }
    let known = fonts.families.entry(egui::FontFamily::Proportional).or_default();
    known.insert(0, "regular".to_owned());
    let mut bold = known.clone();
    bold.insert(0, BOLD.to_owned());
    fonts.families.insert(egui::FontFamily::Name(BOLD.into()), bold);
    fonts
}

/// A font as high as `points`.
pub(super) fn font(points: f32, bold: bool) -> egui::FontId {
    let family =
        if bold { egui::FontFamily::Name(BOLD.into()) } else { egui::FontFamily::Proportional };
    egui::FontId::new(points, family)
}

/// How wide a text is.
pub(super) fn width(context: &egui::Context, points: f32, text: &str, bold: bool) -> f64 {
    let galley = context.fonts_mut(|fonts| {
        fonts.layout_no_wrap(text.to_owned(), font(points, bold), egui::Color32::BLACK)
    });
    f64::from(galley.size().x)
}

/// Writes over the picture; `scale` pixels are one of the context's points.
pub(super) fn paint(context: &egui::Context, overlay: &Overlay, points: f32) {
    let painter = context.layer_painter(egui::LayerId::background());
    for stroke in &overlay.strokes {
        let ends = stroke.ends.map(spot);
        #[expect(clippy::cast_possible_truncation, reason = "pixels")]
        painter.line_segment(ends, (stroke.width as f32, ink(stroke.colour)));
    }
    for text in &overlay.texts {
        write(&painter, text, points);
    }
}

#[expect(clippy::cast_possible_truncation, reason = "pixels")]
fn spot([x, y]: [f64; 2]) -> egui::Pos2 {
    egui::pos2(x as f32, y as f32)
}

/// A text with a halo of paper, so that it can be read over a line: the text itself, moved to four
/// corners. Every one of them is painted whole.
fn write(painter: &egui::Painter, text: &Text, points: f32) {
    let align = match text.align {
        Align::Left => egui::Align2::LEFT_CENTER,
        Align::Middle => egui::Align2::CENTER_CENTER,
        Align::Right => egui::Align2::RIGHT_CENTER,
    };
    let at = spot(text.at);
    let wide = 0.09 * points;
    for (x, y) in [(-1., -1.), (1., -1.), (-1., 1.), (1., 1.)] {
        let near = at + egui::vec2(x, y) * wide;
        painter.text(near, align, &text.text, font(points, text.bold), ink(PAPER));
    }
    painter.text(at, align, &text.text, font(points, text.bold), ink(text.colour));
}

//! A surface without a display, on which pictures are drawn.

use super::camera::Eye;
use super::marks::Marks;
use super::overlay::{Overlay, Setting};
use super::renderer::{Camera, Stage, dress, paint, width};
use super::snapshot::{LINE, letters};
use kiss3d::window::{NumSamples, OffscreenSurface};

/// The surface, and what stands in the picture.
pub(super) struct Sheet {
    surface: OffscreenSurface,
    stage: Stage,
    size: [u32; 2],
}

impl Sheet {
    /// One of so many pixels across and down, with smooth edges.
    pub(super) async fn of(size: [u32; 2]) -> Self {
        let mut surface = OffscreenSurface::new(size[0], size[1]).await;
        surface.set_samples(NumSamples::Four);
        dress(surface.window_mut());
        Self { surface, stage: Stage::new(), size }
    }

    /// Replaces the marks.
    pub(super) fn put(&mut self, marks: &Marks) {
        self.stage.show(marks);
    }

    /// Draws the marks as `eye` sees them, and `over` over them.
    pub(super) async fn draw(&mut self, eye: Eye, over: &dyn Fn(Setting<'_>) -> Overlay) {
        self.stage.light_for(&eye);
        let mut camera = Camera::new(eye, self.size);
        camera.reach = self.stage.reach;
        let points = letters(self.size.map(f64::from));
        self.surface.draw_ui(|context| {
            let setting = Setting {
                line: LINE * f64::from(points),
                width: &|text, bold| width(context, points, text, bold),
                left: 0.0,
            };
            paint(context, &over(setting), points);
        });
        self.surface.render_3d(&mut self.stage.root, &mut camera).await;
    }

    /// The pixels of the last picture, three bytes each, from the lower left.
    pub(super) fn pixels(&self) -> Vec<u8> {
        let mut out = Vec::new();
        self.surface.snap(&mut out);
        out
    }

    /// Waits until the last picture is drawn: a driver is handed work and goes on with it by itself.
    pub(super) fn wait(&self) {
        let mut corner = Vec::new();
        self.surface.snap_rect(&mut corner, 0, 0, 1, 1);
    }
}

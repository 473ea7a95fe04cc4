//! The view: a survey's space in a window that follows the files, or in a picture without a display.
//!
//! In: a [`Space`] with what is doubted of it, and a [`Source`] that reads it again. Out: a window,
//! or the bytes of a PNG. All that can be decided without a graphics driver is decided by plain
//! functions: what is shown ([`view`]), from where ([`camera`]), as which marks ([`marks`]) and words
//! ([`overlay`]), what a click means ([`picking`]), when to read again ([`follow`]). Only `renderer`,
//! `offscreen`, `snapshot`, `window`, `app`, `running`, `repaint`, `pointer`, `panel` and `notes` know the library that
//! draws.
//! Assumes a parallel projection, so that one scale bar holds everywhere.
//! Left out: files and clocks (`cli` reads and writes), and every computation on the survey.

pub mod annotations;
mod app;
pub mod camera;
pub mod colouring;
pub mod follow;
mod grid;
pub mod keys;
pub mod layout;
mod line_mesh;
pub mod marks;
mod material;
mod names;
mod notes;
mod offscreen;
pub mod overlay;
mod panel;
mod paths;
pub mod picking;
mod plans;
mod pointer;
pub mod reading;
mod renderer;
mod repaint;
mod running;
mod snapshot;
pub mod view;
pub mod walk;
mod window;

pub use snapshot::{Refused, framed, is_black, snapshot, turning};
pub use window::window;

use crate::products::scene::{Scene, Space};
use camera::Place;
use std::collections::BTreeMap;

/// A reading that does not fit, as the view shows it.
#[derive(Clone, Debug)]
pub struct Suspicion {
    /// The measured line, where it lies along one.
    pub line: Option<usize>,
    /// Its two nodes; one twice where it is a reading at a node.
    pub nodes: [usize; 2],
    /// What probably happened, in words, with the cell.
    pub words: String,
    /// Where the points of each path of the space would be with that reading.
    pub would_be: BTreeMap<usize, Vec<Place>>,
}

/// A survey as it was read.
#[derive(Debug)]
pub enum Outcome {
    /// It could be rebuilt.
    Rebuilt(Box<Rebuilt>),
    /// It has errors: each in words.
    Faults(Vec<String>),
}

/// A survey rebuilt.
#[derive(Debug)]
pub struct Rebuilt {
    /// Its space.
    pub space: Space,
    /// What is doubted of it.
    pub suspicions: Vec<Suspicion>,
    /// Warnings and notes, in words.
    pub warnings: Vec<String>,
}

impl Rebuilt {
    /// A survey without any path.
    pub(crate) fn empty() -> Self {
        let scene = Scene { trails: Vec::new(), unsettled: Vec::new(), edges: Vec::new() };
        let (trails, misclosures, supports) = (Vec::new(), Vec::new(), Vec::new());
        let space = Space { scene, trails, misclosures, supports, groups: None };
        Self { space, suspicions: Vec::new(), warnings: Vec::new() }
    }
}

/// Where a survey is read again from.
pub trait Source: Send {
    /// What tells whether a file has changed.
    type Stamp: PartialEq + Clone + Send;
    /// What the system says of the files; `None` where the survey is not there.
    fn stamp(&self) -> Option<Self::Stamp>;
    /// The survey read anew. Failures of the machine are told as faults.
    fn read(&self) -> Outcome;
    /// Saves a picture and says where, or why not.
    fn save(&self, png: &[u8]) -> String;
}

/// The trail and points between which a suspicion lies in a space.
pub(crate) fn space_of(space: &Space, suspicion: &Suspicion) -> Option<(usize, usize, usize)> {
    let by_line = space.trails.iter().enumerate().find_map(|(at, trail)| {
        let leg = trail.legs.iter().find(|leg| leg.line.is_some() && leg.line == suspicion.line)?;
        Some((at, leg.from, leg.to))
    });
    by_line.or_else(|| {
        space.trails.iter().enumerate().find_map(|(at, trail)| {
            let point = |node: usize| trail.points.iter().position(|point| point.node == node);
            let [from, to] = suspicion.nodes;
            Some((at, point(from)?, point(to)?))
        })
    })
}

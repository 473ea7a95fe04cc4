//! What trails and anchors are called, and which trails were asked for.

use super::Analysis;
use crate::adjustment::path::Path;

impl Analysis {
    /// A trail's name.
    pub fn trail_name(&self, trail: usize) -> &str {
        self.survey.text(self.network.trails[trail].name)
    }

    /// A node's name.
    pub fn node_name(&self, node: usize) -> &str {
        self.survey.text(self.network.nodes[node].name)
    }

    /// The paths that were asked for.
    pub fn shown_paths(&self) -> impl Iterator<Item = &Path> {
        self.paths.iter().filter(|path| self.shown[path.trail])
    }

    /// The row of the trails table that names a path's trail.
    pub fn listed(&self, path: &Path) -> Option<usize> {
        self.network.trails[path.trail].listed
    }

    /// Whether any of these trails was asked for.
    pub(super) fn shows(&self, trails: &[usize]) -> bool {
        trails.iter().any(|&trail| self.shown[trail])
    }
}

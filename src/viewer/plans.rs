//! What must be said of trails that have no plan, or none with a north.

use super::marks::Shown;
use super::view::View;
use crate::maths::quantity::count_of;
use crate::products::scene::{Space, TrailScene};

/// More names than this are counted.
const FEW: usize = 3;

impl View {
    /// Whether some trail that is shown has a north.
    pub fn has_north(&self, space: &Space) -> bool {
        space.scene.trails.iter().any(|trail| trail.oriented && self.shows(&trail.name))
    }
}

impl Shown<'_> {
    /// One note for the trails without a plan, one for those without a north.
    pub(super) fn plan_notes(&self) -> Vec<String> {
        let named = |which: fn(&TrailScene) -> bool| {
            let trails = self.trails().map(|trail| &self.space.scene.trails[trail]);
            let names: Vec<&str> =
                trails.filter(|trail| which(trail)).map(|trail| trail.name.as_str()).collect();
            match names.len() {
                0 => None,
                n if n > FEW => Some(count_of(n, "trail")),
                _ => Some(names.join(", ")),
            }
        };
        let unrolled = named(|trail| !trail.has_plan).map(|trails| {
            format!("too few directions for a plan of {trails}: height along the thread, unrolled on a plane")
        });
        let ahead = if self.view.has_north(self.space) {
            "N is that of the other trails"
        } else {
            "ahead is from the release to the farthest point"
        };
        let free = named(|trail| trail.has_plan && !trail.oriented)
            .map(|trails| format!("no north is known of {trails}: {ahead}"));
        unrolled.into_iter().chain(free).collect()
    }
}

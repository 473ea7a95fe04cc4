//! Trails of which no plan or no north is known, and what would give it.

use super::Analysis;
use crate::adjustment::path::Path;
use crate::maths::quantity::count_of;

/// What gives a trail a north.
pub const NORTH: &str = "one bearing, or two positions, would give it";
/// What gives a trail a plan.
pub const PLAN: &str = "bearings or turning angles would give it";

impl Analysis {
    /// The trails that have a plan without a north, by name.
    pub fn without_north(&self) -> Vec<&str> {
        self.named(|path| path.layout.has_plan() && !path.layout.is_oriented())
    }

    /// The trails that have no plan, by name.
    pub fn without_plan(&self) -> Vec<&str> {
        self.named(|path| !path.layout.has_plan())
    }

    fn named(&self, which: impl Fn(&Path) -> bool) -> Vec<&str> {
        let found = self.shown_paths().filter(|path| which(path));
        found.map(|path| self.trail_name(path.trail)).collect()
    }

    /// Sentences on the trails that net bearings leave out; blank where there are none.
    pub fn left_out_of_directions(&self) -> String {
        let sentence = |names: Vec<&str>, want: &str, gives: &str| match names.len() {
            0 => String::new(),
            n => {
                format!(" Left out, since no {want} is known: {} ({gives}).", count_of(n, "trail"))
            }
        };
        sentence(self.without_north(), "north", NORTH)
            + &sentence(self.without_plan(), "plan", PLAN)
    }
}

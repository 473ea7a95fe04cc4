//! What was noted of an anchor and of a leg, in words.

use crate::adjustment::path::{Leg, Path};
use crate::maths::quantity::metres;
use crate::results::Analysis;
use crate::survey::leg_support::CROSSING;
use crate::survey::rows::{AnchorRow, Perch};
use std::collections::BTreeMap;

/// Half a leg of which nobody noted what it lies on.
const NOT_NOTED: &str = "not noted";

/// The supports of all legs that are shown by how many metres lie on them, then by name.
pub fn supports(analysis: &Analysis) -> Vec<&str> {
    let mut lengths: BTreeMap<&str, f64> = BTreeMap::new();
    for path in analysis.shown_paths() {
        let geometry = &analysis.trails[path.trail].geometry;
        for leg in &path.legs {
            for half in supports_of(analysis, leg) {
                *lengths.entry(half).or_default() += 0.5 * geometry.length(leg);
            }
        }
    }
    let mut supports: Vec<(&str, f64)> = lengths.into_iter().collect();
    supports.sort_by(|a, b| b.1.total_cmp(&a.1));
    supports.into_iter().map(|(name, _)| name).collect()
}

/// What the two halves of a leg lie on, in a word each.
pub fn supports_of<'a>(analysis: &'a Analysis, leg: &Leg) -> [&'a str; 2] {
    if leg.support.is_crossing() {
        return [CROSSING; 2];
    }
    leg.support.halves.map(|half| half.map_or(NOT_NOTED, |name| analysis.survey.text(name)))
}

/// What is known of an anchor, one thing a line.
pub fn about(analysis: &Analysis, path: &Path, point: usize) -> Vec<String> {
    let survey = &analysis.survey;
    let node = path.points[point].node;
    let row: &AnchorRow = &survey.anchors[path.points[point].row];
    let height = &analysis.adjusted.heights[node];
    let known = !analysis.adjusted.covariances.is_empty();
    let sd = if known { format!(" ± {}", metres(height.sd)) } else { String::new() };
    let at_least = if row.height_at_least { "at least " } else { "" };
    let mut lines = vec![format!("height {at_least}{}{sd}", metres(height.height))];
    let mut add = |what: &str, value: Option<&str>| {
        lines.extend(value.map(|value| format!("{what} {value}")));
    };
    add("support", row.support.map(|name| survey.text(name)));
    add("plant", row.plant.map(|name| survey.text(name)));
    add("tree", row.tree.map(|name| survey.text(name)));
    let diameter = row.diameter_cm.map(|size| format!("{size} cm"));
    add("diameter", diameter.as_deref());
    add("refuge", row.refuge.map(|name| survey.text(name)));
    add("animal", row.seen.then_some("found here"));
    add("perch", row.perch.map(|perch| if perch == Perch::Seen { "seen" } else { "by signs" }));
    let grid = &survey.grids.anchors;
    let note = grid.column("note").map(|column| grid.cell(row.row, column).trim());
    add("note", note.filter(|note| !note.is_empty()));
    lines
}

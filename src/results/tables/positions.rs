//! `positions.csv`: where each anchor lies.

use super::{Analysis, Cell, Emit, Table, count, metres, number, part_name, passed_on, sd, text};
use crate::adjustment::network::Component;
use crate::adjustment::path::Path;
use crate::maths::earth::frame::Frame;
use crate::survey::grid::Grid;

/// How many columns there are before those of the globe.
const LOCAL: usize = 14;

pub(super) fn table(analysis: &Analysis) -> Table {
    let mut columns = vec![
        text("trail", "the thread"),
        text("animal", "whose thread it is"),
        text("anchor", "the marked point"),
        count("section", "from one place the animal was seen to the next, from 1"),
        text("part", "escape, or after_escape"),
        metres("east_m", "east of the origin; without a north, right of the release"),
        metres("north_m", "north of the origin; without a north, towards the farthest point"),
        metres("up_m", "above the origin's ground"),
        metres("ground_m", "elevation of the ground model there"),
        metres("height_m", "height above ground, adjusted"),
        metres("sd_east_m", "standard deviation of east_m"),
        metres("sd_north_m", "standard deviation of north_m"),
        metres("sd_up_m", "standard deviation of up_m"),
        metres("sd_height_m", "standard deviation of height_m"),
    ];
    if !analysis.wanted.hide_location {
        let meaning = "WGS 84; blank where the trail has no known position or no north";
        columns.extend(["latitude", "longitude"].map(|name| number(name, "degree", 8, meaning)));
    }
    let grid = &analysis.survey.grids.anchors;
    columns.extend(own_columns(grid).iter().map(|&at| passed_on(&grid.headings()[at])));
    Table { name: "positions", meaning: "one anchor on a trail", columns, rows }
}

/// The anchor's own columns: all but those that have a column above.
fn own_columns(grid: &Grid) -> Vec<usize> {
    let taken = ["trail", "anchor", "height_m", "latitude", "longitude", ""];
    let headings = grid.headings();
    (0..headings.len()).filter(|&at| !taken.contains(&headings[at].as_ref())).collect()
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    let grid = &analysis.survey.grids.anchors;
    let own = own_columns(grid);
    let globes = if analysis.wanted.hide_location { 0 } else { 2 };
    let mut row = vec![Cell::Blank; LOCAL + globes + own.len()];
    for path in analysis.shown_paths() {
        row[0] = Cell::Text(analysis.trail_name(path.trail));
        row[1] = analysis.animal_name(path.trail);
        let frame = analysis.frame_of(path);
        for point in &path.points {
            row[2] = Cell::Text(analysis.node_name(point.node));
            row[3] = Cell::Count(point.section);
            row[4] = Cell::Text(part_name(point.escape));
            place(analysis, point.node, path.layout.has_plan(), &mut row);
            let globe = globe(frame, analysis.adjusted.positions[point.node]);
            row[LOCAL..LOCAL + globes].copy_from_slice(&globe[..globes]);
            let written = analysis.survey.anchors[point.row].row;
            for (cell, &at) in row[LOCAL + globes..].iter_mut().zip(&own) {
                let text = grid.cell(written, at);
                *cell = if text.is_empty() { Cell::Blank } else { Cell::Text(text) };
            }
            emit(&row);
        }
    }
}

fn place(analysis: &Analysis, node: usize, has_plan: bool, row: &mut [Cell<'_>]) {
    let adjusted = &analysis.adjusted;
    let [east, north, up] = adjusted.positions[node];
    let height = &adjusted.heights[node];
    let sd = |axis: usize| {
        let covariance = adjusted.covariances.get(node);
        covariance.map_or(Cell::Blank, |c| sd(c[(axis, axis)]))
    };
    let in_plan = |cell| if has_plan { cell } else { Cell::Blank };
    row[5] = in_plan(Cell::Number(east));
    row[6] = in_plan(Cell::Number(north));
    row[7] = Cell::Number(up);
    row[8] = Cell::Number(height.ground);
    row[9] = Cell::Number(height.height);
    row[10] = in_plan(sd(0));
    row[11] = in_plan(sd(1));
    row[12] = sd(2);
    row[13] = if adjusted.covariances.is_empty() { Cell::Blank } else { Cell::Number(height.sd) };
}

impl Analysis {
    /// The frame that places a path on the globe; `None` where the path has no known position, no
    /// plan, or no north.
    pub fn frame_of(&self, path: &Path) -> Option<Frame> {
        self.network.frame.filter(|_| path.layout.is_oriented() && is_placed(self, path))
    }
}

/// Whether a path stands in the survey's frame, so that it has a place on the globe.
fn is_placed(analysis: &Analysis, path: &Path) -> bool {
    let Some(first) = path.points.first() else { return false };
    let holds = |part: &&Component| part.nodes.binary_search(&first.node).is_ok();
    let part = analysis.network.components.iter().find(holds);
    analysis.network.frame.is_some() && part.is_some_and(|part| part.placed)
}

fn globe(frame: Option<Frame>, local: [f64; 3]) -> [Cell<'static>; 2] {
    let position = frame.and_then(|frame| frame.placed(local));
    position.map_or([Cell::Blank; 2], |position| {
        let (north, east) = (position.latitude.to_degrees(), position.longitude.to_degrees());
        [Cell::Number(north), Cell::Number(east)]
    })
}

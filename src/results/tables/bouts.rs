//! `bouts.csv`: stretches above the ground and on it, in turn.

use super::{Analysis, Cell, Emit, Table, count, metres, text};
use crate::adjustment::path::bouts::ends;

pub(super) fn table() -> Table {
    let columns = vec![
        text("trail", "the thread"),
        text("animal", "whose thread it is"),
        count("bout", "its number on the trail, from 1"),
        text("kind", "above, or ground"),
        text("from", "the last anchor before it begins"),
        text("to", "the first anchor after it ends"),
        text("entry_tree", "the tree by which the animal went up"),
        text("exit_tree", "the tree by which it came down"),
        metres("length_m", "metres of path that count"),
        metres("highest_m", "greatest height above ground"),
        metres("mean_height_m", "mean height, weighted by length"),
        count("gaps", "legs across a gap"),
    ];
    Table { name: "bouts", meaning: "one bout of a trail", columns, rows }
}

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    for path in analysis.shown_paths() {
        for (at, bout) in analysis.trails[path.trail].bouts.iter().enumerate() {
            let node = |point: usize| analysis.node_name(path.points[point].node);
            let trees = ends(path, bout).map(|row| {
                let tree = analysis.survey.anchors[row].tree.filter(|_| bout.above);
                Cell::text(tree.map(|tree| analysis.survey.text(tree)))
            });
            emit(&[
                Cell::Text(analysis.trail_name(path.trail)),
                analysis.animal_name(path.trail),
                Cell::Count(at + 1),
                Cell::Text(if bout.above { "above" } else { "ground" }),
                Cell::Text(node(bout.first)),
                Cell::Text(node(bout.last)),
                trees[0],
                trees[1],
                Cell::Number(bout.length),
                Cell::Number(bout.highest),
                Cell::number(bout.mean_height),
                Cell::Count(bout.gaps),
            ]);
        }
    }
}

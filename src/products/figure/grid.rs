//! Small plots alike, in rows and columns, that share their axes.

use super::axes::foot_room;
use super::canvas::{Area, Canvas, Side, TEXT};
use super::font::fitted;

/// One plot of the grid.
pub(super) struct Cell {
    /// The plot itself, between its axes.
    pub(super) area: Area,
    /// Whether numbers stand at its left.
    pub(super) first_column: bool,
    /// Whether numbers stand below it: no plot follows in its column.
    pub(super) last_row: bool,
}

/// A grid of plots.
pub(super) struct Grid {
    pub(super) cells: Vec<Cell>,
    /// Millimetres down, axes and titles included.
    pub(super) height: f64,
    wide: f64,
}

/// A page has no more than this down, millimetres, for plots.
const MOST_DOWN: f64 = 212.0;
/// Fewest millimetres of a plot across and down.
const LEAST: [f64; 2] = [19.0, 9.0];
/// A heading above each plot, clear of the release that stands on the axis above.
const HEAD: f64 = 5.4;
const GAP: f64 = 4.2;

impl Grid {
    /// Room for `count` plots, `ratio` as high as wide, as many as a page takes; `side` is the room
    /// at the left for numbers and a title.
    pub(super) fn new(count: usize, wide: f64, ratio: f64, side: f64) -> Self {
        let foot = foot_room(true);
        let across = |columns: usize| {
            let columns = columns as f64;
            (wide - side - 2.0 - GAP * (columns - 1.0)) / columns
        };
        let most_columns = (1..=6).rev().find(|&c| across(c) >= LEAST[0]).unwrap_or(1);
        let preferred = preferred(count, wide).min(most_columns);
        let high_of = |columns: usize| {
            let rows = count.div_ceil(columns) as f64;
            ((MOST_DOWN - foot) / rows - HEAD).min(across(columns) * ratio)
        };
        let fits = |&columns: &usize| high_of(columns) >= LEAST[1] + 3.0;
        let columns = (preferred..=most_columns).find(fits).unwrap_or(most_columns);
        let (plot_wide, plot_high) = (across(columns), high_of(columns).max(LEAST[1]));
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "some rows")]
        let most_rows = ((MOST_DOWN - foot) / (plot_high + HEAD)).floor() as usize;
        let shown = count.min(most_rows.max(1) * columns);
        let cell = |at: usize| {
            let (row, column) = (at / columns, at % columns);
            let left = side + column as f64 * (plot_wide + GAP);
            let top = HEAD + row as f64 * (plot_high + HEAD);
            Cell {
                area: Area::new(left, top, plot_wide, plot_high),
                first_column: column == 0,
                last_row: at + columns >= shown,
            }
        };
        let rows = shown.div_ceil(columns) as f64;
        let height = rows * (plot_high + HEAD) + foot;
        Self { cells: (0..shown).map(cell).collect(), height, wide }
    }

    /// One title for all plots along each axis.
    pub(super) fn titles(&self, canvas: &mut Canvas, across: &str, up: &str) {
        let Some(first) = self.cells.first() else { return };
        let right = self.cells.iter().map(|cell| cell.area.right).fold(0.0, f64::max);
        let middle = 0.5 * (first.area.left + right);
        let across = fitted(across, TEXT.points, false, self.wide);
        canvas.text([middle, self.height - 1.0], &across, TEXT.side(Side::Middle));
        let bottom = self.cells.last().map_or(first.area.bottom, |cell| cell.area.bottom);
        let up = fitted(up, TEXT.points, false, self.height - 2.0);
        let half = 0.5 * TEXT.width(&up);
        let at = (0.5 * (first.area.top + bottom)).max(half + 0.5).min(self.height - half - 0.5);
        canvas.text_upward([TEXT.rise() + 0.4, at], &up, TEXT);
    }
}

/// Columns that look well for so many plots.
fn preferred(count: usize, wide: f64) -> usize {
    let most = if wide < 100.0 {
        1 + usize::from(count > 3)
    } else if wide < 150.0 {
        1 + usize::from(count > 1) + usize::from(count > 9)
    } else {
        1 + usize::from(count > 1) + usize::from(count > 4) + usize::from(count > 18)
    };
    most.min(count.max(1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn any_number_of_plots_stays_on_the_page() {
        for wide in [85.0, 120.0, 174.0] {
            for count in [1, 2, 7, 20, 40, 400] {
                let grid = Grid::new(count, wide, 0.4, 10.0);
                assert!(grid.height < 225.0, "{count} at {wide}: {}", grid.height);
                let right = grid.cells.iter().map(|cell| cell.area.right).fold(0.0, f64::max);
                assert!(right < wide && grid.cells.len() >= count.min(40), "{count} at {wide}");
            }
        }
    }
}

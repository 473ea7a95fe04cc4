//! A made-up trail of any length.

use perchline::adjustment::network::{Network, build};
use perchline::survey::dictionary::{ANCHORS, TIES};
use perchline::survey::fault::Faults;
use perchline::survey::input::csv::read_grid;
use perchline::survey::settings::Settings;
use perchline::survey::{Grids, Survey, read_tables};
use rows::{HEADINGS, rows};

mod rows;

/// A chain of so many legs, with a tie at every fiftieth anchor.
pub(crate) fn chain(legs: usize) -> (Survey, Network) {
    let [anchors, ties] = rows("T", legs, 50);
    let [anchors, ties] = [HEADINGS[0].to_owned() + &anchors, HEADINGS[1].to_owned() + &ties];
    let mut faults = Faults::default();
    let mut grid =
        |name, text: &str, table| read_grid(name, text.as_bytes(), table, usize::MAX, &mut faults);
    let anchors = grid("anchors.csv", &anchors, &ANCHORS);
    let ties = Some(grid("ties.csv", &ties, &TIES));
    let (survey, _) = read_tables(Settings::default(), Grids { anchors, ties, ..Grids::default() });
    let network = build(&survey);
    (survey, network)
}

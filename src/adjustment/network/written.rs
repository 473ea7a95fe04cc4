//! Surveys of the tests in this room and those behind it, from the text of their tables.

use super::{Network, build};
use crate::survey::grid::Grid;
use crate::survey::settings;
use crate::survey::{Grids, Survey, read_tables};

/// The table of `file` whose headings are the first line of `text`.
pub(crate) fn grid(file: &str, text: &str) -> Grid {
    let mut rows = text.lines();
    let headings = rows.next().unwrap_or_default().split(',').map(Into::into);
    let mut grid = Grid::new(file, headings.collect(), 1);
    rows.enumerate().for_each(|(at, row)| grid.push(at + 2, row.split(',')));
    grid
}

/// A survey of these anchors and ties, with the usual settings, and its network.
pub(crate) fn survey(anchors: &str, ties: &str) -> (Survey, Network) {
    survey_with("", anchors, ties)
}

/// The same with settings of its own.
pub(super) fn survey_with(toml: &str, anchors: &str, ties: &str) -> (Survey, Network) {
    let (settings, _) = settings::read("survey.toml", toml, &[]);
    let ties = (!ties.is_empty()).then(|| grid("ties.csv", ties));
    let grids = Grids { anchors: grid("anchors.csv", anchors), ties, ..Grids::default() };
    let (survey, _) = read_tables(settings, grids);
    let network = build(&survey);
    (survey, network)
}

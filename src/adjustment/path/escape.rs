//! The escape run: the stretch after release that says more of the handling than of the animal.

use super::legs::{Geometry, Path};
use crate::survey::Survey;
use crate::survey::rows::TrailRow;
use crate::survey::settings::EscapeRule;

/// How the end of the escape run was found.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum EscapeFound {
    /// Rows are marked `escape`.
    Rows,
    /// So many metres were stated for the trail or the survey.
    Metres,
    /// The first return to the ground after the first climb.
    FirstReturn,
    /// There is none.
    None,
}

impl EscapeFound {
    /// The words for a reader.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Rows => "as marked in the rows",
            Self::Metres => "by the metres stated",
            Self::FirstReturn => "up to the first return to the ground after the first climb",
            Self::None => "none",
        }
    }
}

/// Marks the legs and points of the escape run: by rows, else by metres, else by the rule.
pub(super) fn escape_run(
    path: &mut Path,
    survey: &Survey,
    listed: Option<&TrailRow>,
    geometry: &Geometry,
) {
    let s = &survey.settings;
    let stated = listed.and_then(|row| row.escape).map(|metres| metres.to_metres());
    let (found, legs) = if let Some(last) = last_marked(path, survey) {
        (EscapeFound::Rows, last + 1)
    } else if let Some(metres) = stated.or(s.escape_metres) {
        (EscapeFound::Metres, legs_within(path, geometry, metres))
    } else if s.escape_rule == EscapeRule::FirstReturn {
        let edge = s.strata_edges_m.first().copied().unwrap_or(0.0);
        first_return(path, geometry, edge)
            .map_or((EscapeFound::None, 0), |leg| (EscapeFound::FirstReturn, leg + 1))
    } else {
        (EscapeFound::None, 0)
    };
    path.escape = if legs > 0 { found } else { EscapeFound::None };
    for leg in &mut path.legs[..legs] {
        leg.escape = true;
        path.points[leg.to].escape = true;
    }
    if legs > 0 {
        path.points[0].escape = true;
    }
}

/// The last leg whose row is marked.
fn last_marked(path: &Path, survey: &Survey) -> Option<usize> {
    path.legs.iter().rposition(|leg| survey.anchors[path.points[leg.to].row].escape)
}

/// How many legs begin within the first `metres` of thread.
fn legs_within(path: &Path, geometry: &Geometry, metres: f64) -> usize {
    let mut walked = 0.0;
    path.legs
        .iter()
        .take_while(|leg| {
            let within = walked < metres;
            walked += geometry.length(leg);
            within
        })
        .count()
}

/// The leg that first returns below `edge` after the animal has climbed above it from its release.
fn first_return(path: &Path, geometry: &Geometry, edge: f64) -> Option<usize> {
    let height = |point: usize| geometry.heights[point];
    let release = path.legs.first().map(|leg| height(leg.from))?;
    let mut climbed = false;
    path.legs.iter().position(|leg| {
        climbed |= height(leg.to) > edge && height(leg.to) > release + edge;
        climbed && height(leg.to) < edge
    })
}

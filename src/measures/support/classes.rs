//! Into which class a leg or anchor falls.

use crate::adjustment::path::{Leg, Path};
use crate::maths::quantity::Incline;
use crate::survey::Survey;
use crate::survey::leg_support::{CROSSING, is_crossing};
use crate::survey::names::Name;
use crate::survey::rows::AnchorRow;
use crate::survey::settings::Settings;

/// By what a path is divided.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Division {
    /// What the thread lies on.
    Support,
    /// Species of plant.
    Plant,
    /// Diameter of the support.
    Diameter,
    /// Steepness of the support, whichever way.
    Incline,
    /// Height above ground.
    Stratum,
}

impl Division {
    /// All, with their words in the tables.
    pub const ALL: [(Self, &'static str); 5] = [
        (Self::Support, "support"),
        (Self::Plant, "plant"),
        (Self::Diameter, "diameter_cm"),
        (Self::Incline, "incline_deg"),
        (Self::Stratum, "height_m"),
    ];

    /// The edges between its classes, where these are bands of a number.
    pub fn edges(self, settings: &Settings) -> &[f64] {
        match self {
            Self::Support | Self::Plant => &[],
            Self::Diameter => &settings.diameter_edges_cm,
            Self::Incline => &settings.incline_edges_deg,
            Self::Stratum => &settings.strata_edges_m,
        }
    }
}

/// One class of a division; the order is that of the tables.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    /// A support or plant by name.
    Named(Name),
    /// A band of numbers: that before the first edge is 0.
    Band(usize),
    /// From one tree or plant straight to another, above ground.
    Crossing,
    /// Nobody wrote it down.
    NotRecorded,
}

/// The words of a class.
pub fn words(class: Class, division: Division, survey: &Survey) -> String {
    match class {
        Class::Named(name) => survey.text(name).to_owned(),
        Class::Crossing => CROSSING.into(),
        Class::NotRecorded => "not recorded".into(),
        Class::Band(at) => {
            let edges = division.edges(&survey.settings);
            let low = at.checked_sub(1).and_then(|at| edges.get(at));
            match (low, edges.get(at)) {
                (None, Some(high)) => format!("< {high}"),
                (Some(low), Some(high)) => format!("{low} to {high}"),
                (Some(low), None) => format!("≥ {low}"),
                (None, None) => "all".into(),
            }
        }
    }
}

/// The band of a number: edges belong to the band above.
pub fn band(value: f64, edges: &[f64]) -> usize {
    edges.iter().take_while(|&&edge| value >= edge).count()
}

/// The rows that tell plant, tree, diameter and incline of the two halves of a leg: by its ends as
/// they tell of its support; where the support was written for the leg, an end that stands on it
/// tells for one that does not. A crossing lies on nothing that an end could tell of.
pub fn carriers<'a>(survey: &'a Survey, path: &Path, leg: &Leg) -> [Option<&'a AnchorRow>; 2] {
    if leg.support.is_crossing() {
        return [None; 2];
    }
    let rows = [leg.from, leg.to].map(|point| &survey.anchors[path.points[point].row]);
    let stands = |row: &&AnchorRow| !leg.support.written || row.support == leg.support.halves[0];
    let ends = survey.settings.support_of_leg.ends();
    ends.map(|end| [rows[end], rows[1 - end]].into_iter().find(stands))
}

/// The classes of the two halves of a leg; of a stratum there is none, since a leg may cross several.
pub fn of_leg(division: Division, survey: &Survey, path: &Path, leg: &Leg) -> [Class; 2] {
    if leg.support.is_crossing() {
        return [Class::Crossing; 2];
    }
    if division == Division::Support {
        return leg.support.halves.map(|half| of_support(survey, half));
    }
    let of = |row: Option<&AnchorRow>| row.map(|row| of_row(division, survey, row));
    carriers(survey, path, leg).map(|row| of(row).unwrap_or(Class::NotRecorded))
}

fn of_support(survey: &Survey, support: Option<Name>) -> Class {
    match support {
        Some(support) if is_crossing(survey, support) => Class::Crossing,
        Some(support) => Class::Named(support),
        None => Class::NotRecorded,
    }
}

/// The class of an anchor by its own row.
pub fn of_row(division: Division, survey: &Survey, row: &AnchorRow) -> Class {
    let edges = division.edges(&survey.settings);
    let banded = |value: Option<f64>| {
        value.map_or(Class::NotRecorded, |value| Class::Band(band(value, edges)))
    };
    let named = |name: Option<Name>| name.map_or(Class::NotRecorded, Class::Named);
    match division {
        Division::Support => of_support(survey, row.support),
        Division::Plant => named(row.plant),
        Division::Diameter => banded(row.diameter_cm),
        Division::Incline => banded(row.support_incline.map(Incline::to_degrees).map(f64::abs)),
        Division::Stratum => banded(row.height.map(|height| height.to_metres())),
    }
}

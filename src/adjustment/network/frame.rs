//! The survey's frame: its origin, the place of controls in it, and what makes a needle true.

use super::{Known, Network};
use crate::maths::earth::convergence::utm_convergence;
use crate::maths::earth::declination::declination;
use crate::maths::earth::frame::{Frame, Position};
use crate::maths::quantity::{Elevation, Latitude, Longitude, Turn};
use crate::survey::Survey;
use crate::survey::rows::{ControlPosition, ControlRow, Fix};
use crate::survey::settings::{Declination, North};
use jiff::civil::Date;

/// How the correction of a trail's bearings was obtained.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum DeclinationSource {
    /// The geomagnetic reference field at the origin, for the trail's date.
    Model,
    /// The survey states it.
    Stated,
    /// The bearings were written as true.
    TrueBearings,
    /// Grid bearings, by the convergence of the UTM zone.
    Convergence,
    /// Nobody knows: bearings are taken as they are.
    Unknown,
}

impl DeclinationSource {
    /// The words for a reader.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Model => "geomagnetic reference field IGRF-14 at the origin and the trail's date",
            Self::Stated => "stated in the survey",
            Self::TrueBearings => "bearings were written as true",
            Self::Convergence => "grid convergence of the UTM zone",
            Self::Unknown => "not known: bearings are taken as read",
        }
    }
}

/// The tangent plane at the origin: stated, else the first control, else the first fix.
pub(super) fn frame(survey: &Survey) -> Option<Frame> {
    let s = &survey.settings;
    let latitude = s.origin_latitude.and_then(Latitude::from_degrees);
    let longitude = s.origin_longitude.and_then(Longitude::from_degrees);
    let stated = latitude.zip(longitude);
    let control = || {
        survey.controls.iter().find_map(|control| match control.position? {
            ControlPosition::Geodetic(latitude, longitude) => Some((latitude, longitude)),
            ControlPosition::Local(..) => None,
        })
    };
    let fix = || {
        let fix = survey.anchors.iter().find_map(|row| row.fix)?;
        Some((fix.latitude, fix.longitude))
    };
    let (latitude, longitude) = stated.or_else(control).or_else(fix)?;
    let elevation = Elevation::from_metres(datum(survey).unwrap_or(0.0));
    Some(Frame::at(Position { latitude, longitude, elevation }))
}

/// The elevation that counts as zero, metres above the sea: the origin's ground; `None` where the
/// survey states no elevation.
pub fn datum(survey: &Survey) -> Option<f64> {
    let stated = survey.settings.origin_elevation_m;
    let first = || survey.controls.iter().find_map(|control| control.elevation);
    stated.or_else(|| first().map(Elevation::to_metres))
}

/// East and north of a control; `None` without a position.
pub fn known_plan(control: &ControlRow, frame: Option<&Frame>) -> Option<[f64; 2]> {
    match control.position? {
        ControlPosition::Geodetic(n, e) => Some(frame?.plan(n, e)),
        ControlPosition::Local(east, north) => Some([east, north]),
    }
}

/// What a control says of a node.
pub(super) fn known_control(
    survey: &Survey,
    frame: Option<&Frame>,
    control: &ControlRow,
) -> Option<Known> {
    let plan = match control.position {
        Some(_) => Some(known_plan(control, frame)?),
        None => None,
    };
    let sd = control.elevation_accuracy.map(|sd| sd.to_metres());
    let elevation =
        control.elevation.map(|ground| (ground.to_metres() - datum(survey).unwrap_or(0.0), sd));
    let [east, north] = plan.unwrap_or_default();
    let accuracy = control.accuracy.map(|sd| sd.to_metres());
    Some(Known { east, north, sd: accuracy, elevation, in_plan: plan.is_some() })
}

/// What an anchor's own position says of it.
pub(super) fn known_fix(frame: Option<&Frame>, fix: &Fix) -> Option<Known> {
    let [east, north] = frame?.plan(fix.latitude, fix.longitude);
    let sd = fix.accuracy.map(|sd| sd.to_metres());
    Some(Known { east, north, sd, elevation: None, in_plan: true })
}

/// What is added to a needle reading of `date` to make it true, and where that comes from.
pub(super) fn north_correction(
    survey: &Survey,
    frame: Option<&Frame>,
    date: Option<Date>,
) -> (f64, DeclinationSource) {
    let s = &survey.settings;
    let origin = frame.map(Frame::origin);
    let (turn, source) = match (s.north, s.declination) {
        (North::True, _) => (Some(Turn::from_degrees(0.0)), DeclinationSource::TrueBearings),
        (North::Grid, _) => (origin.map(utm_convergence), DeclinationSource::Convergence),
        (North::Magnetic, Declination::Stated(degrees)) => {
            (Some(Turn::from_degrees(degrees)), DeclinationSource::Stated)
        }
        (North::Magnetic, Declination::Model) => {
            let at = origin.zip(date.or(s.date));
            (at.and_then(|(origin, date)| declination(origin, date)), DeclinationSource::Model)
        }
    };
    let fixed = Turn::from_degrees(s.correction_deg).to_radians();
    match turn {
        Some(turn) => (turn.to_radians() + fixed, source),
        None => (fixed, DeclinationSource::Unknown),
    }
}

/// The ground where controls state it: east, north and elevation above the origin's, metres.
pub fn stated_ground(survey: &Survey, network: &Network) -> Vec<[f64; 3]> {
    let known = survey
        .controls
        .iter()
        .filter_map(|control| known_control(survey, network.frame.as_ref(), control));
    known
        .filter(|known| known.in_plan)
        .filter_map(|known| known.elevation.map(|(up, _)| [known.east, known.north, up]))
        .collect()
}

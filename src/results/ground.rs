//! The ground under a survey: its model laid out in the local frame.

use crate::adjustment::network::traverse::walk;
use crate::adjustment::network::{Network, datum, stated_ground};
use crate::maths::earth::convergence::utm_coordinates;
use crate::maths::earth::frame::{Frame, Position};
use crate::maths::ground::{Ground, GroundError, Placing, Raster};
use crate::maths::quantity::{Bearing, Elevation, Incline, count_of, metres, plain};
use crate::survey::Survey;
use crate::survey::elevations::{ElevationRaster, PlanSystem};
use crate::survey::fault::{Code, Faults, Place};
use crate::survey::settings::{FILE, GroundModel};

/// The ground under a survey; a fault where its model lacks something.
pub fn ground(survey: &Survey, network: &Network) -> (Ground, Faults) {
    let mut faults = Faults::default();
    let s = &survey.settings;
    let ground = match s.ground {
        GroundModel::Flat => Ground::flat(),
        GroundModel::Slope => Incline::from_degrees(s.ground_angle_deg)
            .and_then(|angle| {
                Ground::slope(angle, Bearing::from_degrees(s.ground_direction_deg)).ok()
            })
            .unwrap_or_default(), // the settings take no angle that fails here
        GroundModel::Points => {
            Ground::points(&stated_ground(survey, network)).unwrap_or_else(|error| {
                faults
                    .error(Code::GroundIncomplete, Place::file(FILE).column("ground.model"))
                    .found(error.to_string())
                    .expected("controls with a position and elevation_m, each place once")
                    .hint("correct elevation_m in controls, or set [ground] model = \"flat\"");
                Ground::flat()
            })
        }
        GroundModel::Raster => {
            // where there is none, the reader has said why
            let raster = survey.elevations.as_ref();
            raster.and_then(|raster| laid(survey, network, raster, &mut faults)).unwrap_or_default()
        }
    };
    (ground, faults)
}

fn at_file() -> Place {
    Place::file(FILE).column("ground.file")
}

/// The ground by a raster, if it lies under the survey.
fn laid(
    survey: &Survey,
    network: &Network,
    raster: &ElevationRaster,
    faults: &mut Faults,
) -> Option<Ground> {
    let Some(frame) = network.frame else {
        faults
            .error(Code::GroundIncomplete, at_file())
            .found("a raster, and no position on the globe")
            .expected("a survey whose place is known")
            .hint("give a control its latitude and longitude, or set [origin]");
        return None;
    };
    let places = walk(network, |_, _| 0.0, |_| None).positions;
    let absolute = in_frame(raster, &frame, middle(&places)).or_else(|| {
        tell_elsewhere(faults, "no part of the survey lies on it");
        None
    })?;
    let absolute = absolute.map_err(|error| tell_elsewhere(faults, &error.to_string())).ok()?;
    let ground = Ground::raster(absolute.clone());
    told_outside(survey, network, &places, &ground, faults)?;
    tell_unplaced(survey, network, faults);
    tell_other_elevations(survey, &frame, &ground, faults);
    let zero = datum(survey).or_else(|| Some(ground.at(0.0, 0.0)?.elevation)).or_else(|| {
        faults
            .error(Code::RasterElsewhere, at_file())
            .found("an origin outside it, and no elevation stated")
            .expected("the elevation of the ground at the origin")
            .hint("set elevation_m under [origin]");
        None
    })?;
    Some(Ground::raster(absolute.above(zero)))
}

/// The raster in the local frame, its elevations as they are; `None` where a projection has no
/// place for the survey.
fn in_frame(
    raster: &ElevationRaster,
    frame: &Frame,
    middle: [f64; 2],
) -> Option<Result<Raster, GroundError>> {
    let cell_of = |east: f64, north: f64| {
        let place = frame.placed([east, north, 0.0])?;
        Some(raster.cell_of(coordinates(raster.system, place)))
    };
    let placing = Placing::about(middle, cell_of)?;
    Some(Raster::new(raster.size, placing, raster.elevations.clone()))
}

fn coordinates(system: PlanSystem, place: Position) -> [f64; 2] {
    match system {
        PlanSystem::Geographic => [place.longitude.to_degrees(), place.latitude.to_degrees()],
        PlanSystem::Utm { zone, south } => utm_coordinates(place, zone, south),
    }
}

/// The middle of the box around all places.
fn middle(places: &[[f64; 3]]) -> [f64; 2] {
    [0, 1].map(|k| {
        let along = || places.iter().map(|place| place[k]);
        let (low, high) =
            (along().fold(f64::INFINITY, f64::min), along().fold(f64::NEG_INFINITY, f64::max));
        if places.is_empty() { 0.0 } else { f64::midpoint(low, high) }
    })
}

fn tell_elsewhere(faults: &mut Faults, found: &str) {
    faults
        .error(Code::RasterElsewhere, at_file())
        .found(found)
        .expected("a raster that covers every anchor with a known place")
        .hint("is it of another place? are latitude and longitude exchanged in controls?");
}

/// Whether every anchor of known place has ground; a fault names the first that has none.
fn told_outside(
    survey: &Survey,
    network: &Network,
    places: &[[f64; 3]],
    ground: &Ground,
    faults: &mut Faults,
) -> Option<()> {
    let placed = network.components.iter().filter(|part| part.placed);
    let nodes = placed.flat_map(|part| part.nodes.iter().copied());
    let outside: Vec<usize> =
        nodes.filter(|&node| ground.at(places[node][0], places[node][1]).is_none()).collect();
    let Some(&first) = outside.first() else { return Some(()) };
    let node = &network.nodes[first];
    let trail = node.trail.map(|trail| survey.text(network.trails[trail].name));
    let trail = trail.map(|trail| format!(" of trail {trail}")).unwrap_or_default();
    let [east, north, _] = places[first];
    let found = format!(
        "no elevation under {} of {}; the first is {}{trail}, {} east and {} north of the origin",
        outside.len(),
        count_of(network.nodes.len(), "anchor"),
        survey.text(node.name),
        metres(east),
        metres(north),
    );
    tell_elsewhere(faults, &found);
    None
}

/// A trail that nothing places has its release at the origin, and the ground there.
fn tell_unplaced(survey: &Survey, network: &Network, faults: &mut Faults) {
    let unplaced = network.components.iter().filter(|part| !part.placed);
    let trails = unplaced.flat_map(|part| part.trails.iter());
    let names: Vec<&str> = trails.map(|&trail| survey.text(network.trails[trail].name)).collect();
    if !names.is_empty() {
        faults
            .warn(Code::RasterElsewhere, at_file())
            .found(format!("no known place for {}", names.join(", ")))
            .expected("a known place for every trail that is to lie on a raster")
            .hint("they are laid out as if released at the origin, on the ground that is there");
    }
}

/// Further than this, metres, a receiver under trees is seldom off in height: the two elevations
/// are then not counted from one zero, or not in one unit.
const FAR: f64 = 30.0;

fn tell_other_elevations(survey: &Survey, frame: &Frame, ground: &Ground, faults: &mut Faults) {
    use crate::survey::rows::ControlPosition::{Geodetic, Local};
    for control in &survey.controls {
        let (Some(position), Some(stated)) = (control.position, control.elevation) else {
            continue;
        };
        let [east, north] = match position {
            Local(east, north) => [east, north],
            Geodetic(latitude, longitude) => frame.plan(latitude, longitude),
        };
        let Some(sample) = ground.at(east, north) else { continue };
        let raster = Elevation::from_metres(sample.elevation).to_metres();
        if (raster - stated.to_metres()).abs() > FAR {
            faults
                .warn(Code::RasterAgainstControl, survey.control_place(control.row, "elevation_m"))
                .found(plain(stated.to_metres(), 1))
                .expected(format!("about {}, the raster's elevation there", metres(raster)))
                .hint(
                    "feet in one of the two? heights above the ellipsoid differ by up to 100 m \
                     from those above the sea",
                );
            return; // one zero or unit serves all controls
        }
    }
}

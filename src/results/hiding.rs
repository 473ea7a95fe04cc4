//! A survey without its place on the globe: local metres only, for the archive of a species at risk.

use crate::adjustment::network::Network;
use crate::maths::earth::convergence::{utm_coordinates, utm_zone};
use crate::maths::earth::frame::{Frame, Position};
use crate::maths::quantity::{Elevation, plain};
use crate::survey::Survey;
use crate::survey::dictionary::{self, InputTable, Kind};
use crate::survey::grid::Grid;
use crate::survey::rows::ControlPosition;
use std::sync::Arc;

/// Decimals of a degree that are left of the site's place: about ten kilometres.
pub const SITE_DECIMALS: usize = 1;

/// What was taken out of the tables and settings, each as `TABLE.COLUMN`, place or key.
#[derive(Clone, Debug, Default)]
pub struct Hidden {
    /// Columns of coordinates.
    pub columns: Vec<String>,
    /// Texts that may hold coordinates.
    pub texts: Vec<String>,
    /// The coordinates themselves as results would print them, cut after five decimals.
    pub coordinates: Vec<String>,
}

/// Takes every column and text out of a survey that tells where on the globe it lies; the typed
/// rows keep their positions, so that it can still be computed. Controls get local metres instead.
///
/// # Errors
/// The places of names that look like coordinates: a name cannot be taken out.
pub fn hide_location(survey: &mut Survey, network: &Network) -> Result<Hidden, Vec<String>> {
    let known = Known::of(survey, network);
    let mut hidden = Hidden { coordinates: known.cut(), ..Hidden::default() };
    let mut names = Vec::new();
    let local = local_controls(survey, network.frame.as_ref());
    let grids = &mut survey.grids;
    let tables: [(&InputTable, Option<&mut Grid>); 6] = [
        (&dictionary::ANCHORS, Some(&mut grids.anchors)),
        (&dictionary::TIES, grids.ties.as_mut()),
        (&dictionary::CONTROLS, grids.controls.as_mut()),
        (&dictionary::TRAILS, grids.trails.as_mut()),
        (&dictionary::ANIMALS, grids.animals.as_mut()),
        (&dictionary::AVAILABLE, grids.available.as_mut()),
    ];
    for (table, grid) in tables {
        let Some(grid) = grid else { continue };
        *grid = known.without(grid, table, &mut hidden, &mut names);
        if table.name == dictionary::CONTROLS.name {
            *grid = with_columns(grid, ["east_m", "north_m"], &local);
        }
    }
    let s = &mut survey.settings;
    (s.origin_latitude, s.origin_longitude) = (None, None);
    let texts = [
        ("name", &mut s.name),
        ("site", &mut s.site),
        ("permit", &mut s.permit),
        ("marked_when", &mut s.marked_when),
        ("licence", &mut s.licence),
        ("ground.file", &mut s.ground_file),
    ];
    for (key, text) in texts {
        let tells = text.as_ref().is_some_and(|text| known.stands_in(text));
        if tells || key == "ground.file" && text.is_some() {
            *text = None;
            hidden.texts.push(format!("survey.toml, {key}"));
        }
    }
    if names.is_empty() { Ok(hidden) } else { Err(names) }
}

/// Where the survey lies, as numbers that a text may hold.
struct Known {
    /// Latitudes and longitudes.
    degrees: Vec<f64>,
    /// Eastings and northings of the UTM grid.
    metres: Vec<f64>,
}

/// A number this near to a coordinate may be one: degrees and metres.
const NEAR: [f64; 2] = [0.5, 5_000.0];
/// Words of headings under which coordinates stand.
const WORDS: [&str; 11] = [
    "lat",
    "lon",
    "lng",
    "latitude",
    "longitude",
    "gps",
    "utm",
    "easting",
    "northing",
    "wgs84",
    "coordinates",
];

impl Known {
    fn of(survey: &Survey, network: &Network) -> Self {
        let controls = survey.controls.iter().filter_map(|control| match control.position? {
            ControlPosition::Geodetic(latitude, longitude) => Some((latitude, longitude)),
            ControlPosition::Local(..) => None,
        });
        let fixes = survey.anchors.iter().filter_map(|row| row.fix.as_ref());
        let fixes = fixes.map(|fix| (fix.latitude, fix.longitude));
        let origin = network.frame.map(|frame| frame.origin());
        let origin = origin.map(|origin| (origin.latitude, origin.longitude));
        let (mut degrees, mut metres) = (Vec::new(), Vec::new());
        for (latitude, longitude) in controls.chain(fixes).chain(origin) {
            degrees.extend([latitude.to_degrees(), longitude.to_degrees()]);
            let elevation = Elevation::from_metres(0.0);
            let position = Position { latitude, longitude, elevation };
            let zone = utm_zone(latitude, longitude);
            metres.extend(utm_coordinates(position, zone, latitude.to_degrees() < 0.0));
        }
        Self { degrees, metres }
    }

    /// The degrees as they stand in a longer number.
    fn cut(&self) -> Vec<String> {
        let cut = |degrees: &f64| format!("{:.5}", (degrees.abs() * 1e5 + 1e-6).floor() / 1e5);
        self.degrees.iter().map(cut).collect()
    }

    /// Whether a text may tell where the survey lies: degrees with three decimals or with minutes,
    /// or metres of the grid.
    fn stands_in(&self, text: &str) -> bool {
        let near = |known: &[f64], number: f64, within: f64| {
            known.iter().any(|known| (known.abs() - number).abs() < within)
        };
        let plain = text.replace(',', ".");
        let numbers = plain.split(|c: char| !c.is_ascii_digit() && c != '.');
        let tells = numbers.filter(|number| number.len() > 4).any(|text| {
            let decimals = text.split_once('.').map_or(0, |(_, decimals)| decimals.len());
            text.parse().is_ok_and(|number: f64| {
                decimals > 2 && near(&self.degrees, number, NEAR[0])
                    || number > 1e5 && near(&self.metres, number, NEAR[1])
            })
        });
        let minutes = text.split(['°', 'º']).skip(1);
        let minutes =
            minutes.filter(|after| after.trim_start().starts_with(|c: char| c.is_ascii_digit()));
        tells || !self.degrees.is_empty() && minutes.count() > 0
    }

    /// A table without columns and texts that tell.
    fn without(
        &self,
        grid: &Grid,
        table: &InputTable,
        hidden: &mut Hidden,
        names: &mut Vec<String>,
    ) -> Grid {
        let headings = grid.headings();
        let is_kept = |heading: &str| match table.column(heading) {
            Some(column) => !matches!(column.heading, "latitude" | "longitude"),
            None => !heading.to_lowercase().split(['_', ' ']).any(|word| WORDS.contains(&word)),
        };
        let kept: Vec<usize> = (0..headings.len()).filter(|&at| is_kept(&headings[at])).collect();
        let gone = headings.iter().filter(|heading| !is_kept(heading));
        hidden.columns.extend(gone.map(|heading| format!("{}.{heading}", table.name)));
        let mut without = grid.emptied(kept.iter().map(|&at| headings[at].clone()).collect());
        for index in 0..grid.len() {
            let cells = kept.iter().map(|&at| {
                let (cell, heading) = (grid.cell(index, at), headings[at].as_ref());
                let kind = table.column(heading).map(|column| column.kind);
                let is_read =
                    matches!(kind, Some(kind) if !matches!(kind, Kind::Name | Kind::Text));
                if is_read || !self.stands_in(cell) {
                    return cell;
                }
                let place = grid.place(index, heading).phrase();
                // what the program reads as a name or a word stays in its results
                if kind.is_some() && heading != "note" {
                    names.push(place);
                    return cell;
                }
                hidden.texts.push(place);
                ""
            });
            without.push(grid.row(index), cells.collect::<Vec<_>>().into_iter());
        }
        without
    }
}

/// East and north of each control, by its row of the table.
fn local_controls(survey: &Survey, frame: Option<&Frame>) -> Vec<(usize, [f64; 2])> {
    let local = survey.controls.iter().filter_map(|control| match control.position? {
        ControlPosition::Geodetic(latitude, longitude) => {
            Some((control.row, frame?.plan(latitude, longitude)))
        }
        ControlPosition::Local(east, north) => Some((control.row, [east, north])),
    });
    local.collect()
}

/// The table with two columns more, or other values in them.
fn with_columns(grid: &Grid, names: [&str; 2], values: &[(usize, [f64; 2])]) -> Grid {
    let own: Vec<usize> = (0..grid.headings().len())
        .filter(|&at| !names.contains(&grid.headings()[at].as_ref()))
        .collect();
    let mut headings: Vec<Arc<str>> = own.iter().map(|&at| grid.headings()[at].clone()).collect();
    headings.extend(names.map(Arc::from));
    let mut with = grid.emptied(headings);
    for index in 0..grid.len() {
        let value = values.iter().find(|(row, _)| *row == index).map(|(_, value)| *value);
        let local =
            value.map_or([String::new(), String::new()], |v| v.map(|metres| plain(metres, 2)));
        let cells = own.iter().map(|&at| grid.cell(index, at));
        with.push(grid.row(index), cells.chain(local.iter().map(String::as_str)));
    }
    with
}

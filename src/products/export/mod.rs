//! Paths for other programs: one description of what is exported, and one file a format.
//!
//! In: an analysis. Out: bytes of a map layer (GeoPackage, `GeoJSON`, KML, GPX), a table (CSV) or a
//! solid (GLB).
//! Attributes are the rows of the result tables, so that a map says what the tables say.
//! Assumes elevations above the ellipsoid and above the sea to be the same, as `maths/earth` does.
//! A trail without a known position or a north is in no map layer; CSV and GLB are in local metres and hold it.
//! Left out: lines cut at the antimeridian, and writing files (`cli`).

pub mod csv;
pub mod geojson;
pub mod glb;
pub mod gpkg;
pub mod gpx;
pub mod kml;

use crate::adjustment::network::Layout;
use crate::results::Analysis;
use crate::results::cell::{rounded, value};
use crate::results::tables::{Column, Table, tables};
use serde_json::Value;

const NO_PLAN: &str = "no plan is known: bearings or turning angles would give it";

/// A place on the globe, WGS 84.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Globe {
    /// Degrees, north positive.
    pub latitude: f64,
    /// Degrees, east positive.
    pub longitude: f64,
    /// Metres.
    pub elevation: f64,
}

/// One visit to an anchor.
#[derive(Clone, Debug)]
pub struct Anchor {
    /// Its name.
    pub name: String,
    /// East, north and up of the origin, metres; `None` without a plan.
    pub local: Option<[f64; 3]>,
    /// Height above ground, metres; not a number where it is not known.
    pub height: f64,
    /// Where it lies; `None` where nobody knows.
    pub globe: Option<Globe>,
    /// Its row of the positions.
    pub attributes: Vec<Value>,
}

/// One leg between two anchors of its trail, by index.
#[derive(Clone, Debug)]
pub struct Leg {
    /// Where it starts.
    pub from: usize,
    /// Where it ends.
    pub to: usize,
    /// Its row of the legs.
    pub attributes: Vec<Value>,
}

/// One trail.
#[derive(Clone, Debug)]
pub struct Trail {
    /// Its name.
    pub name: String,
    /// What is known of its plan.
    pub layout: Layout,
    /// Its anchors in walking order.
    pub anchors: Vec<Anchor>,
    /// Its legs in walking order.
    pub legs: Vec<Leg>,
    /// Its row of the trails.
    pub attributes: Vec<Value>,
}

/// Everything that is exported.
#[derive(Clone, Debug)]
pub struct Layers {
    /// The survey's name.
    pub name: String,
    /// The trails that were asked for.
    pub trails: Vec<Trail>,
    /// Columns of the anchors' attributes.
    pub anchor_columns: Vec<Column>,
    /// Columns of the legs' attributes.
    pub leg_columns: Vec<Column>,
    /// Columns of the trails' attributes.
    pub trail_columns: Vec<Column>,
}

impl Trail {
    /// Whether it can go on a map.
    pub fn on_map(&self) -> bool {
        !self.anchors.is_empty() && self.anchors.iter().all(|anchor| anchor.globe.is_some())
    }

    /// Why it cannot go on a map, and what would help; `None` where it can.
    pub fn why_not_on_map(&self) -> Option<&'static str> {
        match (self.layout.has_plan(), self.layout.is_oriented(), self.on_map()) {
            (_, _, true) => None,
            (false, ..) => Some(NO_PLAN),
            (true, false, _) => {
                Some("no north is known: one bearing, or two positions, would give it")
            }
            (true, true, _) => {
                Some("no place is known: one position (latitude and longitude) would give it")
            }
        }
    }

    /// Why it cannot be drawn in space, and what would help; `None` where it can.
    pub fn why_not_in_space(&self) -> Option<&'static str> {
        let drawn =
            !self.anchors.is_empty() && self.anchors.iter().all(|anchor| anchor.local.is_some());
        (!drawn).then_some(NO_PLAN)
    }

    /// Its lines: runs of legs each of which starts where the one before ends.
    pub fn lines(&self) -> Vec<Vec<usize>> {
        let mut lines: Vec<Vec<usize>> = Vec::new();
        for leg in &self.legs {
            match lines.last_mut() {
                Some(line) if line.last() == Some(&leg.from) => line.push(leg.to),
                _ => lines.push(vec![leg.from, leg.to]),
            }
        }
        lines
    }
}

impl Layers {
    /// What is exported of an analysis.
    pub fn of(analysis: &Analysis) -> Self {
        let [positions, legs, trails] = ["positions", "legs", "trails"].map(|name| {
            let table = tables(analysis).into_iter().find(|table| table.name == name);
            table.map_or_else(Default::default, |table| gathered(&table, analysis))
        });
        let mut rows = [positions.1.into_iter(), legs.1.into_iter(), trails.1.into_iter()];
        let name = analysis.survey.settings.name.clone();
        Self {
            name: name.unwrap_or_else(|| "Survey without a name".to_owned()),
            trails: analysis
                .shown_paths()
                .map(|path| trail(analysis, path.trail, &mut rows))
                .collect(),
            anchor_columns: positions.0,
            leg_columns: legs.0,
            trail_columns: trails.0,
        }
    }

    /// The names of the trails for which there is a reason, each with it.
    pub fn left_out(
        &self,
        reason: fn(&Trail) -> Option<&'static str>,
    ) -> Vec<(&str, &'static str)> {
        let named = |trail| reason(trail).map(|why| (trail.name.as_str(), why));
        self.trails.iter().filter_map(named).collect()
    }
}

type Rows = std::vec::IntoIter<Vec<Value>>;

/// The trail at a place with the next rows of each table; the tables list the same trails in the same
/// order.
fn trail(analysis: &Analysis, at: usize, [positions, legs, trails]: &mut [Rows; 3]) -> Trail {
    let (path, geometry) = (&analysis.paths[at], &analysis.trails[at].geometry);
    let frame = analysis.frame_of(path);
    let anchor = |(at, attributes): (usize, Vec<Value>)| {
        let node = path.points[at].node;
        let local = geometry.points[at];
        let position = frame.and_then(|frame| frame.placed(analysis.adjusted.positions[node]));
        let globe = position.map(|position| Globe {
            latitude: rounded(position.latitude.to_degrees(), 8),
            longitude: rounded(position.longitude.to_degrees(), 8),
            elevation: rounded(position.elevation.to_metres(), 3),
        });
        Anchor {
            name: analysis.node_name(node).to_owned(),
            local: (path.layout.has_plan() && local.iter().all(|x| x.is_finite())).then_some(local),
            height: geometry.heights[at],
            globe,
            attributes,
        }
    };
    let leg = |(at, attributes): (usize, Vec<Value>)| Leg {
        from: path.legs[at].from,
        to: path.legs[at].to,
        attributes,
    };
    Trail {
        name: analysis.trail_name(at).to_owned(),
        layout: path.layout,
        anchors: positions.take(path.points.len()).enumerate().map(anchor).collect(),
        legs: legs.take(path.legs.len()).enumerate().map(leg).collect(),
        attributes: trails.next().unwrap_or_default(),
    }
}

/// The columns of a table and all its rows.
fn gathered(table: &Table, analysis: &Analysis) -> (Vec<Column>, Vec<Vec<Value>>) {
    let mut rows = Vec::new();
    table.for_each_row(analysis, &mut |row| {
        rows.push(
            row.iter().zip(&table.columns).map(|(cell, column)| value(*cell, column)).collect(),
        );
    });
    (table.columns.clone(), rows)
}

/// A value as plain text; blank for null.
fn plain_text(value: &Value) -> String {
    match value {
        Value::Null => String::new(),
        Value::String(text) => text.clone(),
        other => other.to_string(),
    }
}

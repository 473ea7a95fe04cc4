//! GeoPackage 1.3 (OGC 12-128r17): the layers anchors, legs and trails in one `SQLite` file.

use super::{Globe, Layers, Trail};
use crate::results::tables::{Column, Kind};
use rusqlite::types::Value as Stored;
use rusqlite::{Connection, MAIN_DB, Result, params, params_from_iter};
use serde_json::Value;
use std::collections::BTreeSet;
use std::iter::once;

/// What every GeoPackage holds. The time of the last change is needed, and no clock may stand in a
/// result, so that it is the beginning of time.
const SKELETON: &str = "
PRAGMA application_id = 0x47504B47;
PRAGMA user_version = 10300;
CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT NOT NULL, srs_id INTEGER PRIMARY KEY,
  organization TEXT NOT NULL, organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL,
  description TEXT);
CREATE TABLE gpkg_contents (table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL,
  identifier TEXT UNIQUE, description TEXT DEFAULT '',
  last_change DATETIME NOT NULL DEFAULT '1970-01-01T00:00:00.000Z',
  min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
  CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));
CREATE TABLE gpkg_geometry_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL,
  geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
  CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name),
  CONSTRAINT uk_gc_table_name UNIQUE (table_name),
  CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
  CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));
INSERT INTO gpkg_spatial_ref_sys VALUES
  ('Undefined Cartesian', -1, 'NONE', -1, 'undefined', NULL),
  ('Undefined geographic', 0, 'NONE', 0, 'undefined', NULL),
  ('WGS 84', 4326, 'EPSG', 4326, 'GEOGCS[\"WGS 84\",DATUM[\"WGS_1984\",SPHEROID[\"WGS 84\",6378137,\
298.257223563,AUTHORITY[\"EPSG\",\"7030\"]],AUTHORITY[\"EPSG\",\"6326\"]],PRIMEM[\"Greenwich\",0,\
AUTHORITY[\"EPSG\",\"8901\"]],UNIT[\"degree\",0.0174532925199433,AUTHORITY[\"EPSG\",\"9122\"]],\
AUTHORITY[\"EPSG\",\"4326\"]]', 'longitude and latitude in degrees, elevation in metres');
";

/// WGS 84 in the registry of EPSG.
const WGS_84: i32 = 4326;

/// Kinds of geometry with elevations, as well-known binary numbers them.
const POINT: u32 = 1001;
const LINE: u32 = 1002;
const LINES: u32 = 1005;

/// One layer, and its rows: geometry, and attributes in the order of the columns.
struct Layer<'l> {
    name: &'static str,
    kind: &'static str,
    columns: &'l [Column],
    rows: Vec<(Option<Vec<u8>>, &'l [Value])>,
}

/// All trails that can go on a map. A trail of an animal that did not move has no geometry.
///
/// # Errors
/// Where `SQLite` refuses, as it does for more than 2,000 columns.
pub fn encode(layers: &Layers) -> Result<Vec<u8>> {
    let mut connection = Connection::open_in_memory()?;
    connection.execute_batch(SKELETON)?;
    let writing = connection.transaction()?;
    let bounds = bounds(layers);
    for layer in [anchors(layers), legs(layers), trails(layers)] {
        write(&writing, &layer, bounds)?;
    }
    writing.commit()?;
    Ok(connection.serialize(MAIN_DB)?.to_vec())
}

fn placed(layers: &Layers) -> impl Iterator<Item = &Trail> {
    layers.trails.iter().filter(|trail| trail.on_map())
}

fn anchors(layers: &Layers) -> Layer<'_> {
    let anchors = placed(layers).flat_map(|trail| &trail.anchors);
    let rows = anchors.map(|anchor| {
        let geometry = anchor.globe.map(|globe| blob([opened(POINT), coordinates(globe)]));
        (geometry, anchor.attributes.as_slice())
    });
    let columns = &layers.anchor_columns;
    Layer { name: "anchors", kind: "POINT", columns, rows: rows.collect() }
}

fn legs(layers: &Layers) -> Layer<'_> {
    let legs = placed(layers).flat_map(|trail| trail.legs.iter().map(move |leg| (trail, leg)));
    let rows = legs.map(|(trail, leg)| {
        (Some(blob([line(trail, &[leg.from, leg.to])])), leg.attributes.as_slice())
    });
    let columns = &layers.leg_columns;
    Layer { name: "legs", kind: "LINESTRING", columns, rows: rows.collect() }
}

fn trails(layers: &Layers) -> Layer<'_> {
    let rows = placed(layers).map(|trail| {
        let lines = trail.lines();
        let each = lines.iter().map(|anchors| line(trail, anchors));
        let geometry = blob([opened(LINES), count(lines.len())].into_iter().chain(each));
        ((!lines.is_empty()).then_some(geometry), trail.attributes.as_slice())
    });
    let columns = &layers.trail_columns;
    Layer { name: "trails", kind: "MULTILINESTRING", columns, rows: rows.collect() }
}

/// West, south, east and north of all that is on the map.
fn bounds(layers: &Layers) -> [f64; 4] {
    let anchors = placed(layers).flat_map(|trail| &trail.anchors);
    let nowhere = [f64::INFINITY, f64::INFINITY, f64::NEG_INFINITY, f64::NEG_INFINITY];
    anchors.filter_map(|anchor| anchor.globe).fold(nowhere, |[west, south, east, north], globe| {
        let Globe { longitude: x, latitude: y, .. } = globe;
        [west.min(x), south.min(y), east.max(x), north.max(y)]
    })
}

/// A geometry as a GeoPackage keeps it: its own heading, then well-known binary.
fn blob(parts: impl IntoIterator<Item = Vec<u8>>) -> Vec<u8> {
    let heading = [b"GP\0\x01".to_vec(), WGS_84.to_le_bytes().to_vec()];
    heading.into_iter().chain(parts).flatten().collect()
}

/// The beginning of a geometry of little-endian numbers.
fn opened(kind: u32) -> Vec<u8> {
    [vec![1], kind.to_le_bytes().to_vec()].concat()
}

fn count(things: usize) -> Vec<u8> {
    u32::try_from(things).unwrap_or(u32::MAX).to_le_bytes().to_vec()
}

fn coordinates(globe: Globe) -> Vec<u8> {
    [globe.longitude, globe.latitude, globe.elevation].map(f64::to_le_bytes).concat()
}

/// The line through anchors of a trail.
fn line(trail: &Trail, anchors: &[usize]) -> Vec<u8> {
    let places: Vec<Globe> = anchors.iter().filter_map(|at| trail.anchors[*at].globe).collect();
    let heading = [opened(LINE), count(places.len())];
    heading.into_iter().chain(places.into_iter().map(coordinates)).flatten().collect()
}

fn write(connection: &Connection, layer: &Layer<'_>, bounds: [f64; 4]) -> Result<()> {
    let Layer { name, kind, columns, rows } = layer;
    let names = names(columns);
    let described = names.iter().zip(*columns).map(|(name, column)| {
        let kind = match column.kind {
            Kind::Text => "TEXT",
            Kind::Number(_) => "DOUBLE",
            Kind::Count => "INTEGER",
        };
        format!(", {name} {kind}")
    });
    let described: String = described.collect();
    connection.execute_batch(&format!(
        "CREATE TABLE {name} (fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom {kind}{described})"
    ))?;
    let [west, south, east, north] = bounds;
    connection.execute(
        "INSERT INTO gpkg_contents (table_name, data_type, identifier, min_x, min_y, max_x, max_y, \
         srs_id) VALUES (?1, 'features', ?1, ?2, ?3, ?4, ?5, ?6)",
        params![name, west, south, east, north, WGS_84],
    )?;
    connection.execute(
        "INSERT INTO gpkg_geometry_columns VALUES (?1, 'geom', ?2, ?3, 1, 0)",
        params![name, kind, WGS_84],
    )?;
    let places = ", ?".repeat(names.len());
    let mut insert = connection.prepare(&format!("INSERT INTO {name} VALUES (NULL, ?{places})"))?;
    for (geometry, attributes) in rows {
        let geometry = geometry.clone().map_or(Stored::Null, Stored::Blob);
        insert.execute(params_from_iter(once(geometry).chain(attributes.iter().map(stored))))?;
    }
    Ok(())
}

/// The names of columns in quotes, no two of them alike: `SQLite` does not tell capitals, and the
/// first two columns are ours.
fn names(columns: &[Column]) -> Vec<String> {
    let mut taken = BTreeSet::from(["fid".to_owned(), "geom".to_owned()]);
    let mut names = Vec::new();
    for column in columns {
        let mut name = column.name.to_string();
        while !taken.insert(name.to_lowercase()) {
            name.push('_');
        }
        names.push(format!("\"{}\"", name.replace('"', "\"\"")));
    }
    names
}

fn stored(value: &Value) -> Stored {
    match value {
        Value::Number(number) => match (number.as_i64(), number.as_f64()) {
            (Some(whole), _) => Stored::Integer(whole),
            (None, Some(real)) => Stored::Real(real),
            (None, None) => Stored::Null,
        },
        Value::String(text) => Stored::Text(text.clone()),
        _ => Stored::Null,
    }
}

//! `GeoJSON` (RFC 7946): anchors as points, legs and trails as lines, longitude first.

use super::{Globe, Layers, Trail};
use crate::results::tables::Column;
use serde_json::{Value, json};

/// All trails that can go on a map, one feature a line of text; `layer` in the properties says
/// whether it is of the `trails`, `legs` or `anchors`.
pub fn encode(layers: &Layers) -> String {
    let mut features = Vec::new();
    for trail in layers.trails.iter().filter(|trail| trail.on_map()) {
        let at = |index: &usize| trail.anchors[*index].globe.map(coordinates);
        let feature = |layer: &str, geometry: &Value, columns: &[Column], values: &[Value]| {
            let properties = properties(layer, columns, values);
            format!(
                "{{\"type\": \"Feature\", \"geometry\": {geometry}, \"properties\": {properties}}}"
            )
        };
        features.push(feature(
            "trails",
            &trail_geometry(trail),
            &layers.trail_columns,
            &trail.attributes,
        ));
        for leg in &trail.legs {
            let line = json!({"type": "LineString", "coordinates": [at(&leg.from), at(&leg.to)]});
            features.push(feature("legs", &line, &layers.leg_columns, &leg.attributes));
        }
        for (index, anchor) in trail.anchors.iter().enumerate() {
            let point = json!({"type": "Point", "coordinates": at(&index)});
            features.push(feature("anchors", &point, &layers.anchor_columns, &anchor.attributes));
        }
    }
    let name = Value::from(layers.name.as_str());
    let features = features.join(",\n");
    format!(
        "{{\"type\": \"FeatureCollection\", \"name\": {name}, \"features\": [\n{features}\n]}}\n"
    )
}

fn coordinates(globe: Globe) -> [f64; 3] {
    [globe.longitude, globe.latitude, globe.elevation]
}

/// The lines of a trail; a point where the animal did not move.
fn trail_geometry(trail: &Trail) -> Value {
    let at = |index: &usize| trail.anchors[*index].globe.map(coordinates);
    let lines = trail.lines();
    let lines: Vec<Vec<_>> = lines.iter().map(|line| line.iter().map(at).collect()).collect();
    match lines.as_slice() {
        [] => json!({"type": "Point", "coordinates": at(&0)}),
        [line] => json!({"type": "LineString", "coordinates": line}),
        lines => json!({"type": "MultiLineString", "coordinates": lines}),
    }
}

/// An object whose keys keep the order of the columns.
fn properties(layer: &str, columns: &[Column], values: &[Value]) -> String {
    let mut text = format!("{{\"layer\": \"{layer}\"");
    for (column, value) in columns.iter().zip(values) {
        text += &format!(", {}: {value}", Value::from(&*column.name));
    }
    text + "}"
}

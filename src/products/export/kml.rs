//! KML 2.2: a folder for each trail with its line and its anchors.
//!
//! Altitudes are heights above the ground (`relativeToGround`), so that the path stands rightly on
//! whatever terrain the viewer has; the other formats give elevations.

use super::{Anchor, Layers, Trail, plain_text};
use crate::products::xml::escaped;
use crate::results::cell::rounded;
use crate::results::tables::Column;
use serde_json::Value;

/// All trails that can go on a map.
pub fn encode(layers: &Layers) -> String {
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n\
         <kml xmlns=\"http://www.opengis.net/kml/2.2\">\n<Document>\n<name>{}</name>\n\
         <Style id=\"trail\"><LineStyle><color>ff0099ff</color><width>3</width></LineStyle></Style>\n\
         <Style id=\"anchor\"><IconStyle><scale>0.4</scale></IconStyle>\
         <LabelStyle><scale>0.6</scale></LabelStyle></Style>\n",
        escaped(&layers.name)
    );
    for trail in layers.trails.iter().filter(|trail| trail.on_map()) {
        text += &format!("<Folder>\n<name>{}</name>\n", escaped(&trail.name));
        text += &line(trail, &layers.trail_columns);
        // Map programs make a layer of each folder, and want their names to differ.
        text += &format!("<Folder>\n<name>anchors of {}</name>\n", escaped(&trail.name));
        for anchor in &trail.anchors {
            text += &format!(
                "<Placemark><name>{}</name><styleUrl>#anchor</styleUrl>{}<Point>{MODE}\
                 <coordinates>{}</coordinates></Point></Placemark>\n",
                escaped(&anchor.name),
                extended(&layers.anchor_columns, &anchor.attributes),
                coordinates(anchor),
            );
        }
        text += "</Folder>\n</Folder>\n";
    }
    text + "</Document>\n</kml>\n"
}

const MODE: &str = "<altitudeMode>relativeToGround</altitudeMode>";

/// A trail's lines; nothing where the animal did not move.
fn line(trail: &Trail, columns: &[Column]) -> String {
    let lines = trail.lines();
    if lines.is_empty() {
        return String::new();
    }
    let mut text = format!(
        "<Placemark><name>{}</name><styleUrl>#trail</styleUrl>{}<MultiGeometry>\n",
        escaped(&trail.name),
        extended(columns, &trail.attributes),
    );
    for line in lines {
        let places: Vec<String> = line.iter().map(|at| coordinates(&trail.anchors[*at])).collect();
        text += &format!(
            "<LineString>{MODE}<coordinates>{}</coordinates></LineString>\n",
            places.join(" ")
        );
    }
    text + "</MultiGeometry></Placemark>\n"
}

/// Longitude, latitude, height above ground.
fn coordinates(anchor: &Anchor) -> String {
    let height = if anchor.height.is_finite() { rounded(anchor.height, 3) } else { 0.0 };
    anchor.globe.map_or_else(String::new, |globe| {
        format!("{:.8},{:.8},{height}", globe.longitude, globe.latitude)
    })
}

/// The attributes that have a value.
fn extended(columns: &[Column], values: &[Value]) -> String {
    let mut text = String::from("<ExtendedData>");
    for (column, value) in columns.iter().zip(values).filter(|(_, value)| !value.is_null()) {
        text += &format!(
            "<Data name=\"{}\"><value>{}</value></Data>",
            escaped(&column.name),
            escaped(&plain_text(value))
        );
    }
    text + "</ExtendedData>"
}

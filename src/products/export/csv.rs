//! One row an anchor: its row of the positions, then its elevation and its place as well-known
//! text, so that a table opens as a layer. Trails without a place have local metres only.

use super::{Globe, Layers, plain_text};

/// The heading and all rows, as text.
pub fn rows(layers: &Layers) -> Vec<Vec<String>> {
    let mut heading: Vec<String> =
        layers.anchor_columns.iter().map(|column| column.name.to_string()).collect();
    // A user's own column may bear one of these names already; then it stands twice, and the last
    // is ours.
    heading.extend(["elevation_m", "wkt"].map(str::to_owned));
    let mut rows = vec![heading];
    for anchor in layers.trails.iter().flat_map(|trail| &trail.anchors) {
        let mut row: Vec<String> = anchor.attributes.iter().map(plain_text).collect();
        let elevation = anchor.globe.map(|globe| globe.elevation.to_string());
        let wkt = anchor.globe.map(|globe| {
            let Globe { latitude, longitude, elevation } = globe;
            format!("POINT Z ({longitude:.8} {latitude:.8} {elevation})")
        });
        row.extend([elevation.unwrap_or_default(), wkt.unwrap_or_default()]);
        rows.push(row);
    }
    rows
}

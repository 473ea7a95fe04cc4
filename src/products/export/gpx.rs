//! GPX 1.1: anchors as waypoints to walk back to, trails as tracks, elevations in metres.

use super::{Globe, Layers};
use crate::products::xml::escaped;

/// All trails that can go on a map.
pub fn encode(layers: &Layers) -> String {
    let mut text = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<gpx version=\"1.1\" creator=\"perchline\" \
         xmlns=\"http://www.topografix.com/GPX/1/1\">\n<metadata><name>{}</name></metadata>\n",
        escaped(&layers.name)
    );
    let placed = || layers.trails.iter().filter(|trail| trail.on_map());
    for trail in placed() {
        for (anchor, globe) in trail.anchors.iter().filter_map(|a| Some((a, a.globe?))) {
            let name = escaped(&format!("{} {}", trail.name, anchor.name));
            text += &format!("{}<name>{name}</name></wpt>\n", opened("wpt", globe));
        }
    }
    for trail in placed().filter(|trail| !trail.legs.is_empty()) {
        text += &format!("<trk><name>{}</name>\n", escaped(&trail.name));
        for line in trail.lines() {
            text += "<trkseg>\n";
            for globe in line.iter().filter_map(|at| trail.anchors[*at].globe) {
                text += &format!("{}</trkpt>\n", opened("trkpt", globe));
            }
            text += "</trkseg>\n";
        }
        text += "</trk>\n";
    }
    text + "</gpx>\n"
}

fn opened(element: &str, globe: Globe) -> String {
    let Globe { latitude, longitude, elevation } = globe;
    format!("<{element} lat=\"{latitude:.8}\" lon=\"{longitude:.8}\"><ele>{elevation}</ele>")
}

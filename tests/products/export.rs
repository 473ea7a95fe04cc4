//! `export` to maps and tables: each file read back by another reader, and its coordinates held
//! against the tables.

use crate::exported;
use crate::run;

use exported::{Row, exported, number, table};
use roxmltree::{Document, Node};
use run::{GOOD, contents, perchline, survey};
use rusqlite::Connection;
use serde_json::Value;
use std::f64::consts::PI;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

const REFERENCE: &str = include_str!("../reference/geodetic_to_enu.json");

/// Length of the geodesic on WGS 84 by the iteration of Vincenty 1975 (Surv. Rev. 23:88-93):
/// another road than the program's, which goes through earth-centred coordinates.
fn geodesic([lat1, lon1]: [f64; 2], [lat2, lon2]: [f64; 2]) -> f64 {
    let (a, f) = (6_378_137.0_f64, 1.0 / 298.257_223_563_f64);
    let b = a * (1.0 - f);
    let radians = |degrees: f64| degrees / 180.0 * PI;
    let reduced = |lat: f64| ((1.0 - f) * radians(lat).tan()).atan();
    let ((s1, c1), (s2, c2)) = (reduced(lat1).sin_cos(), reduced(lat2).sin_cos());
    let mut l = radians(lon2 - lon1);
    l -= (l / std::f64::consts::TAU).round() * std::f64::consts::TAU;
    let mut lambda = l;
    for _ in 0..50 {
        let (sl, cl) = lambda.sin_cos();
        let sin = (c2 * sl).hypot(c1 * s2 - s1 * c2 * cl);
        if sin == 0.0 {
            return 0.0;
        }
        let cos = s1 * s2 + c1 * c2 * cl;
        let sigma = sin.atan2(cos);
        let sa = c1 * c2 * sl / sin;
        let ca2 = 1.0 - sa * sa;
        let cm = if ca2 > 1e-12 { cos - 2.0 * s1 * s2 / ca2 } else { 0.0 };
        let c = f / 16.0 * ca2 * (4.0 + f * (4.0 - 3.0 * ca2));
        let next =
            l + (1.0 - c) * f * sa * (sigma + c * sin * (cm + c * cos * (2.0 * cm * cm - 1.0)));
        if (next - lambda).abs() < 1e-14 {
            let u2 = ca2 * (a * a - b * b) / (b * b);
            let k1 = ((1.0 + u2).sqrt() - 1.0) / ((1.0 + u2).sqrt() + 1.0);
            let (big_a, big_b) =
                ((1.0 + k1 * k1 / 4.0) / (1.0 - k1), k1 * (1.0 - 3.0 / 8.0 * k1 * k1));
            let turn = cos * (2.0 * cm * cm - 1.0)
                - big_b / 6.0 * cm * (4.0 * sin * sin - 3.0) * (4.0 * cm * cm - 3.0);
            return b * big_a * (sigma - big_b * sin * (cm + big_b / 4.0 * turn));
        }
        lambda = next;
    }
    f64::NAN // antipodes
}

#[test]
fn the_yardstick_measures_what_others_publish() {
    let reference: Value = serde_json::from_str(REFERENCE).unwrap();
    let cases = reference["cases"].as_array().unwrap();
    assert!(cases.len() >= 10);
    for case in cases {
        let of = |key: &str| case[key].as_f64().unwrap();
        let found = geodesic([of("lat0"), of("lon0")], [of("lat"), of("lon")]);
        assert!((found - of("geodesic_distance_m")).abs() < 0.0015, "{case}: {found}");
    }
}

fn features<'a>(collection: &'a Value, layer: &str) -> Vec<&'a Value> {
    let all = collection["features"].as_array().unwrap();
    all.iter().filter(|feature| feature["properties"]["layer"] == layer).collect()
}

fn coordinates(place: &Value) -> [f64; 3] {
    [0, 1, 2].map(|k| place[k].as_f64().unwrap())
}

/// RFC 7946: longitude before latitude, no other reference system, every feature with geometry
/// and properties.
#[test]
fn geojson_says_what_the_tables_say() {
    let (folder, said) = exported(&["d.geojson"]);
    let text = fs::read_to_string(folder.path().join("d.geojson")).unwrap();
    let collection: Value = serde_json::from_str(&text).unwrap();
    assert_eq!(collection["type"], "FeatureCollection");
    assert!(collection.get("crs").is_none());
    let positions = table(&folder.path().join("results/positions.csv"));
    let placed: Vec<&Row> = positions.iter().filter(|row| !row["latitude"].is_empty()).collect();
    let anchors = features(&collection, "anchors");
    assert_eq!(anchors.len(), placed.len());
    for (anchor, row) in anchors.iter().zip(&placed) {
        let [lon, lat, up] = coordinates(&anchor["geometry"]["coordinates"]);
        assert!((lat - number(row, "latitude").unwrap()).abs() < 1e-9);
        assert!((lon - number(row, "longitude").unwrap()).abs() < 1e-9);
        // The demo's origin lies 612 m high, and up is counted from its level surface.
        let stated = number(row, "up_m").unwrap();
        assert!((up - 612.0 - stated).abs() < 0.0007, "{up} {row:?}");
        assert_eq!(anchor["properties"]["anchor"], row["anchor"].as_str());
        assert_eq!(anchor["properties"]["height_m"].as_f64(), number(row, "height_m"));
    }
    legs_are_as_long_on_the_globe(&collection, &table(&folder.path().join("results/legs.csv")));
    let trails = table(&folder.path().join("results/trails.csv"));
    let left_out = trails.len() - features(&collection, "trails").len();
    assert!(left_out > 0, "the demo has trails without bearings");
    let d13 = trails.iter().find(|row| row["trail"] == "D13").unwrap();
    assert!(said.contains("Not on the map") && said.contains(&d13["trail"]), "{said}");
    assert!(said.contains(".csv or .glb"), "{said}");
}

/// The geodesic between the ends of each leg is its horizontal length: over so short a way plane
/// and ellipsoid differ by the height above it, 1 part in 10,000 at 612 m.
fn legs_are_as_long_on_the_globe(collection: &Value, legs: &[Row]) {
    let shown = features(collection, "legs");
    let mut checked = 0;
    for leg in &shown {
        let of = |key: &str| leg["properties"][key].as_str().unwrap();
        let row = |row: &&Row| ["trail", "from", "to"].iter().all(|key| row[*key] == of(key));
        let stated: Vec<f64> =
            legs.iter().filter(row).filter_map(|row| number(row, "horizontal_m")).collect();
        let line = &leg["geometry"]["coordinates"];
        let [a, b] = [0, 1].map(|k| coordinates(&line[k]));
        let length = geodesic([a[1], a[0]], [b[1], b[0]]) * (1.0 + 612.0 / 6_371_000.0);
        // Two millimetres: each end is rounded to 1e-8 of a degree.
        let near = stated.iter().any(|stated| (stated - length).abs() < 0.003);
        assert!(near, "{}: {length} {stated:?}", of("trail"));
        checked += 1;
    }
    assert!(checked > 300, "{checked}");
}

fn child_text<'a>(node: Node<'a, '_>, name: &str) -> &'a str {
    node.children().find(|child| child.tag_name().name() == name).unwrap().text().unwrap()
}

#[test]
fn gpx_and_kml_hold_the_same_places() {
    let (folder, _) = exported(&["d.gpx", "d.kml"]);
    let positions = table(&folder.path().join("results/positions.csv"));
    let placed: Vec<&Row> = positions.iter().filter(|row| !row["latitude"].is_empty()).collect();
    let text = fs::read_to_string(folder.path().join("d.gpx")).unwrap();
    let gpx = Document::parse(&text).unwrap();
    assert_eq!(
        gpx.root_element().tag_name().namespace(),
        Some("http://www.topografix.com/GPX/1/1")
    );
    assert_eq!(gpx.root_element().attribute("version"), Some("1.1"));
    let of =
        |node: &Node<'_, '_>, name: &str| node.attribute(name).unwrap().parse::<f64>().unwrap();
    let waypoints: Vec<Node<'_, '_>> =
        gpx.root_element().children().filter(|node| node.tag_name().name() == "wpt").collect();
    assert_eq!(waypoints.len(), placed.len());
    for (waypoint, row) in waypoints.iter().zip(&placed) {
        assert!((of(waypoint, "lat") - number(row, "latitude").unwrap()).abs() < 1e-9);
        assert!((of(waypoint, "lon") - number(row, "longitude").unwrap()).abs() < 1e-9);
        assert_eq!(child_text(*waypoint, "name"), format!("{} {}", row["trail"], row["anchor"]));
    }
    // The schema's order: metadata, waypoints, tracks.
    let order: Vec<&str> = gpx
        .root_element()
        .children()
        .filter(Node::is_element)
        .map(|node| node.tag_name().name())
        .collect();
    let mut sorted = order.clone();
    sorted.sort_by_key(|name| ["metadata", "wpt", "trk"].iter().position(|known| known == name));
    assert_eq!(order, sorted);
    assert!(order.contains(&"trk"));

    let text = fs::read_to_string(folder.path().join("d.kml")).unwrap();
    let kml = Document::parse(&text).unwrap();
    let points = kml.descendants().filter(|node| node.tag_name().name() == "Point");
    let mut count = 0;
    for (point, row) in points.zip(&placed) {
        let text = child_text(point, "coordinates");
        let [lon, lat, height] =
            <[f64; 3]>::try_from(text.split(',').map(|x| x.parse().unwrap()).collect::<Vec<_>>())
                .unwrap();
        assert!((lat - number(row, "latitude").unwrap()).abs() < 1e-9);
        assert!((lon - number(row, "longitude").unwrap()).abs() < 1e-9);
        assert!((height - number(row, "height_m").unwrap()).abs() < 0.001);
        assert_eq!(child_text(point, "altitudeMode"), "relativeToGround");
        count += 1;
    }
    assert_eq!(count, placed.len());
    let namespace = "http://www.opengis.net/kml/2.2";
    assert_eq!(kml.root_element().tag_name().namespace(), Some(namespace));
}

#[test]
fn csv_has_every_anchor_and_local_metres_for_those_without_a_place() {
    let (folder, said) = exported(&["d.csv"]);
    let (rows, positions) =
        (table(&folder.path().join("d.csv")), table(&folder.path().join("results/positions.csv")));
    assert_eq!(rows.len(), positions.len());
    assert!(!said.contains("map"), "{said}");
    for (row, position) in rows.iter().zip(&positions) {
        for column in ["trail", "anchor", "support"] {
            assert_eq!(row[column], position[column]);
        }
        for column in ["east_m", "north_m", "up_m", "height_m", "latitude"] {
            assert_eq!(number(row, column), number(position, column), "{column}");
        }
        assert_eq!(row["wkt"].is_empty(), row["latitude"].is_empty());
    }
}

#[test]
fn a_survey_without_a_place_is_told_and_nothing_is_touched() {
    let folder = survey(GOOD);
    let before = contents(folder.path());
    for name in ["a.geojson", "a.kml", "a.gpx", "a.gpkg", "a.doc", "survey/a.csv", "no/a.csv"] {
        let output = perchline(folder.path(), &["export", "survey", "--out", name]);
        assert_eq!(output.status.code(), Some(2), "{name}");
        assert_eq!(contents(folder.path()), before, "{name}");
        let said = String::from_utf8(output.stderr).unwrap();
        if name == "a.kml" {
            assert!(said.contains("local metres"), "{said}");
        }
    }
    let glb = ["export", "survey", "--out", "a.glb", "--quiet"];
    assert!(perchline(folder.path(), &glb).status.success());
    let first = contents(folder.path());
    assert_eq!(first.len(), before.len() + 1, "no file is left beside");
    assert!(perchline(folder.path(), &glb).status.success(), "over what was there");
    assert_eq!(contents(folder.path()), first, "same survey, same bytes");
}

/// Names and notes may hold what XML or a spreadsheet would take for its own.
#[test]
fn what_a_user_writes_is_text() {
    let anchors = "trail,anchor,tape_m,bearing_deg,height_m,latitude,longitude,note\n\
                   <b>&A,0,,,1,46.1,14.9,\"a <script> & \"\"b\"\"\"\n<b>&A,1,3,20,1,,,=1+1\n";
    let folder = survey(anchors);
    for name in ["a.kml", "a.gpx", "a.geojson", "a.csv"] {
        let output = perchline(folder.path(), &["export", "survey", "--out", name]);
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stdout));
    }
    let text = |name: &str| fs::read_to_string(folder.path().join(name)).unwrap();
    let kml = text("a.kml");
    let kml = Document::parse(&kml).unwrap();
    assert!(kml.descendants().any(|node| node.text() == Some("a <script> & \"b\"")));
    let gpx = text("a.gpx");
    let gpx = Document::parse(&gpx).unwrap();
    assert!(gpx.descendants().any(|node| node.text() == Some("<b>&A 1")));
    let collection: Value = serde_json::from_str(&text("a.geojson")).unwrap();
    assert_eq!(features(&collection, "anchors")[0]["properties"]["trail"], "<b>&A");
    assert!(text("a.csv").contains("'=1+1"));
}

/// Origins by the middle of Europe, south of the equator beside the antimeridian, and in the north.
const ORIGINS: [[f64; 3]; 3] =
    [[46.1, 14.9, 742.0], [-16.85, 179.97, 835.0], [69.5, -20.25, 1380.0]];

/// A survey of known points around an origin, to 20 km away and 1000 m above or below: each the
/// release of a trail of its own. Returns latitude and longitude as they were written, by trail.
fn known_points(origin: [f64; 3]) -> (TempDir, Vec<[String; 2]>) {
    let [north, east, ground] = origin;
    let mut anchors = "trail,anchor,tape_m,bearing_deg,height_m\n".to_owned();
    let mut controls = "control,latitude,longitude,elevation_m\n".to_owned();
    let mut trails = "trail,release\n".to_owned();
    let mut written = Vec::new();
    let kilometres = [0.0, 0.3, 1.0, 4.0, 10.0, 20.0];
    let ways = [0.0, 1.7, 3.4, 5.1, 0.5, 2.2_f64]; // radians
    for (at, (km, way)) in kilometres.into_iter().zip(ways).enumerate() {
        let (sin, cos) = way.sin_cos();
        let latitude = north + km * cos / 111.2;
        let longitude = east + km * sin / 111.2 / (north / 180.0 * PI).cos();
        let longitude = if longitude > 180.0 { longitude - 360.0 } else { longitude };
        let rise = [0.0, 180.0, -35.0, 1000.0, -1000.0, 400.0][at];
        let place = [format!("{latitude:.8}"), format!("{longitude:.8}")];
        controls += &format!("c{at},{},{},{}\n", place[0], place[1], ground + rise);
        trails += &format!("T{at},c{at}\n");
        anchors += &format!("T{at},0,,,2.5\nT{at},1,4.0,70,0.5\n");
        written.push(place);
    }
    let folder = survey(&anchors);
    fs::write(folder.path().join("survey/controls.csv"), controls).unwrap();
    fs::write(folder.path().join("survey/trails.csv"), trails).unwrap();
    (folder, written)
}

/// A known point leads back to the digits that were written, in every file that has them. It was
/// 0.1 m off at 4 km and 180 m above the origin, which is 1e-6 of a degree.
#[test]
fn a_known_point_comes_back_as_it_was_given() {
    for origin in ORIGINS {
        let (folder, written) = known_points(origin);
        let folder = folder.path();
        let rebuild = ["rebuild", "survey", "--out", "results", "--tables-only", "--draws", "0"];
        assert_eq!(perchline(folder, &rebuild).status.code(), Some(0));
        let positions = table(&folder.join("results/positions.csv"));
        let releases: Vec<&Row> = positions.iter().filter(|row| row["anchor"] == "0").collect();
        let told = |row: &&Row| ["latitude", "longitude"].map(|column| to_8(&row[column]));
        assert_eq!(releases.iter().map(told).collect::<Vec<_>>(), written, "positions.csv");
        for name in ["a.geojson", "a.kml", "a.gpx", "a.gpkg"] {
            let export = ["export", "survey", "--out", name, "--draws", "0"];
            assert_eq!(perchline(folder, &export).status.code(), Some(0));
            let places = places(&folder.join(name));
            let releases: Vec<_> = places.into_iter().step_by(2).collect();
            assert_eq!(releases, written, "{name}");
        }
    }
}

fn to_8(text: &str) -> String {
    format!("{:.8}", text.parse::<f64>().unwrap())
}

/// Latitude and longitude of every anchor in a file, in its order, to eight decimals.
fn places(file: &Path) -> Vec<[String; 2]> {
    let ending = file.extension().unwrap().to_str().unwrap();
    let text = String::from_utf8_lossy(&fs::read(file).unwrap()).into_owned();
    let reversed = |lon_lat: &str| {
        let degrees: Vec<String> = lon_lat.split(',').take(2).map(to_8).collect();
        [degrees[1].clone(), degrees[0].clone()]
    };
    match ending {
        "geojson" => {
            let collection: Value = serde_json::from_str(&text).unwrap();
            let anchors = features(&collection, "anchors");
            let places = anchors.iter().map(|a| coordinates(&a["geometry"]["coordinates"]));
            places.map(|[lon, lat, _]| [lat, lon].map(|degrees| format!("{degrees:.8}"))).collect()
        }
        "gpkg" => {
            let package = Connection::open(file).unwrap();
            let mut rows = package.prepare("SELECT geom FROM anchors").unwrap();
            let points = rows.query_map([], |row| row.get::<_, Vec<u8>>(0)).unwrap();
            points.map(|blob| of_blob(&blob.unwrap())).collect()
        }
        _ => {
            let document = Document::parse(&text).unwrap();
            let named = |name: &'static str| {
                document.descendants().filter(move |node| node.tag_name().name() == name)
            };
            if ending == "kml" {
                return named("Point").map(|at| reversed(child_text(at, "coordinates"))).collect();
            }
            let of = |node: &Node<'_, '_>, key: &str| to_8(node.attribute(key).unwrap());
            named("wpt").map(|at| ["lat", "lon"].map(|key| of(&at, key))).collect()
        }
    }
}

/// A point of a GeoPackage ends in its three coordinates.
fn of_blob(blob: &[u8]) -> [String; 2] {
    let number = |at: usize| f64::from_le_bytes(blob[at..at + 8].try_into().unwrap());
    [blob.len() - 16, blob.len() - 24].map(|at| format!("{:.8}", number(at)))
}

//! `export`: each file read back by another reader, and its coordinates held against the tables.

#![expect(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "tests write surveys, read results and fail where that fails"
)]

mod run;

use roxmltree::{Document, Node};
use run::{GOOD, contents, perchline, survey};
use rusqlite::Connection;
use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/dormice");
const REFERENCE: &str = include_str!("reference/geodetic_to_enu.json");

/// The demo exported under these names, with its tables beside; what was said to the user last.
fn exported(names: &[&str]) -> (TempDir, String) {
    let folder = TempDir::new().unwrap();
    let mut said = String::new();
    for name in names {
        let output = perchline(folder.path(), &["export", DEMO, "--out", name, "--draws", "0"]);
        assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
        said = String::from_utf8(output.stdout).unwrap();
    }
    let tables = ["rebuild", DEMO, "--out", "results", "--draws", "0", "--tables-only"];
    assert!(perchline(folder.path(), &tables).status.success());
    (folder, said)
}

type Row = BTreeMap<String, String>;

fn table(path: &Path) -> Vec<Row> {
    let mut reader = csv::Reader::from_path(path).unwrap();
    let rows = reader.deserialize().collect::<Result<Vec<Row>, _>>().unwrap();
    assert!(!rows.is_empty());
    rows
}

fn number(row: &Row, column: &str) -> Option<f64> {
    row[column].parse().ok()
}

/// Length of the geodesic on WGS 84 by the iteration of Vincenty 1975 (Surv. Rev. 23:88-93):
/// another road than the program's, which goes through earth-centred coordinates.
fn geodesic([lat1, lon1]: [f64; 2], [lat2, lon2]: [f64; 2]) -> f64 {
    let (a, f) = (6_378_137.0_f64, 1.0 / 298.257_223_563_f64);
    let b = a * (1.0 - f);
    let radians = |degrees: f64| degrees / 180.0 * std::f64::consts::PI;
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
        // The demo's origin lies 612 m high, and the tangent plane leaves the earth by d² / 2 R.
        let [east, north, stated] = ["east_m", "north_m", "up_m"].map(|c| number(row, c).unwrap());
        let bent = (east * east + north * north) / (2.0 * 6_371_000.0);
        assert!((up - 612.0 - stated - bent).abs() < 0.0015, "{up} {row:?}");
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

/// One view of an accessor: 4-byte numbers.
fn read<const N: usize>(json: &Value, binary: &[u8], accessor: &Value) -> Vec<[[u8; 4]; N]> {
    let view =
        &json["bufferViews"][usize::try_from(accessor["bufferView"].as_u64().unwrap()).unwrap()];
    let of = |key: &str| usize::try_from(view[key].as_u64().unwrap()).unwrap();
    let bytes = &binary[of("byteOffset")..of("byteOffset") + of("byteLength")];
    let count = usize::try_from(accessor["count"].as_u64().unwrap()).unwrap();
    assert_eq!(bytes.len(), count * N * 4);
    bytes
        .chunks(4 * N)
        .map(|item| std::array::from_fn(|k| item[4 * k..4 * k + 4].try_into().unwrap()))
        .collect()
}

/// Both chunks of a binary glTF, its header and lengths held against the specification.
fn chunks(bytes: &[u8]) -> (Value, &[u8]) {
    let word = |at: usize| {
        usize::try_from(u32::from_le_bytes(bytes[at..at + 4].try_into().unwrap())).unwrap()
    };
    assert_eq!((&bytes[..4], word(4), word(8)), (&b"glTF"[..], 2, bytes.len()));
    let head = word(12);
    assert_eq!((&bytes[16..20], head % 4), (&b"JSON"[..], 0));
    let json: Value = serde_json::from_slice(&bytes[20..20 + head]).unwrap();
    assert_eq!(&bytes[24 + head..28 + head], b"BIN\0");
    let binary = &bytes[28 + head..];
    assert_eq!((binary.len(), binary.len() % 4), (word(20 + head), 0));
    assert_eq!(json["buffers"][0]["byteLength"].as_u64(), Some(binary.len() as u64));
    (json, binary)
}

#[test]
fn glb_is_whole_and_its_beads_lie_at_the_anchors() {
    let (folder, said) = exported(&["d.glb"]);
    assert!(said.contains("Left out"), "{said}");
    let bytes = fs::read(folder.path().join("d.glb")).unwrap();
    let (json, binary) = chunks(&bytes);
    let positions = table(&folder.path().join("results/positions.csv"));
    let nodes = json["nodes"].as_array().unwrap();
    assert!(nodes.len() > 10);
    for node in nodes {
        let mesh = usize::try_from(node["mesh"].as_u64().unwrap()).unwrap();
        let primitive = &json["meshes"][mesh]["primitives"][0];
        let accessor = |value: &Value| {
            json["accessors"][usize::try_from(value.as_u64().unwrap()).unwrap()].clone()
        };
        let stated = accessor(&primitive["attributes"]["POSITION"]);
        let corners: Vec<[f32; 3]> = read::<3>(&json, binary, &stated)
            .into_iter()
            .map(|corner| corner.map(f32::from_le_bytes))
            .collect();
        for k in 0..3 {
            let all = || corners.iter().map(|corner| corner[k]);
            let bound = |key: &str| stated[key][k].as_f64().unwrap();
            // The reader of this test may be off by the last bit of a double.
            let same = |a: f64, b: f32| (a - f64::from(b)).abs() < 1e-9;
            assert!(same(bound("min"), all().fold(f32::INFINITY, f32::min)));
            assert!(same(bound("max"), all().fold(f32::NEG_INFINITY, f32::max)));
        }
        let indices = read::<1>(&json, binary, &accessor(&primitive["indices"]));
        assert_eq!(indices.len() % 3, 0);
        assert!(indices.iter().all(|[i]| (u32::from_le_bytes(*i) as usize) < corners.len()));
        for name in ["NORMAL", "COLOR_0"] {
            let accessor = accessor(&primitive["attributes"][name]);
            assert_eq!(accessor["count"], stated["count"]);
        }
        // The beads stand last, six corners each about an anchor: x east, y up, z south.
        let own: Vec<&Row> =
            positions.iter().filter(|row| node["name"] == row["trail"].as_str()).collect();
        let beads = &corners[corners.len() - 6 * own.len()..];
        for (bead, row) in beads.chunks(6).zip(&own) {
            let centre = [0, 1, 2].map(|k| bead.iter().map(|c| f64::from(c[k])).sum::<f64>() / 6.0);
            let of = |column| number(row, column).unwrap();
            for (found, stated) in centre.iter().zip([of("east_m"), of("up_m"), -of("north_m")]) {
                assert!((found - stated).abs() < 2e-4, "{}: {found} {stated}", row["anchor"]);
            }
        }
    }
}

/// The GeoPackage standard's marks, and rows that say what the tables say; `tests/outside` has what
/// GDAL makes of it.
#[test]
fn geopackage_says_what_the_tables_say() {
    let (folder, said) = exported(&["d.gpkg", "again.gpkg"]);
    assert!(said.contains("Not on the map"), "{said}");
    let [first, again] =
        ["d.gpkg", "again.gpkg"].map(|name| fs::read(folder.path().join(name)).unwrap());
    assert!(first == again, "same survey, same bytes");
    assert_eq!(&first[68..72], b"GPKG");
    let package = Connection::open(folder.path().join("d.gpkg")).unwrap();
    let whole: String = package.query_row("PRAGMA integrity_check", [], |row| row.get(0)).unwrap();
    let broken = package.prepare("PRAGMA foreign_key_check").unwrap().exists([]).unwrap();
    assert_eq!((whole.as_str(), broken), ("ok", false));
    let positions = table(&folder.path().join("results/positions.csv"));
    let placed = positions.iter().filter(|row| !row["latitude"].is_empty());
    let mut query = package
        .prepare("SELECT geom, trail, anchor, height_m, section FROM anchors ORDER BY fid")
        .unwrap();
    let mut rows = query.query([]).unwrap();
    let mut count = 0;
    for row in placed {
        let found = rows.next().unwrap().unwrap();
        let blob: Vec<u8> = found.get(0).unwrap();
        assert_eq!(&blob[..13], b"GP\0\x01\xe6\x10\0\0\x01\xe9\x03\0\0", "point Z in 4326");
        let place: Vec<f64> =
            blob[13..].chunks(8).map(|b| f64::from_le_bytes(b.try_into().unwrap())).collect();
        assert!((place[0] - number(row, "longitude").unwrap()).abs() < 1e-9);
        assert!((place[1] - number(row, "latitude").unwrap()).abs() < 1e-9);
        assert_eq!(found.get::<_, String>(1).unwrap(), row["trail"]);
        assert_eq!(found.get::<_, String>(2).unwrap(), row["anchor"]);
        assert_eq!(found.get::<_, Option<f64>>(3).unwrap(), number(row, "height_m"));
        assert_eq!(found.get::<_, i64>(4).unwrap().to_string(), row["section"]);
        count += 1;
    }
    assert!(count > 500 && rows.next().unwrap().is_none(), "{count}");
    let counted = |sql: &str| package.query_row(sql, [], |row| row.get::<_, i64>(0)).unwrap();
    let trails = table(&folder.path().join("results/trails.csv")).len();
    assert_eq!(counted("SELECT count(*) FROM trails"), i64::try_from(trails).unwrap() - 1);
    assert!(counted("SELECT count(*) FROM legs") > 500);
    let within = "SELECT count(*) FROM gpkg_contents WHERE min_x > 14.89 AND max_x < 14.91 AND \
                  min_y > 46.09 AND max_y < 46.11 AND min_x < max_x AND \
                  last_change = '1970-01-01T00:00:00.000Z'";
    assert_eq!(counted(within), 3);
}

/// `SQLite` takes names that differ in capitals for one, and the first two columns are ours.
#[test]
fn a_geopackage_takes_any_heading_and_an_animal_that_did_not_move() {
    let folder = survey(
        "trail,anchor,tape_m,bearing_deg,height_m,latitude,longitude,geom,FID,Rain,rain,a\"b\n\
         A,0,,,1,46.1,14.9,1,2,3,4,5\nA,1,3,20,1,,,,,,,\nB,0,,,1,46.1,14.9,,,,,\n",
    );
    let output = perchline(folder.path(), &["export", "survey", "--out", "a.gpkg"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    let package = Connection::open(folder.path().join("a.gpkg")).unwrap();
    let row = "SELECT geom_, fid_, Rain, rain_, \"a\"\"b\" FROM anchors WHERE fid = 1";
    let cells = package
        .query_row(row, [], |row| Ok([0, 1, 2, 3, 4].map(|at| row.get::<_, String>(at).unwrap())))
        .unwrap();
    assert_eq!(cells, ["1", "2", "3", "4", "5"]);
    let lines = "SELECT trail, geom IS NULL FROM trails ORDER BY fid";
    let mut query = package.prepare(lines).unwrap();
    let rows = query.query_map([], |row| Ok((row.get(0).unwrap(), row.get(1).unwrap()))).unwrap();
    let rows: Vec<(String, bool)> = rows.map(|row| row.unwrap()).collect();
    assert_eq!(rows, [("A".to_owned(), false), ("B".to_owned(), true)]);
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

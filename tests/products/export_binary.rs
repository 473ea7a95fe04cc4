//! `export` to files of bytes, a solid and a GeoPackage: each read back by another reader, and its
//! coordinates held against the tables.

use crate::exported;
use crate::run;

use exported::{Row, exported, number, table};
use run::{command, survey};
use rusqlite::Connection;
use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Output;

/// The program run in `folder`.
fn perchline(folder: &Path, arguments: &[&str]) -> Output {
    command(folder, arguments).output().unwrap()
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

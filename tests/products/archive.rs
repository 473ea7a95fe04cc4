//! `archive`: what it holds, byte for byte; and that a hidden place stands nowhere in it.

use crate::run;

use run::{GOOD, command, contents, perchline, survey};
use serde_json::Value;
use sha2::{Digest, Sha256};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::Read;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;
use zip::ZipArchive;

/// The files of an archive, each stamped with the same time.
fn unpacked(path: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut archive = ZipArchive::new(File::open(path).unwrap()).unwrap();
    let mut files = BTreeMap::new();
    for at in 0..archive.len() {
        let mut file = archive.by_index(at).unwrap();
        assert_eq!(file.last_modified().unwrap().to_string(), "1980-01-01 00:00:00");
        let name = file.name().unwrap().into_owned();
        let mut bytes = Vec::new();
        file.read_to_end(&mut bytes).unwrap();
        files.insert(name, bytes);
    }
    files
}

/// The archive of the survey in a folder, made with these options.
fn archived(folder: &TempDir, options: &[&str]) -> BTreeMap<String, Vec<u8>> {
    let arguments = [&["archive", "survey", "--out", "a.zip", "--draws", "20"], options].concat();
    let output = perchline(folder.path(), &arguments);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
    unpacked(&folder.path().join("a.zip"))
}

fn text<'f>(files: &'f BTreeMap<String, Vec<u8>>, name: &str) -> &'f str {
    std::str::from_utf8(&files[name]).unwrap()
}

#[test]
fn an_archive_holds_inputs_and_results_byte_for_byte_with_their_sums() {
    let folder = survey(GOOD);
    let settings = "# remarks stay\nname = \"Tits & tats\"\nlicence = \"CC0-1.0\"\n";
    fs::write(folder.path().join("survey/survey.toml"), settings).unwrap();
    fs::write(folder.path().join("survey/photo.txt"), "not read, not packed").unwrap();
    let files = archived(&folder, &[]);
    let before = contents(folder.path());
    assert_eq!(archived(&folder, &[]), files);
    assert_eq!(contents(folder.path()), before, "same survey, same bytes, nothing left beside");
    let rebuild = ["rebuild", "survey", "--out", "results", "--draws", "20"];
    assert!(perchline(folder.path(), &rebuild).status.success());
    let mut expected = contents(&folder.path().join("results"));
    expected.retain(|name, bytes| bytes != b"a folder" && name != "csv-metadata.json");
    for (name, bytes) in &expected {
        assert_eq!(&files[&format!("results/{name}")], bytes, "{name}");
    }
    assert_eq!(text(&files, "inputs/anchors.csv"), GOOD);
    assert_eq!(text(&files, "inputs/survey.toml"), settings);
    assert_eq!(files.len(), expected.len() + 2 + 3);
    let sums = text(&files, "SHA256SUMS");
    assert_eq!(sums.lines().count(), files.len() - 1);
    for line in sums.lines() {
        let (sum, name) = line.split_once("  ").unwrap();
        let own: Vec<String> =
            Sha256::digest(&files[name]).iter().map(|byte| format!("{byte:02x}")).collect();
        assert_eq!(sum, own.concat(), "{name}");
    }
    let readme = text(&files, "README.md");
    for told in ["# Tits & tats", "Licence: CC0-1.0", "`inputs/anchors.csv`", "| east_m | m |"] {
        assert!(readme.contains(told), "{told}");
    }
}

/// The properties that the standard requires of a table group, and names that are variables.
#[test]
fn the_metadata_describe_every_table_of_the_archive() {
    let folder = survey(&GOOD.replace("note", "wet? (0_1)"));
    let files = archived(&folder, &["--licence", "CC-BY-4.0"]);
    let described: Value = serde_json::from_str(text(&files, "csv-metadata.json")).unwrap();
    assert_eq!(described["@context"], "http://www.w3.org/ns/csvw");
    let tables = described["tables"].as_array().unwrap();
    assert_eq!(tables.len(), 20);
    for table in tables {
        let url = table["url"].as_str().unwrap();
        let heading = text(&files, url).lines().next().unwrap();
        let columns = table["tableSchema"]["columns"].as_array().unwrap();
        let titles: Vec<&str> = columns.iter().map(|c| c["titles"].as_str().unwrap()).collect();
        assert_eq!(titles.join(","), heading, "{url}");
        for column in columns {
            let name = column["name"].as_str().unwrap();
            let fits = |c: char| c.is_ascii_alphanumeric() || matches!(c, '_' | '%');
            assert!(name.chars().all(fits) && !name.starts_with('_'), "{name}");
            assert!(
                ["string", "number", "integer"].contains(&column["datatype"].as_str().unwrap())
            );
        }
    }
    assert!(text(&files, "csv-metadata.json").contains("wet%3F%20%280_1%29"));
}

const HIDDEN: &str = "trail,anchor,tape_m,bearing_deg,height_m,latitude,longitude,accuracy_m,gps_x,\
                      note\nA,R,,,1.0,,,,,\nA,1,3.1,20,0.1,46.735194,14.286427,4,409876,rain\n\
                      A,2,4.2,95,0.2,,,,,nest at 46.7353 N\nA,3,2.8,170,2.1,,,,,\"E 446 012, \
                      46°44' N\"\nA,4,2.0,,0.1,,,,,\"a stump, 30° steep\"\n";
const CONTROLS: &str =
    "control,latitude,longitude,elevation_m,accuracy_m\nR,46.735162,14.286418,612.5,5\n";

fn hidden() -> TempDir {
    let folder = survey(HIDDEN);
    let own = folder.path().join("survey");
    fs::write(own.join("controls.csv"), CONTROLS).unwrap();
    let settings = "site = \"Hollow at 46.735, 14.286\"\ndate = 2025-09-06\n\
                    [origin]\nlatitude = 46.735177\nlongitude = 14.286405\n\
                    # the car stands at 46.73333 14.28111\n";
    fs::write(own.join("survey.toml"), settings).unwrap();
    folder
}

#[test]
fn a_hidden_place_stands_nowhere() {
    let folder = hidden();
    let open = archived(&folder, &[]);
    let told = ["46.735", "14.286", "46.73333", "46°44", "446 012", "409876"];
    for one in told {
        let holds = |bytes: &Vec<u8>| String::from_utf8_lossy(bytes).contains(one);
        assert!(open.values().any(holds), "{one} is in the open archive");
    }
    let files = archived(&folder, &["--hide-location"]);
    for (name, bytes) in &files {
        let text = String::from_utf8_lossy(bytes);
        for one in told {
            assert!(!text.contains(one), "{name} tells {one}");
        }
    }
    assert_eq!(files.len(), open.len());
    let readme = text(&files, "README.md");
    for left_out in [
        "near latitude 46.7, longitude 14.3",
        "anchors.latitude; anchors.longitude; anchors.gps_x; controls.latitude",
        "anchors.csv, row 4, column note",
        "anchors.csv, row 5, column note",
        "survey.toml, site",
    ] {
        assert!(readme.contains(left_out), "{left_out}\n{readme}");
    }
    let anchors = text(&files, "inputs/anchors.csv");
    assert_eq!(
        anchors.lines().next().unwrap(),
        "trail,anchor,tape_m,bearing_deg,height_m,accuracy_m,note"
    );
    assert!(anchors.contains(",rain\n") && anchors.contains("a stump, 30° steep"), "{anchors}");
    let controls = text(&files, "inputs/controls.csv");
    assert!(controls.starts_with("control,elevation_m,accuracy_m,east_m,north_m\nR,612.5,5,"));
    let positions = text(&files, "results/positions.csv");
    assert!(!positions.lines().next().unwrap().contains("latitude"));
    let rows = |files: &BTreeMap<String, Vec<u8>>| -> Vec<String> {
        let of = |line: &str| line.split(',').take(14).collect::<Vec<_>>().join(",");
        text(files, "results/positions.csv").lines().map(of).collect()
    };
    assert_eq!(rows(&files), rows(&open), "the place is computed with, and not told");
}

/// With a date, a declination or a convergence to the last digit is a line on the map.
#[test]
fn what_follows_from_a_hidden_place_is_rounded() {
    let folder = hidden();
    let files = archived(&folder, &["--hide-location"]);
    let results: Value = serde_json::from_str(text(&files, "results/results.json")).unwrap();
    let frame = &results["frame"];
    assert_eq!((frame["latitude"].as_f64(), frame["longitude"].as_f64()), (Some(46.7), Some(14.3)));
    for key in ["declination_deg", "convergence_deg"] {
        let tenths = frame[key].as_f64().unwrap() * 10.0;
        assert!((tenths - tenths.round()).abs() < 1e-9, "{key} {tenths}");
    }
    let declination = results["tables"]["trails"][0]["declination_deg"].as_f64().unwrap() * 10.0;
    assert!((declination - declination.round()).abs() < 1e-9 && declination > 30.0);
    assert_eq!(results["settings"]["origin_latitude"], Value::Null);
    // What is left is a survey that can be rebuilt.
    let again = TempDir::new().unwrap();
    for (name, bytes) in files.iter().filter(|(name, _)| name.starts_with("inputs/")) {
        fs::create_dir_all(again.path().join("inputs")).unwrap();
        fs::write(again.path().join(name), bytes).unwrap();
    }
    let output = perchline(again.path(), &["check", "inputs"]);
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stdout));
}

#[test]
fn a_name_that_tells_the_place_is_refused() {
    let folder = hidden();
    let path = folder.path().join("survey/anchors.csv");
    fs::write(&path, HIDDEN.replace("A,4,", "A,46.73523,")).unwrap();
    let arguments = ["archive", "survey", "--out", "a.zip", "--hide-location"];
    let output = perchline(folder.path(), &arguments);
    assert_eq!(output.status.code(), Some(1));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(said.contains("anchors.csv, row 6, column anchor"), "{said}");
    assert!(!folder.path().join("a.zip").exists());
}

#[test]
fn an_archive_goes_where_it_may_and_is_called_zip() {
    let folder = survey(GOOD);
    let before = contents(folder.path());
    for out in ["a.tar", "survey/a.zip", "no/a.zip", "survey"] {
        let output = perchline(folder.path(), &["archive", "survey", "--out", out]);
        assert_eq!(output.status.code(), Some(2), "{out}");
    }
    assert_eq!(contents(folder.path()), before);
    let output = perchline(folder.path(), &["archive", "survey", "--out", "a.zip"]);
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(said.contains("No licence is stated"), "{said}");
}

/// A disk that takes no more: what was there stays, and nothing half-written is left.
#[cfg(unix)]
#[test]
fn a_full_disk_leaves_everything_as_it_was() {
    let folder = survey(&GOOD.replace("A,0,", "A,trap,"));
    let controls = "control,latitude,longitude\ntrap,46.1,14.9\n";
    fs::write(folder.path().join("survey/controls.csv"), controls).unwrap();
    for name in ["a.gpkg", "a.zip"] {
        fs::write(folder.path().join(name), "the old one").unwrap();
    }
    let before = contents(folder.path());
    let full = |arguments: &[&str]| {
        let program = command(folder.path(), &[]);
        let mut limited = Command::new("sh");
        limited.args(["-c", "trap '' XFSZ; ulimit -f 4; exec \"$0\" \"$@\""]);
        limited.arg(program.get_program()).args(arguments).current_dir(folder.path());
        limited.output().unwrap()
    };
    for arguments in [
        &["export", "survey", "--out", "a.gpkg", "--draws", "0"][..],
        &["archive", "survey", "--out", "a.zip", "--draws", "0"],
        &["simulate", "made", "--trails", "20"],
    ] {
        let output = full(arguments);
        let said = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(3), "{arguments:?}: {said}");
        assert!(said.contains("File too large") && said.lines().count() == 1, "{said}");
        assert_eq!(contents(folder.path()), before, "{arguments:?}");
    }
}

/// The commands of the book, from a new survey to its archive, one after the other.
#[test]
fn the_way_of_the_book_leads_from_the_sheet_to_the_archive() {
    const BOOK: &str = include_str!("../../docs/commands.md");
    let folder = TempDir::new().unwrap();
    let way = BOOK.split("## From the sheet to the archive").nth(1).unwrap();
    let commands = way.lines().skip(2).take_while(|line| line.starts_with("    perchline "));
    let mut run = 0;
    for line in commands {
        let arguments: Vec<&str> = line.split_whitespace().skip(1).collect();
        let output = perchline(folder.path(), &arguments);
        let said = String::from_utf8_lossy(&output.stdout).into_owned();
        assert_eq!(output.status.code(), Some(0), "{line}: {said}");
        if run == 0 {
            let placed = GOOD.replace("A,0,", "A,trap,");
            fs::write(folder.path().join("my-survey/anchors.csv"), placed).unwrap();
            let controls = "control,latitude,longitude\ntrap,46.1,14.9\n";
            fs::write(folder.path().join("my-survey/controls.csv"), controls).unwrap();
        }
        run += 1;
    }
    assert_eq!(run, 5);
    for made in ["my-survey-results/report.html", "my-survey.gpkg", "my-survey.zip"] {
        assert!(folder.path().join(made).is_file(), "{made}");
    }
}

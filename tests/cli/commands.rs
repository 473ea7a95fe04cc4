//! The program as a user runs it.

use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::Stdio;
use tempfile::TempDir;

use crate::run;
use run::{GOOD, command, contents, perchline, survey};

fn read(folder: &TempDir, name: &str) -> String {
    fs::read_to_string(folder.path().join("survey-results").join(name)).unwrap()
}

/// The headings that other people's scripts read. Of `sections`, `bouts` and `trails` the design
/// fixes no column, but what is written once stays.
const HEADINGS: [(&str, &str); 10] = [
    (
        "positions",
        "trail,animal,anchor,section,part,east_m,north_m,up_m,ground_m,height_m,sd_east_m,\
         sd_north_m,sd_up_m,sd_height_m,latitude,longitude,",
    ),
    (
        "legs",
        "trail,animal,section,part,from,to,length_m,horizontal_m,vertical_m,azimuth_deg,\
         inclination_deg,turn_deg,sd_length_m,sd_horizontal_m,sd_vertical_m,height_m,support,\
         plant,tree,diameter_cm,counted,",
    ),
    (
        "closures",
        "loop,trails,legs,length_m,east_m,north_m,up_m,horizontal_m,misclosure_m,ratio,percent,\
         expected_m,p_value,verdict",
    ),
    (
        "residuals",
        "trail,from,to,kind,observed,adjusted,residual,unit,sd,redundancy,standardised,\
         detectable,suspect",
    ),
    (
        "precisions",
        "kind,observer,readings,redundancy,stated,estimated,low95,high95,unit,setting,reason",
    ),
    ("metrics", "trail,animal,part,metric,value,unit,se,low95,high95,bound,reason"),
    (
        "trails",
        "trail,animal,date,ending,anchors,sections,declination_deg,declination_source,escape_by,\
         placed_by,shape,orientation,place,undirected_legs,at_least,path_length,horizontal_length,taped_length,",
    ),
    (
        "sections",
        "trail,animal,section,from,to,legs,length_m,net_m,highest_m,displacement_m,refuge,returned",
    ),
    (
        "bouts",
        "trail,animal,bout,kind,from,to,entry_tree,exit_tree,length_m,highest_m,mean_height_m,gaps",
    ),
    ("heights", "trail,part,low_m,high_m,length_m,share,low95,high95"),
];

#[test]
fn a_rebuild_writes_every_table_with_its_columns() {
    let folder = survey(GOOD);
    let output = perchline(folder.path(), &["rebuild", "survey"]);
    assert_eq!(output.status.code(), Some(0));
    let json: Value = serde_json::from_str(&read(&folder, "results.json")).unwrap();
    let metadata: Value = serde_json::from_str(&read(&folder, "csv-metadata.json")).unwrap();
    for (at, (table, fixed)) in HEADINGS.iter().enumerate() {
        let text = read(&folder, &format!("{table}.csv"));
        let headings = text.lines().next().unwrap();
        // A list that ends in a comma goes on with the survey's own columns, or with metrics.
        let kept =
            if fixed.ends_with(',') { headings.starts_with(fixed) } else { headings == *fixed };
        assert!(kept, "{table}: {headings}");
        let described = metadata["tables"][at]["tableSchema"]["columns"].as_array().unwrap();
        let described: Vec<&str> = described.iter().map(|c| c["name"].as_str().unwrap()).collect();
        assert_eq!(described.join(","), headings, "{table}");
        let rows = json["tables"][table].as_array().map(Vec::len);
        let long = ["positions", "legs", "residuals", "heights"].contains(table);
        assert_eq!(rows.is_none(), long, "{table}: long tables stand in their CSV only");
        assert!(rows.is_none_or(|rows| text.lines().count() == rows + 1), "{table}");
    }
    assert!(read(&folder, "positions.csv").contains("'=1+1"), "a formula is defused");
    assert!(json["frame"].get("declination_deg").is_some());
}

#[test]
fn same_seed_same_bytes_and_another_seed_other_intervals() {
    let folder = survey(GOOD);
    perchline(folder.path(), &["rebuild", "survey"]);
    let (first, all) = (read(&folder, "metrics.csv"), read(&folder, "results.json"));
    perchline(folder.path(), &["rebuild", "survey"]);
    assert_eq!((first.clone(), all), (read(&folder, "metrics.csv"), read(&folder, "results.json")));
    perchline(folder.path(), &["rebuild", "survey", "--seed", "2"]);
    assert_ne!(first, read(&folder, "metrics.csv"));
}

#[test]
fn errors_leave_old_results_and_the_users_own_files_alone() {
    let folder = survey(GOOD);
    perchline(folder.path(), &["rebuild", "survey"]);
    fs::write(folder.path().join("survey-results/my notes.txt"), "mine").unwrap();
    fs::write(folder.path().join("survey/anchors.csv"), GOOD.replace("3.1", "3..1")).unwrap();
    let before = contents(folder.path());
    let output = perchline(folder.path(), &["rebuild", "survey"]);
    assert_eq!(output.status.code(), Some(1));
    assert!(before == contents(folder.path()));
    fs::write(folder.path().join("survey/anchors.csv"), GOOD).unwrap();
    assert_eq!(perchline(folder.path(), &["rebuild", "survey"]).status.code(), Some(0));
    assert_eq!(read(&folder, "my notes.txt"), "mine");
    assert_eq!(fs::read_dir(folder.path()).unwrap().count(), 2, "nothing is left behind");
}

#[test]
fn results_go_nowhere_they_could_harm() {
    let folder = survey(GOOD);
    fs::write(folder.path().join("file"), "").unwrap();
    fs::create_dir(folder.path().join("other")).unwrap();
    fs::write(folder.path().join("other/thesis.txt"), "").unwrap();
    for out in ["file", "survey", "other", "."] {
        let output = perchline(folder.path(), &["rebuild", "survey", "--out", out]);
        assert_eq!(output.status.code(), Some(2), "{out}");
    }
    assert_eq!(fs::read_dir(folder.path().join("other")).unwrap().count(), 1);
}

#[test]
fn wrong_usage_is_told_apart_from_a_wrong_survey() {
    let folder = survey(GOOD);
    let status = |arguments: &[&str]| perchline(folder.path(), arguments).status.code();
    assert_eq!(status(&["rebuild", "survey", "--trail", "Z"]), Some(2));
    assert_eq!(status(&["rebuild", "survey", "--set", "ground_m"]), Some(2));
    assert_eq!(status(&["rebuild"]), Some(2));
    assert_eq!(status(&["check", "nowhere"]), Some(1));
    assert_eq!(status(&["--help"]), Some(0));
}

#[test]
fn check_speaks_json_with_the_keys_that_scripts_read() {
    let folder = survey(&GOOD.replace("95", "395"));
    let output = perchline(folder.path(), &["check", "survey", "--json"]);
    assert_eq!(output.status.code(), Some(1));
    let result: Value = serde_json::from_slice(&output.stdout).unwrap();
    for key in ["faults", "closures", "global_test", "suspects", "advice"] {
        assert!(result[key].is_array(), "{key}");
    }
    let fault = &result["faults"][0];
    assert_eq!(fault["code"], "out_of_range");
    assert_eq!((fault["file"].as_str(), fault["row"].as_u64()), (Some("anchors.csv"), Some(4)));
    assert_eq!(fault["column"], "bearing_deg");
}

#[test]
fn without_draws_or_adjustment_there_are_no_intervals() {
    let folder = survey(GOOD);
    for extra in [["--draws", "0"], ["--method", "none"]] {
        let output = perchline(folder.path(), &["rebuild", "survey", extra[0], extra[1]]);
        assert_eq!(output.status.code(), Some(0));
        let metrics = read(&folder, "metrics.csv");
        let row = metrics.lines().find(|line| line.contains("whole,path_length")).unwrap();
        assert!(row.contains("no interval without draws"), "{row}");
    }
}

#[test]
fn a_reader_that_has_seen_enough_is_no_failure() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut command = command(root, &["check", "demo/dormice", "--json"]);
    let mut child = command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().unwrap();
    drop(child.stdout.take());
    let output = child.wait_with_output().unwrap();
    assert_eq!(output.status.code(), Some(0), "{}", String::from_utf8_lossy(&output.stderr));
}

#[test]
fn options_reach_the_computation() {
    let folder = survey(GOOD);
    let rows = |extra: &[&str]| {
        let output = perchline(folder.path(), &[&["rebuild", "survey"], extra].concat());
        assert_eq!(output.status.code(), Some(0), "{extra:?}");
        read(&folder, "metrics.csv")
    };
    let plain = rows(&[]);
    assert!(!plain.contains(",hull_volume,"));
    assert!(rows(&["--metrics", "all"]).contains(",hull_volume,"));
    assert_ne!(plain, rows(&["--set", "ground_m=0"]), "exact ground narrows the intervals");
    rows(&["--set", "north=true"]);
}

#[test]
fn a_ground_that_cannot_be_laid_out_is_an_error_of_the_survey() {
    let folder = survey(GOOD);
    let models =
        [("ground.model=points", "ground_incomplete"), ("ground.model=raster", "unusable_raster")];
    for (model, code) in models {
        let output = perchline(folder.path(), &["check", "survey", "--json", "--set", model]);
        assert_eq!(output.status.code(), Some(1), "{model}");
        let result: Value = serde_json::from_slice(&output.stdout).unwrap();
        let faults = result["faults"].as_array().unwrap();
        assert!(faults.iter().any(|fault| fault["code"] == code), "{model}");
    }
}

#[test]
fn every_table_of_the_results_holds_the_rows_of_its_file() {
    let folder = survey(GOOD);
    perchline(folder.path(), &["rebuild", "survey"]);
    let json: Value = serde_json::from_str(&read(&folder, "results.json")).unwrap();
    let tables = json["tables"].as_object().unwrap();
    assert_eq!(tables.len(), 16);
    assert!(json["verdict"]["sentence"].as_str().unwrap().contains("no check measurement"));
    for (table, rows) in tables {
        let lines = read(&folder, &format!("{table}.csv")).lines().count();
        assert_eq!(lines, rows.as_array().unwrap().len() + 1, "{table}");
    }
}

/// Trail B has a plumb leg, which no adjustment can hold to a billionth of a millimetre.
const STUCK: &str = "trail,anchor,tape_m,bearing_deg,height_m\nA,0,,,1.0\nA,1,3.1,20,0.1\n\
                     A,2,4.2,95,0.2\nB,0,,,0.5\nB,1,3.1,20,0.1\nB,2,3,,3.1\nB,3,4,80,3.0\n";

#[test]
fn a_trail_that_does_not_settle_is_blank_and_leaves_the_others_alone() {
    let folder = survey(STUCK);
    let run = |extra: &[&str]| {
        let arguments = [&["rebuild", "survey", "--json", "--metrics", "all"], extra].concat();
        let output = perchline(folder.path(), &arguments);
        let result: Value = serde_json::from_slice(&output.stdout).unwrap();
        (output.status.code(), result)
    };
    let of_trail = |table: &str, trail: &str| -> Vec<String> {
        let text = read(&folder, &format!("{table}.csv"));
        text.lines().filter(|line| line.starts_with(trail)).map(str::to_owned).collect()
    };
    assert_eq!(run(&[]).0, Some(0));
    let (positions, metrics) = (of_trail("positions", "A,"), of_trail("metrics", "A,"));
    let stuck = ["--set", "plumb_m=1e-12"];
    assert_eq!(
        run(&stuck),
        (Some(0), serde_json::json!({"out": "survey-results", "trails": 2, "warnings": 1}))
    );
    assert_eq!((positions, metrics), (of_trail("positions", "A,"), of_trail("metrics", "A,")));
    for row in of_trail("positions", "B,") {
        let cells: Vec<&str> = row.split(',').collect();
        assert!(cells[5..16].iter().all(|cell| cell.is_empty()), "{row}");
    }
    let (mut blank, mut known) = (0, Vec::new());
    for row in of_trail("metrics", "B,") {
        let cells: Vec<&str> = row.splitn(11, ',').collect();
        blank += usize::from(cells[10].contains("did not settle"));
        if !cells[4].is_empty() {
            known.push(cells[3].to_owned());
        }
        assert!(!cells[4].is_empty() || !cells[10].is_empty(), "{row}");
    }
    assert_eq!(known, ["taped_length", "legs", "nights", "nights_active_share"]);
    assert!(blank > 100, "{blank}");
    let widths = read(&folder, "trails.csv");
    let widths: Vec<usize> = widths.lines().map(|line| line.split(',').count()).collect();
    assert!(widths.iter().all(|&width| width == widths[0]), "{widths:?}");

    let output = perchline(folder.path(), &["check", "survey", "--json", "--set", stuck[1]]);
    assert_eq!(output.status.code(), Some(0));
    let result: Value = serde_json::from_slice(&output.stdout).unwrap();
    let fault = &result["faults"][0];
    assert_eq!((&fault["code"], &fault["severity"]), (&"not_settled".into(), &"warning".into()));
    assert!((6..=8).contains(&fault["row"].as_u64().unwrap()), "{fault}");
    assert!(fault["hint"].as_str().unwrap().contains('B'));

    let before = read(&folder, "results.json");
    let (status, result) = run(&["--trail", "B", "--set", "plumb_m=1e-12"]);
    assert_eq!((status, &result["faults"][0]["severity"]), (Some(1), &"error".into()));
    assert_eq!(before, read(&folder, "results.json"), "nothing is written where nothing settles");
}

//! `compare` as a user runs it, and what a rebuild writes for a paper.

use serde_json::Value;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

const DEMO: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/demo/dormice");

fn perchline(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_perchline")).args(arguments).output().unwrap()
}

fn compare(arguments: &[&str]) -> (String, String, Option<i32>) {
    // Without draws there are no intervals, and a run is short.
    let few = if arguments.contains(&"--draws") { &[][..] } else { &["--draws", "0"] };
    let output = perchline(&[&["compare", DEMO], few, arguments].concat());
    let text = |bytes| String::from_utf8(bytes).unwrap();
    (text(output.stdout), text(output.stderr), output.status.code())
}

/// Every file below a folder, by its path.
fn files(folder: &Path) -> BTreeMap<String, Vec<u8>> {
    let mut found = BTreeMap::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            let inner = files(&path).into_iter();
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            found.extend(inner.map(|(file, bytes)| (format!("{name}/{file}"), bytes)));
        } else {
            let name = path.file_name().unwrap().to_string_lossy().into_owned();
            found.insert(name, fs::read(&path).unwrap());
        }
    }
    found
}

#[test]
fn the_answer_comes_first_and_n_stands_beside_every_p() {
    let (text, _, code) = compare(&["--by", "sex"]);
    assert_eq!(code, Some(0));
    let lines: Vec<&str> = text.lines().collect();
    let whole = "- Between females and males no difference is established: the smallest p is 0.15";
    assert!(lines[1].starts_with("12 of 14 closures hold"), "{text}");
    assert!(lines[3].starts_with(whole), "{text}");
    let one = "- Males ended 19.3 m from the release, females 17.2 m (difference 2.0 m, 95 % interval −7.5 to \
               15 m; n = 8 and 5; p = 0.93, one of 8 questions).";
    assert!(
        text.contains(
            "3 and 1 of them minimum values; log-rank test, p = 0.49, one of 8 questions)"
        ),
        "{text}"
    );
    assert!(lines.contains(&one), "{text}");
    assert!(lines.len() < 40, "one screen");
    assert!(lines.iter().any(|line| line.starts_with("path_length") && line.contains("(8)")));
}

#[test]
fn json_has_groups_tests_and_answer() {
    let (text, _, code) = compare(&["--by", "sex", "--within", "stand", "--json", "--draws", "4"]);
    assert_eq!(code, Some(0));
    let json: Value = serde_json::from_str(&text).unwrap();
    let groups = json["groups"].as_array().unwrap();
    let tests = json["tests"].as_array().unwrap();
    assert!(!json["answer"].as_array().unwrap().is_empty());
    let female = groups.iter().find(|row| row["metric"] == "path_length" && row["group"] == "f");
    assert_eq!(female.unwrap()["animals"], 5);
    for column in ["mean", "sd", "se", "mean_low95", "median", "q25"] {
        assert!(female.unwrap()[column].is_number(), "{column}");
    }
    // of five animals a median has no interval, of eight it has
    let male = groups.iter().find(|row| row["metric"] == "path_length" && row["group"] == "m");
    assert!(female.unwrap()["median_high95"].is_null());
    assert!(male.unwrap()["median_high95"].is_number());
    let within = tests.iter().find(|row| row["test"] == "permutation_within").unwrap();
    assert_eq!(within["groups"], "f - m");
    // 7 animals of Long Hollow with 2 females, 6 of Owl Bench with 3: 21 × 20 arrangements.
    assert_eq!(within["arrangements"], 420);
    assert!(within["p_standard_error"].is_null());
    for test in tests {
        assert!(test["p_value"].is_null() || !test["animals"].is_null(), "{test}");
    }
}

#[test]
fn other_questions_are_answered_too() {
    for (arguments, phrase) in [
        (
            vec!["--with", "rain_mm"],
            "Path length rose by 4.9 m with each mm of rain, 95 % interval 1.1 to",
        ),
        (vec!["--pairs", "night=1,2"], "night 2 less 1 of the same animals: difference −43 m"),
        (vec!["--direction", "140"], "Towards 140.0°, one-sided: V-test p"),
        (vec!["--by", "species"], "Nothing to compare by species: it is Glis glis throughout."),
        (vec![], "of an invented wood: by age\n"),
    ] {
        let (text, error, code) = compare(&arguments);
        assert_eq!(code, Some(0), "{arguments:?} {error}");
        assert!(text.contains(phrase), "{arguments:?}\n{text}");
    }
}

#[test]
fn wrong_usage_says_what_there_is() {
    for (arguments, phrase) in [
        (vec!["--by", "colour"], "no column colour of animals or trails; there are species, sex"),
        (vec!["--pairs", "night"], "night has 1, 2, 3"),
        (vec!["--pairs", "sex=m,x"], "sex has f, m"),
        (vec!["--by", "body_mass_g"], "--with body_mass_g compares against a number"),
        (vec!["--within", "stand"], "--by"),
    ] {
        let (text, error, code) = compare(&arguments);
        assert_eq!(code, Some(2), "{arguments:?} {text}");
        assert!(error.contains(phrase), "{arguments:?} {error}");
    }
}

#[test]
fn a_rebuild_writes_what_a_paper_needs() {
    let folder = TempDir::new().unwrap();
    let out = folder.path().join("results");
    let run = |draws| {
        perchline(&["rebuild", DEMO, "--out", out.to_str().unwrap(), "--quiet", "--draws", draws])
    };
    assert_eq!(run("0").status.code(), Some(0));
    assert_eq!(run("8").status.code(), Some(0), "onto earlier results");
    let written = files(&out);
    for name in [
        "tables/1-animals.csv",
        "tables/2-movement.csv",
        "tables/3-vertical.csv",
        "tables/4-supports.csv",
        "tables/5-welfare.csv",
        "tables/tables.md",
        "methods.md",
        "references.bib",
    ] {
        assert!(written.get(name).is_some_and(|bytes| bytes.len() > 100), "{name}");
    }
    let head = |name: &str| {
        let text = String::from_utf8(written[name].clone()).unwrap();
        text.lines().next().unwrap().to_owned()
    };
    for (name, columns) in [
        (
            "selection.csv",
            "unit,class,level,group,animals,used_m,used_share,available_share,ratio,ratio_low95,ratio_high95,standardised_b,jacobs_d",
        ),
        (
            "groups.csv",
            "metric,part,factor,group,animals,mean,sd,se,mean_low95,mean_high95,median,q25,q75,median_low95,median_high95",
        ),
        (
            "tests.csv",
            "metric,part,factor,test,groups,animals,statistic,effect,effect_name,low95,high95,p_value,p_adjusted,arrangements,p_standard_error",
        ),
    ] {
        assert!(head(name).starts_with(columns), "{name}: {}", head(name));
    }
    let is_text = |name: &str| {
        Path::new(name)
            .extension()
            .is_none_or(|ending| !["png", "pdf", "xlsx"].iter().any(|binary| ending == *binary))
    };
    for (name, bytes) in written.iter().filter(|(name, _)| is_text(name)) {
        let text = String::from_utf8(bytes.clone()).unwrap();
        let text = without_letters(&text);
        assert!(!text.contains("NaN") && !text.contains(",inf"), "{name}");
    }
}

/// Letters that a page carries may spell anything.
fn without_letters(text: &str) -> String {
    let parts = text.split("base64,").enumerate();
    parts.map(|(at, part)| if at == 0 { part } else { part.split_once(')').unwrap().1 }).collect()
}

#[test]
fn tables_only_leaves_out_what_is_for_a_paper_even_onto_earlier_results() {
    let folder = TempDir::new().unwrap();
    let out = folder.path().join("results");
    let arguments = ["rebuild", DEMO, "--out", out.to_str().unwrap(), "--quiet", "--draws", "0"];
    assert!(perchline(&arguments).status.success());
    assert!(out.join("methods.md").is_file() && out.join("tables").is_dir());
    assert!(perchline(&[&arguments[..], &["--tables-only"]].concat()).status.success());
    for name in ["tables", "methods.md", "references.bib"] {
        assert!(!out.join(name).exists(), "{name}");
    }
    assert!(out.join("groups.csv").is_file());
}

/// On one core and on all there are: the same bytes in every file.
#[cfg(target_os = "linux")]
#[test]
fn the_number_of_cores_changes_no_byte() {
    let folder = TempDir::new().unwrap();
    let paths = ["one", "all"].map(|name| folder.path().join(name));
    let arguments = |out: &Path| {
        let out = out.to_str().unwrap().to_owned();
        ["rebuild", DEMO, "--quiet", "--draws", "64", "--out", &out].map(str::to_owned)
    };
    let mut pinned = Command::new("taskset");
    pinned.args(["-c", "0", env!("CARGO_BIN_EXE_perchline")]).args(arguments(&paths[0]));
    assert!(pinned.status().is_ok_and(|status| status.success()), "needs taskset (util-linux)");
    let free = arguments(&paths[1]);
    assert!(perchline(&free.each_ref().map(String::as_str)).status.success());
    let [one, all] = paths.map(|path| files(&path));
    assert_eq!(one.keys().collect::<Vec<_>>(), all.keys().collect::<Vec<_>>());
    for (name, bytes) in &one {
        assert!(bytes == &all[name], "{name} differs");
    }
}

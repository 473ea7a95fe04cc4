//! `forecast` of so many animals, as a user runs it: what a pilot tells, what a study would find, and
//! what cannot be asked.

use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

fn perchline(folder: &Path, arguments: &[&str]) -> Output {
    let program = env!("CARGO_BIN_EXE_perchline");
    Command::new(program).args(arguments).current_dir(folder).output().unwrap()
}

/// Asked of a forecast in this folder, in words of one blank each.
fn asked(folder: &Path, words: &str) -> Output {
    let arguments: Vec<&str> = ["forecast"].into_iter().chain(words.split_whitespace()).collect();
    perchline(folder, &arguments)
}

fn json(folder: &Path, words: &str) -> Value {
    let output = asked(folder, &format!("{words} --json"));
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    serde_json::from_slice(&output.stdout).unwrap()
}

fn said(folder: &Path, words: &str) -> String {
    let output = asked(folder, words);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    String::from_utf8(output.stdout).unwrap()
}

fn near(value: &Value, expected: f64, off: f64) {
    let value = value.as_f64().unwrap();
    assert!((value - expected).abs() <= off, "{value} is not {expected} ± {off}");
}

/// Trail, animal, day of June, and metres of its one level leg.
type Night = (&'static str, &'static str, u32, f64);

const PILOT: [Night; 8] = [
    ("A1", "A", 1, 10.0),
    ("A2", "A", 2, 11.0),
    ("B1", "B", 1, 12.0),
    ("B2", "B", 2, 13.0),
    ("C1", "C", 1, 5.0),
    ("C2", "C", 2, 6.0),
    ("D1", "D", 1, 9.0),
    ("D2", "D", 2, 8.0),
];
const ANIMALS: &str = "animal,age\nA,adult\nB,adult\nC,subadult\nD,subadult\n";

fn pilot(nights: &[Night], animals: &str) -> TempDir {
    let folder = TempDir::new().unwrap();
    let mut anchors = "trail,anchor,tape_m,bearing_deg,height_m\n".to_owned();
    let mut trails = "trail,animal,date\n".to_owned();
    for (trail, animal, day, _) in nights {
        trails += &format!("{trail},{animal},2025-06-{day:02}\n");
    }
    // errors of measurement rest on draws, which follow the order of the anchors
    let mut walked = nights.to_vec();
    walked.sort_by_key(|night| night.0);
    for (trail, _, _, metres) in walked {
        anchors += &format!("{trail},1,,,0\n{trail},2,{metres},90,0\n");
    }
    for (name, text) in [
        ("anchors.csv", anchors.as_str()),
        ("trails.csv", &trails),
        ("animals.csv", animals),
        ("survey.toml", "bearings.north = 'true'\n"),
    ] {
        fs::write(folder.path().join(name), text).unwrap();
    }
    folder
}

/// By hand: within animals 4 · (0.5² + 0.5²) = 2 by 4 degrees of freedom, so that nights have 0.5 less the mean
/// square of a tape's error, 0.03² + 0.002² · 92.5 = 0.00127; between animals 2 (1² + 1²) + 2 (1.5² + 1.5²) = 13 by
/// 2, so that animals have (6.5 − 0.5) / 2 = 3. The groups differ by 4.5, which is no spread.
#[test]
fn the_spread_of_a_pilot_is_that_of_the_analysis_of_variance() {
    let folder = pilot(&PILOT, ANIMALS);
    let found = json(folder.path(), "--pilot . --by age --animals 6,5 --nights 2");
    let expected = &found["expected"];
    near(&expected["sd_animals"], 3.0_f64.sqrt(), 0.001);
    near(&expected["sd_nights"], (0.5_f64 - 0.001_27).sqrt(), 0.001);
    near(&expected["sd_measurement"], 0.001_27_f64.sqrt(), 0.002);
    near(&expected["sd"], 3.25_f64.sqrt(), 0.002);
    assert_eq!(found["groups"], serde_json::json!(["adults", "subadults"]));
    assert_eq!(found["pilot"]["degrees_of_freedom"], serde_json::json!([2, 4]));
    // χ² of 2 degrees of freedom is exceeded with 0.8 at −2 ln 0.8: √(2 / 0.4463) = 2.117 times as large
    near(&found["expected_by_upper_limit"]["sd"], 2.117 * 3.25_f64.sqrt(), 0.01);
    let one = json(folder.path(), "--pilot . --animals 6,5");
    assert_eq!(one["pilot"]["groups"][0]["animals"], 4);
    assert!(one["expected"]["sd_animals"].as_f64().unwrap() > 2.5, "the groups' difference counts");
}

/// The order of animals and trails changes no digit, and two trails of one date are one night.
#[test]
fn a_pilot_is_read_by_dates_and_not_by_rows() {
    let ask = "--pilot . --by age --animals 4,4 --nights 2";
    let found = json(pilot(&PILOT, ANIMALS).path(), ask);
    let mut turned = PILOT;
    turned.reverse();
    let animals = "animal,age\nD,subadult\nB,adult\nC,subadult\nA,adult\n";
    assert_eq!(json(pilot(&turned, animals).path(), ask), found);
    let one_night = PILOT.map(|(trail, animal, _, metres)| (trail, animal, 1, metres));
    let folder = pilot(&one_night, ANIMALS);
    let found = json(folder.path(), ask);
    assert_eq!(found["expected"]["sd_nights"], Value::Null);
    assert_eq!(found["pilot"]["animals_with_nights"], 0);
    assert!(said(folder.path(), ask).contains("No animal of the pilot has two nights"));
}

/// The module's table: 10 + 5 animals find one standard deviation in 36 of 100 studies; the difference has an
/// interval 2.5 wide, under 3.4 in nine of ten; the means 1.56 and 3.5. Here the deviation is √(9 + 16/4).
#[test]
fn a_stated_spread_gives_the_table_of_the_book() {
    let folder = TempDir::new().unwrap();
    let sd = 13.0_f64.sqrt();
    let ask = "--sd-animals 3 --sd-nights 4 --nights 4 --animals 10,5 --difference 3.605551";
    let found = json(folder.path(), ask);
    let expected = &found["expected"];
    near(&expected["sd"], sd, 1e-12);
    near(&expected["power"], 0.36, 0.03);
    near(&expected["width_of_difference"]["mean"], 2.5 * sd, 0.1 * sd);
    near(&expected["width_of_difference"]["ninetieth"], 3.4 * sd, 0.15 * sd);
    near(&expected["width_of_means"][0]["mean"], 1.56 * sd, 0.03 * sd);
    near(&expected["width_of_means"][1]["mean"], 3.5 * sd, 0.15 * sd);
    // by t 1.66 would be found in 80 of 100; groups of 10 and 5 find a little less
    near(&expected["detectable"], 1.75 * sd, 0.12 * sd);
    assert_eq!(found["expected_by_upper_limit"], Value::Null);
    let text = said(folder.path(), ask);
    for part in [
        "With 10 and 5 animals, 4 nights each, a true difference of 3.6 m in path length would be found in",
        "(p ≤ 0.05, labels of animals shuffled)",
        "The 95 % interval of the difference would be about",
        "in 80 of 100 studies: ",
        "compare adjusts p",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
}

/// 1.5 deviations for 0.8: 9 and 9, or 13 and 7; and of pairs, whose change has √2 deviations, 10 for 1.0 by
/// paired t.
#[test]
fn the_fewest_animals_are_looked_for() {
    let folder = TempDir::new().unwrap();
    let needed = |ask: &str| -> Vec<i64> {
        let needed = json(folder.path(), ask)["expected"]["animals_needed"].clone();
        needed.as_array().unwrap().iter().map(|n| n.as_i64().unwrap()).collect()
    };
    let equal = needed("--sd-animals 2 --difference 3");
    assert!(equal[0] == equal[1] && (8..=9).contains(&equal[0]), "{equal:?}");
    let double = needed("--sd-animals 2 --difference 3 --ratio 2");
    assert!((12..=14).contains(&double[0]) && (6..=7).contains(&double[1]), "{double:?}");
    let pairs = needed("--pairs --sd-nights 1 --difference 1.4142136");
    assert!((10..=11).contains(&pairs[0]), "{pairs:?}");
    let never = said(folder.path(), "--sd-animals 50 --animals 5,100 --difference 1");
    assert!(never.contains("100 animals of the larger group are not enough"), "{never}");
}

#[test]
fn what_can_never_be_found_is_told() {
    let folder = TempDir::new().unwrap();
    let text = said(folder.path(), "--sd-animals 25 --animals 3,3 --difference 500");
    assert!(text.contains("3 and 3 animals no difference can be found, however large"), "{text}");
    assert!(text.contains("p cannot come below 0.1. The fewest that can are 4 and 3"), "{text}");
    assert!(!text.contains("interval of the difference"), "{text}");
    let text = said(folder.path(), "--sd-nights 25 --pairs 5");
    assert!(
        text.contains("p cannot come below 0.0625. The fewest that can are 6 animals"),
        "{text}"
    );
}

/// Values of which a few are much larger, those of unlike nights, and what else a pilot cannot promise.
#[test]
fn a_forecast_says_what_it_rests_on() {
    let lengths = [4.0, 5.0, 6.0, 7.0, 40.0, 5.0, 6.0, 8.0];
    let names = ["A", "B", "C", "D", "E", "F", "G", "H"];
    let nights: Vec<Night> =
        names.into_iter().zip(lengths).map(|(name, metres)| (name, name, 1, metres)).collect();
    let animals = "animal,sex\nA,m\nB,m\nC,m\nD,m\nE,m\nF,f\nG,f\nH,f\n";
    let folder = pilot(&nights, animals);
    let text = said(folder.path(), "--pilot . --by sex --animals 5,5");
    for part in [
        "of a pilot of 3 females and 5 males",
        "strongly skewed in path length",
        "as far as the study will be like the pilot",
        "A pilot of 8 animals tells its spread badly",
        "Planned by this upper limit",
    ] {
        assert!(text.contains(part), "{part}: {text}");
    }
    let even = said(pilot(&PILOT, ANIMALS).path(), "--pilot . --by age --animals 5,5");
    assert!(!even.contains("skewed in path"), "{even}");
}

#[test]
fn what_cannot_be_asked_is_told_in_a_sentence() {
    let folder =
        pilot(&PILOT, "animal,age,site\nA,adult,Oak\nB,adult,Oak\nC,adult,Oak\nD,adult,\n");
    for (ask, told) in [
        ("--sd-animals -3 --animals 5,5", "--sd-animals is a standard deviation: 0 or more"),
        ("--sd-animals 0 --animals 5,5", "do not differ at all"),
        (
            "--sd-animals 3 --animals 10",
            "--animals wants two numbers, one for each group, like 10,5",
        ),
        ("--sd-animals 3 --animals 1,9", "--animals takes 2 to 400"),
        ("--sd-animals 3 --animals 5,5 --metric path_lenght", "is path_length meant?"),
        ("--sd-animals 3 --animals 5,5 --metric net_bearing", "no mean of net_bearing"),
        ("--sd-animals 3 --animals 5,5 --power 1.2", "--power is a share of studies"),
        ("--sd-animals 3 --animals 5,5 --nights 0", "--nights takes 1 to"),
        ("--sd-animals 3 --animals 5,5 --difference 0", "--difference wants a number above 0"),
        ("--sd-animals 3 --animals 5,5 --by age", "--by names a column of a --pilot"),
        ("--sd-animals 3 --difference 2 --ratio 0", "--ratio wants"),
        ("--sd-animals 3", "say how many --animals there will be"),
        ("--animals 5,5", "say how animals differ"),
        ("--sketch x --animals 5,5", "cannot be used with"),
        ("plan.csv --nights 3", "cannot be used with"),
        ("--sd-animals 3 --animals 5,5 --ties 2", "cannot be used with"),
        ("--pilot . --by age --animals 5,5", "no two groups: age is adult for all"),
        ("--pilot . --by site --animals 5,5", "no two groups: site is Oak for all"),
        ("--pilot . --by aeg --animals 5,5", "no column aeg (is age meant?)"),
        ("--pilot . --by night --animals 5,5", "night divides trails and not animals"),
        ("--pilot . --by age --pairs 8", "cannot be used with"),
        (".", "is a folder and no plan of legs; --pilot"),
        ("", "wants a plan of legs or a --sketch"),
    ] {
        let output = asked(folder.path(), ask);
        let error = String::from_utf8(output.stderr).unwrap();
        assert_eq!(output.status.code(), Some(2), "{ask}: {error}");
        assert!(error.contains(told), "{ask}: {error}");
        assert!(output.stdout.is_empty(), "{ask}");
    }
}

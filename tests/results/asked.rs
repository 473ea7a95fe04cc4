//! What `survey.toml` asks is answered, and nothing else; threads that ran out, nights, directions, places
//! and points beside the path.

use perchline::adjustment::network::build;
use perchline::results::answer::answer;
use perchline::results::comparison::{Comparison, MetricTest};
use perchline::results::progress::Progress;
use perchline::results::question::Question;
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::input::source::read_survey;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

const NORTH: &str = "[bearings]\nnorth = \"true\"\n[precision]\nground_m = 0\n";

fn survey(files: &[(&str, &str)]) -> Analysis {
    let folder = TempDir::new().unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    analysed(folder.path())
}

fn analysed(folder: &Path) -> Analysis {
    let (survey, faults) = read_survey(folder, &[]).unwrap();
    assert!(!faults.stop(), "{:#?}", faults.sorted());
    let network = build(&survey);
    let wanted = Wanted { draws: 0, ..Wanted::default() };
    analyse(survey, network, wanted, &Progress::default()).unwrap()
}

fn answered(analysis: &Analysis) -> (Comparison, String) {
    let (question, problems) = Question::of(analysis, &analysis.survey.settings.compare);
    let found = Comparison { problems, ..Comparison::of(analysis, question) };
    let said = answer(analysis, &found.question, &found.groups, &found.tests).join("\n");
    (found, said)
}

fn tests_of<'a>(found: &'a Comparison, metric: &str, test: &str) -> Vec<&'a MetricTest> {
    let own = |row: &&MetricTest| row.metric == metric && row.part == 0 && row.row.test == test;
    found.tests.iter().filter(own).collect()
}

/// Level trails towards a bearing, of these lengths: `trail, animal, metres, degrees, ending`.
fn trails(list: &[(&str, &str, f64, f64, &str)]) -> (String, String) {
    let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,height_m\n");
    let mut trails = String::from("trail,animal,ending,date\n");
    for (at, (trail, animal, metres, degrees, ending)) in list.iter().enumerate() {
        anchors += &format!("{trail},1,,,0\n{trail},2,{metres},{degrees},0\n");
        trails += &format!("{trail},{animal},{ending},2026-07-{:02}\n", at + 1);
    }
    (anchors, trails)
}

const TEN: [(&str, &str, f64, f64, &str); 10] = [
    ("A", "Hazel", 40.0, 10.0, "found"),
    ("B", "Oak", 45.0, 20.0, "found"),
    ("C", "Ash", 52.0, 350.0, "found"),
    ("D", "Elm", 61.0, 5.0, "found"),
    ("E", "Yew", 58.0, 30.0, "found"),
    ("F", "Fir", 12.0, 175.0, "found"),
    ("G", "Bay", 18.0, 190.0, "found"),
    ("H", "Box", 15.0, 200.0, "found"),
    ("I", "Fig", 21.0, 160.0, "found"),
    ("J", "Ivy", 9.0, 185.0, "found"),
];
const SEXES: &str = "animal,sex,wood\nHazel,f,a\nOak,f,b\nAsh,f,a\nElm,f,b\nYew,f,a\nFir,m,b\nBay,m,a\n\
    Box,m,b\nFig,m,a\nIvy,m,b\n";

/// Five of 40 to 61 m and five of 9 to 21 m: the outermost of 252 arrangements and its mirror. Differing so
/// much in one thing, groups differ in it for eight questions together as well.
#[test]
fn only_what_was_asked_is_tested_and_said() {
    let (anchors, trails) = trails(&TEN);
    let asked = format!("compare.by = [\"sex\"]\n{NORTH}");
    let files =
        [("anchors.csv", anchors.as_str()), ("trails.csv", &trails), ("animals.csv", SEXES)];
    let with = |settings: &str| survey(&[&files[..], &[("survey.toml", settings)]].concat());
    let (nothing, said) = answered(&with(NORTH));
    assert!(nothing.tests.iter().all(|test| test.factor.is_empty()));
    assert!(said.contains("none were asked for: by = [\"sex\"]"), "{said}");
    let (found, said) = answered(&with(&asked));
    assert!(found.tests.iter().all(|test| test.factor.is_empty() || test.factor == "sex"));
    let welch = tests_of(&found, "path_length", "permutation_welch");
    let row = &welch[0].row;
    assert!((row.p.unwrap() - 2.0 / 252.0).abs() < 1e-12, "{row:?}");
    assert!(row.p_adjusted.unwrap() >= row.p.unwrap() && row.p_adjusted.unwrap() < 0.05);
    let [low, high] = row.interval.unwrap();
    assert!(0.0 < low && low < 36.2 && 36.2 < high, "{low} {high}");
    assert!(said.contains("Females and males differ in path length (p = 0.0"), "{said}");
    assert!(
        said.contains("Females moved 51.2 m along the thread, males 15.0 m (difference 36 m"),
        "{said}"
    );
}

/// Rows of the animals in any order give the same numbers.
#[test]
fn the_order_of_animals_changes_nothing() {
    let (anchors, trails) = trails(&TEN);
    let asked = format!("compare.by = [\"sex\", \"wood\"]\ncompare.with = \"mass\"\n{NORTH}");
    let mut rows: Vec<String> = SEXES
        .lines()
        .enumerate()
        .map(|(at, line)| {
            let mass = (at * 37).rem_euclid(23);
            if at == 0 { format!("{line},mass") } else { format!("{line},{mass}") }
        })
        .collect();
    let mut of = |reverse: bool| {
        if reverse {
            rows[1..].reverse();
        }
        let animals = rows.join("\n") + "\n";
        let files = [
            ("anchors.csv", anchors.as_str()),
            ("trails.csv", &trails),
            ("animals.csv", &animals),
            ("survey.toml", &asked),
        ];
        let found = answered(&survey(&files)).0;
        let row = |test: &MetricTest| format!("{} {} {:?}", test.metric, test.factor, test.row);
        found.tests.iter().map(row).collect::<Vec<_>>()
    };
    let (one, other) = (of(false), of(true));
    assert_eq!(one.len(), other.len());
    for (one, other) in one.iter().zip(&other) {
        assert_eq!(one, other);
    }
}

/// Two of five threads of a group ran out: means go up to where both groups are known, and no plain mean
/// or difference of means is spoken of.
#[test]
fn threads_that_ran_out_are_counted_as_such() {
    let mut list = TEN;
    list[3].4 = "ran_out";
    list[4].4 = "ran_out";
    let (anchors, trails) = trails(&list);
    let asked = format!("compare.by = [\"sex\"]\n{NORTH}");
    let files = [
        ("anchors.csv", anchors.as_str()),
        ("trails.csv", &trails),
        ("animals.csv", SEXES),
        ("survey.toml", &asked),
    ];
    let (found, said) = answered(&survey(&files));
    let row = found
        .groups
        .iter()
        .find(|row| row.metric.entry().name == "path_length" && row.group == "f" && row.part == 0)
        .unwrap();
    // 40, 45, 52, 58+, 61+: 40 + 5 · 4/5 + 7 · 3/5 + 9 · 2/5 = 51.8 up to 61
    let restricted = row.summary.restricted.unwrap();
    assert!((restricted.bound - 61.0).abs() < 1e-6, "{restricted:?}");
    assert!((restricted.mean - 51.8).abs() < 1e-6, "{restricted:?}");
    assert_eq!(tests_of(&found, "path_length", "log_rank").len(), 1);
    assert!(said.contains("Females moved 51.8 m"), "{said}");
    assert!(said.contains("means restricted to 61.0 m (difference 37 m"), "{said}");
    assert!(
        said.contains("n = 5 and 5, 2 and 0 of them minimum values; log-rank test, p = 0.0"),
        "{said}"
    );
}

/// Five head north and five south: each group has a mean direction, and they do not head the same way. The
/// water lies north of all.
#[test]
fn directions_by_group_and_towards_a_place() {
    let (anchors, trails) = trails(&TEN);
    let asked =
        format!("compare.by = [\"sex\"]\nplaces.water = \"W\"\nplaces.home = \"nowhere\"\n{NORTH}");
    let anchors = anchors.replace(",1,,,0\n", ",R,,,0\n");
    let controls = "control,east_m,north_m\nR,0,0\nW,0,900\n";
    let files = [
        ("anchors.csv", anchors.as_str()),
        ("trails.csv", &trails),
        ("animals.csv", SEXES),
        ("controls.csv", controls),
        ("survey.toml", &asked),
    ];
    let (found, said) = answered(&survey(&files));
    let means = tests_of(&found, "net_bearing", "mean_direction");
    let north = means.iter().find(|row| row.row.groups == "f").unwrap();
    assert!((north.row.effect.unwrap() - 11.0).abs() < 1.5, "{north:?}");
    let [low, high] = north.row.interval.unwrap();
    assert!(low < north.row.effect.unwrap() && north.row.effect.unwrap() < high);
    let same = tests_of(&found, "net_bearing", "same_direction");
    assert!(same[0].row.p.unwrap() < 0.02, "{same:?}");
    let place = tests_of(&found, "net_bearing", "heading_to_place");
    let water = place.iter().find(|row| row.factor == "water").unwrap();
    assert_eq!(water.row.animals, [10]);
    let home = place.iter().find(|row| row.factor == "home").unwrap();
    assert!(home.row.reason.contains("nowhere has no position"), "{home:?}");
    for part in [
        "Mean net directions: females about 11° (95 % interval −8 to 30°; n = 5) and males about 182°",
        "test of a common direction, p = 0.0",
        "Headings towards home: none: the control nowhere has no position",
        "from the bearing of water show no common direction (n = 10; towards it, one-sided, V-test p = ",
    ] {
        assert!(said.contains(part), "{part}: {said}");
    }
}

/// Three nights each of four animals; the warmer the night the farther, by 2 m a degree, within each.
#[test]
fn nights_of_one_animal_have_slopes_within_it() {
    let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,height_m\n");
    let mut trails = String::from("trail,animal,warm_c\n");
    for (animal, base) in [("Hazel", 20.0), ("Oak", 60.0), ("Ash", 40.0), ("Elm", 90.0)] {
        for (night, warm) in [4.0, 9.0, 12.0].into_iter().enumerate() {
            let off = [0.5, -0.8, 0.3][night];
            let trail = format!("{animal}{night}");
            let metres = base + 2.0 * warm + off;
            anchors += &format!("{trail},1,,,0\n{trail},2,{metres},{},0\n", 30 * night);
            trails += &format!("{trail},{animal},{warm}\n");
        }
    }
    let asked = format!("compare.with = [\"warm_c\"]\n{NORTH}");
    let files =
        [("anchors.csv", anchors.as_str()), ("trails.csv", &trails), ("survey.toml", &asked)];
    let (found, said) = answered(&survey(&files));
    let slope = &tests_of(&found, "path_length", "slope_within_animals")[0].row;
    assert!((slope.effect.unwrap() - 2.0).abs() < 0.1, "{slope:?}");
    let [low, high] = slope.interval.unwrap();
    assert!(1.5 < low && low < 2.0 && 2.0 < high + 0.1 && high < 2.5, "{low} {high}");
    // 3!⁴ arrangements, of which only the observed one is as steep
    assert!(slope.p.unwrap() < 0.01, "{slope:?}");
    let modelled = &tests_of(&found, "path_length", "repeated_within_animals")[0].row;
    assert!((modelled.effect.unwrap() - slope.effect.unwrap()).abs() < 1e-6, "{modelled:?}");
    let sentence = "Within animals, values shuffled inside each animal: path length rose by 2.0 m with each warm c, 95 % interval";
    assert!(said.contains(sentence), "{said}");
    assert!(said.contains("(n = 4 over 12 trails; p"), "{said}");
}

/// Canopy at the anchors lies 10 above that of the points beside in each of six animals.
#[test]
fn anchors_are_held_against_points_beside_them() {
    let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,height_m,canopy\n");
    let mut beside = String::from("trail,anchor,canopy\n");
    let mut trails = String::from("trail,animal\n");
    for animal in 0..6 {
        for anchor in 1..4 {
            let canopy = 50 + 3 * animal + 7 * anchor;
            let leg = if anchor == 1 { ",,0" } else { "5,40,0" };
            anchors += &format!("T{animal},{anchor},{leg},{canopy}\n");
            let off = if anchor == 1 { 4 } else { -2 };
            beside += &format!("T{animal},{anchor},{}\n", canopy - 10 - off - animal);
        }
        trails += &format!("T{animal},Animal {animal}\n");
    }
    let files = [
        ("anchors.csv", anchors.as_str()),
        ("trails.csv", &trails),
        ("available.csv", &beside),
        ("survey.toml", NORTH),
    ];
    let (found, said) = answered(&survey(&files));
    let row = &tests_of(&found, "microhabitat", "matched_points")[0];
    assert_eq!((row.factor.as_str(), row.row.animals.as_slice()), ("canopy", [6].as_slice()));
    assert!((row.row.effect.unwrap() - 12.5).abs() < 1e-9, "{row:?}");
    assert!((row.row.p.unwrap() - 2.0 / 64.0).abs() < 1e-12, "{row:?}");
    let odds = &tests_of(&found, "microhabitat", "conditional_logistic")[0].row;
    assert!(odds.reason.contains("the odds run away"), "always higher where used: {odds:?}");
    let sentence = "Canopy at anchors was 12.5 more than at points beside the path (95 % interval ";
    assert!(said.contains(sentence), "{said}");
    assert!(said.contains("n = 6, 18 sets of points; sign-flip test, p = 0.031"), "{said}");
}

#[test]
fn what_cannot_be_asked_is_a_sentence() {
    let (anchors, trails) = trails(&TEN);
    let files =
        [("anchors.csv", anchors.as_str()), ("trails.csv", &trails), ("animals.csv", SEXES)];
    for (asked, phrase) in [
        (
            "compare.by = \"animal_id\"",
            "no column animal_id of animals or trails; there are sex, wood",
        ),
        ("compare.by = \"date\"", "date is another one for each animal, so that there is no group"),
        ("compare.with = \"sex\"", "sex holds words, like f, and --with wants numbers"),
        ("compare.pairs = \"sex=f,x\"", "pairs wants two levels, like sex=A,B; sex has f, m"),
        ("compare.within = \"wood\"", "within says where labels are shuffled: it wants by as well"),
    ] {
        let settings = format!("{asked}\n{NORTH}");
        let analysis = survey(&[&files[..], &[("survey.toml", &settings)]].concat());
        let (found, _) = answered(&analysis);
        assert!(found.problems.iter().any(|said| said.contains(phrase)), "{:?}", found.problems);
    }
}

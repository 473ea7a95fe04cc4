//! Metres by what the thread lay on, against counts by hand, for each rule of sharing out a leg.

use approx::assert_abs_diff_eq;
use perchline::adjustment::network::build;
use perchline::measures::metrics::Metric;
use perchline::results::methods::methods;
use perchline::results::overview::not_known;
use perchline::results::progress::Progress;
use perchline::results::rules::check;
use perchline::results::tables::{Cell, tables};
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::Survey;
use perchline::survey::fault::{Code, Severity};
use perchline::survey::input::source::read_survey;
use std::collections::BTreeMap;
use std::fs;
use tempfile::TempDir;

type Row = BTreeMap<String, String>;

/// A walk whose tapes and heights agree to the centimetre, so that each leg is as long as its tape:
///
/// | leg | tape | ends | halves | arrival | departure |
/// |---|---|---|---|---|---|
/// | 1–2 | 2 | trunk T1, trunk T1 | trunk 2 | trunk 2 | trunk 2 |
/// | 2–3 | 3 | trunk T1, branch T1 | trunk 1.5, branch 1.5 | branch 3 | trunk 3 |
/// | 3–4 | 2 | branch T1, branch T2, both at 3 m | crossing 2 | crossing 2 | crossing 2 |
/// | 4–5 | 4 | branch T2, liana T3, written: liana | liana 4 | liana 4 | liana 4 |
/// | 5–6 | 3 | liana T3, litter | liana 1.5, litter 1.5 | litter 3 | liana 3 |
/// | 6–7 | 2 | litter, blank | litter 1, blank 1 | blank 2 | litter 2 |
/// | 7–8 | 1 | blank, burrow 1 m down | blank 0.5, burrow 0.5 | burrow 1 | blank 1 |
/// | 8–9 | 2 | a gap | not counted | not counted | not counted |
/// | 9–10 | 6 | litter, log | litter 3, log 3 | log 6 | litter 6 |
///
/// Trail B is one anchor.
const WALK: &str = "trail,anchor,tape_m,bearing_deg,height_m,support,leg_support,plant,tree,\
    diameter_cm,support_incline_deg,gap\n\
    A,1,,,1,trunk,,beech,T1,30,90,\n\
    A,2,2,,3,trunk,,beech,T1,24,90,\n\
    A,3,3,90,3,branch,,beech,T1,4,10,\n\
    A,4,2,90,3,branch,,fir,T2,3,-20,\n\
    A,5,4,90,3,liana,liana,vine,T3,1,,\n\
    A,6,3,,0,litter,,,,,,\n\
    A,7,2,0,0,,,,,,,\n\
    A,8,1,,-1,burrow,,,,,,\n\
    A,9,2,0,0,litter,,,,,,lost\n\
    A,10,6,0,0,log,,,,30,0,\n\
    B,1,,,0,litter,,,,,,\n";

fn read(anchors: &str, set: &[(&str, &str)]) -> Survey {
    let folder = TempDir::new().unwrap();
    let settings = "[bearings]\nnorth = \"true\"\n[precision]\nground_m = 0\n";
    fs::write(folder.path().join("survey.toml"), settings).unwrap();
    let offer = "support,amount\nlitter,1\nlog,1\ntrunk,2\n";
    let files = [
        ("anchors.csv", anchors),
        ("trails.csv", "trail,animal\nA,Hazel\n"),
        ("available.csv", offer),
    ];
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let set: Vec<(String, String)> =
        set.iter().map(|(key, value)| ((*key).to_owned(), (*value).to_owned())).collect();
    let (survey, faults) = read_survey(folder.path(), &set).unwrap();
    assert!(!faults.stop(), "{:#?}", faults.sorted());
    survey
}

fn analysed(anchors: &str, set: &[(&str, &str)]) -> Analysis {
    let survey = read(anchors, set);
    let network = build(&survey);
    let wanted = Wanted { draws: 0, ..Wanted::default() };
    analyse(survey, network, wanted, &Progress::default()).unwrap()
}

/// The rows of a result table, as text.
fn rows(analysis: &Analysis, name: &str) -> Vec<Row> {
    let all = tables(analysis);
    let table = all.iter().find(|table| table.name == name).unwrap();
    let mut rows = Vec::new();
    table.for_each_row(analysis, &mut |cells| {
        let text = |cell: &Cell<'_>| match cell {
            Cell::Blank => String::new(),
            Cell::Text(text) => (*text).to_owned(),
            Cell::Number(number) => number.to_string(),
            Cell::Count(count) => count.to_string(),
        };
        let pair = table.columns.iter().zip(cells);
        rows.push(pair.map(|(column, cell)| (column.name.to_string(), text(cell))).collect());
    });
    rows
}

/// The cells of one column by class, of trail A and one division.
fn by_class(rows: &[Row], division: &str, column: &str) -> BTreeMap<String, f64> {
    let own =
        |row: &&Row| row["trail"] == "A" && row["part"] == "whole" && row["division"] == division;
    let pair = |row: &Row| (row["class"].clone(), row[column].parse().unwrap_or(f64::NAN));
    rows.iter().filter(own).map(pair).collect()
}

fn assert_metres(found: &BTreeMap<String, f64>, expected: &[(&str, f64)], what: &str) {
    let used: Vec<&str> =
        found.iter().filter(|(_, m)| **m > 0.0).map(|(class, _)| class.as_str()).collect();
    let mut classes: Vec<&str> = expected.iter().map(|(class, _)| *class).collect();
    classes.sort_unstable();
    assert_eq!(used, classes, "{what}");
    for (class, metres) in expected {
        assert_abs_diff_eq!(found[*class], *metres, epsilon = 0.02);
    }
}

/// Metres by class.
type Metres = &'static [(&'static str, f64)];

const HALVES: Metres = &[
    ("trunk", 3.5),
    ("branch", 1.5),
    ("liana", 5.5),
    ("litter", 5.5),
    ("burrow", 0.5),
    ("log", 3.0),
    ("crossing", 2.0),
    ("not recorded", 1.5),
];
const ARRIVAL: Metres = &[
    ("trunk", 2.0),
    ("branch", 3.0),
    ("liana", 4.0),
    ("litter", 3.0),
    ("burrow", 1.0),
    ("log", 6.0),
    ("crossing", 2.0),
    ("not recorded", 2.0),
];
const DEPARTURE: Metres =
    &[("trunk", 5.0), ("liana", 7.0), ("litter", 8.0), ("crossing", 2.0), ("not recorded", 1.0)];

#[test]
fn metres_by_support_are_those_counted_by_hand_by_each_rule() {
    // Of halves whose ends differ: 3 + 3 + 6, and 1 + 0.5 beside the blank.
    let cases =
        [("halves", HALVES, 13.5), ("arrival", ARRIVAL, 0.0), ("departure", DEPARTURE, 0.0)];
    for (rule, expected, in_halves) in cases {
        let analysis = analysed(WALK, &[("support.of_leg", rule)]);
        let rows = rows(&analysis, "supports");
        assert_metres(&by_class(&rows, "support", "length_m"), expected, rule);
        let all = |column| by_class(&rows, "all", column)["all"];
        assert_abs_diff_eq!(all("length_m"), 23.0, epsilon = 0.02);
        assert_abs_diff_eq!(all("halves_m"), in_halves, epsilon = 0.02);
        // Both legs from tree to tree, whatever is noted for them.
        assert_abs_diff_eq!(all("crossings"), 2.0);
        assert_abs_diff_eq!(all("crossing_m"), 6.0, epsilon = 0.02);
        let crossings = analysis.trails[0].value(Metric::Crossings, 0).unwrap();
        assert_abs_diff_eq!(crossings.measured.unwrap().value, 2.0);
        for division in ["support", "plant", "diameter_cm", "incline_deg", "height_m"] {
            let sum: f64 = by_class(&rows, division, "length_m").values().sum();
            assert_abs_diff_eq!(sum, all("length_m"), epsilon = 1e-9);
        }
    }
    let default = rows(&analysed(WALK, &[]), "supports");
    assert_metres(&by_class(&default, "support", "length_m"), HALVES, "by default");
}

/// Plant and diameter go by the same ends. By halves: beech 2 of leg 1–2 and both halves of 2–3;
/// vine all of 4–5, since its far end stands on the liana that is written, and half of 5–6.
#[test]
fn plants_and_diameters_are_shared_out_like_supports() {
    let rows = rows(&analysed(WALK, &[]), "supports");
    let plants = [("beech", 5.0), ("vine", 5.5), ("crossing", 2.0), ("not recorded", 10.5)];
    assert_metres(&by_class(&rows, "plant", "length_m"), &plants, "plant");
    let diameters = [
        ("≥ 20", 6.5), // 1–2, half of 2–3, half of 9–10
        ("2 to 5", 1.5),
        ("< 2", 5.5),
        ("crossing", 2.0),
        ("not recorded", 7.5),
    ];
    assert_metres(&by_class(&rows, "diameter_cm", "length_m"), &diameters, "diameter");
    // Trunk, branch, crossing, liana, litter, blank, burrow, and after the gap litter and log.
    let visits = by_class(&rows, "support", "visits");
    assert_eq!((visits["litter"], visits["trunk"], visits["log"]), (2.0, 1.0, 1.0));
}

#[test]
fn legs_say_both_halves_where_they_differ() {
    let legs = rows(&analysed(WALK, &[]), "legs");
    let column = |name: &str| legs.iter().map(|leg| leg[name].as_str()).collect::<Vec<_>>();
    assert_eq!(
        column("support"),
        [
            "trunk",
            "trunk/branch",
            "crossing",
            "liana",
            "liana/litter",
            "litter/",
            "/burrow",
            "burrow/litter",
            "litter/log"
        ]
    );
    assert_eq!(column("tree"), ["T1", "T1", "", "T3", "T3/", "", "", "", ""]);
    assert_eq!(column("diameter_cm"), ["27", "14", "", "1", "1", "", "", "", "30"]);
    let [first, second] = ["support_first_half", "support_second_half"].map(column);
    assert_eq!((first[1], second[1]), ("trunk", "branch"));
    assert_eq!((first[2], second[2]), ("crossing", "crossing"));
    assert_eq!((first[5], second[5]), ("litter", ""));
}

/// A crossing needs two names and two ends above the edge: 0.3 m, or what the survey says.
#[test]
fn a_crossing_is_from_tree_to_tree_or_plant_to_plant_above_ground() {
    let leg = |from: &str, to: &str| {
        let heading = "trail,anchor,tape_m,bearing_deg,height_m,support,plant,tree,leg_support\n";
        format!("{heading}A,1,,,{from},\nA,2,3,90,{to}\n")
    };
    let cases = [
        ("2,branch,beech,T1", "2,branch,beech,T2,", true), // two trees of one kind
        ("2,branch,beech,", "2,branch,fir,,", true),       // two plants, no tree named
        ("2,branch,beech,T1", "2,liana,vine,T1,", false),  // a vine on the same tree
        ("2,branch,beech,T1", "2,shrub,hazel,,", true),    // a shrub has no tree's name
        ("2,branch,beech,T1", "0.2,trunk,fir,T2,", false), // down on the ground
        ("2,branch,,T1", "2,branch,,,", false),            // one name only
        ("0,litter,,", "0,litter,,,crossing", true),       // on the sheet's own word
    ];
    for (from, to, crosses) in cases {
        let text = leg(from, to);
        let supports = rows(&analysed(&text, &[]), "supports");
        let found = by_class(&supports, "support", "length_m").contains_key("crossing");
        let counted = by_class(&supports, "all", "crossings")["all"] > 0.0;
        assert_eq!((found, counted), (crosses, crosses), "{text}");
    }
    let low = leg("0.2,shrub,hazel,", "0.2,shrub,rose,,");
    let count = |set: &[(&str, &str)]| {
        by_class(&rows(&analysed(&low, set), "supports"), "all", "crossings")["all"]
    };
    assert_abs_diff_eq!(count(&[]), 0.0);
    assert_abs_diff_eq!(count(&[("bouts.above_m", "0.1")]), 1.0);
}

/// 13.5 of 23 m are told everywhere; `leg_support`, or a rule for the whole leg, settles it.
#[test]
fn how_much_rests_on_halves_is_told_and_above_a_fifth_it_is_a_note() {
    let of_check = |anchors: &str, set: &[(&str, &str)]| {
        let survey = read(anchors, set);
        let faults = check(&survey, &build(&survey));
        let found = faults.sorted();
        let mut notes = found.iter().filter(|fault| fault.code == Code::SupportInHalves);
        let note = notes.next().map(|fault| {
            assert_eq!(fault.severity, Severity::Note);
            let column = fault.place.column.as_deref().unwrap_or_default().to_owned();
            (fault.place.row, column, fault.found.clone())
        });
        assert!(notes.next().is_none());
        note
    };
    let words = "59 % of the metres are halves of legs whose ends differ in support";
    assert_eq!(of_check(WALK, &[]), Some((Some(1), "leg_support".into(), words.into())));
    assert_eq!(of_check(WALK, &[("of_leg", "arrival")]), None);
    let analysis = analysed(WALK, &[]);
    assert!(not_known(&analysis).contains(&format!("Supports: {words}.")));
    let text = methods(&analysis, "0").text;
    assert!(
        text.contains(&format!("half for the support of each of its ends ({words}).")),
        "{text}"
    );
    // Written for all legs but one of 3 m, of 23: under a fifth.
    let written = WALK
        .replace("A,6,3,,0,litter,,", "A,6,3,,0,litter,trunk,")
        .replace("A,7,2,0,0,,,", "A,7,2,0,0,,litter,")
        .replace("A,8,1,,-1,burrow,,", "A,8,1,,-1,burrow,burrow,")
        .replace("A,10,6,0,0,log,,", "A,10,6,0,0,log,log,");
    assert_eq!(of_check(&written, &[]), None);
    let told = not_known(&analysed(&written, &[])).join("\n");
    assert!(told.contains("13 % of the metres are halves"), "{told}");
    let agreeing = "trail,anchor,tape_m,bearing_deg,height_m,support\n\
        A,1,,,0,litter\nA,2,3,0,0,litter\nA,3,3,9,0,litter\n";
    assert_eq!(of_check(agreeing, &[]), None);
    assert!(!not_known(&analysed(agreeing, &[])).join("\n").contains("halves"));
}

/// The escape run ends at anchor 6, on its first return to the ground. After it by halves litter
/// 1 + 3 and log 3 of what was on offer, by arrival log 6 alone.
#[test]
fn selection_takes_its_metres_from_the_same_halves() {
    let by = |rule: &str| {
        let rows = rows(&analysed(WALK, &[("support.of_leg", rule)]), "selection");
        let own = rows.into_iter().filter(|row| row["level"] == "animal");
        let pair = |row: Row| {
            let [used, ratio] = ["used_share", "ratio"].map(|name| row[name].parse().unwrap());
            (row["class"].clone(), [used, ratio])
        };
        own.map(pair).collect::<BTreeMap<String, [f64; 2]>>()
    };
    let found = by("halves");
    for (class, used, ratio) in
        [("litter", 4.0 / 7.0, 16.0 / 7.0), ("log", 3.0 / 7.0, 12.0 / 7.0), ("trunk", 0.0, 0.0)]
    {
        assert_abs_diff_eq!(found[class][0], used, epsilon = 0.005);
        assert_abs_diff_eq!(found[class][1], ratio, epsilon = 0.02);
    }
    let found = by("arrival");
    assert_abs_diff_eq!(found["log"][0], 1.0);
    assert_abs_diff_eq!(found["litter"][0], 0.0);
}

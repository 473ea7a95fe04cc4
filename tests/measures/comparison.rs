//! From tables on disk to what was used, chosen and compared.

use approx::{assert_abs_diff_eq, assert_relative_eq};
use perchline::adjustment::network::build;
use perchline::measures::compare::factors::Factor;
use perchline::results::answer::answer;
use perchline::results::comparison::{group_rows, test_rows};
use perchline::results::methods::methods;
use perchline::results::printed::printed;
use perchline::results::progress::Progress;
use perchline::results::question::Question;
use perchline::results::tables::{Cell, tables};
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::input::source::read_survey;
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use tempfile::TempDir;

type Row = BTreeMap<String, String>;

fn analysed(folder: &Path, draws: usize) -> Analysis {
    let (survey, faults) = read_survey(folder, &[]).unwrap();
    assert!(!faults.stop(), "{:#?}", faults.sorted());
    let network = build(&survey);
    let wanted = Wanted { draws, ..Wanted::default() };
    analyse(survey, network, wanted, &Progress::default()).unwrap()
}

fn demo(draws: usize) -> Analysis {
    analysed(&Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/dormice"), draws)
}

fn survey(files: &[(&str, &str)]) -> Analysis {
    let folder = TempDir::new().unwrap();
    let settings = "[bearings]\nnorth = \"true\"\n[precision]\nground_m = 0\n";
    fs::write(folder.path().join("survey.toml"), settings).unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    analysed(folder.path(), 0)
}

/// The rows of a result table, as text.
fn rows(analysis: &Analysis, name: &str) -> Vec<Row> {
    let all = tables(analysis);
    let table = all.iter().find(|table| table.name == name).unwrap();
    let mut rows = Vec::new();
    table.for_each_row(analysis, &mut |cells| {
        assert_eq!(cells.len(), table.columns.len(), "{name}");
        let text = |cell: &Cell<'_>| match cell {
            Cell::Blank => String::new(),
            Cell::Text(text) => (*text).to_owned(),
            Cell::Number(number) => number.to_string(),
            Cell::Count(count) => count.to_string(),
        };
        let pair =
            table.columns.iter().zip(cells).map(|(c, cell)| (c.name.to_string(), text(cell)));
        rows.push(pair.collect());
    });
    rows
}

fn number(row: &Row, column: &str) -> f64 {
    row[column].parse().unwrap_or(f64::NAN)
}

fn matching<'a>(rows: &'a [Row], wanted: &[(&str, &str)]) -> Vec<&'a Row> {
    rows.iter().filter(|row| wanted.iter().all(|(column, text)| row[*column] == *text)).collect()
}

fn only<'a>(rows: &'a [Row], wanted: &[(&str, &str)]) -> &'a Row {
    let found = matching(rows, wanted);
    assert_eq!(found.len(), 1, "{wanted:?}: {found:#?}");
    found[0]
}

/// A level loop of trunk, branch and litter whose metres are known by hand.
const WALK: &str = "trail,anchor,tape_m,bearing_deg,height_m,support,leg_support,plant,tree,\
    diameter_cm,support_incline_deg,gap,perch,seen,refuge,time\n\
    A,1,,,0,litter,,,,,,,,,,\n\
    A,2,3,0,0,litter,,,,,,,,,,\n\
    A,3,2,,2,trunk,trunk,beech,T1,30,90,,,,,\n\
    A,4,2,90,2,branch,,beech,T1,4,10,,sign,,,\n\
    A,5,1,90,2,branch,,fir,T2,3,-20,,,,,\n\
    A,6,4,90,2,branch,,fir,T2,3,20,lost,,,,\n\
    A,7,2,,0,litter,trunk,,,,,,,,,\n\
    A,8,5,90,0,litter,,,,,,,,yes,hole,07:30\n";

#[test]
fn metres_visits_and_anchors_are_those_counted_by_hand() {
    let analysis = survey(&[("anchors.csv", WALK)]);
    let all = rows(&analysis, "supports");
    let of = |division: &str, class: &str| {
        let wanted = [("trail", "A"), ("part", "whole"), ("division", division), ("class", class)];
        let row = only(&all, &wanted);
        (number(row, "length_m"), row["visits"].clone(), row["anchors"].clone())
    };
    for (division, class, metres, visits, anchors) in [
        ("support", "litter", 8.0, "2", "4"),
        ("support", "trunk", 5.0, "2", "1"), // half of the leg to the branch is trunk
        ("support", "branch", 1.0, "1", "3"),
        ("support", "crossing", 1.0, "1", "0"), // T1 to T2, nothing noted for the leg
        ("plant", "beech", 4.0, "1", "2"),
        ("plant", "fir", 0.0, "0", "2"),
        ("diameter_cm", "≥ 20", 3.0, "1", "1"),
        ("diameter_cm", "2 to 5", 1.0, "1", "3"),
        ("incline_deg", "≥ 60", 3.0, "1", "1"),
        ("incline_deg", "< 30", 1.0, "1", "3"),
        // Half a metre of each plumb leg lies between 0.5 and 1 …
        ("height_m", "< 0.3", 8.6, "2", "4"),
        ("height_m", "0.3 to 1", 1.4, "2", "0"),
        ("height_m", "1 to 5", 5.0, "2", "4"),
    ] {
        let (length, stays, points) = of(division, class);
        assert_abs_diff_eq!(length, metres, epsilon = 0.02);
        assert_eq!((stays.as_str(), points.as_str()), (visits, anchors), "{division} {class}");
    }
    let whole = only(&all, &[("trail", "A"), ("part", "whole"), ("class", "all")]);
    assert_eq!(
        ["changes", "crossings", "gaps"].map(|column| whole[column].as_str()),
        ["4", "1", "1"]
    );
    assert_abs_diff_eq!(number(whole, "length_m"), 15.0, epsilon = 0.02);
}

#[test]
fn perches_have_evidence_day_and_reuse() {
    let again = format!(
        "{WALK}B,1,,,0,litter,,,,,,,,,,\nB,2,3,0,0,litter,,,,,,,,yes,hole,23:10\n\
        C,1,,,0,litter,,,,,,,,,,\nC,2,3,0,0,litter,,,,,,,,,hole,\n"
    );
    let trails = "trail,animal\nA,Hazel\nB,Hazel\nC,Oak\n";
    let analysis = survey(&[("anchors.csv", &again), ("trails.csv", trails)]);
    let perches = rows(&analysis, "perches");
    let columns = ["trail", "anchor", "kind", "evidence", "period", "refuge", "stay", "animals"];
    let found: Vec<Vec<&str>> =
        perches.iter().map(|row| columns.map(|column| row[column].as_str()).to_vec()).collect();
    assert_eq!(
        found,
        [
            ["A", "4", "perch", "sign", "", "", "", ""],
            ["A", "8", "refuge", "seen", "day", "hole", "1", "2"],
            ["B", "2", "refuge", "seen", "night", "hole", "2", "2"],
            ["C", "2", "refuge", "", "", "hole", "1", "2"],
        ]
    );
}

/// Trails of one leg each: `trail, animal, metres on litter, metres on log`.
fn short_trails(list: &[(&str, &str, f64, f64)]) -> (String, String) {
    let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,height_m,support\n");
    let mut trails = String::from("trail,animal\n");
    for (trail, animal, litter, log) in list {
        anchors += &format!("{trail},1,,,0,litter\n{trail},2,{litter},0,0,litter\n");
        anchors += &format!("{trail},3,0.01,0,0,log\n{trail},4,{log},0,0,log\n");
        trails += &format!("{trail},{animal}\n");
    }
    (anchors, trails)
}

#[test]
fn what_was_on_offer_may_differ_by_animal_and_by_group() {
    let (anchors, trails) = short_trails(&[
        ("A", "Hazel", 6.0, 2.0),
        ("B", "Oak", 3.0, 9.0),
        ("C", "Ash", 5.0, 5.0),
        ("D", "Elm", 1.0, 3.0),
    ]);
    let animals = "animal,wood\nHazel,north\nOak,north\nAsh,south\nElm,south\n";
    let available = "support,amount,animal,wood\nlitter,1,,north\nlog,1,,north\n\
        litter,1,,south\nlog,3,,south\nlitter,9,Elm,\nlog,1,Elm,\n";
    let analysis = survey(&[
        ("anchors.csv", &anchors),
        ("trails.csv", &trails),
        ("animals.csv", animals),
        ("available.csv", available),
    ]);
    let selection = rows(&analysis, "selection");
    for (animal, offered, used) in
        [("Hazel", 0.5, 0.75), ("Oak", 0.5, 0.25), ("Ash", 0.25, 0.5), ("Elm", 0.9, 0.25)]
    {
        let wanted = [("level", "animal"), ("group", animal), ("class", "litter")];
        let row = only(&selection, &wanted);
        assert_abs_diff_eq!(number(row, "available_share"), offered, epsilon = 1e-9);
        assert_abs_diff_eq!(number(row, "used_share"), used, epsilon = 1e-3);
        assert_abs_diff_eq!(number(row, "ratio"), used / offered, epsilon = 2e-3);
        assert_eq!(row["ratio_low95"], "", "one animal has no interval");
    }
    let pooled = only(&selection, &[("level", "pooled"), ("class", "litter")]);
    assert_eq!(pooled["animals"], "4");
    assert_abs_diff_eq!(number(pooled, "used_share"), 0.4375, epsilon = 1e-3);
    assert_abs_diff_eq!(number(pooled, "available_share"), 0.5375, epsilon = 1e-9);
    let wood = only(&selection, &[("group", "wood=south"), ("class", "log")]);
    assert_eq!((wood["animals"].as_str(), wood["ratio_low95"].as_str()), ("2", ""));
}

/// Every number of the printed tables and of the groups follows from rows of the long tables.
#[test]
fn tables_can_be_traced_to_the_metrics() {
    let analysis = demo(0);
    let metrics = rows(&analysis, "metrics");
    let mut animals: BTreeMap<String, Vec<f64>> = BTreeMap::new();
    let wanted = [("metric", "path_length"), ("part", "whole")];
    for row in matching(&metrics, &wanted) {
        animals.entry(row["animal"].clone()).or_default().push(number(row, "value"));
    }
    let means: Vec<f64> =
        animals.values().map(|list| list.iter().sum::<f64>() / list.len() as f64).collect();
    let groups = rows(&analysis, "groups");
    let all = only(&groups, &[wanted[0], wanted[1], ("group", "all")]);
    assert_eq!(all["animals"], "13");
    assert_relative_eq!(number(all, "mean"), means.iter().sum::<f64>() / 13.0, max_relative = 1e-9);

    let table = &printed(&analysis)[0];
    let followed = table.heads.iter().position(|head| head.starts_with("thread")).unwrap();
    for row in &table.rows {
        let sum: f64 = animals[&row[0]].iter().sum();
        let shown: f64 = row[followed].trim_start_matches("≥ ").parse().unwrap();
        assert!((shown - sum).abs() <= 0.51 && shown > 0.0, "{row:?} {sum}");
    }
    // Of each trail the classes of each division add up to its path length.
    let supports = rows(&analysis, "supports");
    for row in matching(&metrics, &wanted) {
        for division in ["support", "plant", "diameter_cm", "incline_deg", "height_m"] {
            let own = [("trail", row["trail"].as_str()), ("part", "whole"), ("division", division)];
            let sum: f64 =
                matching(&supports, &own).iter().map(|row| number(row, "length_m")).sum();
            assert_abs_diff_eq!(sum, number(row, "value"), epsilon = 1e-6);
        }
    }
    // Used shares are those of the animals' metres on what was on offer.
    let selection = rows(&analysis, "selection");
    let bramble = matching(&selection, &[("level", "animal"), ("group", "Bramble")]);
    let used = |class: &str| {
        let own = [("level", "animal"), ("animal", "Bramble"), ("part", "after_escape")];
        let own = [own[0], own[1], own[2], ("division", "support"), ("class", class)];
        matching(&supports, &own).first().map_or(0.0, |row| number(row, "length_m"))
    };
    let total: f64 = bramble.iter().map(|row| used(&row["class"])).sum();
    for row in bramble {
        assert_abs_diff_eq!(number(row, "used_share"), used(&row["class"]) / total, epsilon = 1e-9);
    }
}

/// Never a p without n, never a blank p without a reason, never what is not a number.
fn sound(analysis: &Analysis, question: &Question) -> Vec<String> {
    let groups = group_rows(analysis, question);
    let tests = test_rows(analysis, question);
    for test in &tests {
        let row = &test.row;
        assert!(row.p.is_some() || !row.reason.is_empty(), "{test:?}");
        assert!(row.p.is_none() || row.animals.iter().all(|n| *n > 0), "{test:?}");
        let numbers = [row.p, row.p_adjusted, row.statistic, row.effect, row.p_standard_error];
        assert!(numbers.into_iter().flatten().all(f64::is_finite), "{test:?}");
        assert!(row.p.is_none_or(|p| (0.0..=1.0).contains(&p)), "{test:?}");
        let ends = row.interval.into_iter().flatten();
        assert!(ends.into_iter().all(f64::is_finite), "{test:?}");
    }
    for row in &groups {
        let s = &row.summary;
        let all = [s.mean, s.sd, s.se, s.median, s.measurement_se];
        assert!(all.into_iter().flatten().all(f64::is_finite), "{row:?}");
    }
    answer(analysis, question, &groups, &tests)
}

fn by(analysis: &Analysis, name: &str) -> Question {
    let factor = Factor::of(&analysis.survey, name).unwrap();
    Question { by: vec![factor], ..Question::default() }
}

#[test]
fn too_little_is_said_in_a_sentence() {
    let (anchors, trails) = short_trails(&[
        ("A", "Hazel", 6.0, 2.0),
        ("B", "Oak", 3.0, 9.0),
        ("C", "Ash", 5.0, 5.0),
        ("D", "", 1.0, 3.0),
        ("E", "Elm", 4.0, 4.0),
    ]);
    let animals = "animal,sex,site,mass\nHazel,f,one,10\nOak,m,one,11\nAsh,m,one,12\nElm,,one,13\n\
        Yew,f,one,14\n";
    let files = [
        ("anchors.csv", anchors.as_str()),
        ("trails.csv", trails.as_str()),
        ("animals.csv", animals),
    ];
    let analysis = survey(&files);
    let told = sound(&analysis, &by(&analysis, "sex")).join("\n");
    for phrase in [
        "f has fewer than two animals with a value",
        "Left out, since they have no animal: D.",
        "Animals without any trail: Yew.",
        "Without sex, and left out of what goes by it: Elm.",
    ] {
        assert!(told.contains(phrase), "{phrase} in\n{told}");
    }
    let told = sound(&analysis, &by(&analysis, "site")).join("\n");
    assert!(told.contains("Nothing to compare by site: it is one throughout."), "{told}");
    let with = Factor::of(&analysis.survey, "mass").unwrap();
    sound(&analysis, &Question { with: vec![with], ..Question::default() });
    let told = sound(&analysis, &Question::default()).join("\n");
    assert!(told.contains("No groups were compared, since none were asked for"), "{told}");
}

#[test]
fn equal_values_give_no_p() {
    let (anchors, trails) = short_trails(&[
        ("A", "Hazel", 6.0, 2.0),
        ("B", "Oak", 6.0, 2.0),
        ("C", "Ash", 6.0, 2.0),
        ("D", "Elm", 6.0, 2.0),
    ]);
    let animals = "animal,sex\nHazel,f\nOak,m\nAsh,m\nElm,f\n";
    let files = [
        ("anchors.csv", anchors.as_str()),
        ("trails.csv", &trails),
        ("animals.csv", animals),
        ("survey.toml", "bearings.north = \"true\"\ncompare.by = [\"sex\"]\n"),
    ];
    let analysis = survey(&files);
    sound(&analysis, &by(&analysis, "sex"));
    let tests = rows(&analysis, "tests");
    let legs = [("metric", "legs"), ("part", "whole"), ("factor", "sex")];
    let row = only(&tests, &legs);
    assert_eq!((row["p_value"].as_str(), row["reason"].as_str()), ("", "all values are equal"));
}

#[test]
fn animals_in_two_groups_are_sent_to_the_paired_test() {
    let analysis = demo(0);
    let told = sound(&analysis, &by(&analysis, "night")).join("\n");
    assert!(
        told.contains("animals stand in more than one group; --pairs compares those"),
        "{told}"
    );
    let night = Factor::of(&analysis.survey, "night").unwrap();
    let levels = ["1", "2"].map(str::to_owned);
    let question = Question { pairs: Some((night, levels)), ..Question::default() };
    let told = sound(&analysis, &question).join("\n");
    let sentence = "Path length, night 2 less 1 of the same animals: difference −43 m";
    assert!(told.contains(sentence), "{told}");
}

#[test]
fn every_way_of_comparing_the_demo_is_sound() {
    let analysis = demo(0);
    let factor = |name: &str| Factor::of(&analysis.survey, name).unwrap();
    for name in ["ending", "nights"] {
        sound(&analysis, &by(&analysis, name));
    }
    for name in ["rain_mm", "sex"] {
        sound(&analysis, &Question { with: vec![factor(name)], ..Question::default() });
    }
    let within = Question { within: Some(factor("stand")), ..by(&analysis, "sex") };
    sound(&analysis, &within);
}

/// No sentence about something that was not done, and every source cited is in the list.
#[test]
fn methods_tell_what_was_done_and_no_more() {
    let (bare, full) = (survey(&[("anchors.csv", WALK)]), demo(4));
    let [bare, full] = [&bare, &full].map(|analysis| methods(analysis, "0.0.0"));
    for phrase in [
        "clinometer",
        "turning angle",
        "further line",
        "declination",
        "permutation",
        "Selection",
        "by compass",
    ] {
        let done = phrase == "by compass";
        assert_eq!(bare.text.contains(phrase), done, "{phrase} in\n{}", bare.text);
        assert!(full.text.contains(phrase), "{phrase} in\n{}", full.text);
    }
    assert!(full.text.contains("SD 0.03 m and 0.2 %") && full.text.contains("permit INVENTED"));
    assert!(full.text.contains("at every change of direction, steepness or support"));
    for methods in [&bare, &full] {
        let entries = methods.bibtex.matches("\n@").count() + 1;
        let from_memory = methods.text.matches("given from memory").count();
        let listed = methods.text.matches("\n- ").count();
        assert_eq!(listed, entries + from_memory, "{}", methods.bibtex);
        for line in methods.text.lines().filter(|line| line.starts_with("- ")) {
            let cited = line[2..].split(',').next().unwrap().rsplit(' ').next().unwrap();
            assert!(methods.text.matches(cited).count() > 1, "{line} is never cited");
        }
    }
}

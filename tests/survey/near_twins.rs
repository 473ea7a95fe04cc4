//! Names as people write them: two that a reader would take for one are told or taken as one, and
//! ordinary numberings are left alone.

use csv::Reader;
use perchline::adjustment::network::build;
use perchline::results::answer::people;
use perchline::results::rules::check;
use perchline::survey::fault::{Code, Fault, Faults, Severity};
use perchline::survey::input::source::read_survey;
use std::collections::BTreeSet;
use std::fs;
use std::path::Path;
use std::process::Output;
use tempfile::TempDir;

use crate::run;
use run::command;

fn run(folder: &Path, arguments: &[&str]) -> Output {
    command(folder, arguments).output().unwrap()
}

const SET: &str = "[bearings]\nnorth = \"true\"\n";
const HEAD: &str = "trail,anchor,tape_m,bearing_deg,height_m\n";

fn laid_out(files: &[(&str, &str)]) -> TempDir {
    let folder = TempDir::new().unwrap();
    let survey = folder.path().join("survey");
    fs::create_dir(&survey).unwrap();
    fs::write(survey.join("survey.toml"), SET).unwrap();
    for (name, text) in files {
        fs::write(survey.join(name), text).unwrap();
    }
    folder
}

fn faults_at(path: &Path) -> Faults {
    let (survey, mut faults) = read_survey(path, &[]).unwrap();
    faults.append(check(&survey, &build(&survey)));
    faults
}

fn faults(files: &[(&str, &str)]) -> Faults {
    faults_at(&laid_out(files).path().join("survey"))
}

/// Code, severity and place of each fault of names, in order.
fn told(files: &[(&str, &str)]) -> Vec<(Code, Severity, String)> {
    let of_names = [Code::NearTwin, Code::TakenAsOne, Code::OuterBlanks, Code::FirstTape];
    let faults = faults(files);
    let of_names = faults.sorted().into_iter().filter(|fault| of_names.contains(&fault.code));
    of_names.map(|fault| (fault.code, fault.severity, fault.place.phrase())).collect()
}

fn at(code: Code, severity: Severity, place: &str) -> Vec<(Code, Severity, String)> {
    vec![(code, severity, place.into())]
}

/// A trail under `name` of a release and two legs.
fn trail(name: &str) -> String {
    format!("{name},0,,,1\n{name},1,3.1,20,0.1\n{name},2,4.2,95,0.2\n")
}

/// Anchors of one trail under these names.
fn anchors(names: &[&str]) -> String {
    let row = |(at, name): (usize, &&str)| match at {
        0 => format!("T,{name},,,1\n"),
        _ => format!("T,{name},3,{at},1\n"),
    };
    names.iter().enumerate().map(row).collect()
}

#[test]
fn a_misspelt_trail_is_an_error() {
    let row = "trail A,3,5.5,30,1\n";
    for (name, twin) in [("A 1", "A1"), ("a1", "A1"), ("AI", "A1"), ("D-0I", "D01")] {
        let text = format!("{HEAD}{}{}", trail(twin), row.replace("trail A", name));
        let error = at(Code::NearTwin, Severity::Error, "anchors.csv, row 5, column trail");
        assert_eq!(told(&[("anchors.csv", &text)]), error, "{name} {twin}");
    }
    let alone = format!("{HEAD}A 1,0,,,1\n{}", trail("A1"));
    let error = at(Code::NearTwin, Severity::Error, "anchors.csv, row 2, column trail");
    assert_eq!(told(&[("anchors.csv", &alone)]), error);
    let many = format!("{HEAD}{}A 1,3,5.5,30,1\nA 1,4,2,40,1\n", trail("A1"));
    let error = at(Code::NearTwin, Severity::Error, "anchors.csv, row 5, column trail");
    assert_eq!(told(&[("anchors.csv", &many)]), error);
}

#[test]
fn both_places_are_told() {
    let text = format!("{HEAD}{}{}", trail("A1"), trail("a1"));
    let files = [("anchors.csv", text.as_str())];
    let found = at(Code::NearTwin, Severity::Warning, "anchors.csv, row 5, column trail");
    assert_eq!(told(&files), found);
    let faults = faults(&files);
    let twin = faults.sorted().into_iter().find(|fault| fault.code == Code::NearTwin).unwrap();
    assert_eq!(twin.found, "a1, and A1 in anchors.csv, row 2, column trail");
}

#[test]
fn twins_of_anchors_animals_and_controls() {
    let (warning, error) = (Severity::Warning, Severity::Error);
    for names in [["0", "a", "A"], ["0", "1-a", "1 A"], ["x", "O", "0"], ["0", "b\u{e9}", "be"]] {
        let text = format!("{HEAD}{}", anchors(&names));
        let found = at(Code::NearTwin, warning, "anchors.csv, row 4, column anchor");
        assert_eq!(told(&[("anchors.csv", &text)]), found, "{names:?}");
    }
    let begins = format!("{HEAD}T,A 1,3,10,1\nT,B,3,10,1\nT,A1,4,20,1\n");
    let found = told(&[("anchors.csv", &begins)]);
    assert!(found.contains(&at(Code::NearTwin, error, "anchors.csv, row 2, column anchor")[0]));
    let text = format!("{HEAD}{}", trail("A"));
    let anchors = ("anchors.csv", text.as_str());
    let found = told(&[anchors, ("animals.csv", "animal\nMio\nmio\n")]);
    assert_eq!(found, at(Code::NearTwin, warning, "animals.csv, row 3, column animal"));
    let found = told(&[anchors, ("trails.csv", "trail,animal\nA,Mio\nB,mio\n")]);
    assert_eq!(found, at(Code::NearTwin, warning, "trails.csv, row 3, column animal"));
    let found = told(&[anchors, ("controls.csv", "control,east_m,north_m\nP1,1,2\nP-1,3,4\n")]);
    assert_eq!(found, at(Code::NearTwin, warning, "controls.csv, row 3, column control"));
    let named = format!("{HEAD}{}", trail("A").replace("A,2", "A,p1"));
    let controls = "control,east_m,north_m\nP1,1,2\n";
    let found = told(&[("anchors.csv", &named), ("controls.csv", controls)]);
    assert_eq!(found, at(Code::NearTwin, warning, "anchors.csv, row 4, column anchor"));
    let found = told(&[anchors, ("trails.csv", "trail,animal\na,Mio\n")]);
    assert_eq!(found, at(Code::NearTwin, warning, "trails.csv, row 2, column trail"));
}

#[test]
fn ordinary_numberings_are_left_alone() {
    let numbers: Vec<String> = (0..130).map(|n| n.to_string()).collect();
    let padded: Vec<String> = (0..130).map(|n| format!("D{n:02}")).collect();
    let letters: Vec<String> = ('A'..='Z').map(String::from).collect();
    let pairs = |mark: &'static str| {
        (1..15).flat_map(move |a| (1..15).map(move |b| format!("{a}{mark}{b}")))
    };
    let roman = ["0", "I", "II", "III", "IV", "V", "VI", "2", "11"].map(String::from);
    let lettered = (1..12).flat_map(|n| ('a'..='k').map(move |letter| format!("{n}{letter}")));
    for names in [
        numbers,
        padded,
        letters,
        pairs("-").collect(),
        pairs(".").collect(),
        pairs(" ").collect(),
        roman.to_vec(),
        lettered.collect(),
    ] {
        let names: Vec<&str> = names.iter().map(String::as_str).collect();
        let trails: String = names.iter().map(|name| trail(name)).collect();
        for rows in [anchors(&names), trails] {
            assert_eq!(told(&[("anchors.csv", &format!("{HEAD}{rows}"))]), [], "{:?}", &names[..9]);
        }
    }
    for demo in ["demo/dormice", "demo/dormice-as-written"] {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(demo);
        let faults = faults_at(&folder);
        let twin = |fault: &&Fault| matches!(fault.code, Code::NearTwin | Code::FirstTape);
        assert!(!faults.sorted().into_iter().any(|fault| twin(&fault)), "{demo}");
    }
}

#[test]
fn a_tape_to_the_release_is_told() {
    let taped = format!("{HEAD}A,0,2.4,10,1\nA,1,3,20,1\n");
    let found = at(Code::FirstTape, Severity::Warning, "anchors.csv, row 2, column tape_m");
    assert_eq!(told(&[("anchors.csv", &taped)]), found);
    let nought = format!("{HEAD}A,0,0,,1\nA,1,3,20,1\n");
    assert_eq!(told(&[("anchors.csv", &nought)]), []);
    let controls = ("controls.csv", "control,east_m,north_m\nP,1,2\n");
    let from = "trail,anchor,from,tape_m,bearing_deg,height_m\nA,0,P,2,10,1\nA,1,,3,20,1\n";
    assert_eq!(told(&[("anchors.csv", from), controls]), []);
}

#[test]
fn outer_blanks_are_told_once_a_column() {
    let text = format!("{HEAD} A,0,,,1\nA ,1,3,20,1\nA,\u{a0}2,3,20,1\n");
    let faults = faults(&[("anchors.csv", &text)]);
    let blanks = faults.sorted().into_iter().filter(|fault| fault.code == Code::OuterBlanks);
    let blanks: Vec<(String, &str)> =
        blanks.map(|fault| (fault.place.phrase(), fault.found.as_str())).collect();
    let place = |text: &str| format!("anchors.csv, row {text}");
    assert_eq!(
        blanks,
        [
            (place("2, column trail"), "2 names with blanks before or behind"),
            (place("4, column anchor"), "1 name with blanks before or behind"),
        ]
    );
    assert_eq!(faults.count(Severity::Warning) + faults.count(Severity::Error), 0);
}

/// The values of a column of a table of results, each once.
fn values(folder: &TempDir, table: &str, column: &str) -> BTreeSet<String> {
    let path = folder.path().join("survey-results").join(table);
    let mut reader = Reader::from_path(path).unwrap();
    let at = reader.headers().unwrap().iter().position(|heading| heading == column).unwrap();
    reader.records().map(|row| row.unwrap()[at].to_owned()).collect()
}

const SUPPORTED: &str = "trail,anchor,tape_m,bearing_deg,height_m,support,leg_support,plant\n";

#[test]
fn supports_and_plants_are_taken_as_one() {
    let text = format!(
        "{SUPPORTED}A,0,,,1,Litter,,Fir\nA,1,3,20,1,litter,,fir\nA,2,3,30,1,LITTER,,fir\n\
         A,3,3,30,1,log,litter,fir\nA,4,3,40,1,dead wood,,fir\nA,5,3,40,1,dead-wood,litter,fir\n"
    );
    let available = "support,amount\nLitter,3\nLOG,1\ndeadwood,2\n";
    let files = [("anchors.csv", text.as_str()), ("available.csv", available)];
    let folder = laid_out(&files);
    let output = run(folder.path(), &["rebuild", "survey", "--draws", "0", "--tables-only"]);
    assert_eq!(output.status.code(), Some(0));
    let supports = values(&folder, "supports.csv", "class");
    let spelled = |name: &str| supports.iter().filter(|s| s.eq_ignore_ascii_case(name)).count();
    assert_eq!((spelled("litter"), spelled("dead wood")), (1, 1), "{supports:?}");
    assert!(values(&folder, "positions.csv", "support").contains("LITTER"), "as written");
    let folder = faults_at(&folder.path().join("survey"));
    let (sorted, note) = (folder.sorted(), Severity::Note);
    let told = sorted.iter().filter(|fault| fault.code == Code::TakenAsOne);
    let told: Vec<(Severity, &str, &str)> =
        told.map(|f| (f.severity, f.found.as_str(), f.expected.as_str())).collect();
    assert_eq!(
        told,
        [
            (note, "Fir", "one spelling: fir"),
            (note, "Litter, LITTER", "one spelling: litter"),
            (note, "dead-wood, deadwood", "one spelling: dead wood"),
            (note, "LOG", "one spelling: log"),
        ]
    );
    assert!(!sorted.iter().any(|fault| matches!(fault.code, Code::NotOnOffer | Code::NeverUsed)));
}

#[test]
fn sexes_and_ages_are_taken_as_one() {
    let anchors: String = (0..8).map(|n| trail(&format!("T{n}"))).collect();
    let anchors = format!("{HEAD}{anchors}");
    let sexes = ["f", "female", "F", "♀", "m", "Males", "unknown", "\u{2642}"];
    let ages = ["adult", "Adult", "ADULT", "adult", "juvenile", "adult ", "", "Juvenile"];
    let mut animals = String::from("animal,sex,age\n");
    let mut trails = String::from("trail,animal\n");
    for (at, (sex, age)) in sexes.iter().zip(ages).enumerate() {
        animals += &format!("N{at},{sex},{age}\n");
        trails += &format!("T{at},N{at}\n");
    }
    let files = [
        ("anchors.csv", anchors.as_str()),
        ("animals.csv", animals.as_str()),
        ("trails.csv", trails.as_str()),
    ];
    let folder = laid_out(&files);
    for (column, levels) in [("sex", &["f", "m", "unknown"][..]), ("age", &["adult", "juvenile"])] {
        let output = run(folder.path(), &["compare", "survey", "--by", column, "--json"]);
        let result: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
        let rows = result["groups"].as_array().unwrap();
        let groups = rows.iter().filter_map(|row| row["group"].as_str());
        let found: BTreeSet<&str> = groups.filter(|group| *group != "all").collect();
        assert_eq!(found.into_iter().collect::<Vec<_>>(), levels);
    }
    let taken = told(&files).into_iter().filter(|fault| fault.0 == Code::TakenAsOne);
    assert_eq!(taken.count(), 4, "females, males, adults, juveniles");
}

/// The corrections of an observer hold however the name is written; two that the settings tell apart
/// stay two.
#[test]
fn an_observer_is_corrected_however_written() {
    let rows = "A,0,,,1,\nA,1,10,20,1,ana k\nA,2,10,20,1,ana k\n";
    let anchors = format!("trail,anchor,tape_m,bearing_deg,height_m,observer\n{rows}");
    let settings = format!("{SET}[observer.\"Ana K\"]\ntape_scale = 1.1\n");
    let length = |settings: &str| {
        let files = [("anchors.csv", anchors.as_str()), ("survey.toml", settings)];
        let folder = laid_out(&files);
        let (survey, _) = read_survey(&folder.path().join("survey"), &[]).unwrap();
        build(&survey).lines.iter().filter_map(|line| line.tape).sum::<f64>()
    };
    assert!((length(&settings) - 22.0).abs() < 1e-9);
    let both = format!("{settings}[observer.\"ana k\"]\ntape_scale = 1.2\n");
    assert!((length(&both) - 24.0).abs() < 1e-9);
}

/// All names alike, and all different: neither is compared in pairs.
#[test]
fn many_names_are_compared_quickly() {
    let mut text = String::from(HEAD);
    for n in 0..200_000_u32 {
        let bits: String = (0..18).map(|bit| if n >> bit & 1 == 1 { 'a' } else { 'A' }).collect();
        text += &format!("T,{bits},1,20,1\n");
    }
    let start = std::time::Instant::now();
    let faults = faults(&[("anchors.csv", &text)]);
    assert_eq!(faults.count(Severity::Error), 199_999);
    assert!(start.elapsed().as_secs() < 60, "{:?}", start.elapsed());
}

/// Before, `O` beside the release `0` and controls `O1` beside anchors `01` were told.
#[test]
fn a_letter_in_its_lettering_is_no_nought() {
    let none: Vec<(Code, Severity, String)> = Vec::new();
    let lettered = ["0", "A", "B", "C", "D", "E", "F", "G", "H", "I", "J", "K", "L", "M", "N", "O"];
    assert_eq!(told(&[("anchors.csv", &format!("{HEAD}{}", anchors(&lettered)))]), none);
    let backwards: Vec<&str> =
        ["0"].into_iter().chain(lettered.into_iter().rev().take(15)).collect();
    assert_eq!(told(&[("anchors.csv", &format!("{HEAD}{}", anchors(&backwards)))]), none);
    let controls = ("controls.csv", "control,east_m,north_m\nO1,1,2\nO2,3,4\n");
    let numbered = format!("{HEAD}{}", anchors(&["01", "02", "03"]));
    assert_eq!(told(&[("anchors.csv", &numbered), controls]), none);
    let between = format!("{HEAD}{}", anchors(&["O1", "01", "02", "O2"]));
    assert_eq!(told(&[("anchors.csv", &between), controls]), none);
    // A slip is told all the same: nothing else of the trail is numbered so.
    for (names, row) in [
        (&["0", "1", "2", "O"][..], 5),
        (&["A", "B", "N", "O", "0"], 6),
        (&["D01", "D02", "DO1", "DO2"], 4),
        (&["1", "9", "10", "1O"], 5),
        (&["A1", "A2", "AI"], 4),
    ] {
        let found = told(&[("anchors.csv", &format!("{HEAD}{}", anchors(names)))]);
        let place = format!("anchors.csv, row {row}, column anchor");
        assert_eq!(
            found.first(),
            at(Code::NearTwin, Severity::Warning, &place).first(),
            "{names:?}"
        );
    }
    let alone = format!("{HEAD}{}", anchors(&["a", "01", "b"]));
    let found = at(Code::NearTwin, Severity::Warning, "anchors.csv, row 3, column anchor");
    assert_eq!(told(&[("anchors.csv", &alone), controls]), found);
}

/// Blanks without width and letters of other alphabets: before, the tape of such a row vanished.
#[test]
fn names_that_look_the_same_are_told_apart_by_their_letters() {
    for (name, shown) in [
        ("A1\u{200b}", "A1[U+200B], and A1 in"),
        ("A1\u{feff}x", ""),
        ("\u{410}1", "[U+0410]1, and A1 in"),
        ("\u{391}1", "[U+0391]1, and A1 in"),
        ("A\u{ad}1", "A[U+00AD]1, and A1 in"),
    ] {
        let text = format!("{HEAD}{}{name},3,5.5,30,1\n", trail("A1"));
        let faults = faults(&[("anchors.csv", &text)]);
        let sorted = faults.sorted();
        let twin = sorted.iter().find(|fault| fault.code == Code::NearTwin);
        if shown.is_empty() {
            assert!(twin.is_none(), "{name}");
            continue;
        }
        let twin = twin.unwrap();
        assert_eq!(twin.severity, Severity::Error, "{name}");
        assert!(twin.found.starts_with(shown), "{}", twin.found);
    }
}

/// Before, each such name was told twice.
#[test]
fn a_name_without_anchors_is_told_once_with_its_twin() {
    let text = format!("{HEAD}{}", trail("A1"));
    let of_names = |faults: &Faults| -> Vec<(Code, String)> {
        let sorted = faults.sorted().into_iter();
        let kinds = [Code::NearTwin, Code::UnknownTrail, Code::UnknownAnchor];
        let told = sorted.filter(|fault| kinds.contains(&fault.code));
        told.map(|fault| (fault.code, format!("{} | {}", fault.found, fault.hint))).collect()
    };
    let listed = faults(&[("anchors.csv", &text), ("trails.csv", "trail,animal\na 1,Mio\n")]);
    let told = of_names(&listed);
    assert_eq!((told.len(), told[0].0), (1, Code::NearTwin), "{told:?}");
    assert!(told[0].1.contains("a 1, and A1 in anchors.csv, row 2"), "{told:?}");
    let ties = "trail,from,to,tape_m\na1,0,2,3\nA1,O,2,3\n";
    let told = of_names(&faults(&[("anchors.csv", &text), ("ties.csv", ties)]));
    let codes: Vec<Code> = told.iter().map(|(code, _)| *code).collect();
    assert_eq!(codes, [Code::UnknownTrail, Code::UnknownAnchor], "{told:?}");
    assert!(told[0].1.ends_with("write A1 if that is meant"), "{told:?}");
    assert!(told[1].1.ends_with("write 0 if that is meant"), "{told:?}");
}

/// What `check` prints of a survey, and how many rows its JSON has of a code.
fn printed(files: &[(&str, &str)], code: &str) -> (String, usize) {
    let folder = laid_out(files);
    let words = run(folder.path(), &["check", "survey"]);
    let json = run(folder.path(), &["check", "survey", "--json"]);
    let json: serde_json::Value = serde_json::from_slice(&json.stdout).unwrap();
    let rows = json["faults"].as_array().unwrap().iter().filter(|fault| fault["code"] == code);
    (String::from_utf8(words.stdout).unwrap(), rows.count())
}

/// Before, 200 cells were told in 800 lines, and each of 40 trails had its own warning.
#[test]
fn what_repeats_down_a_column_is_told_once() {
    let mut rows = format!("{HEAD}T,0,,,1\n");
    (1..=200).for_each(|at| rows += &format!("T,{at},O,20,1\n"));
    let (words, listed) = printed(&[("anchors.csv", &rows)], "unreadable_number");
    assert_eq!((words.matches("(unreadable_number)").count(), listed), (1, 200), "{words}");
    assert!(words.contains("error anchors.csv, column tape_m: 200 cells, rows 3–202"), "{words}");
    assert!(words.contains("200 errors"), "{words}");
    let points = rows.replace("bearing_deg", "bearing_point").replace(",O,20,", ",2,O,");
    let (words, listed) = printed(&[("anchors.csv", &points)], "unknown_word");
    assert_eq!((words.matches("(unknown_word)").count(), listed), (1, 200), "{words}");
    let mut trails = String::new();
    (0..40).for_each(|at| trails += &format!("T{at},0,2.{at},9,1\nT{at},1,2,9,1\n"));
    let (words, listed) = printed(&[("anchors.csv", &format!("{HEAD}{trails}"))], "first_tape");
    assert_eq!((words.matches("(first_tape)").count(), listed), (1, 40), "{words}");
    let place = "column tape_m: 40 cells, rows 2, 4, 6, 8, 10, 12 and 34 more";
    assert!(words.contains(place), "{words}");
    // A few that differ are told one by one.
    let few = format!("{HEAD}T,0,,,1\nT,1,3..1,20,1\nT,2,2..5,20,1\n");
    let (words, _) = printed(&[("anchors.csv", &few)], "unreadable_number");
    assert_eq!(words.matches("(unreadable_number)").count(), 2, "{words}");
}

/// Before, `left 45` and `L200` had the hint of any letter.
#[test]
fn turns_in_words_and_beyond_half_are_answered() {
    let head = "trail,anchor,tape_m,turn_deg,height_m\n";
    for (cell, code, hint) in [
        ("270", Code::OutOfRange, "a turn of 270 is -90"),
        ("-200", Code::OutOfRange, "a turn of -200 is 160"),
        ("L200", Code::OutOfRange, "a turn of L200 is 160"),
        ("right 200", Code::OutOfRange, "a turn of right 200 is -160"),
        ("left 45", Code::UnreadableNumber, "for left 45 write -45 or L45"),
        ("30 rechts", Code::UnreadableNumber, "for 30 rechts write 30 or R30"),
        ("back", Code::UnreadableNumber, "write -45 or 30, or L45 or R30"),
    ] {
        let rows = format!("{head}A,0,,,1\nA,1,3,,1\nA,2,3,{cell},1\n");
        let faults = faults(&[("anchors.csv", &rows)]);
        let sorted = faults.sorted();
        let of_turn = sorted.iter().find(|fault| fault.place.column.as_deref() == Some("turn_deg"));
        let fault = of_turn.unwrap();
        assert_eq!(fault.code, code, "{cell}");
        assert!(fault.hint.contains(hint), "{cell}: {}", fault.hint);
    }
}

/// Words and signs for a sex make one word in sentences, where a survey has one spelling throughout.
#[test]
fn a_sex_has_one_word_in_sentences() {
    for female in ["♀", "\u{2640}\u{fe0f}", "FEMALE", "fem.", "Fem", "f", "F.", "w", "females"] {
        assert_eq!(people("sex", female), "females", "{female}");
    }
    for male in ["♂", "MALE", "m.", "M", "masc."] {
        assert_eq!(people("sex", male), "males", "{male}");
    }
    assert_eq!(people("sex", "unknown"), "animals of unknown");
    assert_eq!(people("site", "f"), "animals of f");
}

/// A row of near-twins anywhere in a trail: `r 1` for the control `R1`.
#[test]
fn a_control_of_another_spelling_is_told_where_it_is_walked() {
    let controls = ("controls.csv", "control,east_m,north_m\nR1,0,0\nr-1,5,5\nQ2,9,9\n");
    let rows = format!("{HEAD}A,r 1,,,1\nA,1,3,20,1\nB,r 1,,,1\nB,1,3,20,1\nB,q2,3,20,1\n");
    let told = told(&[("anchors.csv", &rows), controls]);
    let places: Vec<&str> = told.iter().map(|(_, _, place)| place.as_str()).collect();
    let there = [
        "anchors.csv, row 2, column anchor",
        "anchors.csv, row 4, column anchor",
        "anchors.csv, row 6, column anchor",
        "controls.csv, row 3, column control",
    ];
    assert_eq!(places, there);
}

//! One survey a fault: the rule speaks at the right cell, and says what may cure it.

use perchline::adjustment::network::build;
use perchline::results::rules::check;
use perchline::survey::fault::{Code, Fault, Faults, Severity};
use perchline::survey::input::source::read_survey;
use std::fs;
use tempfile::TempDir;

const ANCHORS: &str = "trail,anchor,tape_m,bearing_deg,height_m\nA,0,,,1.0\nA,1,3.1,20,0.1\n";
const SET: &str = "[bearings]\nnorth = \"true\"\n";

/// All faults of a survey of these files.
fn faults(files: &[(&str, &str)]) -> Faults {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("survey.toml"), SET).unwrap();
    for (name, text) in files {
        fs::write(folder.path().join(name), text).unwrap();
    }
    let (survey, mut faults) = read_survey(folder.path(), &[]).unwrap();
    faults.append(check(&survey, &build(&survey)));
    faults
}

/// The one fault of this code, at this file, row and column.
fn expect(files: &[(&str, &str)], code: Code, at: (&str, usize, &str), severity: Severity) {
    let faults = faults(files);
    let of_code = |fault: &&&Fault| fault.code == code;
    let found: Vec<&Fault> = faults.sorted().iter().filter(of_code).copied().collect();
    assert_eq!(found.len(), 1, "{code:?}: {:?}", faults.sorted());
    let place = &found[0].place;
    let column = place.column.as_deref().unwrap_or("");
    assert_eq!((place.file.as_ref(), place.row.unwrap_or(0), column), at);
    assert_eq!(found[0].severity, severity);
    assert!(
        !found[0].found.is_empty() && !found[0].expected.is_empty() && !found[0].hint.is_empty()
    );
}

fn with(row: &str) -> String {
    format!(
        "trail,anchor,from,tape_m,bearing_deg,back_bearing_deg,height_m,gap\n\
             A,0,,,,,1.0,\nA,1,,3.1,20,,0.1,\n{row}\n"
    )
}

#[test]
fn a_sound_survey_has_none() {
    assert!(faults(&[("anchors.csv", ANCHORS)]).is_empty());
}

#[test]
fn rules_of_anchors() {
    let cases = [
        ("A,2,9,3,20,,0.1,", Code::UnknownAnchor, "from", Severity::Error),
        ("A,0,,,,,,", Code::DuplicateAnchor, "anchor", Severity::Error),
        ("A,1,,2,30,,,", Code::LegToItself, "anchor", Severity::Error),
        ("A,2,,3,20,20,0.1,", Code::BackBearingNotOpposite, "back_bearing_deg", Severity::Warning),
        ("A,2,,2,20,,9,", Code::TapeShorterThanClimb, "tape_m", Severity::Error),
        ("A,2,,3,,,0.1,", Code::ProfileOnly, "bearing_deg", Severity::Note),
        ("A,2,,3,20,,,", Code::RiseUnknown, "height_m", Severity::Warning),
        ("A,2,,,,,0.1,", Code::UnmeasuredLeg, "tape_m", Severity::Warning),
        ("A,2,,,,,0.1,lost", Code::TwoPieces, "anchor", Severity::Note),
    ];
    for (row, code, column, severity) in cases {
        expect(&[("anchors.csv", &with(row))], code, ("anchors.csv", 4, column), severity);
    }
}

#[test]
fn a_height_in_feet_is_told() {
    let anchors = with("A,2,,3.1,20,,9.9,");
    let files = [("anchors.csv", anchors.as_str())];
    expect(&files, Code::UnitSlip, ("anchors.csv", 4, "height_m"), Severity::Warning);
}

#[test]
fn a_trail_is_kept_together_and_a_missing_bearing_may_be_carried_on() {
    let anchors = format!("{ANCHORS}B,0,,,1\nA,2,2,30,0.1\n");
    let files = [("anchors.csv", anchors.as_str())];
    expect(&files, Code::ScatteredTrail, ("anchors.csv", 5, "trail"), Severity::Warning);
    let anchors = with("A,2,,3,,,0.1,");
    let set = format!("missing_bearing = \"straight_on\"\n{SET}");
    let files = [("anchors.csv", anchors.as_str()), ("survey.toml", set.as_str())];
    expect(&files, Code::CarriedOn, ("anchors.csv", 4, "bearing_deg"), Severity::Note);
}

/// By turning angles, with positions of which the second lies 300 m north where 7 m of thread lead.
#[test]
fn a_position_out_of_the_threads_reach_is_named_and_left_out() {
    let row = |anchor: &str, north: f64| format!("A,{anchor},3.5,10,1,{north:.6},14.9,5\n");
    let heading = "trail,anchor,tape_m,turn_deg,height_m,latitude,longitude,accuracy_m\n";
    let rows = [("1", 46.100_03), ("2", 46.102_75), ("3", 46.100_08), ("4", 46.100_12)];
    let rows: String = rows.iter().map(|(anchor, north)| row(anchor, *north)).collect();
    let anchors = format!("{heading}A,0,,,1,46.1,14.9,5\n{rows}");
    let files = [("anchors.csv", anchors.as_str())];
    let place = ("anchors.csv", 4, "latitude");
    expect(&files, Code::PositionOutOfReach, place, Severity::Warning);
}

#[test]
fn rules_of_ties() {
    let cases = [
        ("A,0,7,2,", Code::UnknownAnchor, "to", Severity::Error),
        ("Z,0,1,2,", Code::UnknownTrail, "trail", Severity::Error),
        ("A,0,0,2,", Code::LegToItself, "to", Severity::Error),
        ("A,0,1,,", Code::EmptyTie, "tape_m", Severity::Warning),
    ];
    for (row, code, column, severity) in cases {
        let ties = format!("trail,from,to,tape_m,bearing_deg\n{row}\n");
        let files = [("anchors.csv", ANCHORS), ("ties.csv", ties.as_str())];
        expect(&files, code, ("ties.csv", 2, column), severity);
    }
}

#[test]
fn rules_of_controls() {
    let twice = "control,east_m,north_m\nP,1,2\nP,3,4\n";
    let files = [("anchors.csv", ANCHORS), ("controls.csv", twice)];
    expect(&files, Code::DuplicateName, ("controls.csv", 3, "control"), Severity::Error);
    let uneven = "control,east_m,north_m,elevation_m\nP,1,2,600\nQ,3,4,620\n";
    let files = [("anchors.csv", ANCHORS), ("controls.csv", uneven)];
    expect(&files, Code::FlatGroundControls, ("controls.csv", 3, "elevation_m"), Severity::Warning);
}

#[test]
fn rules_of_trails_and_animals() {
    let animals = "animal,body_mass_g,device_mass_g,attached,removed\n";
    let trail =
        |row: &str| format!("trail,animal,date,release,bobbin_before_g,bobbin_after_g\n{row}\n");
    let cases = [
        ("A,Nobody,,,,", Code::UnknownAnimal, "animal", Severity::Error),
        ("A,,,P9,,", Code::UnknownControl, "release", Severity::Error),
        ("Q,,,,,", Code::UnknownTrail, "trail", Severity::Warning),
        ("A,,,,3,1", Code::ThreadAgainstTape, "bobbin_after_g", Severity::Warning),
    ];
    let set = format!("{SET}[bobbin]\nthread_g_per_m = 0.011\n");
    for (row, code, column, severity) in cases {
        let trails = trail(row);
        let known = format!("{animals}Mio,100,4,,\n");
        let files = [
            ("anchors.csv", ANCHORS),
            ("trails.csv", trails.as_str()),
            ("animals.csv", known.as_str()),
            ("survey.toml", set.as_str()),
        ];
        expect(&files, code, ("trails.csv", 2, column), severity);
    }
    let cases = [
        ("Mio,100,9,,", Code::DeviceOverLoad, "device_mass_g"),
        ("Mio,100,4,2025-09-01,2025-09-30", Code::DeviceOverDays, "removed"),
    ];
    for (row, code, column) in cases {
        let known = format!("{animals}{row}\n");
        let files = [("anchors.csv", ANCHORS), ("animals.csv", known.as_str())];
        expect(&files, code, ("animals.csv", 2, column), Severity::Warning);
    }
}

#[test]
fn north_must_be_known_for_true_directions() {
    let magnetic = "name = \"N\"\n";
    let files = [("anchors.csv", ANCHORS), ("survey.toml", magnetic)];
    let place = ("survey.toml", 0, "bearings.declination");
    expect(&files, Code::DeclinationUnknown, place, Severity::Note);
    let controls = "control,latitude,longitude\nP,46.1,14.9\n";
    let trails = "trail,date\nA,1825-09-13\n";
    let files = [
        ("anchors.csv", ANCHORS),
        ("survey.toml", magnetic),
        ("controls.csv", controls),
        ("trails.csv", trails),
    ];
    expect(&files, Code::DateOutsideModel, ("trails.csv", 2, "date"), Severity::Error);
}

#[test]
fn cells_that_cannot_be_read() {
    let cases = [
        ("A,2,,3..1,20,,0.1,", Code::UnreadableNumber, "tape_m"),
        ("A,2,,3 1,20,,0.1,", Code::UnreadableNumber, "tape_m"),
        ("A,2,,\"1,234\",20,,0.1,", Code::AmbiguousNumber, "tape_m"),
        ("A,2,,NaN,20,,0.1,", Code::NotFinite, "tape_m"),
        ("A,2,,?,20,,0.1,", Code::UnreadableNumber, "tape_m"),
        ("A,2,,3.1,412,,0.1,", Code::OutOfRange, "bearing_deg"),
        ("A,,,3.1,20,,0.1,", Code::BlankCell, "anchor"),
    ];
    for (row, code, column) in cases {
        let place = ("anchors.csv", 4, column);
        expect(&[("anchors.csv", &with(row))], code, place, Severity::Error);
    }
}

#[test]
fn headings_and_cells_that_contradict() {
    let twice = "trail,anchor,tape_m,tape_m,height_m\nA,0,,,1\n";
    let files = [("anchors.csv", twice)];
    let faults = faults(&files);
    assert!(faults.sorted().iter().any(|fault| fault.code == Code::DuplicateColumn));
    let missing = [("anchors.csv", "trail,tape_m\nA,2\n")];
    let column = faults_of(&missing, Code::MissingColumn);
    assert_eq!(column, [("anchors.csv".into(), Some("anchor".into()))]);
    let both = "trail,anchor,tape_m,tape_ft,bearing_deg,height_m\nA,0,,,,1\nA,1,3,10,20,1\n";
    let both = faults_of(&[("anchors.csv", both)], Code::GivenTwice);
    assert_eq!(both.len(), 1);
    let name =
        faults_of(&[("anchors.csv", &with("A,\"2\u{7}\",,3,20,,0.1,"))], Code::ControlCharacter);
    assert_eq!(name, [("anchors.csv".into(), Some("anchor".into()))]);
    let trails = "trail,date\nA,31.02.2026\n";
    let date = faults_of(&[("anchors.csv", ANCHORS), ("trails.csv", trails)], Code::UnreadableDate);
    assert_eq!(date, [("trails.csv".into(), Some("date".into()))]);
    let set = format!("{SET}[columns]\nbearing_deg = \"azimute\"\n");
    let map = [("anchors.csv", ANCHORS), ("survey.toml", set.as_str())];
    let map = faults_of(&map, Code::UnusedColumnMap);
    assert_eq!(map, [("survey.toml".into(), Some("columns.bearing_deg".into()))]);
}

/// What is to be compared stands in the tables, or is told with what comes near it.
#[test]
fn a_comparison_by_a_column_that_no_table_has() {
    let set = format!("{SET}[compare]\nby = [\"sexe\", \"sex\", \"night\"]\nwithin = \"wood\"\n");
    let animals = "animal,sex\nHazel,f\n";
    let files = [("anchors.csv", ANCHORS), ("animals.csv", animals), ("survey.toml", set.as_str())];
    let found = faults_of(&files, Code::UnknownComparison);
    let place = |key: &str| ("survey.toml".to_owned(), Some(format!("compare.{key}")));
    assert_eq!(found, [place("by"), place("within")]);
    let told = faults(&files);
    let first = told.sorted().into_iter().find(|fault| fault.found == "sexe").unwrap();
    assert!(first.hint.starts_with("did you mean sex?"), "{}", first.hint);
}

/// A reading under a second, misspelt heading would otherwise be lost without a word.
#[test]
fn a_near_miss_is_told_beside_the_heading_itself() {
    let head = |heading: &str| format!("trail,anchor,tape_m,height_m,{heading}\nA,0,,1,\n");
    for heading in ["hight_m", "Height_M", "heigth_m", "tape m"] {
        let anchors = head(heading);
        let place = ("anchors.csv", 1, heading);
        expect(&[("anchors.csv", &anchors)], Code::NearMissHeading, place, Severity::Warning);
    }
    for heading in ["anchor2", "height_m_2", "habitat", "tape_m2", "note2"] {
        assert!(faults(&[("anchors.csv", &head(heading))]).is_empty(), "{heading}");
    }
}

#[test]
fn faults_of_headings_stand_where_the_headings_stand() {
    let anchors = "# Long Hollow\n\ntrail,anchor,hight_m,tape_m,tape_m\nA,0,1,,\n";
    let files = [("anchors.csv", anchors)];
    expect(&files, Code::NearMissHeading, ("anchors.csv", 3, "hight_m"), Severity::Warning);
    expect(&files, Code::DuplicateColumn, ("anchors.csv", 3, "tape_m"), Severity::Error);
}

/// The heading that the map names may stand in the table that could not be read.
#[test]
fn a_column_map_is_not_judged_while_a_table_is_unread() {
    let set = format!("{SET}[columns]\nbearing_deg = \"azimute\"\n");
    for ties in ["\0", "", "trail,from,to,azimute\n"] {
        let files = [("anchors.csv", ANCHORS), ("ties.csv", ties), ("survey.toml", set.as_str())];
        assert_eq!(faults_of(&files, Code::UnusedColumnMap), [], "{ties:?}");
    }
}

#[test]
fn a_cell_that_a_row_cannot_do_without() {
    let controls = "control,latitude,longitude\nP,,\n";
    let files = [("anchors.csv", ANCHORS), ("controls.csv", controls)];
    expect(&files, Code::BlankCell, ("controls.csv", 2, "latitude"), Severity::Error);
    let files = [("anchors.csv", ANCHORS), ("available.csv", "support,amount\nlog,\n")];
    expect(&files, Code::BlankCell, ("available.csv", 2, "amount"), Severity::Error);
}

/// A column in a wrong unit throughout gives a fault a row: all are counted, not all are listed.
#[test]
fn faults_without_end_are_counted() {
    let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,height_m\nA,0,,,1\n");
    for row in 1..=1500 {
        anchors += &format!("A,{row},1 m,20,{}\n", if row > 1000 { "1 m" } else { "1" });
    }
    let faults = faults(&[("anchors.csv", &anchors)]);
    assert_eq!(faults.count(Severity::Error), 2000);
    assert!(faults.stop());
    let unlisted = faults.unlisted();
    assert_eq!(unlisted.len(), 1);
    let (alike, more) = unlisted[0];
    assert_eq!(
        (alike.code, alike.column.as_deref(), more),
        (Code::UnreadableNumber, Some("tape_m"), 500)
    );
    let errors = faults.sorted().iter().filter(|f| f.severity == Severity::Error).count();
    assert_eq!(errors, 1500);
}

/// A `from` that nobody wrote was compared with every anchor above it.
#[test]
fn many_unknown_names_are_told_quickly() {
    let long = "x".repeat(60_000);
    let mut anchors = format!("trail,anchor,from,tape_m,bearing_deg,height_m\nA,{long},,,,1\n");
    let mut row = |row: usize| anchors += &format!("A,{row},z{row},1,20,1\n");
    (0..5_000).for_each(&mut row);
    anchors += &format!("B,0,{long}y,1,20,1\n");
    let start = std::time::Instant::now();
    let faults = faults(&[("anchors.csv", &anchors)]);
    assert_eq!(faults.count(Severity::Error), 5_001);
    assert!(start.elapsed().as_secs() < 60, "{:?}", start.elapsed());
}

#[test]
fn a_word_outside_its_list() {
    let head = "trail,anchor,tape_m,bearing_point,height_m,seen,perch,time\nA,0,,,1,,,\n";
    for (row, code, column) in [
        ("A,1,3,O,1,,,", Code::UnknownWord, "bearing_point"),
        ("A,1,3,NE,1,maybe,,", Code::UnknownWord, "seen"),
        ("A,1,3,NE,1,,heard,", Code::UnknownWord, "perch"),
        ("A,1,3,NE,1,,,25:10", Code::UnreadableDate, "time"),
    ] {
        let anchors = format!("{head}{row}\n");
        let place = ("anchors.csv", 3, column);
        expect(&[("anchors.csv", &anchors)], code, place, Severity::Error);
    }
}

/// The needle may first be read after a plumb leg.
#[test]
fn an_unknown_north_is_told_wherever_the_first_bearing_stands() {
    let plumb_first = "trail,anchor,tape_m,bearing_deg,height_m\nA,0,,,0\nA,1,3,,3\nA,2,4,80,3\n";
    let files = [("anchors.csv", plumb_first), ("survey.toml", "name = \"N\"\n")];
    assert_eq!(faults_of(&files, Code::DeclinationUnknown).len(), 1);
}

/// File and column of each fault of this code.
fn faults_of(files: &[(&str, &str)], code: Code) -> Vec<(String, Option<String>)> {
    let faults = faults(files);
    let of_code = faults.sorted().into_iter().filter(|fault| fault.code == code);
    let place = |fault: &Fault| {
        (fault.place.file.to_string(), fault.place.column.as_deref().map(str::to_owned))
    };
    of_code.map(place).collect()
}

/// Codes that are raised beside the reader of settings, with the text of settings alone.
const ELSEWHERE: [&str; 2] = ["unknown_setting", "bad_setting"];

/// By name: in a test of rules or of the reader, or by its stable name in a run of the program.
#[test]
fn every_code_is_tested() {
    let tests = [
        include_str!("cells.rs"),
        include_str!("near_twins.rs"),
        include_str!("faults.rs"),
        include_str!("input.rs"),
        include_str!("rasters.rs"),
        include_str!("../measures/supports.rs"),
        include_str!("workbook_cells.rs"),
        include_str!("workbooks.rs"),
    ]
    .concat();
    let name = |text: &str| text.chars().take_while(|c| c.is_alphanumeric()).collect::<String>();
    let named: Vec<String> = tests.split("Code::").skip(1).map(name).collect();
    let runs = include_str!("../cli/commands.rs");
    let untested: Vec<&str> = Code::ALL
        .iter()
        .filter(|code| !named.contains(&format!("{code:?}")))
        .map(|code| code.name())
        .filter(|name| !runs.contains(&format!("\"{name}\"")) && !ELSEWHERE.contains(name))
        .collect();
    assert!(untested.is_empty(), "{untested:?}");
}

#[test]
fn rules_of_what_was_on_offer() {
    let anchors = "trail,anchor,tape_m,bearing_deg,height_m,support,leg_support,plant\n\
        A,0,,,1.0,litter,,\nA,1,3.1,20,0.1,log,log,fir\n";
    let animals = "animal\nHazel\n";
    let sound = "support,amount\nlitter,3\nlog,0\n";
    let all = |available| {
        [("anchors.csv", anchors), ("animals.csv", animals), ("available.csv", available)]
    };
    assert!(faults(&all(sound)).is_empty(), "{:?}", faults(&all(sound)).sorted());
    let (error, warning, note) = (Severity::Error, Severity::Warning, Severity::Note);
    let file = "available.csv";
    let cases = [
        (
            "support,amount\nlitter,3\nlogg,1\n",
            Code::NotOnOffer,
            ("anchors.csv", 3, "support"),
            warning,
        ),
        ("support,amount\nlitter,3\nlog,1\nrock,1\n", Code::NeverUsed, (file, 4, "support"), note),
        ("plant,amount\nfir,3\nbeech,2\n", Code::NeverUsed, (file, 3, "plant"), note),
        (
            "support,amount,wood\nlitter,3,a\nlog,1,b\n",
            Code::OfferUndivided,
            (file, 1, "wood"),
            note,
        ),
        ("support,amount\nlitter,0\nlog,0\n", Code::NothingOnOffer, (file, 2, "amount"), error),
        (
            "support,amount,animal\nlitter,3,\nlog,1,Oak\n",
            Code::UnknownAnimal,
            (file, 3, "animal"),
            error,
        ),
    ];
    for (available, code, at, severity) in cases {
        expect(&all(available), code, at, severity);
    }
    let negative = "support,amount\nlitter,-3\nlog,1\n";
    expect(&all(negative), Code::OutOfRange, (file, 2, "amount"), error);
    let nameless = "support,amount\nlitter,3\nlog,1\n,2\n";
    let found = faults(&all(nameless));
    assert_eq!(found.sorted().len(), 1, "{:?}", found.sorted());
    assert_eq!(found.sorted()[0].code, Code::BlankCell);
}

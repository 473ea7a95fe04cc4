//! Cells as people write them: sides of turns, letters of the compass, tapes that are short by chance.

use perchline::adjustment::network::build;
use perchline::results::rules::check;
use perchline::survey::Survey;
use perchline::survey::fault::{Code, Fault, Severity};
use perchline::survey::input::source::read_survey;
use rand_distr::{Distribution, StandardNormal};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use std::fs;
use tempfile::TempDir;

fn checked(anchors: &str, settings: &str) -> (Survey, Vec<Fault>) {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("anchors.csv"), anchors).unwrap();
    fs::write(folder.path().join("survey.toml"), settings).unwrap();
    let (survey, read) = read_survey(folder.path(), &[]).unwrap();
    let network = build(&survey);
    let mut faults: Vec<Fault> = read.sorted().into_iter().cloned().collect();
    faults.extend(check(&survey, &network).sorted().into_iter().cloned());
    (survey, faults)
}

fn of(faults: &[Fault], code: Code) -> Vec<&Fault> {
    faults.iter().filter(|fault| fault.code == code).collect()
}

fn turns(cells: [&str; 4]) -> String {
    let rows = cells.iter().enumerate().map(|(at, cell)| format!("A,{},2,{cell},1\n", at + 1));
    format!("trail,anchor,tape_m,turn_deg,height_m\nA,0,,,1\n{}", rows.collect::<String>())
}

#[test]
fn sides_of_turns_are_read_and_told_once() {
    let (survey, faults) = checked(&turns(["", "L45", "R 30", "12.5l"]), "");
    let read: Vec<Option<f64>> = survey
        .anchors
        .iter()
        .map(|row| row.readings.turn.map(|turn| turn.to_degrees().round()))
        .collect();
    assert_eq!(read, [None, None, Some(-45.0), Some(30.0), Some(-13.0)]);
    let told = of(&faults, Code::TurnBySide);
    assert_eq!((told.len(), told[0].severity), (1, Severity::Note));
    assert!(told[0].found.contains("3 cells like L45"), "{}", told[0].found);
}

#[test]
fn a_turn_beyond_half_a_circle_is_refused_with_its_like() {
    let (_, faults) = checked(&turns(["", "270", "left 45", "-190"]), "");
    let out = of(&faults, Code::OutOfRange);
    assert_eq!(out.len(), 2, "{faults:?}");
    assert!(out[0].hint.contains("a turn of 270 is -90"), "{}", out[0].hint);
    assert!(out[1].hint.contains("a turn of -190 is 170"), "{}", out[1].hint);
    let words = of(&faults, Code::UnreadableNumber);
    assert!(words.len() == 1 && words[0].hint.contains("L45"), "{words:?}");
}

#[test]
fn a_first_turn_is_told_once_and_not_used() {
    for first in ["0", "140"] {
        let (_, faults) = checked(&turns([first, "10", "20", "-5"]), "");
        let told = of(&faults, Code::FirstTurn);
        assert_eq!((told.len(), told[0].severity), (1, Severity::Note), "{faults:?}");
    }
    let (_, faults) = checked(&turns(["", "10", "20", "-5"]), "");
    assert!(of(&faults, Code::FirstTurn).is_empty());
}

/// O is east in one language and west in another: a question, unless the settings answer it.
#[test]
fn the_letter_o_wants_a_word_of_the_survey() {
    let anchors = "trail,anchor,tape_m,bearing_point,height_m\nA,0,,,1\nA,1,2,NO,1\nA,2,2,SSO,1\n";
    let (_, faults) = checked(anchors, "");
    let asked = of(&faults, Code::UnknownWord);
    assert!(asked.len() == 2 && asked[0].hint.contains("east in German"), "{faults:?}");
    for (east_or_west, bearings) in [("E", [45.0, 157.5]), ("W", [315.0, 202.5])] {
        let (survey, faults) = checked(anchors, &format!("[words]\nO = \"{east_or_west}\"\n"));
        assert!(of(&faults, Code::UnknownWord).is_empty(), "{faults:?}");
        let read = survey.anchors.iter().filter_map(|row| row.readings.bearing);
        let read: Vec<f64> = read.map(|bearing| bearing.value.to_degrees()).collect();
        for (found, known) in read.iter().zip(bearings) {
            assert!((found - known).abs() < 1e-9, "{read:?}");
        }
    }
    let (_, faults) = checked(anchors, "[words]\nO = \"Ost\"\n");
    assert_eq!(of(&faults, Code::BadSetting).len(), 1, "{faults:?}");
}

/// Plumb legs of 2 m read with exactly the stated errors: of 100,000 some are short by 4 standard
/// deviations, and none stops the survey.
#[test]
fn chance_never_stops_a_clean_survey() {
    let mut rng = Xoshiro256PlusPlus::seed_from_u64(11);
    let mut normal = |sd: f64| {
        let z: f64 = StandardNormal.sample(&mut rng);
        z * sd
    };
    let mut rows = String::from("trail,anchor,tape_m,bearing_deg,height_m\n");
    for trail in 0..2_500 {
        rows += &format!("T{trail},0,,,{:.4}\n", 8.0 + normal(0.05_f64.hypot(0.16)));
        for leg in 1..=40 {
            let height = if leg % 2 == 0 { 8.0 } else { 10.0 };
            let read = height + normal(0.05_f64.hypot(0.02 * height));
            let tape = 2.0 + normal(0.03_f64.hypot(0.004));
            rows += &format!("T{trail},{leg},{tape:.4},,{read:.4}\n");
        }
    }
    let (_, faults) = checked(&rows, "[precision]\nground_m = 0\n");
    let short = of(&faults, Code::TapeShorterThanClimb);
    assert!(short.iter().all(|fault| fault.severity == Severity::Warning), "{short:?}");
    assert!(short.len() < 20, "{} of 100,000", short.len());
}

/// Short by 0.4 m, which is 3 standard deviations, nothing; by 0.8 m a warning; by 2 m an error.
#[test]
fn a_short_tape_is_graded_by_its_standard_deviations() {
    let graded = |height: f64| {
        let rows =
            format!("trail,anchor,tape_m,bearing_deg,height_m\nA,0,,,0\nA,1,2,10,{height}\n");
        let (_, faults) = checked(&rows, "");
        of(&faults, Code::TapeShorterThanClimb).first().map(|fault| fault.severity)
    };
    assert_eq!(graded(2.4), None);
    assert_eq!(graded(2.75), Some(Severity::Warning));
    assert_eq!(graded(4.0), Some(Severity::Error));
}

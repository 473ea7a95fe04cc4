//! `docs/first-survey.md` and `docs/first-survey-turns.md` done as they say: each table typed, each
//! slip mended, each command run, and what is printed held against what is shown.
//! `WRITE_BOOK=1 cargo test --test book first_survey` shows anew what is printed, where no line is left out.

use std::env;
use std::fs;
#[cfg(unix)]
use std::os::unix::fs::symlink;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

const TICKS: &str = "```";

/// Writes a whole table, or puts one row in the place of another.
fn type_in(folder: &Path, place: &str, lines: &[&str]) {
    let (file, row) = match place.split_once(" row ") {
        Some((file, row)) => (file, Some(row.parse::<usize>().unwrap())),
        None => (place, None),
    };
    let path = folder.join(file);
    let there = fs::read_to_string(&path).unwrap();
    let mut rows: Vec<&str> = there.lines().collect();
    match row {
        None => {
            assert!(there.contains(lines[0]), "{file} of a new survey has other headings");
            rows = lines.to_vec();
        }
        Some(row) => rows[row - 1] = lines[0],
    }
    fs::write(&path, rows.join("\n") + "\n").unwrap();
}

/// What a line typed in `folder` prints.
fn printed(folder: &Path, line: &str) -> String {
    let program = Path::new(env!("CARGO_BIN_EXE_perchline")).parent().unwrap();
    let others = env::var_os("PATH").unwrap();
    let path = env::join_paths([program.to_owned()].into_iter().chain(env::split_paths(&others)));
    let mut shell = Command::new("sh");
    let output = shell.args(["-c", line]).env("PATH", path.unwrap()).current_dir(folder).output();
    let output = output.unwrap();
    let errors = String::from_utf8(output.stderr).unwrap();
    assert!(output.status.code().unwrap() < 3, "{line}: {errors}");
    String::from_utf8(output.stdout).unwrap() + &errors
}

/// Whether `printed` is what is `shown`, where `…` stands for any lines.
fn is_as_shown(printed: &[&str], shown: &[&str]) -> bool {
    match shown {
        [] => printed.is_empty(),
        ["…", rest @ ..] => (0..=printed.len()).any(|at| is_as_shown(&printed[at..], rest)),
        [first, rest @ ..] => printed.first() == Some(first) && is_as_shown(&printed[1..], rest),
    }
}

/// Follows a page of the book in a folder where it finds the demo, and returns the folder.
#[cfg(unix)]
fn followed(name: &str) -> TempDir {
    let book = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs").join(name);
    let page = fs::read_to_string(&book).unwrap();
    let folder = TempDir::new().unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    symlink(demo, folder.path().join("demo")).unwrap();
    let mut anew = String::new();
    for (at, part) in page.split(TICKS).enumerate() {
        let block = (at % 2 == 1).then(|| follow(folder.path(), part));
        anew += if at > 0 { TICKS } else { "" };
        anew += block.flatten().as_deref().unwrap_or(part);
    }
    if env::var_os("WRITE_BOOK").is_some() {
        fs::write(&book, anew).unwrap();
    }
    folder
}

/// Does what a block says, and returns the block as it would have to be.
fn follow(folder: &Path, block: &str) -> Option<String> {
    let (kind, text) = block.split_once('\n').unwrap();
    let lines: Vec<&str> = text.lines().collect();
    match kind.split_once(' ') {
        Some(("csv", place)) => type_in(folder, place, &lines),
        None if kind == "console" => return run(folder, &lines),
        _ => assert_eq!(kind, "console", "a block that nobody follows"),
    }
    None
}

/// Runs the command of a block and holds what it prints against what is shown.
fn run(folder: &Path, lines: &[&str]) -> Option<String> {
    let command = lines[0].strip_prefix("$ ").unwrap();
    let printed = printed(folder, command);
    if env::var_os("WRITE_BOOK").is_some() && !lines.contains(&"…") {
        return Some(format!("console\n{}\n{printed}", lines[0]));
    }
    let printed: Vec<&str> = printed.lines().collect();
    assert!(is_as_shown(&printed, &lines[1..]), "{command}: {printed:#?}");
    None
}

/// Whether a page shows each of these commands.
fn shows(name: &str, commands: &[&str]) -> bool {
    let book = Path::new(env!("CARGO_MANIFEST_DIR")).join("docs").join(name);
    let page = fs::read_to_string(&book).unwrap();
    let run = |command: &&str| page.contains(&format!("{TICKS}console\n$ perchline {command} "));
    commands.iter().all(run)
}

/// The one number in `column` of the row of a table that begins so.
fn number(folder: &Path, table: &str, beginning: &str, column: &str) -> Option<f64> {
    let text = fs::read_to_string(folder.join(table)).unwrap();
    let mut lines = text.lines();
    let at = lines.next().unwrap().split(',').position(|heading| heading == column).unwrap();
    let row = lines.find(|line| line.starts_with(beginning)).unwrap();
    row.split(',').nth(at).unwrap().parse().ok()
}

#[cfg(unix)]
#[test]
fn the_first_survey_goes_as_its_page_says() {
    let folder = followed("first-survey.md");
    assert!(shows("first-survey.md", &["new", "check", "rebuild", "compare", "export"]));
    assert!(folder.path().join("my-survey-results/report.html").is_file());
    // By hand from the page: up T1, down T1, up T2, down T3 and on down. It said 0 m where the legs
    // were not asked what they lie on.
    let trunk = "trail,H1,Hazel,,,whole,support,trunk,";
    let metres = number(folder.path(), "my-survey-results/supports.csv", trunk, "length_m");
    let taped = 2.57 + 3.86 + 5.09 + 4.39 + 2.02;
    assert!((metres.unwrap() - taped).abs() < 0.05, "{metres:?}");
}

#[cfg(unix)]
#[test]
fn a_survey_by_turning_angles_goes_as_its_page_says() {
    let folder = followed("first-survey-turns.md");
    assert!(shows("first-survey-turns.md", &["new", "check", "rebuild", "figure", "export"]));
    // The last rebuild has all: a place for every anchor, the release where it was said to be.
    let positions = "turns-results/positions.csv";
    for (column, degrees) in [("latitude", 46.10231), ("longitude", 14.90377)] {
        let release = number(folder.path(), positions, "K1,Thistle,1,", column);
        assert!((release.unwrap() - degrees).abs() < 1e-8, "{release:?}");
        assert!(number(folder.path(), positions, "K1,Thistle,12,", column).is_some());
    }
    assert!(folder.path().join("turns.kml").is_file() && folder.path().join("plan.svg").is_file());
}

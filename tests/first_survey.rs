//! `docs/first-survey.md` done as it says: each table typed, each slip mended, each command run,
//! and what is printed held against what is shown.

#![expect(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "a page that cannot be followed fails here"
)]

use std::env;
use std::fs;
use std::path::Path;
use std::process::Command;

const PAGE: &str = include_str!("../docs/first-survey.md");

/// The blocks of a page: what stands behind the three ticks, and the lines below.
fn blocks(page: &'static str) -> Vec<(&'static str, Vec<&'static str>)> {
    let parts = page.split("```").skip(1).step_by(2);
    parts
        .map(|block| {
            let (kind, text) = block.split_once('\n').unwrap();
            (kind, text.lines().collect())
        })
        .collect()
}

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
    assert!(output.status.code().unwrap() < 2, "{line}: {errors}");
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

#[cfg(unix)]
#[test]
fn the_first_survey_goes_as_its_page_says() {
    let folder = tempfile::tempdir().unwrap();
    let demo = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo");
    std::os::unix::fs::symlink(demo, folder.path().join("demo")).unwrap();
    let mut commands = Vec::new();
    for (kind, lines) in blocks(PAGE) {
        match kind.split_once(' ') {
            Some(("csv", place)) => type_in(folder.path(), place, &lines),
            None if kind == "console" => {
                let command = lines[0].strip_prefix("$ ").unwrap();
                let printed = printed(folder.path(), command);
                let printed: Vec<&str> = printed.lines().collect();
                assert!(is_as_shown(&printed, &lines[1..]), "{command}: {printed:#?}");
                commands.extend(command.strip_prefix("perchline "));
            }
            _ => panic!("a block that nobody follows: {kind}"),
        }
    }
    let done = ["new", "check", "rebuild", "compare", "export"];
    assert!(done.iter().all(|verb| commands.iter().any(|line| line.starts_with(verb))));
    assert!(folder.path().join("my-survey-results/report.html").is_file());
}

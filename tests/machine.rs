//! The machine around the program: full and vanished disks, odd paths, no home, other languages.
//! Killed runs and runs at once into one folder are in `durability.rs`, closed pipes in `cli.rs`.

#![cfg(unix)]
#![expect(
    clippy::unwrap_used,
    clippy::disallowed_methods,
    reason = "tests lay out surveys on disk and fail where that fails"
)]

use std::fs;
use std::fs::File;
use std::path::Path;
use std::process::{Command, Output};

mod run;
use run::{GOOD, command, contents, perchline, survey};

const REBUILD: [&str; 4] = ["rebuild", "survey", "--quiet", "--tables-only"];

/// The rebuild run by a shell that does `before` first.
fn after(before: &str, folder: &Path) -> Output {
    let script = format!("{before}; exec \"$0\" \"$@\"");
    let program = env!("CARGO_BIN_EXE_perchline");
    let mut shell = Command::new("sh");
    shell.args(["-c", &script, program]).args(REBUILD).current_dir(folder).output().unwrap()
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stderr).into_owned()
}

/// A disk without room is played by a limit on the size of a file.
#[test]
fn a_full_disk_leaves_the_old_results_and_nothing_else() {
    let folder = survey(GOOD);
    let folder = folder.path();
    assert_eq!(perchline(folder, &REBUILD).status.code(), Some(0));
    let before = contents(folder);
    for blocks in ["0", "1", "4"] {
        let output = after(&format!("trap '' XFSZ; ulimit -f {blocks}"), folder);
        assert_eq!(output.status.code(), Some(3), "{blocks}: {}", said(&output));
        assert!(said(&output).contains("File too large"), "{}", said(&output));
        assert!(contents(folder) == before, "{blocks} blocks");
    }
}

#[test]
fn a_full_terminal_is_a_failure_of_the_machine() {
    let Ok(full) = File::options().write(true).open("/dev/full") else { return };
    let folder = survey(GOOD);
    let mut check = command(folder.path(), &["check", "survey"]);
    let output = check.stdout(full).output().unwrap();
    assert_eq!(output.status.code(), Some(3), "{}", said(&output));
}

/// What has no end states no length either.
#[test]
fn a_plan_without_end_is_refused() {
    let folder = survey(GOOD);
    let output = perchline(folder.path(), &["forecast", "/dev/zero"]);
    assert_eq!(output.status.code(), Some(3), "{}", said(&output));
    assert!(said(&output).contains("larger than a plan can be"), "{}", said(&output));
}

#[test]
fn a_survey_that_vanished_is_told() {
    let folder = survey(GOOD);
    let output = after("cd survey && rm -r ../survey", folder.path());
    assert_eq!(output.status.code(), Some(1), "{}", said(&output));
    let told = String::from_utf8_lossy(&output.stdout);
    assert!(told.contains("not_a_survey"), "{told}");
    assert!(contents(folder.path()).is_empty());
}

#[test]
fn a_folder_that_must_not_be_written_stays_as_it_is() {
    use std::os::unix::fs::PermissionsExt;
    let folder = survey(GOOD);
    let folder = folder.path();
    fs::set_permissions(folder, fs::Permissions::from_mode(0o555)).unwrap();
    let may_anyway = fs::write(folder.join("try"), "").is_ok(); // whoever administers the machine
    let output = perchline(folder, &REBUILD);
    fs::set_permissions(folder, fs::Permissions::from_mode(0o755)).unwrap();
    if may_anyway {
        assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    } else {
        assert_eq!(output.status.code(), Some(3), "{}", said(&output));
        assert_eq!(fs::read_dir(folder).unwrap().count(), 1);
    }
}

#[test]
fn language_home_terminal_and_hour_change_no_byte() {
    let folder = survey(GOOD);
    let folder = folder.path();
    let results = |settings: &[(&str, &str)]| {
        let mut rebuild = command(folder, &REBUILD);
        rebuild.env_clear().envs(settings.iter().copied());
        let output = rebuild.output().unwrap();
        assert_eq!(output.status.code(), Some(0), "{settings:?}: {}", said(&output));
        contents(&folder.join("survey-results"))
    };
    let bare = results(&[]);
    for settings in [
        [("LC_ALL", "de_DE.UTF-8"), ("LANG", "de_DE.UTF-8")],
        [("HOME", "/nowhere"), ("TERM", "dumb")],
        [("TZ", "Pacific/Kiritimati"), ("SOURCE_DATE_EPOCH", "0")],
        [("COLUMNS", "3"), ("NO_COLOR", "1")],
    ] {
        assert!(results(&settings) == bare, "{settings:?}");
    }
}

#[test]
fn a_path_with_blanks_and_other_letters_is_a_path() {
    let folder = survey(GOOD);
    let name = "Mäuse im Wald, мыши 山 'n' \"co\"";
    fs::rename(folder.path().join("survey"), folder.path().join(name)).unwrap();
    let output = perchline(folder.path(), &["rebuild", name]);
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    assert!(folder.path().join(format!("{name}-results/report.html")).exists());
}

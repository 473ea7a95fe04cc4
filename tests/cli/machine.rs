//! The machine around the program: full and vanished disks, odd paths, no home, other languages.
//! Killed runs and runs at once into one folder are in `durability.rs`, closed pipes in `cli.rs`.

#![cfg(unix)]

use std::fs;
use std::fs::File;
use std::os::unix::fs::{FileTypeExt, symlink};
use std::path::Path;
use std::process::{Command, Output};

use crate::run;
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

/// The commands that write one file, each with a name of an ending that it knows.
const ONE_FILE: [(&[&str], &str); 3] = [
    (&["export", "survey"], "out.csv"),
    (&["figure", "survey", "profile"], "out.svg"),
    (&["archive", "survey"], "out.zip"),
];

/// What a command writes into a file of its own.
fn written(folder: &Path, arguments: &[&str], name: &str) -> Vec<u8> {
    let output = perchline(folder, &[arguments, &["--quiet", "--out", name]].concat());
    assert_eq!(output.status.code(), Some(0), "{arguments:?}: {}", said(&output));
    let bytes = fs::read(folder.join(name)).unwrap();
    fs::remove_file(folder.join(name)).unwrap();
    assert!(!bytes.is_empty());
    bytes
}

/// A command run by a shell, which knows pipes and open files.
fn by_shell(folder: &Path, arguments: &[&str], rest: &str) -> Output {
    let mut shell = Command::new("sh");
    shell.args(["-c", &format!("\"$0\" \"$@\" {rest}"), env!("CARGO_BIN_EXE_perchline")]);
    shell.args(arguments).current_dir(folder).output().unwrap()
}

#[test]
fn a_named_pipe_is_written_through_and_stays_a_pipe() {
    let folder = survey(GOOD);
    let folder = folder.path();
    for (arguments, name) in ONE_FILE {
        let whole = written(folder, arguments, name);
        let made = Command::new("mkfifo").arg(folder.join(name)).status().unwrap();
        assert!(made.success());
        let read = format!("--quiet --out {name} & cat {name}; wait $!");
        let output = by_shell(folder, arguments, &read);
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {}", said(&output));
        assert!(output.stdout == whole, "{arguments:?}");
        assert!(fs::metadata(folder.join(name)).unwrap().file_type().is_fifo());
        fs::remove_file(folder.join(name)).unwrap();
    }
    assert_eq!(fs::read_dir(folder).unwrap().count(), 1, "nothing is left beside");
}

/// A reader that has seen enough is no failure.
#[test]
fn a_pipe_closed_by_its_reader_is_a_success() {
    let folder = survey(GOOD);
    let archive = ["archive", "survey", "--out", "-"];
    let output = by_shell(folder.path(), &archive, "2>said | head -c 2; cat said");
    assert_eq!(output.status.code(), Some(0), "{}", said(&output));
    assert!(output.stdout.starts_with(b"PK"), "{:?}", &output.stdout);
}

/// The device is one of our own that swallows all, as `/dev/null` does.
#[test]
fn a_device_is_written_through_or_left_alone_and_never_replaced() {
    let folder = survey(GOOD);
    let folder = folder.path();
    let made = |name: &str, numbers: &[&str]| {
        let mut node = Command::new("mknod");
        node.arg(folder.join(name)).args(numbers).status().is_ok_and(|status| status.success())
    };
    for (arguments, name) in ONE_FILE {
        if !made(name, &["c", "1", "3"]) {
            return; // only whoever administers the machine can make one, or harm one
        }
        let output = perchline(folder, &[arguments, &["--out", name]].concat());
        assert_eq!(output.status.code(), Some(0), "{arguments:?}: {}", said(&output));
        assert!(fs::metadata(folder.join(name)).unwrap().file_type().is_char_device());
        fs::remove_file(folder.join(name)).unwrap();
        // A disk of no driver, since none can have the number 0: there is nothing to harm.
        assert!(made(name, &["b", "0", "0"]));
        let output = perchline(folder, &[arguments, &["--out", name]].concat());
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {}", said(&output));
        assert!(said(&output).contains("a disk or a socket"), "{}", said(&output));
        assert!(fs::metadata(folder.join(name)).unwrap().file_type().is_block_device());
        fs::remove_file(folder.join(name)).unwrap();
    }
}

/// Under every name it has, a link of the user's included, whatever it was turned into.
#[test]
fn standard_output_takes_the_file_and_nothing_else() {
    let folder = survey(GOOD);
    let folder = folder.path();
    symlink("/dev/stdout", folder.join("printed")).unwrap();
    for (arguments, name) in ONE_FILE {
        let whole = written(folder, arguments, name);
        for out in ["-", "/dev/stdout", "/dev/fd/1", "printed"] {
            let to = [arguments, &["--out", out]].concat();
            let piped = by_shell(folder, &to, "| cat");
            assert!(piped.stdout == whole, "{to:?}: {}", said(&piped));
            assert!(said(&piped).contains("ritten to"), "words stand beside: {}", said(&piped));
            let output = by_shell(folder, &to, "--quiet > kept");
            assert_eq!(output.status.code(), Some(0), "{to:?}: {}", said(&output));
            assert!(fs::read(folder.join("kept")).unwrap() == whole, "{to:?}");
        }
    }
    assert_eq!(fs::read_link(folder.join("printed")).unwrap(), Path::new("/dev/stdout"));
    fs::write(folder.join("kept"), "mine\n").unwrap();
    let to = ["figure", "survey", "profile", "--quiet", "--out", "/dev/fd/5", "--format", "pdf"];
    assert_eq!(by_shell(folder, &to, "5>> kept").status.code(), Some(0));
    assert!(fs::read(folder.join("kept")).unwrap().starts_with(b"mine\n%PDF"));
}

#[test]
fn what_cannot_be_printed_is_wrong_usage() {
    let folder = survey(GOOD);
    let folder = folder.path();
    let before = contents(folder);
    for (arguments, expected) in [
        (&["rebuild", "survey", "--out", "-"][..], "a folder is written"),
        (&["rebuild", "survey", "--out", "/dev/stdout"], "a folder is written"),
        (&["rebuild", "survey", "--out", "/dev/fd/77"], "a folder is written"),
        (&["rebuild", "survey", "--out", "/dev/null"], "this is a file"),
        (&["new", "-"], "a folder is written"),
        (&["new", "/dev/null"], "this is a file"),
        (&["simulate", "-"], "a folder is written"),
        (&["simulate", "/dev/null"], "there is something already"),
        (&["export", "survey", "--out", "-", "--json"], "--json prints"),
        (&["export", "survey", "--out", "/dev/fd/77"], "nothing is open under this number"),
        (&["export", "survey", "--out", "a.kml", "--format", "csv"], "choose one"),
        (&["export", "survey", "--out", "plain"], "the ending says the format"),
        (&["figure", "survey", "profile", "--out", "survey/a.svg"], "in the survey itself"),
    ] {
        let output = perchline(folder, arguments);
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {}", said(&output));
        assert!(said(&output).contains(expected), "{arguments:?}: {}", said(&output));
        assert!(contents(folder) == before, "{arguments:?}");
    }
    assert!(fs::metadata("/dev/null").unwrap().file_type().is_char_device());
}

#[test]
fn an_export_is_printed_in_the_format_that_is_asked_for() {
    let folder = survey(GOOD);
    let print = |format: &[&str]| {
        let arguments = [&["export", "survey", "--out", "-"][..], format].concat();
        perchline(folder.path(), &arguments).stdout
    };
    assert!(print(&[]).starts_with(b"trail,animal,anchor,"), "a table, unless it is said");
    assert!(print(&["--format", "glb"]).starts_with(b"glTF"));
    let full = File::options().write(true).open("/dev/full");
    let Ok(full) = full else { return };
    let mut export = command(folder.path(), &["export", "survey", "--out", "-"]);
    assert_eq!(export.stdout(full).output().unwrap().status.code(), Some(3));
    let output = perchline(folder.path(), &["export", "survey", "--out", "/dev/full"]);
    assert_eq!(output.status.code(), Some(3), "{}", said(&output));
}

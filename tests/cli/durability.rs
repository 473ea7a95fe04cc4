//! Results are wholly old or wholly new, whatever happens while they are written.

use std::collections::BTreeMap;
use std::path::Path;
use std::process::{Command, Stdio};
use std::thread::sleep;
use std::time::Instant;
use std::{env, fs};

use crate::run;
use run::{GOOD, command, contents, perchline, survey};

type Contents = BTreeMap<String, Vec<u8>>;

/// A rebuild by this seed, which no two have the same intervals by.
fn by_seed(seed: &str) -> [&str; 5] {
    ["rebuild", "survey", "--quiet", "--seed", seed]
}

/// What lies in the results, own files included.
fn results(folder: &Path) -> Contents {
    contents(&folder.join("survey-results"))
}

/// The results by the seeds 1 and 2, with files of the user's own beside them.
fn both(folder: &Path) -> [Contents; 2] {
    ["2", "1"].map(|seed| {
        assert_eq!(perchline(folder, &by_seed(seed)).status.code(), Some(0));
        if seed == "2" {
            fs::write(folder.join("survey-results/notes.txt"), "mine").unwrap();
            fs::create_dir(folder.join("survey-results/talk")).unwrap();
            fs::write(folder.join("survey-results/talk/oak.txt"), "oak").unwrap();
        }
        results(folder)
    })
}

/// Besides the survey and its results nothing is left around.
fn is_clear(folder: &Path) {
    let names = fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().file_name());
    let mut names: Vec<_> = names.collect();
    names.sort();
    assert_eq!(names, ["survey", "survey-results"]);
}

#[test]
fn a_rebuild_killed_at_any_moment_leaves_the_results_wholly_old_or_wholly_new() {
    let kills: u32 = env::var("PERCHLINE_KILLS").map_or(60, |count| count.parse().unwrap());
    let folder = survey(GOOD);
    let folder = folder.path();
    let possible = both(folder);
    assert_ne!(possible[0], possible[1]);
    let start = Instant::now();
    assert_eq!(perchline(folder, &by_seed("1")).status.code(), Some(0));
    let whole = start.elapsed();
    let (mut killed, mut finished, mut exchanged) = (0, 0, 0);
    let mut kill = 0;
    // Ever later; on a busy machine beyond what was timed, until one has come through.
    while kill < kills || (exchanged == 0 && kill < 10 * kills) {
        let before = results(folder);
        let seed = if before == possible[0] { "1" } else { "2" };
        let mut child = command(folder, &by_seed(seed)).stderr(Stdio::piped()).spawn().unwrap();
        sleep(whole * kill / (kills - kills / 6));
        child.kill().unwrap();
        let ended = child.wait_with_output().unwrap();
        let (code, said) = (ended.status.code(), String::from_utf8_lossy(&ended.stderr));
        let after = results(folder);
        assert!(possible.contains(&after), "kill {kill}: neither old nor new");
        assert!(matches!(code, None | Some(0)), "kill {kill}: {code:?}: {said}");
        killed += u32::from(code.is_none());
        finished += u32::from(code == Some(0));
        exchanged += u32::from(before != after);
        kill += 1;
    }
    assert_eq!(killed + finished, kill);
    assert!(killed >= 10 && exchanged >= 1, "{killed} killed, {exchanged} exchanged");
    assert_eq!(perchline(folder, &by_seed("1")).status.code(), Some(0));
    assert!(results(folder) == possible[1]);
    is_clear(folder);
}

/// Calls to the system by which a run changes what is on disk.
#[cfg(target_os = "linux")]
const CHANGES: [&str; 9] = [
    "mkdir",
    "openat",
    "write",
    "fdatasync",
    "fsync",
    "linkat",
    "renameat2",
    "unlinkat",
    "exit_group",
];

/// Where `a_rebuild_killed_at_any_moment` meets the moments that last by chance, this meets each
/// kind of change, the exchange of the two folders among them.
#[cfg(target_os = "linux")]
#[test]
#[ignore = "needs strace, and runs the program a hundred times"]
fn a_rebuild_killed_at_any_change_on_disk_leaves_the_results_wholly_old_or_wholly_new() {
    let folder = survey(GOOD);
    let folder = folder.path();
    let possible = both(folder);
    for call in CHANGES {
        let (mut at, mut killed) = (1, 0);
        loop {
            let before = results(folder);
            let seed = if before == possible[0] { "1" } else { "2" };
            let kill = format!("inject={call}:signal=KILL:when={at}");
            let mut run = Command::new("strace");
            run.args(["-f", "-qq", "-o", "/dev/null", "-e", &format!("trace={call}"), "-e", &kill])
                .arg(env!("CARGO_BIN_EXE_perchline"))
                .args(by_seed(seed))
                .current_dir(folder);
            let ended = run.status().unwrap();
            let after = results(folder);
            assert!(possible.contains(&after), "{call} {at}: neither old nor new");
            if ended.code() == Some(0) {
                assert!(after != before, "{call} {at}: done, and nothing is new");
                break; // it makes no more such calls
            }
            assert_eq!(ended.code(), None, "{call} {at}");
            killed += 1;
            at += 1 + at / 4;
        }
        assert!(killed > 0, "{call}");
        is_clear(folder);
    }
}

#[test]
fn two_rebuilds_at_once_into_one_folder_both_succeed() {
    let folder = survey(GOOD);
    let folder = folder.path();
    let possible = both(folder);
    for round in 0..12 {
        if round == 6 {
            fs::remove_dir_all(folder.join("survey-results")).unwrap();
        }
        let children = ["1", "2", "1", "2"]
            .map(|seed| command(folder, &by_seed(seed)).stderr(Stdio::piped()).spawn().unwrap());
        for child in children {
            let output = child.wait_with_output().unwrap();
            let errors = String::from_utf8_lossy(&output.stderr);
            assert_eq!(output.status.code(), Some(0), "round {round}: {errors}");
        }
        let own = |name: &String| name.starts_with("notes") || name.starts_with("talk");
        let mut expected = possible.clone();
        if round >= 6 {
            for contents in &mut expected {
                contents.retain(|name, _| !own(name));
            }
        }
        assert!(expected.contains(&results(folder)), "round {round}: neither one nor the other");
        is_clear(folder);
    }
}

#[cfg(unix)]
#[test]
fn a_link_to_a_folder_stays_a_link() {
    use std::os::unix::fs::symlink;
    let folder = survey(GOOD);
    let folder = folder.path();
    assert_eq!(perchline(folder, &by_seed("1")).status.code(), Some(0));
    let names = |contents: Contents| contents.into_keys().collect::<Vec<_>>();
    let expected = names(results(folder));
    fs::create_dir_all(folder.join("disk/results")).unwrap();
    symlink("disk/results", folder.join("out")).unwrap();
    for seed in ["1", "2"] {
        let arguments = [&by_seed(seed)[..], &["--out", "out"]].concat();
        assert_eq!(perchline(folder, &arguments).status.code(), Some(0));
        assert_eq!(fs::read_link(folder.join("out")).unwrap(), Path::new("disk/results"));
        assert_eq!(names(contents(&folder.join("disk/results"))), expected);
        assert_eq!(fs::read_dir(folder.join("disk")).unwrap().count(), 1, "nothing is left");
    }
    assert_eq!(fs::read_dir(folder).unwrap().count(), 4);
    symlink("nowhere", folder.join("dead")).unwrap();
    let arguments = [&by_seed("1")[..], &["--out", "dead"]].concat();
    assert_eq!(perchline(folder, &arguments).status.code(), Some(2));
    assert!(!folder.join("nowhere").exists());
}

#[test]
fn a_place_where_nothing_can_be_written_is_a_failure_of_the_machine() {
    let folder = survey(GOOD);
    let folder = folder.path();
    fs::write(folder.join("file"), "").unwrap();
    let before = contents(folder);
    let arguments = [&by_seed("1")[..], &["--out", "file/results"]].concat();
    let output = perchline(folder, &arguments);
    assert_eq!(output.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&output.stderr).contains("file"));
    assert!(contents(folder) == before);
}

//! A folder put in the place of another at once: whatever fails or is killed leaves the old one
//! whole, and the user's own files in it are never lost.
//!
//! The new folder is written under a hidden name beside its place and then exchanged with the old
//! one. Whoever works on it holds a lock on it, which the system lets go when the process ends, so
//! that what a killed run left behind is known and cleared by the next. Runs into one place take
//! turns by a lock on the folder around it.

use crate::maths::parallel;
use std::ffi::OsString;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};

/// A new folder while it is written: hidden beside its place, and removed unless it gets there.
pub(super) struct Fresh<'n> {
    path: PathBuf,
    place: PathBuf,
    /// The names that results have; everything else in the old folder is the user's own.
    results: &'n [String],
    _held: Option<File>,
}

/// Why a folder was not put in its place, or not cleanly.
pub(super) struct Misplaced {
    /// Where it failed.
    pub(super) path: PathBuf,
    /// The machine's reason.
    pub(super) cause: io::Error,
    /// Where files of the user's own are, if not back in their place.
    pub(super) kept: Option<PathBuf>,
}

impl Misplaced {
    fn at(path: &Path) -> impl Fn(io::Error) -> Self {
        move |cause| Self { path: path.to_owned(), cause, kept: None }
    }
}

impl Drop for Fresh<'_> {
    fn drop(&mut self) {
        // Best effort: what is left behind is cleared by the next run.
        let _removed = fs::remove_dir_all(&self.path);
    }
}

impl<'n> Fresh<'n> {
    /// A new folder that is to stand at `place`, where results are called `results`.
    pub(super) fn beside(place: &Path, results: &'n [String]) -> Result<Self, Misplaced> {
        let around = around(place);
        fs::create_dir_all(around).map_err(Misplaced::at(around))?;
        let _turn = locked(around);
        clear_left_behind(place, results);
        let hidden = |count: u32| match count {
            0 => hidden(place, &std::process::id().to_string()),
            again => hidden(place, &format!("{}-{again}", std::process::id())),
        };
        let mut count = 0;
        let path = loop {
            let path = hidden(count);
            match fs::create_dir(&path) {
                Ok(()) => break path,
                // Another machine that shares the disk may have a process of the same number.
                Err(error) if error.kind() == io::ErrorKind::AlreadyExists && count < 100 => {
                    count += 1;
                }
                Err(error) => return Err(Misplaced::at(&path)(error)),
            }
        };
        let held = locked(&path);
        Ok(Self { path, place: place.to_owned(), results, _held: held })
    }

    /// Where to write.
    pub(super) fn path(&self) -> &Path {
        &self.path
    }

    /// Puts the folder in its place. The user's own files in the old one are there before the two
    /// are exchanged, so that no moment is without them.
    pub(super) fn put_in_place(self) -> Result<(), Misplaced> {
        let place = &self.place.clone();
        sync_within(&self.path)?;
        let _turn = locked(around(place));
        if !place.exists() {
            fs::rename(&self.path, place).map_err(Misplaced::at(place))?;
            sync(around(place));
            return Ok(());
        }
        link_own(place, &self.path, self.results);
        exchange(&self.path, place).map_err(Misplaced::at(place))?;
        sync(around(place));
        if let Err(cause) = move_own(&self.path, place, self.results) {
            let kept = beside(place, &format!("-before-{}", std::process::id()));
            let moved = fs::rename(&self.path, &kept).is_ok();
            let kept = if moved { kept } else { self.path.clone() };
            std::mem::forget(self); // it holds files of the user's: not to be removed
            return Err(Misplaced { path: place.clone(), cause, kept: Some(kept) });
        }
        drop(self); // the old folder goes while it is still our turn
        Ok(())
    }
}

/// The folder around `place`.
fn around(place: &Path) -> &Path {
    let around = place.parent().filter(|around| !around.as_os_str().is_empty());
    around.unwrap_or(Path::new("."))
}

/// The hidden name beside `place` that ends in `ending`.
fn hidden(place: &Path, ending: &str) -> PathBuf {
    let mut name = hidden_start(place);
    name.push(ending);
    around(place).join(name)
}

fn hidden_start(place: &Path) -> OsString {
    let mut name = OsString::from(".");
    name.push(place.file_name().unwrap_or_default());
    name.push(".perchline-tmp-");
    name
}

/// The path beside `place` whose name is the same with `ending` behind it.
fn beside(place: &Path, ending: &str) -> PathBuf {
    let mut name = place.file_name().unwrap_or_default().to_owned();
    name.push(ending);
    around(place).join(name)
}

/// A lock on a folder until it is dropped; none where the system has no such locks, since a lock
/// only guards against another run of this program at the same moment.
fn locked(folder: &Path) -> Option<File> {
    let folder = File::open(folder).ok()?;
    folder.lock().ok()?;
    Some(folder)
}

/// Makes the system write down a folder's list of names. Not all can; those that cannot need not.
fn sync(folder: &Path) {
    let _synced = File::open(folder).and_then(|folder| folder.sync_all());
}

/// Makes the system write down all that a folder holds, since a rename must not overtake its bytes.
/// Many files wait at once: one after the other, each would wait for the disk anew.
fn sync_within(folder: &Path) -> Result<(), Misplaced> {
    const AT_ONCE: usize = 8;
    let files = files_within(folder).map_err(Misplaced::at(folder))?;
    let synced = |path: &PathBuf| sync_file(path).map_err(Misplaced::at(path));
    parallel::at_once(AT_ONCE, &files, synced).into_iter().collect::<Result<(), _>>()?;
    sync(folder);
    Ok(())
}

/// Makes the system write down a file.
pub(super) fn sync_file(path: &Path) -> io::Result<()> {
    File::options().append(true).open(path)?.sync_data()
}

/// The files in a folder and the folders in it, which are synced.
fn files_within(folder: &Path) -> io::Result<Vec<PathBuf>> {
    let mut files = Vec::new();
    for entry in fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            files.extend(files_within(&path)?);
            sync(&path);
        } else {
            files.push(path);
        }
    }
    Ok(files)
}

/// Clears what killed runs left beside `place`. Files of the user's own among it go back first.
fn clear_left_behind(place: &Path, results: &[String]) {
    let aside = hidden(place, ASIDE);
    if !place.exists() && aside.exists() {
        // Killed between stepping aside and moving in.
        let _restored = fs::rename(&aside, place);
    }
    let start = hidden_start(place);
    let Ok(entries) = fs::read_dir(around(place)) else { return };
    for entry in entries.flatten() {
        let name = entry.file_name();
        let is_ours = name.as_encoded_bytes().starts_with(start.as_encoded_bytes());
        if !is_ours || !entry.file_type().is_ok_and(|kind| kind.is_dir()) {
            continue;
        }
        let path = entry.path();
        let Ok(folder) = File::open(&path) else { continue };
        // Whoever is still at work on it holds the lock.
        let moved = || !place.exists() || move_own(&path, place, results).is_ok();
        if folder.try_lock().is_ok() && moved() {
            let _removed = fs::remove_dir_all(&path);
        }
    }
}

/// Moves whatever is no result, and not there yet, from one folder to another.
fn move_own(from: &Path, to: &Path, results: &[String]) -> io::Result<()> {
    for entry in own(from, results)? {
        let target = to.join(entry.file_name());
        if target.symlink_metadata().is_err() {
            fs::rename(entry.path(), target)?;
        }
    }
    Ok(())
}

/// Gives whatever is no result in one folder a second name in the other. Best effort: what cannot
/// be linked is moved later.
fn link_own(from: &Path, to: &Path, results: &[String]) {
    for entry in own(from, results).unwrap_or_default() {
        let target = to.join(entry.file_name());
        if target.symlink_metadata().is_err() && link(&entry.path(), &target).is_err() {
            let _undone = fs::remove_dir_all(&target).or_else(|_| fs::remove_file(&target));
        }
    }
}

/// The entries of a folder that are no result.
fn own(folder: &Path, results: &[String]) -> io::Result<Vec<fs::DirEntry>> {
    let is_own = |entry: &io::Result<fs::DirEntry>| match entry {
        Ok(entry) => !results.iter().any(|result| entry.file_name() == result.as_str()),
        Err(_) => true,
    };
    fs::read_dir(folder)?.filter(is_own).collect()
}

/// A second name for a file, or for all files of a folder.
fn link(from: &Path, to: &Path) -> io::Result<()> {
    let metadata = from.symlink_metadata()?;
    if !metadata.is_dir() {
        return fs::hard_link(from, to);
    }
    fs::create_dir(to)?;
    for entry in fs::read_dir(from)? {
        let entry = entry?;
        link(&entry.path(), &to.join(entry.file_name()))?;
    }
    fs::set_permissions(to, metadata.permissions())
}

/// How the hidden name of an old folder ends that has stepped aside.
const ASIDE: &str = "aside";

#[cfg(target_os = "linux")]
fn exchange(new: &Path, old: &Path) -> io::Result<()> {
    use rustix::fs::{CWD, RenameFlags, renameat_with};
    use rustix::io::Errno;
    match renameat_with(CWD, new, CWD, old, RenameFlags::EXCHANGE) {
        Ok(()) => Ok(()),
        // A file system that cannot exchange: step aside first.
        Err(Errno::INVAL | Errno::NOSYS | Errno::OPNOTSUPP) => step_aside(new, old),
        Err(error) => Err(error.into()),
    }
}

#[cfg(not(target_os = "linux"))]
fn exchange(new: &Path, old: &Path) -> io::Result<()> {
    step_aside(new, old)
}

/// Moves the old folder aside, the new one in, and the old one to where the new one was.
fn step_aside(new: &Path, old: &Path) -> io::Result<()> {
    let aside = hidden(old, ASIDE);
    fs::rename(old, &aside)?;
    match fs::rename(new, old) {
        Ok(()) => fs::rename(&aside, new),
        Err(error) => {
            fs::rename(&aside, old)?;
            Err(error)
        }
    }
}

#[cfg(test)]
mod tests {
    #![expect(clippy::disallowed_methods, reason = "tests lay out folders on disk")]

    use super::*;

    fn names(folder: &Path) -> Vec<String> {
        let name = |entry: io::Result<fs::DirEntry>| entry.unwrap().file_name().into_string();
        let mut names: Vec<String> =
            fs::read_dir(folder).unwrap().map(|entry| name(entry).unwrap()).collect();
        names.sort();
        names
    }

    fn old_and_new(around: &Path) -> (PathBuf, PathBuf) {
        let (old, new) = (around.join("out"), around.join("new"));
        for (folder, text) in [(&old, "old"), (&new, "new")] {
            fs::create_dir(folder).unwrap();
            fs::write(folder.join("legs.csv"), text).unwrap();
        }
        (old, new)
    }

    #[test]
    fn a_file_system_that_cannot_exchange_ends_with_the_same_two_folders() {
        let around = tempfile::tempdir().unwrap();
        let (old, new) = old_and_new(around.path());
        step_aside(&new, &old).unwrap();
        assert_eq!(fs::read_to_string(old.join("legs.csv")).unwrap(), "new");
        assert_eq!(fs::read_to_string(new.join("legs.csv")).unwrap(), "old");
        assert_eq!(names(around.path()), ["new", "out"]);
    }

    #[test]
    fn what_a_killed_run_left_behind_is_cleared_and_the_users_files_go_back() {
        let around = tempfile::tempdir().unwrap();
        let (old, _) = old_and_new(around.path());
        let results = ["legs.csv".to_owned()];
        let left = hidden(&old, "1");
        fs::create_dir(&left).unwrap();
        fs::write(left.join("legs.csv"), "half").unwrap();
        fs::write(left.join("notes.txt"), "mine").unwrap();
        let at_work = Fresh::beside(&old, &results).ok().unwrap();
        assert_eq!(names(&old), ["legs.csv", "notes.txt"]);
        assert_eq!(fs::read_to_string(old.join("legs.csv")).unwrap(), "old");
        assert!(!left.exists());
        let other = Fresh::beside(&old, &results).ok().unwrap();
        assert!(at_work.path().is_dir(), "a run still at work is left alone");
        drop((at_work, other));
        assert_eq!(names(around.path()), ["new", "out"]);
    }

    #[test]
    fn an_old_folder_that_stepped_aside_comes_back() {
        let around = tempfile::tempdir().unwrap();
        let (old, _) = old_and_new(around.path());
        fs::rename(&old, hidden(&old, ASIDE)).unwrap();
        drop(Fresh::beside(&old, &[]).ok().unwrap());
        assert_eq!(fs::read_to_string(old.join("legs.csv")).unwrap(), "old");
        assert_eq!(names(around.path()), ["new", "out"]);
    }

    #[test]
    fn the_users_own_files_and_folders_stay_as_they_are() {
        let around = tempfile::tempdir().unwrap();
        let (old, _) = old_and_new(around.path());
        let results = ["legs.csv".to_owned()];
        fs::create_dir_all(old.join("talk/pictures")).unwrap();
        fs::write(old.join("talk/pictures/oak.txt"), "oak").unwrap();
        fs::write(old.join("notes.txt"), "mine").unwrap();
        let fresh = Fresh::beside(&old, &results).ok().unwrap();
        fs::write(fresh.path().join("legs.csv"), "new").unwrap();
        assert!(fresh.put_in_place().is_ok());
        assert_eq!(names(&old), ["legs.csv", "notes.txt", "talk"]);
        assert_eq!(fs::read_to_string(old.join("legs.csv")).unwrap(), "new");
        assert_eq!(fs::read_to_string(old.join("talk/pictures/oak.txt")).unwrap(), "oak");
        assert_eq!(names(around.path()), ["new", "out"]);
    }
}

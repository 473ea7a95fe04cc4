//! Data flows one way: no room imports a room that the list does not grant.

#![expect(clippy::unwrap_used, clippy::too_many_lines, reason = "a broken tree should fail here")]

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Rooms that every room from `survey` on may use besides its own.
const COMMON: [&str; 4] = ["fault", "quantity", "sources", "survey"];

/// Which rooms a room may import.
fn granted() -> BTreeMap<&'static str, BTreeSet<&'static str>> {
    const ARROWS: [(&str, &[&str]); 16] = [
        ("fault", &["quantity"]),
        ("sources", &[]),
        ("quantity", &[]),
        ("statistics", &["sources"]),
        ("earth", &["quantity", "sources"]),
        ("ground", &["quantity", "sources"]),
        ("survey", &[]),
        ("network", &["earth"]),
        ("load", &[]),
        ("check", &["network", "load", "earth"]),
        ("adjust", &["network", "ground", "statistics"]),
        ("path", &["adjust", "network"]),
        ("metrics", &["path", "statistics"]),
        // All rooms above it.
        (
            "analysis",
            &[
                "adjust",
                "check",
                "earth",
                "ground",
                "load",
                "metrics",
                "network",
                "path",
                "statistics",
            ],
        ),
        ("input", &["ground"]),
        (
            "cli",
            &[
                "adjust",
                "analysis",
                "check",
                "earth",
                "ground",
                "input",
                "load",
                "metrics",
                "network",
                "path",
                "statistics",
            ],
        ),
    ];
    let early = ["fault", "sources", "quantity", "statistics", "earth", "ground"];
    ARROWS
        .iter()
        .map(|(room, own)| {
            let common = COMMON.iter().filter(|_| !early.contains(room));
            (*room, own.iter().chain(common).copied().collect())
        })
        .collect()
}

/// Source text without comments, string contents and test modules.
fn code(text: &str) -> String {
    let text = text.split("#[cfg(test)]").next().unwrap_or("");
    let without_comments = text.lines().map(|line| line.split("//").next().unwrap_or(""));
    let mut code = String::new();
    let mut quoted = false;
    for c in without_comments.collect::<Vec<_>>().join("\n").chars() {
        if c == '"' {
            quoted = !quoted;
        } else if !quoted {
            code.push(c);
        }
    }
    code
}

/// The rooms that `text` names after `crate::`, braces included, and its glob imports.
fn imports(text: &str) -> (BTreeSet<String>, usize) {
    let code = code(text);
    let mut rooms = BTreeSet::new();
    for (at, found) in code.match_indices("crate::") {
        let rest = &code[at + found.len()..];
        if let Some(inner) = rest.strip_prefix('{') {
            rooms.extend(heads_in_braces(inner));
        } else {
            rooms.insert(word(rest));
        }
    }
    (rooms, code.matches("::*").count())
}

fn word(text: &str) -> String {
    text.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect()
}

/// The first word of each entry of a braced list, whose nested lists are skipped.
fn heads_in_braces(inner: &str) -> Vec<String> {
    let (mut heads, mut depth, mut fresh) = (Vec::new(), 0, true);
    for (at, c) in inner.char_indices() {
        match c {
            '}' if depth == 0 => break,
            '{' => depth += 1,
            '}' => depth -= 1,
            ',' if depth == 0 => fresh = true,
            c if fresh && c.is_alphabetic() => {
                heads.push(word(&inner[at..]));
                fresh = false;
            }
            _ => {}
        }
    }
    heads
}

fn sources(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<PathBuf> =
        fs::read_dir(folder).unwrap().map(|entry| entry.unwrap().path()).collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            sources(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

/// The room of a file: the first part of its path below `src`.
fn room(path: &Path, src: &Path) -> String {
    let below = path.strip_prefix(src).unwrap();
    let first = below.iter().next().unwrap().to_string_lossy();
    first.trim_end_matches(".rs").to_owned()
}

#[test]
fn no_arrow_points_the_wrong_way() {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let (mut files, granted) = (Vec::new(), granted());
    sources(&src, &mut files);
    assert!(files.len() > 60, "only {} files seen", files.len());
    let (mut wrong, mut seen) = (Vec::new(), 0);
    for file in &files {
        let own = room(file, &src);
        if ["lib", "main"].contains(&own.as_str()) {
            continue;
        }
        let text = fs::read_to_string(file).unwrap();
        let (rooms, globs) = imports(&text);
        let allowed =
            granted.get(own.as_str()).unwrap_or_else(|| panic!("{own} is not in the list"));
        for room in rooms.iter().filter(|room| **room != own) {
            seen += 1;
            if !allowed.contains(room.as_str()) {
                wrong.push(format!("{}: {own} imports {room}", file.display()));
            }
        }
        if globs > 0 {
            wrong.push(format!("{}: a glob import", file.display()));
        }
        // Two steps up leave a room of two floors; deeper files would need a closer look.
        let depth = file.strip_prefix(&src).unwrap().iter().count();
        if code(&text).contains("super::super") && depth <= 2 {
            wrong.push(format!("{}: super::super leaves the room", file.display()));
        }
    }
    assert!(seen > 100, "only {seen} arrows seen");
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_library_re_exports_nothing() {
    let lib = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs");
    assert!(!code(&fs::read_to_string(lib).unwrap()).contains("pub use"));
}

#[test]
fn imports_are_seen_in_every_form() {
    let text = "use crate::path::Path;\nuse crate::{adjust::{Part, draws::lane}, ground::Ground};\n\
                fn f() { crate::network::build(); } // crate::cli\n let s = \"crate::input\";\n\
                use crate::survey::rows::*;\n#[cfg(test)] mod tests { use crate::cli; }";
    let (rooms, globs) = imports(text);
    let expected = ["adjust", "ground", "network", "path", "survey"];
    assert_eq!(rooms.into_iter().collect::<Vec<_>>(), expected);
    assert_eq!(globs, 1);
}

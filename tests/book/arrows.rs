//! Data flows one way: no wing knows a later one, and no room imports a room that the list does not grant.

use std::fs;
use std::path::{Path, PathBuf};

/// The wings, in the order of the house.
const WINGS: [&str; 9] = [
    "maths",
    "survey",
    "adjustment",
    "measures",
    "results",
    "planning",
    "products",
    "viewer",
    "cli",
];

/// Rooms, and which others each may import. A wing whose name stands alone is what lies in it outside its
/// own rooms.
const ROOMS: [(&str, &[&str]); 30] = [
    ("maths::quantity", &[]),
    ("maths::parallel", &[]),
    ("maths::statistics", &[]),
    ("maths::earth", &["maths::quantity"]),
    ("maths::ground", &["maths::quantity"]),
    ("survey::fault", &[]),
    ("survey::sources", &[]),
    ("survey", &[]),
    ("survey::input", &[]),
    ("survey::load", &[]),
    ("adjustment::network", &["maths::earth"]),
    ("adjustment", &["adjustment::network", "maths::ground", "maths::statistics"]),
    ("adjustment::path", &["adjustment", "adjustment::network", "maths::statistics"]),
    ("measures::metrics", &["adjustment", "adjustment::path", "maths::statistics"]),
    ("measures::support", &["adjustment::path", "maths::statistics"]),
    ("measures::compare", &["maths::statistics"]),
    ("results::rules", &["adjustment::network", "survey::load"]),
    ("results", &ABOVE_RESULTS),
    (
        "planning",
        &[
            "maths::statistics",
            "adjustment::network",
            "adjustment",
            "measures::metrics",
            "measures::compare",
            "results",
        ],
    ),
    ("products::fonts", &[]),
    ("products::xml", &[]),
    ("products::png", &[]),
    ("products::sheet", &["products::fonts"]),
    ("products::tables", &["results"]),
    ("products::export", &["products::xml", "results", "adjustment::network"]),
    ("products::scene", &["results", "adjustment::network", "adjustment::path"]),
    (
        "products::figure",
        &[
            "products::fonts",
            "products::xml",
            "products::png",
            "products::scene",
            "results",
            "adjustment",
            "measures::metrics",
            "measures::support",
            "measures::compare",
            "maths::statistics",
        ],
    ),
    (
        "products::report",
        &["results", "adjustment", "adjustment::path", "products::figure", "products::scene"],
    ),
    ("viewer", &["products::png", "products::fonts", "products::scene"]),
    ("cli", &ABOVE_CLI),
];

const ABOVE_RESULTS: [&str; 11] = [
    "maths::statistics",
    "maths::earth",
    "maths::ground",
    "survey::load",
    "adjustment::network",
    "adjustment",
    "adjustment::path",
    "measures::metrics",
    "measures::support",
    "measures::compare",
    "results::rules",
];

const ABOVE_CLI: [&str; 17] = [
    "maths::statistics",
    "survey::input",
    "survey::load",
    "adjustment::network",
    "adjustment",
    "adjustment::path",
    "measures::metrics",
    "results::rules",
    "results",
    "planning",
    "products::sheet",
    "products::export",
    "products::scene",
    "products::figure",
    "products::report",
    "products::tables",
    "viewer",
];

/// Every room but those of the first wing may use these besides its own; these too, save what lies beside
/// them in their wing.
const COMMON: [&str; 5] =
    ["survey::fault", "survey::sources", "survey", "maths::quantity", "maths::parallel"];

/// The room that a path lies in.
fn room_of(path: &[String]) -> String {
    let with_next = path.iter().take(2).cloned().collect::<Vec<_>>().join("::");
    let known = ROOMS.iter().any(|(room, _)| *room == with_next);
    if known { with_next } else { path.first().cloned().unwrap_or_default() }
}

fn place(room: &str) -> Option<usize> {
    let wing = room.split("::").next()?;
    WINGS.iter().position(|name| *name == wing)
}

/// Whether `room` may import `other`; an error where the list does not know `room`.
fn may(room: &str, other: &str) -> Result<bool, String> {
    let at = ROOMS.iter().find(|(name, _)| *name == room);
    let (_, granted) = at.ok_or_else(|| format!("the room {room} is not in the list"))?;
    let common = place(room) > Some(0) && COMMON.contains(&other);
    let runs_back = place(other) > place(room);
    Ok(!runs_back && (room == other || common || granted.contains(&other)))
}

/// Source text whose comments, strings and characters are spaces; every line stays in its place.
fn code(text: &str) -> String {
    let source: Vec<char> = text.chars().collect();
    let mut code = String::with_capacity(text.len());
    let mut at = 0;
    while at < source.len() {
        let skipped = skip(&source[at..], at.checked_sub(1).map(|before| source[before]));
        if skipped == 0 {
            code.push(source[at]);
            at += 1;
            continue;
        }
        let end = (at + skipped).min(source.len());
        code.extend(source[at..end].iter().map(|c| if *c == '\n' { '\n' } else { ' ' }));
        at = end;
    }
    code
}

/// How many characters of comment, string or character literal `rest` begins with.
fn skip(rest: &[char], before: Option<char>) -> usize {
    let to = |end: &str, from: usize| {
        let end: Vec<char> = end.chars().collect();
        let found = rest[from..].windows(end.len()).position(|window| window == end);
        found.map_or(rest.len(), |found| from + found + end.len())
    };
    match rest {
        ['/', '/', ..] => rest.iter().position(|c| *c == '\n').unwrap_or(rest.len()),
        ['/', '*', ..] => to("*/", 2),
        ['"', ..] => quoted(rest),
        ['r', '"' | '#', ..] if !before.is_some_and(in_word_but_b) => {
            let hashes = rest[1..].iter().take_while(|c| **c == '#').count();
            if rest.get(1 + hashes) != Some(&'"') {
                return 0; // r#type
            }
            to(&format!("\"{}", "#".repeat(hashes)), 2 + hashes)
        }
        ['\'', '\\', _, ..] => to("'", 3),
        ['\'', _, '\'', ..] => 3,
        _ => 0,
    }
}

fn in_word_but_b(c: char) -> bool {
    c != 'b' && in_word(c)
}

fn quoted(rest: &[char]) -> usize {
    let mut at = 1;
    while at < rest.len() && rest[at] != '"' {
        at += if rest[at] == '\\' { 2 } else { 1 };
    }
    at + 1
}

/// Code without what stands under `#[cfg(test)]`; every line stays in its place.
fn without_tests(code: &str) -> String {
    const MARK: &str = "#[cfg(test)]";
    let mut kept = String::with_capacity(code.len());
    let mut rest = code;
    while let Some(at) = rest.find(MARK) {
        kept.push_str(&rest[..at]);
        let (mut depth, mut end) = (0, rest.len());
        for (k, c) in rest[at..].char_indices().skip(MARK.len()) {
            match c {
                '{' => depth += 1,
                '}' => depth -= 1,
                _ => {}
            }
            if depth == 0 && (c == '}' || c == ';') {
                end = at + k + 1;
                break;
            }
        }
        kept.extend(rest[at..end].chars().filter(|c| *c == '\n'));
        rest = &rest[end..];
    }
    kept + rest
}

fn in_word(c: char) -> bool {
    c.is_alphanumeric() || c == '_'
}

/// Every path of `code` that begins with `crate` or `super`, braces spread out, with its line.
fn crate_paths(code: &str) -> Vec<(usize, Vec<String>)> {
    let mut found = Vec::new();
    let mut from = 0;
    while let Some(next) = code[from..].find(in_word).map(|at| from + at) {
        let end = code[next..].find(|c| !in_word(c)).map_or(code.len(), |length| next + length);
        from = end;
        if ["crate", "super"].contains(&&code[next..end]) {
            let line = code[..next].matches('\n').count() + 1;
            let (paths, length) = spread(&code[next..]);
            from = next + length;
            found.extend(paths.into_iter().map(|path| (line, path)));
        }
    }
    found
}

/// The paths that the path or braced tree at the start of `text` spreads into, and its length.
fn spread(text: &str) -> (Vec<Vec<String>>, usize) {
    let blank = |at: usize| at + text[at..].len() - text[at..].trim_start().len();
    let at = blank(0);
    if text[at..].starts_with('{') {
        return list(text, at + 1);
    }
    let length = text[at..].find(|c: char| !in_word(c) && c != '*').unwrap_or(text.len() - at);
    let (head, end) = (text[at..at + length].to_owned(), at + length);
    let colons = blank(end);
    if !text[colons..].starts_with("::") {
        return (vec![vec![head]], end);
    }
    let (tails, length) = spread(&text[colons + 2..]);
    let joined = tails.into_iter().map(|tail| [vec![head.clone()], tail].concat()).collect();
    (joined, colons + 2 + length)
}

/// The entries of a braced list whose first begins at `at`, and where it ends.
fn list(text: &str, mut at: usize) -> (Vec<Vec<String>>, usize) {
    let mut found = Vec::new();
    while let Some(c) = text[at..].chars().next() {
        if c == '}' {
            return (found, at + 1);
        }
        if in_word(c) || c == '*' {
            let (paths, length) = spread(&text[at..]);
            found.extend(paths);
            at += length;
            // What may follow is `as NAME`.
            at += text[at..].find([',', '}']).unwrap_or(text.len() - at);
        } else {
            at += c.len_utf8();
        }
    }
    (found, at)
}

/// A path from the crate's root; `module` is where it is written. `None` beyond the root.
fn from_root(module: &[String], path: &[String]) -> Option<Vec<String>> {
    let mut place = module.to_vec();
    for (k, part) in path.iter().enumerate() {
        match part.as_str() {
            "crate" if k == 0 => place.clear(),
            "super" => drop(place.pop()?),
            "self" => {}
            name => place.push(name.to_owned()),
        }
    }
    Some(place)
}

/// The module of a file, by its path below `src`.
fn module(below: &Path) -> Vec<String> {
    let stem = below.with_extension("");
    let parts = stem.iter().map(|part| part.to_string_lossy().into_owned());
    parts.filter(|part| part != "mod").collect()
}

/// What is wrong with a file, one line each, and its arrows to other rooms.
fn judge(below: &Path, text: &str) -> (Vec<String>, Vec<String>) {
    let module = module(below);
    let room = room_of(&module);
    let (mut wrong, mut arrows) = (Vec::new(), Vec::new());
    for (line, path) in crate_paths(&without_tests(&code(text))) {
        let mut refuse = |why: &str| {
            wrong.push(format!("src/{}:{line}: {}: {why}", below.display(), path.join("::")));
        };
        if path.last().is_some_and(|last| last == "*") {
            refuse("a glob import");
        }
        let Some(place) = from_root(&module, &path) else {
            refuse("leads out of the crate");
            continue;
        };
        // Nothing is left of `pub(crate)` and `pub(super)`.
        if path.len() < 2 || place.is_empty() {
            continue;
        }
        let other = room_of(&place);
        match may(&room, &other) {
            Ok(true) if other == room => {}
            Ok(true) => arrows.push(format!("{room} -> {other}")),
            Ok(false) => refuse(&format!("{room} may not know {other}")),
            Err(why) => refuse(&why),
        }
    }
    (wrong, arrows)
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

/// What is wrong in the rooms, one line each, and all arrows between them.
fn judge_all() -> (Vec<String>, Vec<String>) {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    assert!(files.len() > 60, "only {} files seen", files.len());
    let (mut wrong, mut arrows) = (Vec::new(), Vec::new());
    for file in &files {
        let below = file.strip_prefix(&src).unwrap();
        // The map of the rooms, and the exit code.
        if ["lib.rs", "main.rs", "maths/mod.rs", "measures/mod.rs", "products/mod.rs"]
            .map(Path::new)
            .contains(&below)
        {
            continue;
        }
        let (faults, seen) = judge(below, &fs::read_to_string(file).unwrap());
        wrong.extend(faults);
        arrows.extend(seen);
    }
    (wrong, arrows)
}

#[test]
fn no_arrow_points_the_wrong_way() {
    let (wrong, arrows) = judge_all();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
    assert!(arrows.len() > 100, "only {} arrows seen", arrows.len());
    for known in [
        "adjustment::network -> maths::earth",
        "adjustment -> adjustment::network",
        "measures::metrics -> adjustment::path",
        "cli -> survey::input",
    ] {
        assert!(arrows.iter().any(|arrow| arrow == known), "{known} not seen");
    }
}

/// A grant that no room makes use of says more of the rooms than is true.
#[test]
fn every_arrow_of_the_list_is_there() {
    let (_, arrows) = judge_all();
    for (room, granted) in ROOMS {
        for other in granted {
            let arrow = format!("{room} -> {other}");
            assert!(arrows.contains(&arrow), "{arrow} is granted and not needed");
        }
    }
}

#[test]
fn the_library_re_exports_nothing() {
    let lib = Path::new(env!("CARGO_MANIFEST_DIR")).join("src/lib.rs");
    assert!(!code(&fs::read_to_string(lib).unwrap()).contains("pub use"));
}

/// Every form in which a room can be named, and every place in which naming one is no import.
#[test]
fn paths_are_seen_in_every_form() {
    let text = r##"
        use crate::{adjust::{Part, draws::{self, lane}}, ground::Ground as Soil};
        use super::super::network::
            Network;
        pub(crate) fn f() -> char { crate::check::all(); '"' } // crate::cli
        fn g<'a>() { let s = "\"crate::input"; let t = r#"" crate::input "#; }
        #[cfg(test)] mod tests { use crate::cli; fn h() {} }
        use super::{rows::*, super::load};
    "##;
    let module = ["survey", "read"].map(String::from);
    let place =
        |(line, path): (usize, Vec<String>)| (line, from_root(&module, &path).unwrap().join("::"));
    let found: Vec<_> = crate_paths(&without_tests(&code(text))).into_iter().map(place).collect();
    let expected = [
        (2, "adjust::Part"),
        (2, "adjust::draws"),
        (2, "adjust::draws::lane"),
        (2, "ground::Ground"),
        (3, "network::Network"),
        (5, ""),
        (5, "check::all"),
        (8, "survey::rows::*"),
        (8, "load"),
    ];
    assert_eq!(found, expected.map(|(line, path)| (line, path.to_owned())));
}

#[test]
fn a_wrong_arrow_is_told_with_its_line() {
    let text = "//! A room.\nuse crate::maths::quantity::Bearing;\nuse super::super::measures::metrics::Metric;\n\
                use crate::survey::rows::*;\nfn f() { super::super::super::g() }";
    let (wrong, arrows) = judge(Path::new("adjustment/build.rs"), text);
    assert_eq!(arrows, ["adjustment -> maths::quantity", "adjustment -> survey"]);
    let expected = [
        "src/adjustment/build.rs:3: super::super::measures::metrics::Metric: adjustment may not know \
         measures::metrics",
        "src/adjustment/build.rs:4: crate::survey::rows::*: a glob import",
        "src/adjustment/build.rs:5: super::super::super::g: leads out of the crate",
    ];
    assert_eq!(wrong, expected);
    let (wrong, _) = judge(Path::new("attic.rs"), "use crate::maths::quantity::Bearing;");
    assert_eq!(
        wrong,
        ["src/attic.rs:1: crate::maths::quantity::Bearing: the room attic is not in the list"]
    );
    assert_eq!(may("maths::earth", "survey::sources"), Ok(false), "only from survey on");
    assert_eq!(may("survey", "survey::sources"), Ok(true));
    assert_eq!(may("survey", "results"), Ok(false), "no wing knows a later one");
}

//! The report as a file: complete in itself, well formed, hostile names as text, always the same.

use std::fs;
use std::path::Path;
use tempfile::TempDir;

use crate::run;
use run::{GOOD, perchline, survey};

/// The report of the survey in a folder.
fn report(folder: &Path, options: &[&str]) -> String {
    let arguments = [&["rebuild", "survey", "--draws", "20"], options].concat();
    let output = perchline(folder, &arguments);
    assert_eq!(output.status.code(), Some(0), "{output:?}");
    fs::read_to_string(folder.join("survey-results/report.html")).unwrap()
}

/// The demo, as a survey in a folder of its own.
fn demo() -> TempDir {
    let folder = TempDir::new().unwrap();
    fs::create_dir(folder.path().join("survey")).unwrap();
    let from = Path::new(env!("CARGO_MANIFEST_DIR")).join("demo/dormice");
    for entry in fs::read_dir(from).unwrap() {
        let path = entry.unwrap().path();
        fs::copy(&path, folder.path().join("survey").join(path.file_name().unwrap())).unwrap();
    }
    folder
}

/// Elements that hold nothing and do not close.
const EMPTY: [&str; 3] = ["meta", "link", "input"];

/// Where the tags of a page do not balance; nothing where they do. A text may not hold `<`.
fn unbalanced(page: &str) -> Option<String> {
    let mut open: Vec<&str> = Vec::new();
    let Some(mut rest) = page.strip_prefix("<!DOCTYPE html>") else {
        return Some("no doctype".into());
    };
    while let Some(at) = rest.find('<') {
        let Some((tag, after)) = rest[at + 1..].split_once('>') else {
            return Some("a tag stays open".into());
        };
        rest = after;
        let name = tag.trim_start_matches('/').split([' ', '/', '\n']).next().unwrap_or_default();
        if !name.starts_with(|c: char| c.is_ascii_alphabetic()) {
            return Some(format!("<{tag}> is no tag"));
        }
        if tag.starts_with('/') {
            match open.pop() {
                Some(last) if last == name => {}
                last => return Some(format!("</{name}> closes {last:?}")),
            }
            continue;
        }
        if tag.matches('"').count() % 2 != 0 {
            return Some(format!("<{tag}> has a quote that is open"));
        }
        if EMPTY.contains(&name) || tag.ends_with('/') {
            continue;
        }
        // What stands in a script or a style is no markup until it ends.
        if ["script", "style"].contains(&name) {
            let close = format!("</{name}>");
            let Some(end) = rest.find(&close) else { return Some(format!("<{name}> stays open")) };
            rest = &rest[end + close.len()..];
            continue;
        }
        open.push(name);
    }
    (!open.is_empty()).then(|| format!("{open:?} stay open"))
}

#[test]
fn tags_that_do_not_balance_are_seen() {
    assert_eq!(unbalanced("<!DOCTYPE html><p>a<b>c</b></p><script>a<b</script>"), None);
    assert!(unbalanced("<p></p>").is_some());
    for page in ["<p><b></p></b>", "<p>", "</p>", "<p a=\"b>", "a < b > c", "<script>", "<p"] {
        assert!(unbalanced(&format!("<!DOCTYPE html>{page}")).is_some(), "{page}");
    }
}

#[test]
fn the_page_is_whole_and_asks_for_nothing() {
    let folder = demo();
    let page = report(folder.path(), &[]);
    assert_eq!(unbalanced(&page), None);
    assert_eq!(page.matches("url(").count(), page.matches("url(data:").count());
    for outside in ["http:", "https:", "@import", " src=", "srcset", "import(", "fetch("] {
        assert!(!page.contains(outside), "{outside}");
    }
    for link in page.split("href=\"").skip(1) {
        assert!(link.starts_with('#') || link.starts_with("data:,"), "{}", &link[..40]);
    }
    assert!(page.contains("default-src &#39;none&#39;"));
    // In the order in which a reader wants them.
    let ids =
        ["answer", "tables", "questions", "figures", "space", "checks", "methods", "settings"];
    let places: Vec<usize> =
        ids.iter().map(|id| page.find(&format!("<section id=\"{id}\"")).unwrap()).collect();
    assert!(places.is_sorted(), "{places:?}");
    for table in 1..=5 {
        assert!(page.contains(&format!("<table id=\"table-{table}\"")), "table {table}");
    }
    assert!(page.matches("<figure ").count() >= 10);
    assert_eq!(
        page.matches("<figure ").count(),
        page.matches("role=\"img\" aria-label=\"").count()
    );
    // A supervisor reads eight sentences, the first of which is the overview.
    let short = page.split("<ul class=\"sentences\">").nth(1).unwrap();
    let short = short.split("</ul>").next().unwrap();
    assert!((3..=7).contains(&short.matches("<li>").count()), "{short}");
    assert!(short.contains("On average an animal moved "), "{short}");
    // What the command line said stands here too.
    for words in
        ["20 trails of 13 animals", "profile_only", "closes within instrument error", "Aebischer"]
    {
        assert!(page.contains(words), "{words}");
    }
}

#[test]
fn the_same_survey_gives_the_same_bytes() {
    let folder = survey(GOOD);
    let first = report(folder.path(), &[]);
    assert_eq!(report(folder.path(), &[]), first);
    assert_ne!(report(folder.path(), &["--set", "tape_m=0.5"]), first);
}

#[test]
fn names_with_markup_are_text_everywhere() {
    let evil = "<script>alert(1)</script>";
    let worse = "\"'><img src=x onerror=alert(2)>&amp;<!--]]>";
    let quoted = worse.replace('"', "\"\"");
    let folder = survey(&format!(
        "trail,anchor,tape_m,bearing_deg,height_m,support,plant,tree,refuge,note\n\
         {evil},\"{quoted}\",,,1.0,{evil},{evil},{evil},,{evil}\n\
         {evil},{evil},3.1,20,0.1,\"{quoted}\",,\"{quoted}\",{evil},\"{quoted}\"\n\
         {evil},c,2.0,80,2.1,{evil},,\"{quoted}\",,\n"
    ));
    let inside = folder.path().join("survey");
    let trails =
        format!("trail,animal,date,weather {evil}\n{evil},\"{quoted}\",2025-06-01,{evil}\n");
    fs::write(inside.join("trails.csv"), trails).unwrap();
    let animals =
        format!("animal,species,sex,attachment,stand\n\"{quoted}\",{evil},{evil},{evil},{evil}\n");
    fs::write(inside.join("animals.csv"), animals).unwrap();
    fs::write(
        inside.join("survey.toml"),
        format!(
            "name = '{evil}'\nsite = '{evil}'\npermit = '{evil}'\nmarked_when = '{evil}'\nzzz = 1\n"
        ),
    )
    .unwrap();
    let page = report(folder.path(), &[]);
    assert_eq!(unbalanced(&page), None);
    assert_eq!(page.matches("<script").count(), 2);
    assert!(!page.contains("<img") && !page.contains("<!--"));
    // It is there, as text of the page and as text in the script.
    assert!(page.contains("<h1 dir=\"auto\">&lt;script&gt;alert(1)&lt;/script&gt;</h1>"));
    assert!(page.contains("\\u003cscript\\u003ealert(1)\\u003c/script\\u003e"));
}

#[test]
fn what_is_missing_is_said() {
    // A trail without bearings, and one of a single anchor without any height but one.
    let folder = survey(
        "trail,anchor,tape_m,bearing_deg,height_m\nA,0,,,1.0\nA,1,3.1,,0.1\nA,2,4.2,,0.2\nB,0,,,0.0\n",
    );
    let page = report(folder.path(), &[]);
    assert!(
        page.contains("A is not drawn: too few of its legs have a direction"),
        "why not is not said"
    );
    assert!(page.contains("Figures that this survey has no data for"));
    assert!(page.contains("No loop, tie or second known point checks any trail."));
    assert_eq!(unbalanced(&page), None);
}

#[test]
fn tables_only_leaves_the_report_out() {
    let folder = survey(GOOD);
    report(folder.path(), &[]);
    let output = perchline(folder.path(), &["rebuild", "survey", "--tables-only"]);
    assert_eq!(output.status.code(), Some(0));
    assert!(!folder.path().join("survey-results/report.html").exists());
}

//! How far the survey can be trusted: closures, suspects, all faults.

use super::html::{Html, held_together};
use super::{Report, tables};
use crate::adjustment::closure::Verdict;
use crate::maths::quantity::count_of;
use crate::results::findings::{advice, suspects};
use crate::results::overview::{closures_words, unchecked};
use crate::results::precisions;
use crate::survey::fault::{Folded, Severity};

pub(super) fn section(report: &Report<'_>, html: &mut Html) {
    html.element("h3", &[], "Closure");
    closures(report, html);
    html.element("h3", &[], "Suspect readings");
    let found = suspects::words(report.analysis).into_iter().chain(advice::looks(report.analysis));
    let found: Vec<String> = found.map(|finding| finding.lines()).collect();
    if found.is_empty() {
        html.paragraph("No reading stands out from the rest of its trail.");
    } else {
        html.list("sentences", &found);
    }
    let advice = advice::words(report.analysis);
    if !advice.is_empty() {
        html.element("h3", &[], "Check measurements worth adding");
        html.list("sentences", &advice);
    }
    html.element("h3", &[], "Faults of the survey");
    faults(report, html);
}

fn closures(report: &Report<'_>, html: &mut Html) {
    let closures = closures_words(report.analysis);
    if closures.is_empty() {
        html.paragraph("No loop, tie or second known point checks any trail.");
    } else {
        html.within("ul", &[("class", "verdicts")], |html| {
            for closure in closures {
                let class = match closure.verdict {
                    Verdict::Closes => "good",
                    Verdict::Doubtful => "doubtful",
                    Verdict::Fails => "bad",
                    Verdict::TooCoarse => "quiet",
                };
                html.within("li", &[("class", class)], |html| {
                    html.text(&held_together(&format!("{}; ", closure.found)));
                    html.element("strong", &[], closure.verdict.words());
                });
            }
        });
    }
    if let Some(words) = unchecked(report.analysis) {
        html.paragraph(&words);
    }
    for sentence in precisions::told(report.analysis) {
        html.paragraph(&sentence);
    }
}

fn faults(report: &Report<'_>, html: &mut Html) {
    if report.faults.is_empty() {
        html.paragraph("None was found.");
        return;
    }
    let counts = [Severity::Error, Severity::Warning, Severity::Note]
        .map(|severity| count_of(report.faults.count(severity), severity.word()));
    let caption = ["Faults:".to_owned(), format!("{}.", counts.join(", "))];
    let heads = ["where", "severity", "found", "expected", "hint", "code"];
    let rows: Vec<[String; 6]> = report.faults.folded().iter().map(row).collect();
    tables::table("faults", &caption, &heads, &rows, html);
    for (alike, count) in report.faults.unlisted() {
        let column = alike.column.as_ref().map_or(String::new(), |name| format!(", column {name}"));
        html.element(
            "p",
            &[("class", "note")],
            &format!(
                "{} like these in {}{column} ({}), not listed.",
                count_of(count, &format!("more {}", alike.severity.word())),
                alike.file,
                alike.code.name(),
            ),
        );
    }
}

fn row(folded: &Folded<'_>) -> [String; 6] {
    let fault = folded.first;
    [
        folded.place(),
        fault.severity.word().to_owned(),
        folded.found(),
        fault.expected.clone(),
        fault.hint.clone(),
        fault.code.name().to_owned(),
    ]
}

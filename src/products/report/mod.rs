//! The report: one HTML file for a supervisor, a co-author or a reviewer, complete in itself.
//!
//! In: an [`Analysis`], and what the command line has in words: faults, suspects, the answer, the
//! figures. Out: the file as text. Its style and its script are in it, its policy forbids every
//! request, and whatever a survey says is text in it. The script draws the paths on a canvas and
//! sorts tables; without it the page still says everything. No clock and no chance: the same input
//! gives the same bytes. Left out: writing the file (`cli`).

mod checks;
mod figures;
mod html;
mod palette;
mod paths;
mod prose;
mod settings;
mod space;
mod tables;

use crate::results::Analysis;
use crate::results::answer::Said;
use crate::results::findings::verdict::Verdict;
use crate::results::overview::{dates, not_known, overview, title};
use crate::results::printed::Printed;
use crate::survey::fault::Faults;
use html::{Html, held_together, json_in_script};
use paths::{Drawing, drawing};
use serde_json::{Value, json};

pub use figures::Figure;

/// Everything that the page says besides what the analysis itself tells.
#[derive(Debug)]
pub struct Report<'a> {
    /// The survey computed.
    pub analysis: &'a Analysis,
    /// All faults.
    pub faults: &'a Faults,
    /// What was found, question by question.
    pub answer: &'a [Said],
    /// The tables of a paper.
    pub tables: &'a [Printed],
    /// The figures, in the order of the page.
    pub figures: &'a [Figure],
    /// The methods text, as Markdown.
    pub methods: &'a str,
    /// All settings by name, as in `results.json`.
    pub settings: &'a Value,
    /// The frame, as in `results.json`.
    pub frame: &'a Value,
    /// The version of the program.
    pub version: &'a str,
}

const STYLE: &str = include_str!("page/page.css");
const SCRIPTS: [&str; 6] = [
    include_str!("page/geometry.js"),
    include_str!("page/colours.js"),
    include_str!("page/drawing.js"),
    include_str!("page/space.js"),
    include_str!("page/sorting.js"),
    include_str!("page/page.js"),
];

/// Nothing may be fetched, and nothing run but what stands in the file.
const POLICY: &str = "default-src 'none'; style-src 'unsafe-inline'; script-src 'unsafe-inline'; \
                      img-src data:; font-src data:; base-uri 'none'; form-action 'none'";

/// The parts of the page, in order: where they are, and what they are called.
const PARTS: [(&str, &str); 8] = [
    ("answer", "In short"),
    ("tables", "Tables"),
    ("questions", "Question by question"),
    ("figures", "Figures"),
    ("space", "The paths in space"),
    ("checks", "How far it can be trusted"),
    ("methods", "Methods"),
    ("settings", "Settings"),
];

/// The page.
pub fn html(report: &Report<'_>) -> String {
    let drawing = drawing(report.analysis);
    let mut html = Html::default();
    html.raw("<!DOCTYPE html>\n");
    html.within("html", &[("lang", "en")], |html| {
        html.within("head", &[], |html| head(report, html));
        html.raw("\n");
        html.within("body", &[], |html| body(report, &drawing, html));
    });
    html.raw("\n");
    html.finish()
}

fn head(report: &Report<'_>, html: &mut Html) {
    html.open("meta", &[("charset", "utf-8")]);
    html.open("meta", &[("http-equiv", "Content-Security-Policy"), ("content", POLICY)]);
    html.open("meta", &[("name", "viewport"), ("content", "width=device-width, initial-scale=1")]);
    html.open("meta", &[("name", "generator"), ("content", "Perchline")]);
    // Without one a browser asks for a picture beside the page.
    html.open("link", &[("rel", "icon"), ("href", "data:,")]);
    html.element("title", &[], title(report.analysis));
    html.within("style", &[], |html| {
        html.raw(&figures::faces(report.figures));
        html.raw(&palette::css());
        html.raw(STYLE);
    });
}

fn body(report: &Report<'_>, drawing: &Drawing<'_>, html: &mut Html) {
    html.element("a", &[("class", "skip"), ("href", "#main")], "To the answer");
    html.within("header", &[("class", "top")], |html| header(report, html));
    html.within("nav", &[("aria-label", "Parts of this page")], |html| {
        html.within("ol", &[], |html| {
            for (id, name) in PARTS {
                let target = format!("#{id}");
                html.within("li", &[], |html| html.element("a", &[("href", &target)], name));
            }
        });
    });
    html.within("main", &[("id", "main")], |html| main(report, drawing, html));
    html.within("footer", &[], |html| {
        html.paragraph(&format!(
            "Made by Perchline {}. This file is complete in itself: it asks for nothing from \
             anywhere.",
            report.version
        ));
    });
    let data = json!({"palette": palette::json(), "drawing": drawing});
    html.within("script", &[("type", "application/json"), ("id", "data")], |html| {
        html.raw(&json_in_script(&data.to_string()));
    });
    html.within("script", &[], |html| {
        html.raw("'use strict';\n(() => {\n");
        for script in SCRIPTS {
            html.raw(script);
        }
        html.raw("})();\n");
    });
}

fn header(report: &Report<'_>, html: &mut Html) {
    let settings = &report.analysis.survey.settings;
    html.element("h1", &[("dir", "auto")], title(report.analysis));
    let date = dates(report.analysis).or(settings.date.map(|date| date.to_string()));
    let permit = settings.permit.as_ref().map(|permit| format!("permit {permit}"));
    let known: Vec<String> = [settings.site.clone(), date, permit].into_iter().flatten().collect();
    if !known.is_empty() {
        html.element("p", &[("class", "where")], &known.join(" · "));
    }
}

fn main(report: &Report<'_>, drawing: &Drawing<'_>, html: &mut Html) {
    let [answer, tables, questions, figures, space, checks, methods, settings] = PARTS;
    html.section(answer.0, answer.1, |html| {
        html.element("p", &[("class", "lead")], &held_together(&overview(report.analysis)));
        let verdict = Verdict::of(report.analysis).sentence();
        html.element("p", &[("class", "lead")], &held_together(&verdict));
        let first: Vec<String> =
            report.answer.iter().flat_map(|said| said.lead.iter().cloned()).collect();
        if !first.is_empty() {
            html.list("sentences", &first);
        }
        html.element("h3", &[], "Limits of these data");
        html.list("quiet", &not_known(report.analysis));
    });
    html.section(tables.0, tables.1, |html| {
        for (at, table) in report.tables.iter().enumerate() {
            tables::printed(at + 1, table, html);
        }
    });
    html.section(questions.0, questions.1, |html| {
        html.within("div", &[("class", "questions")], |html| {
            for said in report.answer.iter().filter(|said| !said.rest.is_empty()) {
                html.within("div", &[], |html| {
                    html.element("h3", &[], &said.head);
                    html.list("plain", &said.rest);
                });
            }
        });
    });
    html.section(figures.0, figures.1, |html| figures::all(report.figures, html));
    html.section(space.0, space.1, |html| space::section(report.analysis, drawing, html));
    html.section(checks.0, checks.1, |html| checks::section(report, html));
    html.section(methods.0, methods.1, |html| prose::section(report.methods, html));
    html.section(settings.0, settings.1, |html| settings::section(report, html));
}

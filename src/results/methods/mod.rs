//! The methods paragraph and its references, from what was really done.
//!
//! In: an [`Analysis`]. Out: text in the past tense, and the sources it cites. A sentence stands
//! only where its reading, setting or test was used. Left out: how animals were caught and kept,
//! which no table says.

mod field;
mod indices;
mod orientation;
mod rebuilding;
mod space;
mod tests;

use super::Analysis;
use crate::survey::sources::Source;
use std::collections::BTreeMap;

/// A text that keeps what it cites.
#[derive(Debug, Default)]
struct Text {
    paragraphs: Vec<String>,
    sources: BTreeMap<&'static str, Source>,
}

impl Text {
    /// Begins a paragraph under a heading.
    fn paragraph(&mut self, heading: &str) {
        self.paragraphs.push(format!("**{heading}.**"));
    }

    /// Adds a sentence to the paragraph.
    fn say(&mut self, sentence: &str) {
        if let Some(paragraph) = self.paragraphs.last_mut() {
            paragraph.push(' ');
            paragraph.push_str(sentence);
        }
    }

    /// Cites a source, as it stands in a text.
    fn cite(&mut self, source: Source) -> String {
        self.sources.insert(source.key(), source);
        source.in_text()
    }
}

/// The methods of a survey.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Methods {
    /// The text, as Markdown.
    pub text: String,
    /// Its references, as BibTeX.
    pub bibtex: String,
}

/// Writes the methods of `analysis`, computed by this `version` of the program.
pub fn methods(analysis: &Analysis, version: &str) -> Methods {
    let mut text = Text::default();
    field::animals(analysis, &mut text);
    field::trails(analysis, &mut text);
    rebuilding::paths(analysis, &mut text, version);
    rebuilding::left_out(analysis, &mut text);
    indices::paragraph(analysis, &mut text);
    tests::paragraph(analysis, &mut text);
    let references: Vec<String> =
        text.sources.values().map(|source| format!("- {}", source.citation())).collect();
    let bibtex: Vec<String> = text.sources.values().filter_map(|source| source.bibtex()).collect();
    let body = text.paragraphs.join("\n\n");
    Methods {
        text: format!("# Methods\n\n{body}\n\n## References\n\n{}\n", references.join("\n")),
        bibtex: bibtex.join("\n"),
    }
}

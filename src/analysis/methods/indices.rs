//! Strata, classes and indices, with the sources of their formulas.

use super::{Text, list};
use crate::analysis::Analysis;
use crate::metrics::METRICS;
use crate::quantity::significant;
use crate::survey::rows::AnchorRow;

pub(super) fn paragraph(analysis: &Analysis, text: &mut Text) {
    text.paragraph("Measures");
    let s = &analysis.survey.settings;
    let edges = |edges: &[f64]| {
        let words: Vec<String> = edges.iter().map(|edge| edge.to_string()).collect();
        list(&words)
    };
    text.say(&format!(
        "Height strata were divided at {} m above ground, with legs cut at the edges; the animal \
         counted as off the ground above {} m.",
        edges(&s.strata_edges_m),
        significant(s.above_ground_m(), 2)
    ));
    let rows = || {
        let points = analysis.shown_paths().flat_map(|path| path.points.iter());
        points.map(|point| &analysis.survey.anchors[point.row])
    };
    let any = |has: fn(&AnchorRow) -> bool| rows().any(has);
    if any(|row| row.support.is_some() || row.leg_support.is_some()) {
        text.say(
            "A leg lay on the support noted for it, else on that of its two ends if they agreed; a \
             leg from one support to another was a crossing, a class of its own.",
        );
    }
    if any(|row| row.diameter_cm.is_some()) {
        let edges = edges(&s.diameter_edges_cm);
        text.say(&format!("Diameter classes were divided at {edges} cm."));
    }
    if any(|row| row.support_incline.is_some()) {
        let edges = edges(&s.incline_edges_deg);
        text.say(&format!("Classes of steepness were divided at {edges}° from level."));
    }
    indices(analysis, text);
    if analysis.wanted.draws > 0 && analysis.wanted.method.name() != "none" {
        text.say(&format!(
            "Intervals of single trails (95 %) came from the stated precisions by {} draws of each \
             path.",
            analysis.wanted.draws
        ));
    }
}

/// Each index that has a source and, on some trail, a value.
fn indices(analysis: &Analysis, text: &mut Text) {
    let wanted = METRICS.iter().filter(|entry| analysis.wanted.all_metrics || !entry.extended);
    let mut defined = Vec::new();
    for entry in wanted {
        let met = analysis
            .shown_paths()
            .any(|path| analysis.trails[path.trail].value(entry.metric, 0).is_some());
        let (Some(source), true) = (entry.source, met) else { continue };
        let name = entry.name.replace('_', " ");
        defined.push(format!(
            "{name}, the {} ({})",
            article_free(entry.meaning),
            text.cite(source)
        ));
    }
    if !defined.is_empty() {
        text.say(&format!("Indices with a formula of their own were {}.", defined.join("; ")));
    }
}

/// A meaning that begins with its own article loses it.
fn article_free(meaning: &str) -> &str {
    let bare = meaning.strip_prefix("its ").or(meaning.strip_prefix("the "));
    bare.unwrap_or(meaning)
}

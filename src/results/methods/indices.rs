//! Strata, classes and indices, with the sources of their formulas.

use super::{Text, space};
use crate::maths::quantity::short;
use crate::measures::metrics::Metric;
use crate::results::Analysis;
use crate::results::answer::list;
use crate::results::usage::halves_words;
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
        short(s.above_ground_m(), 2)
    ));
    let rows = || {
        let points = analysis.shown_paths().flat_map(|path| path.points.iter());
        points.map(|point| &analysis.survey.anchors[point.row])
    };
    let any = |has: fn(&AnchorRow) -> bool| rows().any(has);
    if any(|row| row.support.is_some() || row.leg_support.is_some()) {
        supports(analysis, text);
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
    space::sentences(analysis, text);
    if analysis.wanted.draws > 0 && analysis.wanted.method.name() != "none" {
        text.say(&format!(
            "Intervals of single trails{} (95 %) came from the stated precisions by {} draws of each \
             path.",
            space::and_home_areas(analysis),
            analysis.wanted.draws
        ));
    }
}

/// How the legs came to their supports.
fn supports(analysis: &Analysis, text: &mut Text) {
    let halves = halves_words(analysis, 0).map_or(String::new(), |words| format!(" ({words})"));
    text.say(&format!(
        "A leg counted for the support noted for it, else {}{halves}.",
        analysis.survey.settings.support_of_leg.counts_for()
    ));
    let mut legs = analysis.shown_paths().flat_map(|path| &path.legs);
    if legs.any(|leg| leg.counted && leg.support.is_crossing()) {
        text.say(
            "A leg off the ground from one tree or plant straight to another, with no support noted \
             for it, was a crossing, a class of its own.",
        );
    }
}

/// How an index was taken; `{}` stands for its source.
const INDICES: [(Metric, &str); 8] = [
    (Metric::Ascent, "Ascent and descent were corrected for measurement noise ({})."),
    (Metric::Straightness, "Straightness was net displacement over path length in space ({})."),
    (Metric::DailyHomeRange, "Daily home range was the area of the convex hull in plan ({})."),
    (
        Metric::IntensityOfUse,
        "Intensity of use was horizontal length over the square root of that area ({}).",
    ),
    (Metric::Sinuosity, "Sinuosity was that of turns and horizontal steps ({})."),
    (Metric::TurnResultant, "Turns in plan are given by their mean resultant length ({})."),
    (Metric::FractalDimension, "The fractal dimension was taken with dividers in plan ({})."),
    (
        Metric::CrwDeviation,
        "Squared net displacement was compared with that of a correlated random walk ({}).",
    ),
];

/// Each index that some trail has.
fn indices(analysis: &Analysis, text: &mut Text) {
    for (metric, sentence) in INDICES {
        let entry = metric.entry();
        let wanted = analysis.wanted.all_metrics || !entry.extended;
        let met = wanted
            && analysis
                .shown_paths()
                .any(|path| analysis.trails[path.trail].value(metric, 0).is_some());
        if let Some(source) = entry.source.filter(|_| met) {
            let source = text.cite(source);
            text.say(&sentence.replace("{}", &source));
        }
    }
}

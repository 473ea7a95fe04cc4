//! How the animals are, all together, in sentences.

use super::words::value;
use crate::analysis::comparison::GroupRow;
use crate::metrics::Metric;

/// How far an animal moved, how much of that above ground, and how high.
pub(super) fn sentences(groups: &[GroupRow]) -> Vec<String> {
    let whole = |metric, part, words: &str| one(groups, (metric, part), words);
    let far = whole(Metric::RatePerNight, 0, "moved {} along the thread a night")
        .or_else(|| whole(Metric::PathLength, 0, "moved {} along the thread"));
    let above = whole(Metric::AboveGroundShare, 1, "spent {} of its path above ground");
    let high = whole(Metric::HeightMax, 1, "reached {}");
    let after: Vec<String> = above.into_iter().chain(high).collect();
    let mut sentences = Vec::new();
    sentences.extend(far.map(|far| format!("On average an animal {far}.")));
    if !after.is_empty() {
        sentences.push(format!("After the escape run it {}.", after.join(" and ")));
    }
    sentences
}

/// A mean over all animals in its words, with its interval and n.
fn one(groups: &[GroupRow], (metric, part): (Metric, usize), words: &str) -> Option<String> {
    let own = |row: &&GroupRow| row.factor.is_empty() && row.metric == metric && row.part == part;
    let summary = &groups.iter().find(own)?.summary;
    let mean = value(metric, summary.mean?);
    let n = summary.animals;
    let doubt = match summary.mean_interval {
        Some([low, high]) => {
            let [low, high] = [value(metric, low), value(metric, high)];
            format!("95 % interval {low} to {high}, n = {n}")
        }
        None => format!("n = {n}"),
    };
    Some(format!("{} ({doubt})", words.replace("{}", &mean)))
}

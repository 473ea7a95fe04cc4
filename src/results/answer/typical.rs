//! How the animals are, all together, in sentences.

use super::words::{interval_of_value, value};
use crate::measures::metrics::Metric;
use crate::results::comparison::GroupRow;

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
    let n = summary.animals;
    let within = |ends: Option<[f64; 2]>| {
        let words = |ends| format!("95 % interval {}, ", interval_of_value(metric, ends));
        ends.map_or_else(String::new, words)
    };
    let mut mean = value(metric, summary.mean?);
    let doubt = match summary.restricted {
        // the plain mean of lower bounds is too low, and has no interval
        Some(restricted) => {
            mean = value(metric, restricted.mean);
            format!(
                "{}n = {n}, {} of them minimum values; restricted to {}",
                within(restricted.interval),
                summary.at_least,
                value(metric, restricted.bound),
            )
        }
        None => format!("{}n = {n}", within(summary.mean_interval)),
    };
    Some(format!("{} ({doubt})", words.replace("{}", &mean)))
}

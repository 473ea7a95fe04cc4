//! What is meant by a planned study of so many animals. All that cannot be is told at once.

use crate::cli::Failure;
use crate::cli::args::StudyArgs;
use crate::maths::statistics::power::Spread;
use crate::measures::metrics::{METRICS, Metric};
use crate::planning::study::{Animals, LEVEL, Question};
use crate::results::PART_NAMES;
use crate::results::comparison::has_mean;
use crate::survey::nearest;

/// Most animals of a group, or pairs, that are forecast: more than any study has.
const MOST_OF_A_GROUP: usize = 400;
const MOST_NIGHTS: usize = 1_000;
/// Most animals of one group for one of the other.
const MOST_RATIO: f64 = 30.0;

/// What is asked about, of which metric and part.
pub(in crate::cli) struct Study {
    pub(in crate::cli) question: Question,
    pub(in crate::cli) metric: Metric,
    pub(in crate::cli) part: usize,
    /// How animals differ; `None` where a pilot tells it.
    pub(in crate::cli) stated: Option<Spread>,
}

/// The study that is planned.
pub(in crate::cli) fn study(args: &StudyArgs, seed: u64) -> Result<Study, Failure> {
    let mut wrong = Vec::new();
    let metric = metric(&args.metric, &mut wrong);
    let animals = animals(args, &mut wrong);
    if !(1..=MOST_NIGHTS).contains(&args.nights) {
        wrong.push(format!("--nights takes 1 to {MOST_NIGHTS}"));
    }
    if args.difference.is_some_and(|d| !(d > 0.0 && d.is_finite())) {
        wrong.push("--difference wants a number above 0".to_owned());
    }
    if args.difference.is_none()
        && matches!(animals, Animals::FewestGroups(_) | Animals::FewestPairs)
    {
        wrong.push(
            "say how many --animals there will be (or --pairs), which --difference is to be found, or both"
                .to_owned(),
        );
    }
    if !(args.power > LEVEL && args.power < 1.0) {
        wrong.push(format!(
            "--power is a share of studies: above {LEVEL}, which chance alone finds, and below 1, like 0.8"
        ));
    }
    if args.by.is_some() && args.pilot.is_none() {
        wrong.push("--by names a column of a --pilot, and there is none".to_owned());
    }
    if args.sd_change.is_some() && args.pairs.is_none() {
        wrong.push("--sd-change is of the same animals at two times: --pairs".to_owned());
    }
    let stated = stated(args, &mut wrong);
    let (Some(metric), true) = (metric, wrong.is_empty()) else {
        return Err(Failure::Usage(wrong.join("; ")));
    };
    let &StudyArgs { nights, difference, power, .. } = args;
    let change = args.sd_change.unwrap_or(0.0);
    let question = Question { animals, nights, difference, power, change, seed };
    let part = PART_NAMES.iter().position(|name| *name == args.part).unwrap_or(0);
    Ok(Study { question, metric, part, stated })
}

fn metric(name: &str, wrong: &mut Vec<String>) -> Option<Metric> {
    let Some(entry) = METRICS.iter().find(|entry| entry.name == name) else {
        let meant = nearest(name, METRICS.iter().map(|entry| entry.name));
        wrong.push(match meant {
            Some(meant) => format!("there is no metric {name}; is {meant} meant?"),
            None => format!(
                "there is no metric {name}; docs/metrics.md names all, path_length among them"
            ),
        });
        return None;
    };
    if !has_mean(entry.metric) {
        wrong.push(format!("animals have no mean of {name} that groups could differ in"));
    }
    Some(entry.metric)
}

fn animals(args: &StudyArgs, wrong: &mut Vec<String>) -> Animals {
    if let Some(pairs) = args.pairs {
        if pairs.is_some_and(|pairs| !(2..=MOST_OF_A_GROUP).contains(&pairs)) {
            wrong.push(format!("--pairs takes 2 to {MOST_OF_A_GROUP} animals"));
        }
        return pairs.map_or(Animals::FewestPairs, Animals::Pairs);
    }
    match args.animals[..] {
        [] => {
            let ratio = args.ratio.unwrap_or(1.0);
            if !(1.0 / MOST_RATIO..=MOST_RATIO).contains(&ratio) {
                wrong.push(format!(
                    "--ratio wants the animals of the first group for one of the second, up to {MOST_RATIO}"
                ));
            }
            Animals::FewestGroups(1.0 / ratio)
        }
        [first, second] => {
            if ![first, second].iter().all(|n| (2..=MOST_OF_A_GROUP).contains(n)) {
                wrong.push(format!("--animals takes 2 to {MOST_OF_A_GROUP} animals in each group"));
            }
            Animals::Groups([first, second])
        }
        _ => {
            wrong.push("--animals wants two numbers, one for each group, like 10,5".to_owned());
            Animals::Groups([0, 0])
        }
    }
}

/// The spread, unless a pilot tells it.
fn stated(args: &StudyArgs, wrong: &mut Vec<String>) -> Option<Spread> {
    let all = [
        ("--sd-animals", args.sd_animals),
        ("--sd-nights", args.sd_nights),
        ("--sd-measurement", args.sd_measurement),
        ("--sd-change", args.sd_change),
    ];
    for (name, _) in
        all.iter().filter(|(_, sd)| sd.is_some_and(|sd| !(sd >= 0.0 && sd.is_finite())))
    {
        wrong.push(format!("{name} is a standard deviation: 0 or more"));
    }
    if args.pilot.is_some() {
        return None;
    }
    let paired = args.pairs.is_some();
    if args.sd_animals.is_none() && (!paired || args.sd_nights.is_none()) {
        let enough = if paired { "--sd-nights" } else { "--sd-animals" };
        wrong.push(format!("say how animals differ: by a --pilot, or by {enough}"));
    }
    Some(Spread {
        animal: args.sd_animals.unwrap_or(0.0),
        night: args.sd_nights,
        measurement: args.sd_measurement.unwrap_or(0.0),
    })
}

//! What was meant: arguments checked, all faults of usage at once.
//!
//! In: arguments as clap has read them. Out: what the library takes, or [`Failure::Usage`] in the
//! user's words, with the option that is meant.
//! Left out: whether files may be written (`output`).

mod before;
mod endings;
#[cfg(feature = "viewer")]
mod picture;
mod question;
mod study;

use super::Failure;
use super::args::{MetricsArg, SurveyArgs, WantedArgs};
use crate::adjustment::network::Network;
use crate::results::Wanted;
use crate::survey::Survey;
pub(super) use before::{LoadTable, load_table, planned, stated, wish};
pub(super) use endings::{EXPORTS, FIGURES, Format, figure_ending, format, is_zip};
#[cfg(feature = "viewer")]
pub(super) use picture::{is_png, pixels};
pub(super) use question::question;
pub(super) use study::{Study, study};

/// Most draws that make sense: standard errors are then right to a tenth of a per cent.
const MOST_DRAWS: usize = 1_000_000;

/// The `KEY=VALUE` pairs.
pub(super) fn overrides(set: &[String]) -> Result<Vec<(String, String)>, Failure> {
    let pair = |text: &String| {
        text.split_once('=').map(|(k, v)| (k.trim().to_owned(), v.trim().to_owned()))
    };
    let wrong: Vec<&str> = set.iter().filter(|s| pair(s).is_none()).map(|s| s.as_str()).collect();
    if wrong.is_empty() {
        return Ok(set.iter().filter_map(pair).collect());
    }
    Err(Failure::Usage(format!("--set wants KEY=VALUE, not {}", wrong.join(", "))))
}

/// How a survey is to be computed.
pub(super) fn wanted(args: &WantedArgs, survey: &SurveyArgs) -> Result<Wanted, Failure> {
    if args.draws > MOST_DRAWS {
        return Err(Failure::Usage(format!("--draws takes at most {MOST_DRAWS}")));
    }
    Ok(Wanted {
        method: args.method,
        compare_methods: false,
        draws: args.draws,
        seed: args.seed,
        all_metrics: args.metrics == MetricsArg::All,
        trails: survey.trails.clone(),
        hide_location: false,
    })
}

/// Every trail that is asked for exists.
pub(super) fn trails_exist(
    args: &SurveyArgs,
    survey: &Survey,
    network: &Network,
) -> Result<(), Failure> {
    let known: Vec<&str> = network.trails.iter().map(|trail| survey.text(trail.name)).collect();
    let unknown: Vec<&str> =
        args.trails.iter().map(String::as_str).filter(|name| !known.contains(name)).collect();
    if unknown.is_empty() {
        return Ok(());
    }
    let some: Vec<&str> = known.iter().take(12).copied().collect();
    let more = if known.len() > some.len() { " …" } else { "" };
    Err(Failure::Usage(format!(
        "no trail {}; the survey has {}{more}",
        unknown.join(", "),
        some.join(", ")
    )))
}

//! What was meant: arguments checked, all faults of usage at once.

use super::Failure;
use super::args::{MethodArg, MetricsArg, RebuildArgs, SurveyArgs};
use crate::adjust::Method;
use crate::analysis::Wanted;
use crate::network::Network;
use crate::survey::Survey;

/// Most draws that make sense: standard errors are then right to a tenth of a per cent.
const MOST_DRAWS: usize = 1_000_000;

/// The `KEY=VALUE` pairs.
pub(super) fn overrides(args: &SurveyArgs) -> Result<Vec<(String, String)>, Failure> {
    let pair = |text: &String| {
        text.split_once('=').map(|(k, v)| (k.trim().to_owned(), v.trim().to_owned()))
    };
    let wrong: Vec<&str> =
        args.set.iter().filter(|s| pair(s).is_none()).map(|s| s.as_str()).collect();
    if wrong.is_empty() {
        return Ok(args.set.iter().filter_map(pair).collect());
    }
    Err(Failure::Usage(format!("--set wants KEY=VALUE, not {}", wrong.join(", "))))
}

/// What a rebuild is asked for.
pub(super) fn wanted(args: &RebuildArgs) -> Result<Wanted, Failure> {
    if args.draws > MOST_DRAWS {
        return Err(Failure::Usage(format!("--draws takes at most {MOST_DRAWS}")));
    }
    Ok(Wanted {
        method: match args.method {
            MethodArg::LeastSquares => Method::LeastSquares,
            MethodArg::None => Method::None,
        },
        draws: args.draws,
        seed: args.seed,
        all_metrics: args.metrics == MetricsArg::All,
        trails: args.survey.trails.clone(),
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

//! What is to be compared.

use crate::cli::Failure;
use crate::cli::args::CompareArgs;
use crate::results::Analysis;
use crate::results::question::Question;
use crate::survey::settings::Asked;

/// What the command line asks; what `survey.toml` asks, where it asks nothing.
pub(in crate::cli) fn question(
    args: &CompareArgs,
    analysis: &Analysis,
) -> Result<Question, Failure> {
    if args.direction.is_some_and(|degrees| !degrees.is_finite()) {
        return Err(Failure::Usage("--direction wants degrees from true north".into()));
    }
    let own = Asked {
        by: args.by.clone(),
        with: args.with.clone(),
        pairs: args.pairs.clone(),
        within: args.within.clone(),
        direction_deg: args.direction,
    };
    let asked = if own.is_nothing() { &analysis.survey.settings.compare } else { &own };
    let (question, problems) = Question::of(analysis, asked);
    if problems.is_empty() { Ok(question) } else { Err(Failure::Usage(problems.join("; "))) }
}

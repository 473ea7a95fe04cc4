//! What several commands take.

use crate::adjustment::Method;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Options that commands share stand after their own.
const SHARED: usize = 100;

/// What is printed.
#[derive(Clone, Debug, Args)]
pub(in crate::cli) struct PrintArgs {
    /// Print nothing but errors
    #[arg(long, display_order = SHARED)]
    pub(in crate::cli) quiet: bool,
    /// Print the result as JSON
    #[arg(long, display_order = SHARED)]
    pub(in crate::cli) json: bool,
}

/// What every command on a survey takes.
#[derive(Clone, Debug, Args)]
pub(in crate::cli) struct SurveyArgs {
    /// The folder with the survey's tables, or its workbook (.xlsx, .ods)
    pub(in crate::cli) survey: PathBuf,
    /// Only this trail (may be given more than once)
    #[arg(long = "trail", value_name = "NAME", display_order = SHARED)]
    pub(in crate::cli) trails: Vec<String>,
    /// Set anything that survey.toml can say, by its name or dotted path (may be given more than
    /// once)
    #[arg(long = "set", value_name = "KEY=VALUE", display_order = SHARED)]
    pub(in crate::cli) set: Vec<String>,
    #[command(flatten)]
    pub(in crate::cli) print: PrintArgs,
}

/// How a survey is computed.
#[derive(Debug, Args)]
pub(in crate::cli) struct WantedArgs {
    /// How positions are found
    #[arg(long, value_enum, default_value_t = Method::LeastSquares)]
    pub(in crate::cli) method: Method,
    /// How many paths are drawn for the intervals: more make them steadier, 0 leaves them out
    #[arg(long, value_name = "N", default_value_t = 1000)]
    pub(in crate::cli) draws: usize,
    /// Where the random numbers begin: same seed, same results
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(in crate::cli) seed: u64,
    /// Which metrics: all adds the less common ones
    #[arg(long, value_enum, default_value_t = MetricsArg::Usual)]
    pub(in crate::cli) metrics: MetricsArg,
}

/// Which metrics are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(in crate::cli) enum MetricsArg {
    /// Those that most studies report
    Usual,
    /// All there are
    All,
}

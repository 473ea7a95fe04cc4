//! What each command on a survey takes.

use super::shared::{SurveyArgs, WantedArgs};
use crate::cli::options::{EXPORTS, FIGURES};
use crate::products::figure::{KINDS, Width};
use clap::builder::{PossibleValue, PossibleValuesParser};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

#[derive(Debug, Args)]
pub(in crate::cli) struct CheckArgs {
    #[command(flatten)]
    pub(in crate::cli) survey: SurveyArgs,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct RebuildArgs {
    #[command(flatten)]
    pub(in crate::cli) survey: SurveyArgs,
    /// The folder for the results (default: SURVEY-results, beside the survey)
    #[arg(long, value_name = "DIR")]
    pub(in crate::cli) out: Option<PathBuf>,
    /// Write the result tables only: no figures, report or methods text
    #[arg(long)]
    pub(in crate::cli) tables_only: bool,
    /// Also write `methods_compared.csv`: every metric by all four methods, side by side
    #[arg(long)]
    pub(in crate::cli) compare_methods: bool,
    #[command(flatten)]
    pub(in crate::cli) wanted: WantedArgs,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct CompareArgs {
    #[command(flatten)]
    pub(in crate::cli) survey: SurveyArgs,
    /// Compare groups by this column of the animals or trails (may be given more than once)
    #[arg(long, value_name = "COLUMN")]
    pub(in crate::cli) by: Vec<String>,
    /// Relate to the numbers in this column (may be given more than once)
    #[arg(long, value_name = "COLUMN")]
    pub(in crate::cli) with: Vec<String>,
    /// Compare the same animals in two states that this column names; night counts an animal's own
    /// trails
    #[arg(long, value_name = "COLUMN[=A,B]")]
    pub(in crate::cli) pairs: Option<String>,
    /// Shuffle labels only among animals alike in this column, such as one stand
    #[arg(long, value_name = "COLUMN", requires = "by")]
    pub(in crate::cli) within: Option<String>,
    /// Test whether animals head this way, degrees from true north
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true)]
    pub(in crate::cli) direction: Option<f64>,
    #[command(flatten)]
    pub(in crate::cli) wanted: WantedArgs,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct FigureArgs {
    #[command(flatten)]
    pub(in crate::cli) survey: SurveyArgs,
    /// What is shown
    #[arg(value_parser = PossibleValuesParser::new(kinds()))]
    pub(in crate::cli) kind: String,
    /// The file to write; its ending, .svg, .pdf or .png, says the format; - prints the figure
    #[arg(long, value_name = "FILE")]
    pub(in crate::cli) out: PathBuf,
    /// The format of what has no ending, such as - or a pipe (default: svg)
    #[arg(long, value_name = "ENDING", value_parser = PossibleValuesParser::new(FIGURES))]
    pub(in crate::cli) format: Option<String>,
    /// Millimetres across: one column of a journal, one and a half, or the page
    #[arg(long, value_enum, default_value_t = Width::Wide)]
    pub(in crate::cli) width: Width,
    #[command(flatten)]
    pub(in crate::cli) wanted: WantedArgs,
}

/// The kinds of figure, with what each shows.
fn kinds() -> Vec<PossibleValue> {
    KINDS.iter().map(|(_, name, shows)| PossibleValue::new(name).help(shows)).collect()
}

#[derive(Debug, Args)]
pub(in crate::cli) struct ExportArgs {
    #[command(flatten)]
    pub(in crate::cli) survey: SurveyArgs,
    /// The file to write; its ending says the format; - prints it
    #[arg(long, value_name = "FILE")]
    pub(in crate::cli) out: PathBuf,
    /// The format of what has no ending, such as - or a pipe (default: csv)
    #[arg(long, value_name = "ENDING", value_parser = PossibleValuesParser::new(EXPORTS))]
    pub(in crate::cli) format: Option<String>,
    #[command(flatten)]
    pub(in crate::cli) wanted: WantedArgs,
}

/// What `archive` takes.
#[derive(Debug, Args)]
pub(in crate::cli) struct ArchiveArgs {
    #[command(flatten)]
    pub(in crate::cli) survey: SurveyArgs,
    /// The file, whose ending is .zip; - prints it
    #[arg(long, value_name = "FILE")]
    pub(in crate::cli) out: PathBuf,
    /// Under which others may use the data, like CC-BY-4.0 (else licence in survey.toml)
    #[arg(long, value_name = "TEXT")]
    pub(in crate::cli) licence: Option<String>,
    /// Leave out where on the globe the survey lies
    #[arg(long)]
    pub(in crate::cli) hide_location: bool,
    #[command(flatten)]
    pub(in crate::cli) wanted: WantedArgs,
}

#[derive(Debug, Args)]
pub(in crate::cli) struct ViewArgs {
    #[command(flatten)]
    pub(in crate::cli) survey: SurveyArgs,
    /// Write one picture into this file, .png, and open no window
    #[arg(long, value_name = "FILE")]
    pub(in crate::cli) snapshot: Option<PathBuf>,
    /// Pixels across and down of the picture
    #[arg(long, value_name = "WxH", default_value = "1600x1000", requires = "snapshot")]
    pub(in crate::cli) size: String,
    /// From where
    #[arg(long, value_enum, default_value_t = LookArg::Oblique)]
    pub(in crate::cli) look: LookArg,
    /// What colours say
    #[arg(long, value_enum, default_value_t = ColourArg::Height)]
    pub(in crate::cli) colour: ColourArg,
}

/// The six looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(in crate::cli) enum LookArg {
    /// From above, north up
    Plan,
    /// Looking north, level
    North,
    /// Looking east, level
    East,
    /// Looking south, level
    South,
    /// Looking west, level
    West,
    /// Aslant from above
    Oblique,
}

/// What colours say.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(in crate::cli) enum ColourArg {
    /// Height above ground, by strata
    Height,
    /// Which trail it is
    Trail,
    /// What the leg lies on
    Support,
    /// The group of the animal
    Group,
    /// One standard deviation in space
    Uncertainty,
    /// From one place the animal was seen to the next
    Section,
}

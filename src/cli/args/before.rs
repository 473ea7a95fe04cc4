//! What is typed before the field: a survey is begun, a load weighed, a plan tried.

use super::shared::PrintArgs;
use super::study::{OF_A_STUDY, StudyArgs};
use crate::adjustment::slip::Slip;
use crate::planning::truth::Habit;
use crate::products::sheet::Paper;
use clap::Args;
use std::path::PathBuf;

/// What `new` takes.
#[derive(Debug, Args)]
pub(in crate::cli) struct NewArgs {
    /// The folder to make; one that is there must be empty
    pub(in crate::cli) dir: PathBuf,
    /// The columns to have: headings of the anchors, or TABLE.HEADING; with + or - in front they
    /// are added to the usual ones, or taken away
    #[arg(long, value_name = "LIST", value_delimiter = ',', allow_hyphen_values = true)]
    pub(in crate::cli) columns: Vec<String>,
    /// The words that a column may hold in this study (may be given more than once)
    #[arg(long, value_name = "HEADING=WORD,WORD")]
    pub(in crate::cli) codes: Vec<String>,
    /// The paper of the field sheet
    #[arg(long, value_enum, default_value_t = Paper::A4)]
    pub(in crate::cli) paper: Paper,
    #[command(flatten)]
    pub(in crate::cli) print: PrintArgs,
}

/// Who carries what.
#[derive(Debug, Args)]
pub(in crate::cli) struct LoadArgs {
    /// The folder of a survey, for all its animals; its anchors may still be missing
    #[arg(required_unless_present = "body", conflicts_with_all = ["body", "device", "bobbin", "days"])]
    pub(in crate::cli) survey: Option<PathBuf>,
    /// Body mass of one animal, grams
    #[arg(long, value_name = "G")]
    pub(in crate::cli) body: Option<f64>,
    /// Mass of the whole device with a full bobbin, grams
    #[arg(long, value_name = "G")]
    pub(in crate::cli) device: Option<f64>,
    /// Mass of the full bobbin, a part of the device, grams
    #[arg(long, value_name = "G", requires = "device")]
    pub(in crate::cli) bobbin: Option<f64>,
    /// How many days it is to carry the device
    #[arg(long, value_name = "N")]
    pub(in crate::cli) days: Option<f64>,
    /// Metres of thread that you want on the bobbin
    #[arg(long, value_name = "M")]
    pub(in crate::cli) metres: Option<f64>,
    /// The table's body masses, grams
    #[arg(long, value_name = "LOW-HIGH")]
    pub(in crate::cli) masses: Option<String>,
    /// A column of the table, per cent of body mass (may be given more than once)
    #[arg(long = "share", value_name = "PERCENT")]
    pub(in crate::cli) shares: Vec<f64>,
    /// Set anything that survey.toml can say, by its name or dotted path
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub(in crate::cli) set: Vec<String>,
    #[command(flatten)]
    pub(in crate::cli) print: PrintArgs,
}

/// What a planned survey is like.
#[derive(Debug, Args)]
pub(in crate::cli) struct ForecastArgs {
    /// A table of planned legs: CSV with the columns `legs`, `length_m` and `on` (`ground`,
    /// `trunk_up`, `trunk_down`, `branch`)
    #[arg(conflicts_with = "sketch", conflicts_with_all = OF_A_STUDY)]
    pub(in crate::cli) plan: Option<PathBuf>,
    /// The plan in words, such as "12 legs of 3 m, 4 of them up a trunk"
    #[arg(long, value_name = "WORDS", conflicts_with_all = OF_A_STUDY)]
    pub(in crate::cli) sketch: Option<String>,
    /// The most ties a trail; the forecast shows what each one buys
    #[arg(long, value_name = "N", default_value_t = 2, conflicts_with_all = OF_A_STUDY)]
    pub(in crate::cli) ties: usize,
    /// How much animals differ among themselves, one standard deviation, per cent of the mean
    #[arg(long, value_name = "PERCENT", default_value_t = 40.0, conflicts_with_all = OF_A_STUDY)]
    pub(in crate::cli) spread: f64,
    /// How many surveys are made up for each number of ties
    #[arg(long, value_name = "N", default_value_t = 500, conflicts_with_all = OF_A_STUDY)]
    pub(in crate::cli) surveys: usize,
    /// Where the random numbers begin: same seed, same forecast
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(in crate::cli) seed: u64,
    #[command(flatten)]
    pub(in crate::cli) instruments: InstrumentArgs,
    #[command(flatten)]
    pub(in crate::cli) study: StudyArgs,
    #[command(flatten)]
    pub(in crate::cli) print: PrintArgs,
}

/// What a made-up survey is like.
#[derive(Debug, Args)]
pub(in crate::cli) struct SimulateArgs {
    /// The folder for the made-up survey; it must not exist yet, or be empty
    pub(in crate::cli) dir: PathBuf,
    /// How the animals move
    #[arg(long, value_enum, default_value_t = Habit::Mixed)]
    pub(in crate::cli) habit: Habit,
    /// How many trails
    #[arg(long, value_name = "N", default_value_t = 3)]
    pub(in crate::cli) trails: usize,
    /// Anchors a trail
    #[arg(long, value_name = "N", default_value_t = 40)]
    pub(in crate::cli) anchors: usize,
    /// Ties a trail
    #[arg(long, value_name = "N", default_value_t = 2)]
    pub(in crate::cli) ties: usize,
    /// Put one slip of this kind into each trail (may be given more than once)
    #[arg(long = "slip", value_enum, value_name = "KIND")]
    pub(in crate::cli) slips: Vec<Slip>,
    /// Where the random numbers begin: same seed, same survey
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(in crate::cli) seed: u64,
    #[command(flatten)]
    pub(in crate::cli) instruments: InstrumentArgs,
    /// Print nothing but errors
    #[arg(long)]
    pub(in crate::cli) quiet: bool,
}

/// The instruments of a survey that is not made yet.
#[derive(Debug, Args)]
pub(in crate::cli) struct InstrumentArgs {
    /// Read the incline of each leg as well
    #[arg(long)]
    pub(in crate::cli) clinometer: bool,
    /// The precision of an instrument, by its name in survey.toml
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub(in crate::cli) set: Vec<String>,
}

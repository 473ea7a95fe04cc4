//! What is typed to forecast how many animals a study takes.

use crate::results::PART_NAMES;
use clap::Args;
use std::path::PathBuf;

/// What belongs to a study: none of it goes with a plan of legs.
pub(super) const OF_A_STUDY: [&str; 14] = [
    "pilot",
    "by",
    "metric",
    "part",
    "animals",
    "pairs",
    "nights",
    "difference",
    "power",
    "ratio",
    "sd_animals",
    "sd_nights",
    "sd_measurement",
    "sd_change",
];

/// A planned study of two groups, or of the same animals twice, and how animals differ.
#[derive(Debug, Args)]
#[expect(clippy::option_option, reason = "--pairs is absent, stands alone, or has a number")]
#[command(next_help_heading = "How many animals, instead of a plan")]
pub(in crate::cli) struct StudyArgs {
    /// A survey that has been made (folder or workbook): how its animals and nights differ
    #[arg(long, value_name = "SURVEY")]
    pub(in crate::cli) pilot: Option<PathBuf>,
    /// The column of the pilot's animals that divides them into two groups
    #[arg(long, value_name = "COLUMN", conflicts_with = "pairs")]
    pub(in crate::cli) by: Option<String>,
    /// The metric, by its name in the results
    #[arg(long, value_name = "NAME", default_value = "path_length")]
    pub(in crate::cli) metric: String,
    /// The part of the trails
    #[arg(long, value_parser = PART_NAMES, default_value = PART_NAMES[0])]
    pub(in crate::cli) part: String,
    /// Animals of each group, like 10,5; without them the fewest that do are looked for
    #[arg(long, value_name = "N,N", value_delimiter = ',', conflicts_with_all = ["pairs", "ratio"])]
    pub(in crate::cli) animals: Vec<usize>,
    /// The same animals at two times: how many, or alone for the fewest that do
    #[arg(long, value_name = "N", num_args = 0..=1, conflicts_with = "ratio")]
    pub(in crate::cli) pairs: Option<Option<usize>>,
    /// Nights of each animal; with --pairs at each time
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(in crate::cli) nights: usize,
    /// The true difference that is to be found, in the unit of the metric
    #[arg(long, value_name = "VALUE", allow_negative_numbers = true)]
    pub(in crate::cli) difference: Option<f64>,
    /// The share of studies that are to find it
    #[arg(long, value_name = "SHARE", default_value_t = 0.8, allow_negative_numbers = true)]
    pub(in crate::cli) power: f64,
    /// Animals of the first group for one of the second, where the fewest are looked for (1 if not
    /// given)
    #[arg(long, value_name = "RATIO", allow_negative_numbers = true)]
    pub(in crate::cli) ratio: Option<f64>,
    /// Without a pilot: how much animals of one group differ, one standard deviation of their means
    /// over many nights, in the unit of the metric
    #[arg(long, value_name = "SD", allow_negative_numbers = true, conflicts_with = "pilot")]
    pub(in crate::cli) sd_animals: Option<f64>,
    /// The same of the nights of one animal; if not given it is part of --sd-animals
    #[arg(long, value_name = "SD", allow_negative_numbers = true, conflicts_with = "pilot")]
    pub(in crate::cli) sd_nights: Option<f64>,
    /// The same by measurement, of one night
    #[arg(long, value_name = "SD", allow_negative_numbers = true, conflicts_with = "pilot")]
    pub(in crate::cli) sd_measurement: Option<f64>,
    /// With --pairs: how much animals differ in their true change (0 if not given, the best case)
    #[arg(long, value_name = "SD", allow_negative_numbers = true)]
    pub(in crate::cli) sd_change: Option<f64>,
}

impl StudyArgs {
    /// Whether a study is asked about, and not a plan of legs.
    pub(in crate::cli) fn is_asked(&self) -> bool {
        self.pilot.is_some()
            || self.sd_animals.is_some()
            || self.sd_nights.is_some()
            || self.sd_measurement.is_some()
            || !self.animals.is_empty()
            || self.pairs.is_some()
            || self.difference.is_some()
    }
}

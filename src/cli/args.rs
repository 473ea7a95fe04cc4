//! What was typed.

use crate::figure::KINDS;
use clap::builder::{PossibleValue, PossibleValuesParser};
use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::PathBuf;

/// Options that commands share stand after their own.
const SHARED: usize = 100;

/// Rebuilds the 3D path of a small climbing animal from the thread it trailed behind it.
#[derive(Debug, Parser)]
#[command(
    name = "perchline",
    version,
    about,
    max_term_width = 100,
    after_help = "Begin with: perchline new my-survey\n\
        Each command explains itself: perchline rebuild --help"
)]
pub(super) struct Arguments {
    #[command(subcommand)]
    pub(super) command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub(super) enum Command {
    /// Start a survey: field sheet to print, workbook, tables and settings, each explained
    #[command(after_help = "Examples:\n  perchline new my-survey\n  \
        perchline new my-survey --columns=+plant,-from,+trails.rain_mm\n  \
        perchline new my-survey --columns tape_ft,bearing_point,height_ft --paper letter\n  \
        perchline new my-survey --codes support=litter,log,trunk --codes plant=beech,fir\n\n\
        Exit status: 0 done, 2 wrong usage, 3 the machine failed.")]
    New(NewArgs),
    /// Before the field: what share of its mass an animal carries, and how much thread it may
    #[command(after_help = "Examples:\n  perchline load demo/dormice\n  \
        perchline load --body 110 --device 4.5 --bobbin 2.3 --metres 250\n  \
        perchline load --body 34 --device 1.6 --bobbin 0.9 --set load_percent=3 \
        --set thread_g_per_m=0.011\n\n\
        Limits are settings: limits.load_percent, limits.days, bobbin.thread_g_per_m. Your permit,\n\
        ethics committee and vet decide, not this table.\n\
        Exit status: 0 done, 1 the survey has errors, 2 wrong usage, 3 the machine failed.")]
    Load(LoadArgs),
    /// Before the field: how precise a planned survey will be, and what each tie buys
    #[command(after_help = "Examples:\n  perchline forecast demo/plan.csv --ties 2\n  \
        perchline forecast --sketch \"12 legs of 3 m, 4 of them up a trunk\"\n\n\
        Exit status: 0 done, 2 wrong usage, 3 the machine failed.")]
    Forecast(ForecastArgs),
    /// Make up a survey whose truth is known, for a course or to try what check finds
    #[command(after_help = "Example: perchline simulate practice --habit mixed --trails 3 \
        --slip reversed_needle\n\n\
        The truth, slips included, is written to truth.csv beside the \
        tables.\nExit status: 0 done, 2 wrong usage, 3 the machine failed.")]
    Simulate(SimulateArgs),
    /// Find every slip in the tables, and how well the trails close; writes nothing
    #[command(after_help = "Example: perchline check demo/dormice-as-written\n\n\
        Exit status: 0 no errors, 1 the survey has errors, 2 wrong usage, 3 the machine failed.")]
    Check(CheckArgs),
    /// Check, adjust and measure a survey; write tables, figures, report and methods text
    #[command(after_help = "Examples:\n  perchline rebuild demo/dormice\n  \
        perchline rebuild demo/dormice --trail D01 --out d01 --set bearing_deg=3\n\n\
        Exit status: 0 done, 1 the survey has errors, 2 wrong usage, 3 the machine failed.")]
    Rebuild(RebuildArgs),
    /// Compare animals: by group, against a number, or the same animals in two states
    #[command(after_help = "Examples:\n  perchline compare demo/dormice --by sex\n  \
        perchline compare demo/dormice --by sex --within stand\n  \
        perchline compare demo/dormice --with rain_mm\n  \
        perchline compare demo/dormice --pairs night=1,2\n  \
        perchline compare demo/dormice --direction 140\n\n\
        The animal is the unit: the trails of each are averaged first.\n\
        Exit status: 0 done, 1 the survey has errors, 2 wrong usage, 3 the machine failed.")]
    Compare(CompareArgs),
    /// Draw one figure as SVG, PDF or PNG
    #[command(after_help = "Examples:\n  perchline figure demo/dormice plan --out plan.pdf\n  \
        perchline figure demo/dormice profile --trail D15 --width 174 --out d15.svg\n\n\
        Exit status: 0 done, 1 the survey has errors or does not hold what the figure shows, \
        2 wrong usage, 3 the machine failed.")]
    Figure(FigureArgs),
    /// Write the paths for a map program, a GPS receiver, a 3D program or a spreadsheet
    #[command(after_help = "Examples:\n  perchline export demo/dormice --out dormice.gpkg\n  \
        perchline export demo/dormice --trail D01 --out D01.glb\n\n\
        The ending says the format: .gpkg, .geojson, .kml and .gpx are map layers in WGS 84; .csv\n\
        has one row an anchor; .glb is a solid of tubes coloured by height, in metres, y up. A trail\n\
        without a known position is in .csv and .glb only.\n\
        Exit status: 0 done, 1 the survey has errors, 2 wrong usage, 3 the machine failed.")]
    Export(ExportArgs),
    /// Put inputs, results and their description into one file for a repository
    #[command(
        after_help = "Examples:\n  perchline archive demo/dormice --out dormice.zip --licence CC-BY-4.0\n  \
        perchline archive demo/dormice --out dormice.zip --hide-location\n\n\
        Inputs stand in it byte for byte, with checksums. --hide-location leaves local metres only:\n\
        every column and text that tells the place is left out and named, the site is rounded.\n\
        Exit status: 0 done, 1 the survey has errors, 2 wrong usage, 3 the machine failed."
    )]
    Archive(ArchiveArgs),
    /// Open the paths in space, and follow the tables as they are edited
    #[command(after_help = "Examples:\n  perchline view demo/dormice\n  \
        perchline view demo/dormice --trail D01 --snapshot d01.png --size 1600x1000 --look east\n\n\
        The window follows the files: save a table, and the path changes. ? shows all keys.\n\
        --snapshot needs no display. Either needs a Vulkan driver; figure and rebuild need none.\n\
        Exit status: 0 done, 1 the survey has errors, 2 wrong usage, 3 the machine failed.")]
    View(ViewArgs),
}

/// What `new` takes.
#[derive(Debug, Args)]
pub(super) struct NewArgs {
    /// The folder to make; one that is there must be empty
    pub(super) dir: PathBuf,
    /// The columns to have: headings of the anchors, or TABLE.HEADING; with + or - in front they
    /// are added to the usual ones, or taken away
    #[arg(long, value_name = "LIST", value_delimiter = ',', allow_hyphen_values = true)]
    pub(super) columns: Vec<String>,
    /// The words that a column may hold in this study (may be given more than once)
    #[arg(long, value_name = "HEADING=WORD,WORD")]
    pub(super) codes: Vec<String>,
    /// The paper of the field sheet
    #[arg(long, value_enum, default_value_t = PaperArg::A4)]
    pub(super) paper: PaperArg,
    #[command(flatten)]
    pub(super) print: PrintArgs,
}

/// The paper of the field sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum PaperArg {
    /// 210 × 297 mm
    A4,
    /// 8.5 × 11 inches
    Letter,
}

/// What is printed.
#[derive(Clone, Debug, Args)]
pub(super) struct PrintArgs {
    /// Print nothing but errors
    #[arg(long, display_order = SHARED)]
    pub(super) quiet: bool,
    /// Print the result as JSON
    #[arg(long, display_order = SHARED)]
    pub(super) json: bool,
}

/// The instruments of a survey that is not made yet.
#[derive(Debug, Args)]
pub(super) struct InstrumentArgs {
    /// Read the incline of each leg as well
    #[arg(long)]
    pub(super) clinometer: bool,
    /// The precision of an instrument, by its name in survey.toml
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub(super) set: Vec<String>,
}

/// What every command on a survey takes.
#[derive(Clone, Debug, Args)]
pub(super) struct SurveyArgs {
    /// The folder with the survey's tables, or its workbook (.xlsx, .ods)
    pub(super) survey: PathBuf,
    /// Only this trail (may be given more than once)
    #[arg(long = "trail", value_name = "NAME", display_order = SHARED)]
    pub(super) trails: Vec<String>,
    /// Set anything that survey.toml can say, by its name or dotted path (may be given more than
    /// once)
    #[arg(long = "set", value_name = "KEY=VALUE", display_order = SHARED)]
    pub(super) set: Vec<String>,
    #[command(flatten)]
    pub(super) print: PrintArgs,
}

#[derive(Debug, Args)]
pub(super) struct ViewArgs {
    #[command(flatten)]
    pub(super) survey: SurveyArgs,
    /// Write one picture into this file, .png, and open no window
    #[arg(long, value_name = "FILE")]
    pub(super) snapshot: Option<PathBuf>,
    /// Pixels across and down of the picture
    #[arg(long, value_name = "WxH", default_value = "1600x1000", requires = "snapshot")]
    pub(super) size: String,
    /// From where
    #[arg(long, value_enum, default_value_t = LookArg::Oblique)]
    pub(super) look: LookArg,
    /// What colours say
    #[arg(long, value_enum, default_value_t = ColourArg::Height)]
    pub(super) colour: ColourArg,
}

/// The six looks.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum LookArg {
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
pub(super) enum ColourArg {
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

#[derive(Debug, Args)]
pub(super) struct CheckArgs {
    #[command(flatten)]
    pub(super) survey: SurveyArgs,
}

#[derive(Debug, Args)]
pub(super) struct RebuildArgs {
    #[command(flatten)]
    pub(super) survey: SurveyArgs,
    /// The folder for the results (default: SURVEY-results, beside the survey)
    #[arg(long, value_name = "DIR")]
    pub(super) out: Option<PathBuf>,
    /// Write the result tables only: no figures, report or methods text
    #[arg(long)]
    pub(super) tables_only: bool,
    /// Also write `methods_compared.csv`: every metric by all four methods, side by side
    #[arg(long)]
    pub(super) compare_methods: bool,
    #[command(flatten)]
    pub(super) wanted: WantedArgs,
}

/// How a survey is computed.
#[derive(Debug, Args)]
pub(super) struct WantedArgs {
    /// How positions are found
    #[arg(long, value_enum, default_value_t = MethodArg::LeastSquares)]
    pub(super) method: MethodArg,
    /// How many paths are drawn for the intervals: more make them steadier, 0 leaves them out
    #[arg(long, value_name = "N", default_value_t = 1000)]
    pub(super) draws: usize,
    /// Where the random numbers begin: same seed, same results
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
    /// Which metrics: all adds the less common ones
    #[arg(long, value_enum, default_value_t = MetricsArg::Usual)]
    pub(super) metrics: MetricsArg,
}

#[derive(Debug, Args)]
pub(super) struct FigureArgs {
    #[command(flatten)]
    pub(super) survey: SurveyArgs,
    /// What is shown
    #[arg(value_parser = PossibleValuesParser::new(kinds()))]
    pub(super) kind: String,
    /// The file to write; its ending, .svg, .pdf or .png, says the format
    #[arg(long, value_name = "FILE")]
    pub(super) out: PathBuf,
    /// Millimetres across: one column of a journal, one and a half, or the page
    #[arg(long, value_enum, default_value_t = WidthArg::Wide)]
    pub(super) width: WidthArg,
    #[command(flatten)]
    pub(super) wanted: WantedArgs,
}

/// What `archive` takes.
#[derive(Debug, Args)]
pub(super) struct ArchiveArgs {
    #[command(flatten)]
    pub(super) survey: SurveyArgs,
    /// The file, whose ending is .zip
    #[arg(long, value_name = "FILE")]
    pub(super) out: PathBuf,
    /// Under which others may use the data, like CC-BY-4.0 (else licence in survey.toml)
    #[arg(long, value_name = "TEXT")]
    pub(super) licence: Option<String>,
    /// Leave out where on the globe the survey lies
    #[arg(long)]
    pub(super) hide_location: bool,
    #[command(flatten)]
    pub(super) wanted: WantedArgs,
}

/// The kinds of figure, with what each shows.
fn kinds() -> Vec<PossibleValue> {
    KINDS.iter().map(|(_, name, shows)| PossibleValue::new(name).help(shows)).collect()
}

/// The widths of a journal.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum WidthArg {
    /// One column
    #[value(name = "85")]
    Narrow,
    /// One column and a half
    #[value(name = "120")]
    Middle,
    /// The page
    #[value(name = "174")]
    Wide,
}

#[derive(Debug, Args)]
pub(super) struct CompareArgs {
    #[command(flatten)]
    pub(super) survey: SurveyArgs,
    /// Compare groups by this column of the animals or trails (may be given more than once)
    #[arg(long, value_name = "COLUMN")]
    pub(super) by: Vec<String>,
    /// Relate to the numbers in this column (may be given more than once)
    #[arg(long, value_name = "COLUMN")]
    pub(super) with: Vec<String>,
    /// Compare the same animals in two states that this column names; night counts an animal's own
    /// trails
    #[arg(long, value_name = "COLUMN[=A,B]")]
    pub(super) pairs: Option<String>,
    /// Shuffle labels only among animals alike in this column, such as one stand
    #[arg(long, value_name = "COLUMN", requires = "by")]
    pub(super) within: Option<String>,
    /// Test whether animals head this way, degrees from true north
    #[arg(long, value_name = "DEGREES", allow_negative_numbers = true)]
    pub(super) direction: Option<f64>,
    #[command(flatten)]
    pub(super) wanted: WantedArgs,
}

/// What a planned survey is like.
#[derive(Debug, Args)]
pub(super) struct ForecastArgs {
    /// A table of planned legs: CSV with the columns `legs`, `length_m` and `on` (`ground`,
    /// `trunk_up`, `trunk_down`, `branch`)
    #[arg(required_unless_present = "sketch", conflicts_with = "sketch")]
    pub(super) plan: Option<PathBuf>,
    /// The plan in words, such as "12 legs of 3 m, 4 of them up a trunk"
    #[arg(long, value_name = "WORDS")]
    pub(super) sketch: Option<String>,
    /// The most ties a trail; the forecast shows what each one buys
    #[arg(long, value_name = "N", default_value_t = 2)]
    pub(super) ties: usize,
    /// How much animals differ among themselves, one standard deviation, per cent of the mean
    #[arg(long, value_name = "PERCENT", default_value_t = 40.0)]
    pub(super) spread: f64,
    /// How many surveys are made up for each number of ties
    #[arg(long, value_name = "N", default_value_t = 500)]
    pub(super) surveys: usize,
    /// Where the random numbers begin: same seed, same forecast
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
    #[command(flatten)]
    pub(super) instruments: InstrumentArgs,
    #[command(flatten)]
    pub(super) print: PrintArgs,
}

#[derive(Debug, Args)]
pub(super) struct ExportArgs {
    #[command(flatten)]
    pub(super) survey: SurveyArgs,
    /// The file to write; its ending says the format
    #[arg(long, value_name = "FILE")]
    pub(super) out: PathBuf,
    #[command(flatten)]
    pub(super) wanted: WantedArgs,
}

/// Who carries what.
#[derive(Debug, Args)]
pub(super) struct LoadArgs {
    /// The folder of a survey, for all its animals; its anchors may still be missing
    #[arg(required_unless_present = "body", conflicts_with_all = ["body", "device", "bobbin", "days"])]
    pub(super) survey: Option<PathBuf>,
    /// Body mass of one animal, grams
    #[arg(long, value_name = "G")]
    pub(super) body: Option<f64>,
    /// Mass of the whole device with a full bobbin, grams
    #[arg(long, value_name = "G")]
    pub(super) device: Option<f64>,
    /// Mass of the full bobbin, a part of the device, grams
    #[arg(long, value_name = "G", requires = "device")]
    pub(super) bobbin: Option<f64>,
    /// How many days it is to carry the device
    #[arg(long, value_name = "N")]
    pub(super) days: Option<f64>,
    /// Metres of thread that you want on the bobbin
    #[arg(long, value_name = "M")]
    pub(super) metres: Option<f64>,
    /// The table's body masses, grams
    #[arg(long, value_name = "LOW-HIGH")]
    pub(super) masses: Option<String>,
    /// A column of the table, per cent of body mass (may be given more than once)
    #[arg(long = "share", value_name = "PERCENT")]
    pub(super) shares: Vec<f64>,
    /// Set anything that survey.toml can say, by its name or dotted path
    #[arg(long = "set", value_name = "KEY=VALUE")]
    pub(super) set: Vec<String>,
    #[command(flatten)]
    pub(super) print: PrintArgs,
}

/// What a made-up survey is like.
#[derive(Debug, Args)]
pub(super) struct SimulateArgs {
    /// The folder for the made-up survey; it must not exist yet, or be empty
    pub(super) dir: PathBuf,
    /// How the animals move
    #[arg(long, value_enum, default_value_t = HabitArg::Mixed)]
    pub(super) habit: HabitArg,
    /// How many trails
    #[arg(long, value_name = "N", default_value_t = 3)]
    pub(super) trails: usize,
    /// Anchors a trail
    #[arg(long, value_name = "N", default_value_t = 40)]
    pub(super) anchors: usize,
    /// Ties a trail
    #[arg(long, value_name = "N", default_value_t = 2)]
    pub(super) ties: usize,
    /// Put one slip of this kind into each trail (may be given more than once)
    #[arg(long = "slip", value_enum, value_name = "KIND")]
    pub(super) slips: Vec<SlipArg>,
    /// Where the random numbers begin: same seed, same survey
    #[arg(long, value_name = "N", default_value_t = 1)]
    pub(super) seed: u64,
    #[command(flatten)]
    pub(super) instruments: InstrumentArgs,
    /// Print nothing but errors
    #[arg(long)]
    pub(super) quiet: bool,
}

/// How made-up animals move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum HabitArg {
    /// On the ground, over logs and low shrubs
    Walker,
    /// Mostly up and down trunks and out on branches
    Climber,
    /// From tree to tree, climbing some
    Mixed,
}

/// What may have happened to a reading; the names are those of `check --json`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
#[value(rename_all = "snake_case")]
pub(super) enum SlipArg {
    /// The needle was read at its wrong end
    ReversedNeedle,
    /// One digit of a bearing is off
    DigitSlipTens,
    /// The decimal mark of a tape stands one place off
    DecimalSlip,
    /// A tape was read in feet
    FeetForMetres,
    /// Two digits of a bearing changed places
    SwappedDigits,
    /// The sign of an incline was lost (needs --clinometer)
    WrongSign,
    /// A leg starts at another anchor than written
    WrongFrom,
}

/// How positions are found.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum MethodArg {
    /// Weighted least squares
    LeastSquares,
    /// Least squares by Huber's weights (k = 1.345): readings far off count less
    Robust,
    /// The hand rule: each misclosure spread by taped length; no standard errors, no intervals
    CompassRule,
    /// The raw traverse, unadjusted: no standard errors, no intervals
    None,
}

/// Which metrics are wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(super) enum MetricsArg {
    /// Those that most studies report
    Usual,
    /// All there are
    All,
}

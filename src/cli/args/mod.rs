//! What was typed: each command with its help, and what it takes.
//!
//! In: nothing; clap fills these types. Out: [`Arguments`]. A word of the library that may be typed,
//! such as the name of a slip, is taken from there (`words`) and stands nowhere else.
//! Left out: whether what was typed makes sense (`options`).

mod before;
mod shared;
mod study;
mod survey;
mod words;

pub(super) use before::{ForecastArgs, LoadArgs, NewArgs, SimulateArgs};
use clap::{Parser, Subcommand};
pub(super) use shared::{MetricsArg, SurveyArgs, WantedArgs};
pub(super) use study::StudyArgs;
pub(super) use survey::{
    ArchiveArgs, CheckArgs, CompareArgs, ExportArgs, FigureArgs, RebuildArgs, ViewArgs,
};
#[cfg(feature = "viewer")]
pub(super) use survey::{ColourArg, LookArg};

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
    /// Before the field: how precise a planned survey will be, what each tie buys, and how many
    /// animals a difference takes
    #[command(after_help = "Examples:\n  perchline forecast demo/plan.csv --ties 2\n  \
        perchline forecast --sketch \"12 legs of 3 m, 4 of them up a trunk\"\n  \
        perchline forecast --pilot demo/dormice --by age --animals 10,5 --nights 2 --difference 40\n  \
        perchline forecast --sd-animals 25 --sd-nights 10 --difference 30 --ratio 2\n  \
        perchline forecast --pairs 8 --sd-nights 20 --metric height_max --part after_escape\n\n\
        Exit status: 0 done, 1 the pilot has errors, 2 wrong usage, 3 the machine failed.")]
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

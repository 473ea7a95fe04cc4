//! What was meant: arguments checked, all faults of usage at once.

use super::Failure;
use super::args::{
    CompareArgs, ForecastArgs, HabitArg, LoadArgs, MethodArg, MetricsArg, SimulateArgs, SlipArg,
    SurveyArgs, WantedArgs,
};
use crate::adjust::Method;
use crate::adjust::slip::Slip;
use crate::analysis::comparison::{Question, roster, usual};
use crate::analysis::{Analysis, Wanted};
use crate::compare::factors::{Factor, columns};
use crate::fault::Fault;
use crate::network::Network;
use crate::planning::forecast::Planned;
use crate::planning::measure::Writing;
use crate::planning::plan::PlannedLeg;
use crate::planning::simulate::Wish;
use crate::planning::truth::Habit;
use crate::quantity::Bearing;
use crate::survey::Survey;
use crate::survey::settings::{self, Precision, Settings};
#[cfg(feature = "viewer")]
use std::ops::RangeInclusive;
use std::path::Path;

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
        method: match args.method {
            MethodArg::LeastSquares => Method::LeastSquares,
            MethodArg::Robust => Method::Robust,
            MethodArg::CompassRule => Method::CompassRule,
            MethodArg::None => Method::None,
        },
        compare_methods: false,
        draws: args.draws,
        seed: args.seed,
        all_metrics: args.metrics == MetricsArg::All,
        trails: survey.trails.clone(),
        hide_location: false,
    })
}

/// The formats of an export, by ending.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Format {
    Gpkg,
    Geojson,
    Kml,
    Gpx,
    Csv,
    Glb,
}

impl Format {
    /// Whether it knows places on the globe only.
    pub(super) const fn is_map(self) -> bool {
        matches!(self, Self::Gpkg | Self::Geojson | Self::Kml | Self::Gpx)
    }
}

/// That an archive is named so.
pub(super) fn is_zip(out: &Path) -> Result<(), Failure> {
    let ending = out.extension().and_then(|ending| ending.to_str()).unwrap_or("");
    if ending.eq_ignore_ascii_case("zip") {
        return Ok(());
    }
    Err(Failure::Usage(format!("{}: the ending of an archive is .zip", out.display())))
}

/// The format that a file's ending asks for.
pub(super) fn format(out: &Path) -> Result<Format, Failure> {
    let ending = out.extension().and_then(|ending| ending.to_str()).unwrap_or("");
    match ending.to_ascii_lowercase().as_str() {
        "geojson" => Ok(Format::Geojson),
        "kml" => Ok(Format::Kml),
        "gpx" => Ok(Format::Gpx),
        "csv" => Ok(Format::Csv),
        "glb" => Ok(Format::Glb),
        "gpkg" => Ok(Format::Gpkg),
        _ => Err(Failure::Usage(format!(
            "{}: the ending says the format, and must be .gpkg, .geojson, .kml, .gpx, .csv or .glb",
            out.display()
        ))),
    }
}

/// Pixels across and down of a picture, as `1600x1000`.
#[cfg(feature = "viewer")]
pub(super) fn pixels(typed: &str) -> Result<[u32; 2], Failure> {
    let parse = |text: &str| text.trim().parse().ok().filter(|n| PIXELS.contains(n));
    let size = typed.split_once(['x', 'X', '×']).and_then(|(w, h)| Some([parse(w)?, parse(h)?]));
    size.ok_or_else(|| {
        Failure::Usage(format!(
            "--size wants pixels across and down, like 1600x1000, {} to {} each; not {typed}",
            PIXELS.start(),
            PIXELS.end()
        ))
    })
}

/// Fewest and most pixels of a picture: below, words run into each other; above, drivers refuse.
#[cfg(feature = "viewer")]
const PIXELS: RangeInclusive<u32> = 200..=8192;

/// A picture's file ends in `.png`.
#[cfg(feature = "viewer")]
pub(super) fn is_png(out: &Path) -> Result<(), Failure> {
    let ending = out.extension().and_then(|ending| ending.to_str()).unwrap_or("");
    if ending.eq_ignore_ascii_case("png") {
        return Ok(());
    }
    Err(Failure::Usage(format!("{}: the ending must be .png", out.display())))
}

/// Most anchors of one made-up trail, and most of a made-up survey: more than any study has.
const MOST_ANCHORS: usize = 100_000;
const MOST_ANCHORS_A_TRAIL: usize = 1_000;
const MOST_TIES: usize = 8;

/// What is to be made up; all that cannot be at once.
pub(super) fn wish(args: &SimulateArgs) -> Result<Wish, Failure> {
    let precision = precision(&args.instruments.set)?;
    let mut wrong = Vec::new();
    if args.trails == 0 {
        wrong.push("--trails 0 makes no survey".to_owned());
    }
    if args.anchors < 2 {
        wrong.push("--anchors wants at least 2: a trail has a leg".to_owned());
    }
    if args.trails.saturating_mul(args.anchors) > MOST_ANCHORS {
        wrong.push(format!("at most {MOST_ANCHORS} anchors in all"));
    }
    if args.anchors > MOST_ANCHORS_A_TRAIL || args.ties > MOST_TIES {
        wrong.push(format!(
            "a trail takes at most {MOST_ANCHORS_A_TRAIL} anchors and {MOST_TIES} ties"
        ));
    }
    if args.slips.contains(&SlipArg::WrongSign) && !args.instruments.clinometer {
        wrong.push("--slip wrong_sign needs --clinometer: without it there is no sign".to_owned());
    }
    if !wrong.is_empty() {
        return Err(Failure::Usage(wrong.join("; ")));
    }
    Ok(Wish {
        habit: match args.habit {
            HabitArg::Walker => Habit::Walker,
            HabitArg::Climber => Habit::Climber,
            HabitArg::Mixed => Habit::Mixed,
        },
        trails: args.trails,
        anchors: args.anchors,
        ties: args.ties,
        slips: args.slips.iter().map(|slip| slip_of(*slip)).collect(),
        clinometer: args.instruments.clinometer,
        precision,
        writing: Writing::Field,
        seed: args.seed,
    })
}

/// Most surveys that make sense: standard errors are then right to half a per cent.
const MOST_SURVEYS: usize = 20_000;

/// What is to be forecast, for the legs of its plan.
pub(super) fn planned(args: &ForecastArgs, legs: Vec<PlannedLeg>) -> Result<Planned, Failure> {
    let precision = precision(&args.instruments.set)?;
    let mut wrong = Vec::new();
    if !(2..=MOST_SURVEYS).contains(&args.surveys) {
        wrong.push(format!("--surveys takes 2 to {MOST_SURVEYS}"));
    }
    if !(args.spread > 0.0 && args.spread <= 1_000.0) {
        wrong.push("--spread wants more than 0 per cent".to_owned());
    }
    if args.ties > 6 {
        wrong.push("--ties takes at most 6".to_owned());
    }
    if !wrong.is_empty() {
        return Err(Failure::Usage(wrong.join("; ")));
    }
    let ties = (0..=args.ties).collect();
    let &ForecastArgs { surveys, seed, .. } = args;
    let clinometer = args.instruments.clinometer;
    Ok(Planned { legs, ties, clinometer, precision, surveys, seed })
}

/// The precisions of the instruments, as stated.
pub(super) fn precision(set: &[String]) -> Result<Precision, Failure> {
    Ok(stated(set)?.precision)
}

/// Settings without a survey: the defaults, but for what is stated.
pub(super) fn stated(set: &[String]) -> Result<Settings, Failure> {
    let (settings, faults) = settings::read(settings::FILE, "", &overrides(set)?);
    let told = |fault: &&Fault| format!("{} {}", fault.place.phrase(), fault.expected);
    let wrong: Vec<String> = faults.sorted().iter().map(told).collect();
    if wrong.is_empty() { Ok(settings) } else { Err(Failure::Usage(wrong.join("; "))) }
}

/// The body masses and shares of one that a table of loads covers, where they were stated.
pub(super) struct LoadTable {
    pub(super) masses: Option<[f64; 2]>,
    pub(super) shares: Vec<f64>,
}

/// Masses, days, metres and shares that can be; all that cannot at once.
pub(super) fn load_table(args: &LoadArgs) -> Result<LoadTable, Failure> {
    let mut wrong = Vec::new();
    let positive = |value: &f64| *value > 0.0 && value.is_finite();
    let stated = [
        ("--body", args.body),
        ("--device", args.device),
        ("--bobbin", args.bobbin),
        ("--metres", args.metres),
        ("--days", args.days),
    ];
    for (name, _) in stated.iter().filter(|(_, value)| value.is_some_and(|v| !positive(&v))) {
        wrong.push(format!("{name} wants a number above 0"));
    }
    if args.bobbin.zip(args.device).is_some_and(|(bobbin, device)| bobbin > device) {
        wrong.push("--bobbin is a part of --device and cannot weigh more".to_owned());
    }
    let range = |text: &str| {
        let (low, high) = text.split_once('-')?;
        let range = [low.trim().parse().ok()?, high.trim().parse().ok()?];
        (range.iter().all(positive) && range[0] <= range[1]).then_some(range)
    };
    let masses = args.masses.as_deref().map(range);
    if masses == Some(None) {
        wrong.push("--masses wants two masses in grams, like 60-200".to_owned());
    }
    if !args.shares.iter().all(|share| positive(share) && *share <= 100.0) {
        wrong.push("--share wants per cent of body mass, above 0 and up to 100".to_owned());
    }
    let shares = args.shares.iter().map(|percent| percent / 100.0).collect();
    let table = LoadTable { masses: masses.flatten(), shares };
    if wrong.is_empty() { Ok(table) } else { Err(Failure::Usage(wrong.join("; "))) }
}

const fn slip_of(slip: SlipArg) -> Slip {
    match slip {
        SlipArg::ReversedNeedle => Slip::ReversedNeedle,
        SlipArg::DigitSlipTens => Slip::DigitSlipTens,
        SlipArg::DecimalSlip => Slip::DecimalSlip,
        SlipArg::FeetForMetres => Slip::FeetForMetres,
        SlipArg::SwappedDigits => Slip::SwappedDigits,
        SlipArg::WrongSign => Slip::WrongSign,
        SlipArg::WrongFrom => Slip::WrongFrom,
    }
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

/// What is to be compared; by what the animals table offers where nothing was asked for.
pub(super) fn question(args: &CompareArgs, analysis: &Analysis) -> Result<Question, Failure> {
    let survey = &analysis.survey;
    let factor = |name: &String| {
        Factor::of(survey, name).ok_or_else(|| {
            let known = columns(survey).join(", ");
            Failure::Usage(format!("no column {name} of animals or trails; there are {known}"))
        })
    };
    let factors = |names: &[String]| names.iter().map(factor).collect::<Result<Vec<_>, _>>();
    if args.direction.is_some_and(|degrees| !degrees.is_finite()) {
        return Err(Failure::Usage("--direction wants degrees from true north".into()));
    }
    let question = Question {
        by: factors(&args.by)?,
        with: factors(&args.with)?,
        pairs: args.pairs.as_ref().map(|text| pairs(text, analysis, factor)).transpose()?,
        within: args.within.as_ref().map(factor).transpose()?,
        direction: args.direction.map(Bearing::from_degrees),
    };
    if let Some(factor) = question.by.iter().find(|factor| groups_nothing(factor, analysis)) {
        let name = &factor.name;
        return Err(Failure::Usage(format!(
            "{name} is another one for each animal, so that there is no group; --with {name} \
             compares against a number"
        )));
    }
    let asked = !args.by.is_empty()
        || !args.with.is_empty()
        || args.pairs.is_some()
        || args.direction.is_some();
    Ok(if asked { question } else { usual(analysis) })
}

/// Whether each animal has a level of its own.
fn groups_nothing(factor: &Factor, analysis: &Analysis) -> bool {
    let roster = roster(analysis);
    let rows = || roster.animals.iter().flat_map(|(_, trails)| trails.iter().copied());
    let levels = factor.levels(rows());
    let animals = |level: &String| {
        let has = |trails: &[usize]| trails.iter().any(|&row| factor.level(row) == Some(level));
        roster.animals.iter().filter(|(_, trails)| has(trails)).count()
    };
    levels.len() > 2 && levels.iter().all(|level| animals(level) < 2)
}

/// `COLUMN`, where it has two levels, or `COLUMN=A,B`.
fn pairs(
    text: &str,
    analysis: &Analysis,
    factor: impl Fn(&String) -> Result<Factor, Failure>,
) -> Result<(Factor, [String; 2]), Failure> {
    let (name, chosen) = text.split_once('=').map_or((text, None), |(a, b)| (a, Some(b)));
    let factor = factor(&name.to_owned())?;
    let roster = roster(analysis);
    let known = factor.levels(roster.animals.iter().flat_map(|(_, trails)| trails.iter().copied()));
    let wanted: Vec<String> = match chosen {
        Some(chosen) => chosen.split(',').map(|level| level.trim().to_owned()).collect(),
        None => known.clone(),
    };
    let all_known = wanted.iter().all(|level| known.contains(level));
    match <[String; 2]>::try_from(wanted) {
        Ok(levels) if all_known => Ok((factor, levels)),
        _ => Err(Failure::Usage(format!(
            "--pairs wants two levels, like {name}=A,B; {name} has {}",
            known.join(", ")
        ))),
    }
}

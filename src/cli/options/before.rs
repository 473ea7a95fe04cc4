//! What is meant before the field: a survey to be made up, a plan to be forecast, loads to be
//! tabled. All that cannot be is told at once.

use super::overrides;
use crate::adjustment::slip::Slip;
use crate::cli::Failure;
use crate::cli::args::{ForecastArgs, LoadArgs, SimulateArgs};
use crate::planning::forecast::Planned;
use crate::planning::measure::Writing;
use crate::planning::plan::PlannedLeg;
use crate::planning::simulate::Wish;
use crate::survey::fault::Fault;
use crate::survey::settings::{self, Precision, Settings};

/// Most anchors of one made-up trail, and most of a made-up survey: more than any study has.
const MOST_ANCHORS: usize = 100_000;
const MOST_ANCHORS_A_TRAIL: usize = 1_000;
const MOST_TIES: usize = 8;

/// What is to be made up; all that cannot be at once.
pub(in crate::cli) fn wish(args: &SimulateArgs) -> Result<Wish, Failure> {
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
    if args.slips.contains(&Slip::WrongSign) && !args.instruments.clinometer {
        wrong.push("--slip wrong_sign needs --clinometer: without it there is no sign".to_owned());
    }
    if !wrong.is_empty() {
        return Err(Failure::Usage(wrong.join("; ")));
    }
    Ok(Wish {
        habit: args.habit,
        trails: args.trails,
        anchors: args.anchors,
        ties: args.ties,
        slips: args.slips.clone(),
        clinometer: args.instruments.clinometer,
        precision,
        writing: Writing::Field,
        seed: args.seed,
    })
}

/// Most surveys that make sense: standard errors are then right to half a per cent.
const MOST_SURVEYS: usize = 20_000;

/// What is to be forecast, for the legs of its plan.
pub(in crate::cli) fn planned(
    args: &ForecastArgs,
    legs: Vec<PlannedLeg>,
) -> Result<Planned, Failure> {
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
pub(in crate::cli) fn precision(set: &[String]) -> Result<Precision, Failure> {
    Ok(stated(set)?.precision)
}

/// Settings without a survey: the defaults, but for what is stated.
pub(in crate::cli) fn stated(set: &[String]) -> Result<Settings, Failure> {
    let (settings, faults) = settings::read(settings::FILE, "", &overrides(set)?);
    let told = |fault: &&Fault| format!("{} {}", fault.place.phrase(), fault.expected);
    let wrong: Vec<String> = faults.sorted().iter().map(told).collect();
    if wrong.is_empty() { Ok(settings) } else { Err(Failure::Usage(wrong.join("; "))) }
}

/// The body masses and shares of one that a table of loads covers, where they were stated.
pub(in crate::cli) struct LoadTable {
    pub(in crate::cli) masses: Option<[f64; 2]>,
    pub(in crate::cli) shares: Vec<f64>,
}

/// Masses, days, metres and shares that can be; all that cannot at once.
pub(in crate::cli) fn load_table(args: &LoadArgs) -> Result<LoadTable, Failure> {
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

//! Every protocol by which crews measure, from the field table to metrics: made-up trails with the
//! truth beside them. How often intervals hold is measured by `examples/coverage`.

use perchline::adjustment::network::build;
use perchline::measures::metrics::{METRICS, Metric, Needs};
use perchline::results::progress::Progress;
use perchline::results::rules::check;
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::input::source::read_survey;
use std::fs;
use tempfile::TempDir;

use crate::measuring::made_up;

use made_up::protocol::Protocol;
use made_up::sheet::Errors;
use made_up::{Study, Wish, study};

/// Other trails than those of the tables.
const SEED: u64 = 190_001;
const EXACT: Errors = Errors { noise: 0.0, ..Errors::STATED };

fn wish(protocol: Protocol, errors: Errors) -> Wish {
    Wish { errors, ..Wish::of(protocol, [8, 12], SEED) }
}

/// A study read from its folder, checked and measured, with settings of its own.
fn analysed(study: &Study, settings: &[(String, String)]) -> Analysis {
    let folder = TempDir::new().unwrap();
    fs::write(folder.path().join("anchors.csv"), &study.anchors).unwrap();
    fs::write(folder.path().join("survey.toml"), &study.settings).unwrap();
    let (survey, faults) = read_survey(folder.path(), settings).unwrap();
    assert!(!faults.stop(), "{:#?}\n{}", faults.sorted(), study.anchors);
    let network = build(&survey);
    let faults = check(&survey, &network);
    assert!(!faults.stop(), "{:#?}\n{}", faults.sorted(), study.anchors);
    let wanted = Wanted { draws: 40, all_metrics: true, ..Wanted::default() };
    analyse(survey, network, wanted, &Progress::default()).unwrap()
}

fn value(analysis: &Analysis, trail: usize, metric: Metric) -> Option<f64> {
    Some(analysis.trails[trail].value(metric, 0)?.measured?.value)
}

/// What the contract says that each protocol carries has a value, and an interval where the metric
/// has a rule for one; what it cannot carry is blank, and says what it needs.
#[test]
fn every_protocol_gives_what_it_carries() {
    for protocol in Protocol::ALL {
        let study = study(&wish(protocol, Errors::STATED));
        let analysis = analysed(&study, &[]);
        assert_eq!(analysis.trails.len(), study.truths.len());
        assert_eq!(analysis.adjusted.unsettled, [], "{}", protocol.name());
        for (trail, result) in analysis.trails.iter().enumerate() {
            for metric in [
                Metric::PathLength,
                Metric::Ascent,
                Metric::HeightMean,
                Metric::NetDisplacement,
                Metric::MaxDistance,
                Metric::DailyHomeRange,
                Metric::TurnResultant,
                Metric::NetBearing,
            ] {
                let row = result.metrics.iter().find(|row| row.metric == metric).unwrap();
                let told = || format!("{} {trail} {metric:?}: {row:?}", protocol.name());
                let by_positions = protocol == Protocol::TurnsEnds && metric == Metric::NetBearing;
                if by_positions && row.measured.is_none() {
                    assert!(row.reason.contains("positions"), "{}", told()); // too near each other
                } else if protocol.carries(metric) {
                    assert!(row.measured.is_some(), "{}", told());
                } else {
                    assert!(row.measured.is_none(), "{}", told());
                    assert!(row.reason.starts_with("needs "), "{}", told());
                }
            }
        }
    }
}

/// Without errors and over level ground the readings of a walk lead back to the true path; plumb
/// legs, whose lean nobody measures, do not.
#[test]
fn readings_without_errors_lead_back_to_the_truth() {
    for protocol in [
        Protocol::Bearings,
        Protocol::Turns,
        Protocol::TurnsFirstBearing,
        Protocol::TurnsOtherBearing,
        Protocol::TurnsPositions,
        Protocol::TurnsEnds,
        Protocol::EvenSteps,
        Protocol::SeveralNights,
    ] {
        let study = study(&Wish { ground_m: 0.0, ..wish(protocol, EXACT) });
        let analysis = analysed(&study, &[("precision.ground_m".into(), "0".into())]);
        let walks = study.truths.iter().enumerate().filter(|(_, t)| !t.plumb.contains(&true));
        for (trail, truth) in walks.filter(|(trail, _)| trail.is_multiple_of(2)) {
            let [start, end] = [truth.places[0], truth.places[truth.places.len() - 1]];
            let d: [f64; 3] = std::array::from_fn(|k| end[k] - start[k]);
            let net = value(&analysis, trail, Metric::NetDisplacementHorizontal).unwrap();
            let told = format!("{} {trail}", protocol.name());
            assert!((net - d[0].hypot(d[1])).abs() < 1e-4, "{told}: {net} {d:?}");
        }
    }
}

/// The same trail, read without errors, by bearings and by turns has the same shape, whether or not north is
/// known.
#[test]
fn bearings_and_turns_make_one_shape() {
    let by_bearings = analysed(&study(&wish(Protocol::Bearings, EXACT)), &[]);
    for protocol in [Protocol::Turns, Protocol::TurnsFirstBearing, Protocol::TurnsOtherBearing] {
        let by_turns = analysed(&study(&wish(protocol, EXACT)), &[]);
        let mut compared = 0;
        for trail in 0..by_turns.trails.len() {
            for entry in METRICS.iter().filter(|entry| entry.needs != Needs::Direction) {
                // Corrected by draws, which by turns are others.
                if CORRECTED.contains(&entry.metric) {
                    continue;
                }
                let [one, other] =
                    [&by_bearings, &by_turns].map(|all| value(all, trail, entry.metric));
                let (Some(one), Some(other)) = (one, other) else {
                    assert_eq!(one, other, "{} {trail} {}", protocol.name(), entry.name);
                    continue;
                };
                let apart = (one - other).abs() / one.abs().max(1.0);
                assert!(apart < 1e-5, "{} {trail} {}: {one} {other}", protocol.name(), entry.name);
                compared += 1;
            }
        }
        assert!(compared > 300, "{compared}");
    }
}

/// The metrics whose value is that of the positions, corrected by draws.
const CORRECTED: [Metric; 13] = [
    Metric::HorizontalLength,
    Metric::Ascent,
    Metric::Descent,
    Metric::VerticalDistance,
    Metric::VerticalShare,
    Metric::HeightMax,
    Metric::HeightQ25,
    Metric::HeightQ75,
    Metric::ElevationRange,
    Metric::Sinuosity,
    Metric::TurnResultant,
    Metric::Turn3dResultant,
    Metric::IntensityOfUse,
];

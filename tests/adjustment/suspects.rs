//! Slips explained: against trials computed elsewhere, and on surveys made up with known slips.

use crate::field;
use crate::reference;

use approx::assert_abs_diff_eq;
use field::{Rebuilt, Tables};
use perchline::adjustment::network::{Written, build};
use perchline::adjustment::slip::{Slip, WouldRead};
use perchline::adjustment::suspects::{SUSPECT, Suspect, suspects};
use perchline::adjustment::{Method, adjust};
use perchline::maths::ground::Ground;
use perchline::planning::measure::Writing;
use perchline::planning::simulate::{Wish, simulate};
use perchline::planning::truth::Habit;
use perchline::survey::settings::Precision;
use reference::cases;
use serde_json::Value;

const SETTINGS: &str = "bearings.north = 'true'\n[precision]\ntape_per_m = 0\nanchor_m = 0\n";

/// The loops of the reference as a survey whose last leg comes back to the first anchor.
fn spoilt_loop(legs: &[Value]) -> Rebuilt {
    let mut anchors = String::from("trail,anchor,tape_m,bearing_deg,incline_deg\nBor,0,,,\n");
    for (k, leg) in legs.iter().enumerate() {
        let name = if k + 1 < legs.len() { k + 1 } else { 0 };
        anchors += &format!(
            "Bor,{name},{:.2},{},{}\n",
            leg["tape"].as_f64().unwrap(),
            leg["azimuth_deg"],
            leg["incline_deg"]
        );
    }
    Tables { anchors, settings: SETTINGS.into(), ..Tables::default() }.rebuild()
}

fn found(ours: &Rebuilt) -> Vec<Suspect> {
    suspects(&ours.survey, &ours.network, &Ground::flat())
}

/// The planted slip comes out first, with the misclosures that were computed elsewhere.
#[test]
fn single_slips_are_explained_as_computed_elsewhere() {
    let names = [
        ("bearing reversed (wrong end of needle)", Slip::ReversedNeedle),
        ("bearing tens slip -10", Slip::DigitSlipTens),
        ("incline sign", Slip::WrongSign),
    ];
    let cases = cases("blunder_trials", 3);
    assert_eq!(cases.len(), names.len());
    for case in &cases {
        let ours = spoilt_loop(case["legs"].as_array().unwrap());
        let suspects = found(&ours);
        assert_eq!(suspects.len(), 1, "{case:#}\n{suspects:#?}");
        let (suspect, best) = (&suspects[0], &case["best_five"][0]);
        let line = ours.network.lines[suspect.line.unwrap()];
        assert_eq!(
            line.written,
            Written::Anchor(usize::try_from(best["leg"].as_u64().unwrap()).unwrap())
        );
        let told = best["explanation"].as_str().unwrap();
        let slip = names.iter().find(|(name, _)| *name == told).unwrap().1;
        let first = &suspect.explanations[0];
        assert_eq!(first.slip, slip);
        let left = best["misclosure_left"].as_f64().unwrap();
        assert_abs_diff_eq!(first.leaves, left, epsilon = 1e-9);
        assert_abs_diff_eq!(suspect.gap, case["misclosure"].as_f64().unwrap(), epsilon = 1e-9);
    }
}

fn wish(habit: Habit, slips: Vec<Slip>, seed: u64) -> Wish {
    Wish {
        habit,
        trails: 1,
        anchors: 40,
        ties: 2,
        slips,
        clinometer: false,
        precision: Precision::default(),
        writing: Writing::Field,
        seed,
    }
}

/// Of twelve trails each: needles read at the wrong end, decimal marks, and none at all.
#[test]
fn planted_slips_are_found_and_clean_surveys_left_alone() {
    const TRAILS: u64 = 12;
    for (slip, least) in [(Slip::ReversedNeedle, 10), (Slip::DecimalSlip, 10), (Slip::WrongFrom, 7)]
    {
        let right = (0..TRAILS).filter(|seed| {
            let made = simulate(&wish(Habit::Walker, vec![slip], 900 + seed));
            let survey = made.survey();
            let network = build(&survey);
            let suspects = suspects(&survey, &network, &Ground::flat());
            let planted = &made.sheets[0].planted[0];
            suspects.first().is_some_and(|suspect| {
                let leg = suspect.line.map(|line| network.lines[line].written);
                let first = suspect.explanations.first().map(|e| e.slip);
                leg == Some(Written::Anchor(planted.row)) && first == Some(slip)
            })
        });
        let right = right.count();
        assert!(right >= least, "{slip:?}: {right} of {TRAILS}");
    }
    let blamed = (0..TRAILS).filter(|seed| {
        let survey = simulate(&wish(Habit::Mixed, Vec::new(), 500 + seed)).survey();
        !suspects(&survey, &build(&survey), &Ground::flat()).is_empty()
    });
    assert!(blamed.count() <= 1);
}

/// A height whose decimal mark was lost: the clinometers of the legs on both sides tell.
#[test]
fn a_height_with_its_decimal_mark_in_the_wrong_place() {
    const TRAILS: u64 = 4;
    let right = (0..TRAILS).filter(|seed| {
        let plain = wish(Habit::Walker, Vec::new(), 1_200 + seed);
        let mut made = simulate(&Wish { clinometer: true, ..plain });
        let rows = &mut made.sheets[0].rows;
        let height = |row: &usize| rows[*row].height.parse::<f64>().unwrap();
        let row = (10..30).find(|row| (0.3..1.0).contains(&height(row))).unwrap();
        rows[row].height = format!("{:.1}", 10.0 * height(&row));
        let survey = made.survey();
        let network = build(&survey);
        let suspects = suspects(&survey, &network, &Ground::flat());
        let [suspect] = suspects.as_slice() else { return false };
        let first = &suspect.explanations[0];
        suspect.node.and_then(|node| network.nodes[node].row) == Some(row)
            && first.slip == Slip::DecimalSlip
            && first.leaves < suspect.gap / 3.0
    });
    let right = right.count();
    assert!(right >= 3, "{right} of {TRAILS}");
}

/// Two legs of one loop that run alike: which of them was read at the wrong end, no loop can tell,
/// and both are named with equal weight.
#[test]
fn legs_that_run_alike_are_named_together() {
    // Leg 4 runs east and was written as west, as leg 2 truly runs.
    let anchors = "trail,anchor,tape_m,bearing_deg,incline_deg\n\
                   A,0,,,\nA,1,3,0,0\nA,2,2,270,0\nA,3,1,0,0\nA,4,2,270,0\nA,0,4,180,0\n";
    let settings = "bearings.north = 'true'\n".into();
    let ours = Tables { anchors: anchors.into(), settings, ..Tables::default() }.rebuild();
    let [suspect] = found(&ours).try_into().unwrap();
    let first = &suspect.explanations[0];
    let twin = suspect.others.iter().find(|other| other.slip == Slip::ReversedNeedle);
    let twin = twin.unwrap_or_else(|| panic!("{suspect:#?}"));
    assert_eq!(first.slip, Slip::ReversedNeedle);
    let mut rows = [first.line, twin.line].map(|line| ours.network.lines[line.unwrap()].written);
    rows.sort_by_key(|written| format!("{written:?}"));
    assert_eq!(rows, [Written::Anchor(2), Written::Anchor(4)]);
    assert!((first.weight - twin.weight).abs() < 0.3 * first.weight, "{suspect:#?}");
}

/// On trails with exactly the errors that are stated, the statistic of the global test is on average
/// its degrees of freedom: of 24 trails within three standard errors.
#[test]
fn the_global_test_expects_what_the_instruments_make() {
    for habit in [Habit::Walker, Habit::Mixed, Habit::Climber] {
        let (mut statistic, mut freedom) = (0.0, 0.0);
        for seed in 0..24 {
            let precision = Precision { ground_m: 0.0, ..Precision::default() };
            let plain = wish(habit, Vec::new(), 7_000 + seed);
            let exact = Wish { precision, writing: Writing::Fine, ..plain };
            let survey = simulate(&exact).survey();
            let precision = &survey.settings.precision;
            let method = Method::LeastSquares;
            let ours = adjust(&build(&survey), precision, &Ground::flat(), method, false);
            statistic += ours.fits[0].statistic;
            freedom += ours.fits[0].degrees_of_freedom;
        }
        let off = (statistic - freedom) / (2.0_f64 * freedom).sqrt();
        assert!(off.abs() < 3.0, "{habit:?}: {statistic} of {freedom}");
    }
}

/// Two slips of one trail are found one after the other.
#[test]
fn two_slips_in_one_trail() {
    const TRAILS: u64 = 4;
    let both = (0..TRAILS).filter(|seed| {
        let slips = vec![Slip::ReversedNeedle, Slip::DecimalSlip];
        let made = simulate(&wish(Habit::Walker, slips, 300 + seed));
        let survey = made.survey();
        let network = build(&survey);
        let suspects = suspects(&survey, &network, &Ground::flat());
        made.sheets[0].planted.iter().all(|planted| {
            suspects.iter().any(|suspect| {
                let leg = suspect.line.map(|line| network.lines[line].written);
                leg == Some(Written::Anchor(planted.row))
                    && suspect.explanations.first().map(|e| e.slip) == Some(planted.slip)
            })
        })
    });
    let both = both.count();
    assert!(both >= 3, "{both} of {TRAILS}");
}

/// Nothing checks a trail without a tie: nothing is divided by nothing, and nobody is blamed.
#[test]
fn where_nothing_closes_nobody_is_blamed() {
    let mut lonely = wish(Habit::Walker, vec![Slip::ReversedNeedle], 3);
    lonely.ties = 0;
    let survey = simulate(&lonely).survey();
    assert!(suspects(&survey, &build(&survey), &Ground::flat()).is_empty());
}

/// A turn whose sign was lost, in a trail of turning angles with one tie.
#[test]
fn a_turn_with_the_wrong_sign() {
    let turns = [35.0, 40.0, 30.0, -25.0, 50.0, 45.0, 38.0, 41.0];
    let tape = 3.0;
    let (mut at, mut azimuth) = ([0.0, 0.0], 10.0_f64);
    let step = |at: [f64; 2], azimuth: f64| {
        let (sin, cos) = (azimuth / DEGREES).sin_cos();
        [at[0] + tape * sin, at[1] + tape * cos]
    };
    at = step(at, azimuth);
    let mut anchors = String::from(
        "trail,anchor,tape_m,bearing_deg,turn_deg,incline_deg\nA,0,,,,\nA,1,3,10,,0\n",
    );
    for (k, turn) in turns.iter().enumerate() {
        azimuth += turn;
        at = step(at, azimuth);
        let written = if k == 4 { -turn } else { *turn };
        anchors += &format!("A,{},3,,{written},0\n", k + 2);
    }
    let back = (-at[0]).atan2(-at[1]) * DEGREES;
    let ties = format!(
        "trail,from,to,tape_m,bearing_deg\nA,9,0,{:.2},{:.0}\n",
        at[0].hypot(at[1]),
        back.rem_euclid(360.0)
    );
    let settings = "bearings.north = 'true'\n".into();
    let ours = Tables { anchors, ties, settings, ..Tables::default() }.rebuild();
    let suspects = found(&ours);
    let first = &suspects[0].explanations[0];
    assert_eq!(first.slip, Slip::WrongSign, "{suspects:#?}");
    assert_eq!(ours.network.lines[suspects[0].line.unwrap()].written, Written::Anchor(6));
    // The tie was written to whole degrees and centimetres: that much is left open.
    let (length, read) = (at[0].hypot(at[1]), back.rem_euclid(360.0).round() / DEGREES);
    let length = (100.0 * length).round() / 100.0;
    let open = (at[0] + length * read.sin()).hypot(at[1] + length * read.cos());
    assert_abs_diff_eq!(first.leaves, open, epsilon = 1e-9);
    assert!(open < 0.2 && suspects[0].gap > 2.0, "{suspects:#?}");
    assert!(suspects[0].standardised.is_some_and(|w| w.abs() > SUSPECT), "{suspects:#?}");
}

/// Degrees in a radian.
const DEGREES: f64 = 180.0 / std::f64::consts::PI;

/// A leg written from anchor 1 that starts at the row above, 3, seven metres east, four south and one
/// up from there. As written it falls 0.2 m by the heights, not 1.2, so that its 3.231 m lead 3.225 m
/// east: it ends 6.775 m short and 4 m off. From 3 nothing is left, but for what the slip bends of the
/// way between the two.
#[test]
fn a_leg_written_from_the_wrong_anchor_closes_from_the_right_one() {
    // Runs north 5, east 7, south 4, east 3, south 6 and back (−10, 5), by tapes over the heights.
    let legs = [
        ("1", "", 5.0, 0.0, 1.0, 1.0),
        ("2", "", 7.0, 90.0, -0.5, 0.5),
        ("3", "", 4.0, 180.0, 1.5, 2.0),
        ("4", "1", 3.0, 90.0, -1.2, 0.8),
        ("5", "", 6.0, 180.0, -0.5, 0.3),
    ];
    let mut anchors = String::from("trail,anchor,from,tape_m,bearing_deg,height_m\nA,0,,,,0\n");
    for (name, from, run, bearing, rise, height) in legs {
        let tape = f64::hypot(run, rise);
        anchors += &format!("A,{name},{from},{tape:.4},{bearing},{height}\n");
    }
    let tape = (125.0_f64 + 0.09).sqrt();
    let ties = format!("trail,from,to,tape_m,bearing_deg\nA,5,0,{tape:.4},296.565\n");
    let settings = SETTINGS.into();
    let ours = Tables { anchors, ties, settings, ..Tables::default() }.rebuild();
    let [suspect] = found(&ours).try_into().unwrap();
    let first = &suspect.explanations[0];
    assert_eq!((first.slip, first.line), (Slip::WrongFrom, Some(3)), "{suspect:#?}");
    assert_abs_diff_eq!(first.leaves, 0.0, epsilon = 0.05);
    assert_abs_diff_eq!(suspect.gap, f64::hypot(6.775, 4.0), epsilon = 0.01);
}

/// A square walk of 3 m legs with a diagonal tie. The third leg, 205°, was written 255: five tens off,
/// a digit unlike the right one; and its tape, 3.00 m, is 300 in another trail. Whatever is named first,
/// the right reading is told.
#[test]
fn every_reading_that_closes_is_told() {
    let told = |third: &str| {
        let anchors = format!(
            "trail,anchor,tape_m,bearing_deg,incline_deg\nBor,0,,,\nBor,1,3.00,40,0\nBor,2,3.00,130,0\n\
             {third}\nBor,4,3.00,310,0\nBor,5,3.00,35,0\n"
        );
        // north and east of 0: the legs 40, 130, 205, 310, 35 add up to this
        let legs = [40.0_f64, 130.0, 205.0, 310.0, 35.0].map(|bearing| bearing / DEGREES);
        let north: f64 = legs.iter().map(|bearing| 3.0 * bearing.cos()).sum();
        let east: f64 = legs.iter().map(|bearing| 3.0 * bearing.sin()).sum();
        let (tape, bearing) = (north.hypot(east), (-east).atan2(-north) * DEGREES);
        let bearing = bearing.rem_euclid(360.0);
        let ties = format!("trail,from,to,tape_m,bearing_deg\nBor,5,0,{tape:.2},{bearing:.0}\n");
        let settings = "bearings.north = 'true'\n".into();
        let ours = Tables { anchors, ties, settings, ..Tables::default() }.rebuild();
        let [suspect] = &found(&ours)[..] else { panic!("one suspect") };
        let all = suspect.explanations.iter().chain(&suspect.others);
        let best = suspect.explanations[0].leaves;
        all.map(|e| (e.slip, e.would_read, e.leaves <= best)).collect::<Vec<_>>()
    };
    let digit = told("Bor,3,3.00,255,0");
    let right = (Slip::DigitSlipTens, WouldRead::Number(205.0, 0), true);
    assert!(digit.contains(&right), "{digit:#?}");
    let hundredfold = told("Bor,3,300,205,0");
    let right = (Slip::CentimetresForMetres, WouldRead::Number(3.0, 2), true);
    assert_eq!(hundredfold[0], right, "{hundredfold:#?}");
}

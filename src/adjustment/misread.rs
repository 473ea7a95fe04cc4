//! The trial readings of lines and heights, worked by hand.

use super::observation::Kind;
use super::slip::{Slip, WouldRead};
use super::trial_readings::{misread_heights, misreadings, other_starts};
use super::written::survey;
use crate::adjustment::network::{Line, Written};
use crate::maths::quantity::{Turn, wrap_half_turn};

const HEADINGS: &str = "trail,anchor,from,tape_m,tape_ft,bearing_deg,bearing_gon,bearing_point,\
                            back_bearing_deg,turn_deg,incline_deg,height_m,height_ft";

/// The slips that are tried on readings of `kind` of the leg in `row`, with what would stand
/// there, and by how many degrees, or to which length, its line would change.
fn tried(rows: &str, row: usize, kind: Kind) -> Vec<(Slip, f64, usize, f64)> {
    let (survey, network) = survey(&format!("{HEADINGS}\n{rows}"), "");
    let at = network.lines.iter().position(|l| l.written == Written::Anchor(row)).unwrap();
    let was = &network.lines[at];
    let all = misreadings(&survey, &network, at).into_iter().filter(|t| t.kind == kind);
    let told = all.map(|trial| {
        let (value, decimals) = match trial.would_read {
            WouldRead::Number(value, decimals) => (value, decimals),
            WouldRead::Point(point) => (point.to_degrees(), 0),
            WouldRead::Node(_) => panic!("no reading"),
        };
        let angles = |l: &Line| match kind {
            Kind::Bearing => l.bearing,
            Kind::BackBearing => l.back_bearing,
            Kind::Incline => l.incline,
            _ => l.turn,
        };
        let change = if kind == Kind::Tape {
            trial.line.tape.unwrap()
        } else {
            let turn = wrap_half_turn(angles(&trial.line).unwrap() - angles(was).unwrap());
            Turn::from_radians(turn).to_degrees()
        };
        // All else of the line stays as it was read.
        let same = Line { tape: was.tape, bearing: was.bearing, ..trial.line };
        let same = Line { back_bearing: was.back_bearing, incline: was.incline, ..same };
        assert_eq!(Line { turn: was.turn, ..same }, *was);
        let round = |x: f64| (x * 1e6).round() / 1e6;
        (trial.slip, round(value), decimals, round(change))
    });
    told.collect()
}

/// The short way round, as far either way.
fn shortest(degrees: f64) -> f64 {
    if degrees > 180.0 { degrees - 360.0 } else { degrees }
}

const SEVERAL: &str = "Bor,0,,,,,,,,,,0,
Bor,1,,3.1,,120,,,300,,-75,,
Bor,2,,,10,,50,,,,9,,
Bor,3,,2.5,,,,ENE,,,0,,
Bor,4,,2.5,,,,,,130,,,
Bor,5,,2.5,,,,,,-70,,,";

/// 120: the wrong end 300; digits 210 and 102; the others off by 10, 20, 90 and 100, of which
/// 210 is told already; then one digit another, of which those are left that a needle may show.
#[test]
fn a_needle_may_be_read_at_the_wrong_end_or_by_wrong_digits() {
    use Slip::{DigitSlipTens, ReversedNeedle, SwappedDigits};
    let tens = |value: f64| (DigitSlipTens, value, 0, value - 120.0);
    let mut expected = vec![
        (ReversedNeedle, 300.0, 0, 180.0),
        (SwappedDigits, 210.0, 0, 90.0),
        (SwappedDigits, 102.0, 0, -18.0),
    ];
    expected.extend([20.0, 30.0, 100.0, 110.0, 130.0, 140.0, 220.0].map(tens));
    expected.extend([320.0, 150.0, 160.0, 170.0, 180.0, 190.0].map(tens));
    expected.extend((121..130).map(f64::from).map(tens));
    for trial in &mut expected {
        trial.3 = shortest(trial.3);
    }
    let mut found = tried(SEVERAL, 1, Kind::Bearing);
    found[0].3 = found[0].3.abs(); // half a turn either way
    assert_eq!(found, expected);
    // 300 read back: 390 is 30, which is told already.
    let back = tried(SEVERAL, 1, Kind::BackBearing);
    // The line turns with it, the short way round.
    let turns: Vec<f64> = back.iter().map(|(.., change)| change.abs()).collect();
    assert_eq!(turns[..9], [180.0, 90.0, 100.0, 90.0, 20.0, 10.0, 10.0, 20.0, 100.0]);
    let digits = [60.0, 160.0, 30.0, 40.0, 50.0];
    assert_eq!(turns[9..], [&digits[..], &[1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0]].concat());
    assert!(back.iter().all(|(_, value, _, by)| {
        wrap_half_turn(Turn::from_degrees(300.0 + by - value).to_radians()).abs() < 1e-9
    }));
    let back: Vec<f64> = back.into_iter().map(|(_, value, ..)| value).collect();
    assert_eq!(back[..9], [120.0, 30.0, 200.0, 210.0, 280.0, 290.0, 310.0, 320.0, 40.0]);
    assert_eq!(back[9..15], [0.0, 100.0, 330.0, 340.0, 350.0, 301.0]);
    // 50 gon are 45°: the circle has 400, and ten of them are 9°.
    let gon = tried(SEVERAL, 2, Kind::Bearing);
    assert_eq!((gon[0].0, gon[0].1), (ReversedNeedle, 250.0));
    assert_eq!(gon[1], (SwappedDigits, 5.0, 0, -40.5));
    assert_eq!(gon[2], (DigitSlipTens, 350.0, 0, -90.0));
    let digits: Vec<f64> = gon[10..].iter().map(|(_, value, ..)| *value).collect();
    assert_eq!(digits[..5], [0.0, 10.0, 20.0, 80.0, 90.0]);
    assert_eq!(digits[5..], [51.0, 52.0, 53.0, 54.0, 55.0, 56.0, 57.0, 58.0, 59.0]);
    // A point of the compass may only be read at the wrong end: ENE is 67.5°, WSW 247.5°.
    let [(slip, value, _, change)] = tried(SEVERAL, 3, Kind::Bearing).try_into().unwrap();
    assert_eq!((slip, value, change.abs()), (ReversedNeedle, 247.5, 180.0));
}

/// −75: the sign, 57 for 75, and tens that stay within the vertical. 0 has no sign to lose.
#[test]
fn inclines_and_turns_may_lose_their_sign() {
    use Slip::{DigitSlipTens, SwappedDigits, WrongSign};
    let tens = |was: f64| move |value: f64| (DigitSlipTens, value, 0, value - was);
    let mut steep = vec![(WrongSign, 75.0, 0, 150.0), (SwappedDigits, -57.0, 0, 18.0)];
    steep.extend([-85.0, -65.0, -55.0, -5.0, -15.0, -25.0, -35.0, -45.0].map(tens(-75.0)));
    steep.extend([-70.0, -71.0, -72.0, -73.0, -74.0].map(tens(-75.0)));
    steep.extend([-76.0, -77.0, -78.0, -79.0].map(tens(-75.0)));
    assert_eq!(tried(SEVERAL, 1, Kind::Incline), steep);
    let mut level: Vec<_> = [-20.0, -10.0, 10.0, 20.0].map(tens(0.0)).into();
    level.extend((1..10).map(f64::from).map(tens(0.0)));
    assert_eq!(tried(SEVERAL, 3, Kind::Incline), level);
    // A turn of 310 there is none; −130 is 260 back, or 100 on.
    let mut right = vec![(WrongSign, -130.0, 0, 100.0), (SwappedDigits, 103.0, 0, -27.0)];
    right.extend([30.0, 40.0, 110.0, 120.0, 140.0, 150.0].map(tens(130.0)));
    right.extend([100.0, 160.0, 170.0, 180.0].map(tens(130.0)));
    right.extend((131..140).map(f64::from).map(tens(130.0)));
    assert_eq!(tried(SEVERAL, 4, Kind::Turn), right);
    let mut left = vec![(WrongSign, 70.0, 0, 140.0), (SwappedDigits, -7.0, 0, 63.0)];
    left.extend([-170.0, -160.0, -90.0, -80.0, -60.0, -50.0, 20.0, 30.0].map(tens(-70.0)));
    left.extend([0.0, -10.0, -20.0, -30.0, -40.0].map(tens(-70.0)));
    left.extend((71..80).map(|value| -f64::from(value)).map(tens(-70.0)));
    assert_eq!(tried(SEVERAL, 5, Kind::Turn), left);
}

/// 10 feet are 3.048 m; off by a mark 1 or 100 feet, whose 30.48 m a tape still has.
#[test]
fn tapes_in_feet_slip_in_feet() {
    let found = tried(SEVERAL, 2, Kind::Tape);
    let lengths: Vec<_> = found.iter().map(|(_, value, _, metres)| (*value, *metres)).collect();
    let mut feet = vec![1.0, 100.0, 1.0, 5.0, 9.0, 11.0, 15.0, 20.0];
    feet.extend([30.0, 40.0, 50.0, 60.0, 70.0, 80.0, 90.0]);
    feet.extend([12.0, 13.0, 14.0, 16.0, 17.0, 18.0, 19.0]);
    let feet: Vec<_> =
        feet.into_iter().map(|value| (value, (value * 304_800.0_f64).round() / 1e6)).collect();
    assert_eq!(lengths, feet);
    // 12 m off by a mark would be 120 m, and no tape is so long; 100 m there are.
    let long: Vec<f64> = ["12", "10"]
        .into_iter()
        .flat_map(|tape| {
            let rows = format!("Bor,0,,,,,,,,,,0,\nBor,1,,{tape},,120,,,,,,,");
            let marks = tried(&rows, 1, Kind::Tape);
            marks.into_iter().filter(|t| t.0 == Slip::DecimalSlip).map(|t| t.3)
        })
        .collect();
    assert_eq!(long, [1.2, 1.0, 100.0]);
}

/// 8 m may be 0.8 m or 80 m, or 8 cm; 26.2 feet, 7.986 m, off by a mark 2.62 feet or 262, which is 79.858 m.
#[test]
fn heights_slip_in_their_own_unit() {
    let rows = "Bor,0,,,,,,,,,,0,\nBor,1,,9,,120,,,,,,8,\nBor,2,,2,,120,,,,,,,26.2";
    let (survey, network) = survey(&format!("{HEADINGS}\n{rows}"), "");
    let of = |at: usize| misread_heights(&survey, &network.heights[at]);
    let round = |x: f64| (x * 1e3).round() / 1e3;
    let metres: Vec<_> = of(1).iter().map(|t| (t.row, t.was, round(t.metres))).collect();
    let all = [0.8, 80.0, 2.438, 0.08, 3.0, 7.0, 9.0, 13.0, 18.0, 1.0, 2.0, 4.0, 5.0, 6.0];
    assert_eq!(metres, all.map(|metres| (1, 8.0, metres)));
    let marks: Vec<_> = of(2)
        .into_iter()
        .filter(|trial| trial.slip == Slip::DecimalSlip)
        .map(|trial| (trial.would_read, round(trial.metres), trial.handicap))
        .collect();
    let feet = |value, decimals| WouldRead::Number(value, decimals);
    assert_eq!(marks[1], (feet(262.0, 0), 79.858, 0.0));
    assert_eq!((marks[0].1, marks[0].2), (0.799, 0.0));
    assert!(of(2).iter().all(|trial| trial.slip != Slip::FeetForMetres));
}

/// A leg from 2 may start at those passed before it, last ones first, each once and never at its
/// own ends.
#[test]
fn a_leg_may_start_at_another_anchor_that_was_passed() {
    let rows = "Bor,0,,,,,,,,,,0,\nBor,1,,2,,0,,,,,,,\nBor,2,,2,,0,,,,,,,\nBor,1,2,2,,180,,,,,,,
Bor,3,,2,,0,,,,,,,\nBor,4,2,2,,0,,,,,,,\nBor,5,,2,,0,,,,,,,";
    let (survey, network) = survey(&format!("{HEADINGS}\n{rows}"), "");
    let name = |node: usize| survey.text(network.nodes[node].name);
    let starts = |row: usize| -> Vec<(&str, f64)> {
        let at = network.lines.iter().position(|l| l.written == Written::Anchor(row)).unwrap();
        let all = other_starts(&survey, &network, at).into_iter();
        all.map(|trial| {
            assert_eq!(trial.would_read, WouldRead::Node(trial.line.from));
            assert_eq!(Line { from: network.lines[at].from, ..trial.line }, network.lines[at]);
            (name(trial.line.from), trial.handicap)
        })
        .collect()
    };
    assert_eq!(starts(5), [("3", 0.0), ("1", 8.0), ("0", 8.0)]);
    assert_eq!(starts(6), [("3", 9.0), ("1", 9.0), ("2", 9.0), ("0", 9.0)]);
    assert_eq!(starts(1), []);
}

//! The linear network, which looks for slips, against the adjustment: two ways to the same numbers
//! wherever all is read nearly right.

use super::draws::{Deviations, Origin};
use super::linear::{Linear, Tested, stretch_plumb};
use super::observation::{Kind, Observation};
use super::raw::raw;
use super::written::survey;
use super::{Adjusted, Method, Part, Residual, adjust};
use crate::adjustment::network::Network;
use crate::maths::ground::Ground;
use crate::maths::quantity::{Bearing, Incline, LANES, Lanes};
use crate::survey::Survey;
use crate::survey::settings::{CommonErrors, Precision};
use nalgebra::{Matrix3, Vector3};

/// An invented walk by bearings, back bearings, turns and a clinometer, on ground that falls 10°
/// towards 120°. Readings scatter by 0.4 of their standard deviations.
const ANCHORS: &str =
    "trail,anchor,tape_m,bearing_deg,back_bearing_deg,turn_deg,incline_deg,height_m
Bor,0,,,,,,0.5
Bor,1,2.98,12,192.4,,,0.76
Bor,2,3.83,,,63,,1.58
Bor,3,3.57,165.6,,,-9.2,1.36
Bor,4,2.8,,,67.7,-4.2,";
const TIES: &str = "trail,from,to,tape_m,bearing_deg,back_bearing_deg,incline_deg,rise_m
Bor,0,2,5.85,47.6,,,0.69
Bor,0,3,5.22,,264.6,2.2,
Bor,4,0,3.09,,,,0.13
Bor,1,4,,149.3,,-6.7,";

fn walk() -> (Survey, Network, Ground) {
    let (survey, network) = survey(ANCHORS, TIES);
    let fall = Incline::from_degrees(10.0).unwrap();
    (survey, network, Ground::slope(fall, Bearing::from_degrees(120.0)).unwrap())
}

fn solved() -> (Survey, Adjusted, Linear) {
    let (survey, network, ground) = walk();
    let precision = &survey.settings.precision;
    let adjusted = adjust(&network, precision, &ground, Method::LeastSquares, false);
    let raw = raw(&network, precision, &ground);
    let part = &network.components[0];
    let linear = Linear::of(&network, precision, &ground, part, &raw).unwrap();
    (survey, adjusted, linear)
}

fn assert_agree(tested: &Tested, residual: &Residual) {
    assert_eq!((tested.kind, tested.assumed), (residual.kind, residual.assumed));
    let apart = (tested.redundancy.max(0.0) - residual.redundancy).abs();
    assert!(apart < 0.02, "{tested:?} {residual:?}");
    // Where next to nothing checks a reading, rounding of the geometry is all that is seen.
    if residual.redundancy > 0.05 {
        let [ours, theirs] = [tested.standardised, residual.standardised].map(Option::unwrap);
        assert!((ours - theirs).abs() < 0.05, "{tested:?} {residual:?}");
        // What the others make of a reading is off by its residual over its redundancy.
        let off = residual.residual / residual.redundancy * (tested.sd / residual.sd);
        assert!((tested.off - off).abs() < 0.05 * tested.sd / residual.redundancy.sqrt());
    }
}

#[test]
fn readings_are_tested_as_the_adjustment_tests_them() {
    let (_, adjusted, linear) = solved();
    let (_, _, ground) = walk();
    let lines = linear.model.lines.len();
    let tested: Vec<Tested> = (0..lines)
        .flat_map(|line| linear.tested(line).collect::<Vec<_>>())
        .chain(linear.tested_turns().map(|(_, tested)| tested))
        .chain(linear.tested_points(&ground).map(|(_, tested)| tested))
        .collect();
    assert_eq!(tested.len(), adjusted.residuals.len());
    assert_eq!(tested.len(), 25, "as many as were read");
    tested.iter().zip(&adjusted.residuals).for_each(|(t, r)| assert_agree(t, r));
    let turns: Vec<usize> = linear.tested_turns().map(|(line, _)| line).collect();
    assert_eq!(turns, [1, 3]);
    let points: Vec<usize> = linear.tested_points(&ground).map(|(node, _)| node).collect();
    assert_eq!(points, [0, 1, 2, 3]);
    let statistic = adjusted.fits[0].statistic;
    assert!((linear.statistic / statistic - 1.0).abs() < 0.05, "{} {statistic}", linear.statistic);
    // 25 readings for five nodes, of which the release is held in plan.
    assert!((adjusted.fits[0].degrees_of_freedom - 12.0).abs() < 1e-9);
}

#[test]
fn positions_and_covariances_are_those_of_the_adjustment() {
    let (_, adjusted, linear) = solved();
    for (node, &[e, n, up]) in adjusted.positions.iter().enumerate() {
        let at = Vector3::new(e, n, up);
        assert!((linear.positions[node] - at).norm() < 0.01, "{node}");
        assert_eq!(linear.position_of(node), Some(linear.positions[node]));
        assert_eq!(linear.local(node), Some(node));
        let (ours, theirs) = (linear.covariance(node, node), adjusted.covariances[node]);
        assert!((ours - theirs).norm() < 0.05 * theirs.norm(), "{node}: {ours} {theirs}");
        // The column of one node holds what the blocks hold where those are.
        let column = linear.column(node);
        assert!((column[node] - ours).norm() < 1e-12);
    }
    for (at, line) in linear.model.lines.iter().enumerate() {
        let column = linear.column(line.from);
        let across = linear.covariance(line.to, line.from);
        assert!((column[line.to] - across).norm() < 1e-12);
        assert!((across.transpose() - linear.covariance(line.from, line.to)).norm() < 1e-15);
        let own = linear.positions[line.to] - linear.positions[line.from];
        assert_eq!(linear.along(at), own);
    }
    assert_eq!(linear.local(5), None);
    assert_eq!(linear.position_of(5), None);
}

/// The others and a line's own readings together make the whole.
#[test]
fn a_line_taken_out_and_put_back_changes_nothing() {
    let (_, _, linear) = solved();
    for line in 0..linear.model.lines.len() {
        let rest = linear.rest(line).unwrap();
        assert_eq!(rest.at, linear.along(line));
        let own: f64 = linear.tested(line).map(|t| (t.off * t.redundancy / t.sd).powi(2)).sum();
        assert!((rest.least + own - linear.statistic).abs() < 1e-3, "{line}");
        let whole = rest.with(linear.readings(line), rest.at, Vector3::zeros());
        assert!((whole - linear.statistic).abs() < 0.1, "{line}: {whole} {}", linear.statistic);
        // At the solution of all readings the pull of the line is met by that of the others.
        let mut curvature = rest.information;
        for reading in linear.readings(line) {
            let a = reading.gradient(linear.vectors[line]);
            curvature += a * a.transpose() * reading.sd.powi(-2);
        }
        let l = &linear.model.lines[line];
        let covariance = linear.covariance(l.from, l.from) + linear.covariance(l.to, l.to)
            - linear.covariance(l.from, l.to)
            - linear.covariance(l.to, l.from);
        let product = curvature * covariance;
        assert!((product - Matrix3::identity()).norm() < 1e-3, "{line}: {product}");
    }
}

/// √(9 + 2 · 0.04) − 3 = 0.0133299 off a tape along a plumb leg that rises 3 m, ± 0.2 m.
#[test]
fn a_plumb_tape_is_longer_than_its_rise() {
    let tape = Observation::new(Kind::Tape, 3.0, 0.03);
    let east = Observation::new(Kind::Plumb { east: true }, 0.0, 0.2).stated();
    let mut readings = [tape, east];
    stretch_plumb(&mut readings, -3.0, 0.2);
    let stretch = 9.08_f64.sqrt() - 3.0;
    assert!((readings[0].value - (3.0 - stretch)).abs() < 1e-12);
    assert!((readings[0].sd - 0.03_f64.hypot(stretch)).abs() < 1e-12);
    assert_eq!(readings[1], east);
    // An upright line, whose clinometer tells the offset, and a line without one stay as they are.
    for other in [Observation { stated: false, ..east }, Observation::new(Kind::Rise, 0.0, 0.1)] {
        let mut readings = [tape, other];
        stretch_plumb(&mut readings, 3.0, 0.2);
        assert_eq!(readings, [tape, other]);
    }
}

/// The covariance of what `of` takes from each of these draws.
fn scatter(drawn: &[Deviations], of: impl Fn(&Deviations, usize) -> Vector3<f64>) -> Matrix3<f64> {
    let lanes = drawn.iter().flat_map(|batch| (0..LANES).map(move |lane| (batch, lane)));
    let all = lanes.map(|(batch, lane)| of(batch, lane));
    all.map(|x| x * x.transpose()).sum::<Matrix3<f64>>() / (drawn.len() * LANES) as f64
}

/// How many are drawn.
const BATCHES: u64 = 2_000;

/// A draw of the errors of both origins.
fn drawn_whole(part: &Part, batch: u64) -> Deviations {
    let [mut read, mut stated] = [Deviations::default(), Deviations::default()];
    part.sampler.draw(7, 0, (Origin::Read, 2 * batch), &mut read);
    part.sampler.draw(7, 0, (Origin::Stated, 2 * batch + 1), &mut stated);
    for (x, y) in read.positions.iter_mut().zip(&stated.positions) {
        *x = [0, 1, 2].map(|k| x[k] + y[k]);
    }
    read.own.iter_mut().zip(&stated.own).for_each(|(x, &y)| *x = *x + y);
    read
}

fn vector(x: [Lanes; 3], lane: usize) -> Vector3<f64> {
    Vector3::from(x.map(|axis| axis.0[lane]))
}

fn near(found: Matrix3<f64>, known: Matrix3<f64>, what: &str) {
    let apart = (found - known).norm();
    assert!(apart <= 0.05 * known.norm(), "{what}: {found} for {known}");
}

/// How a height scatters in draws, and how it should. It follows what lies between its node and the
/// ground, and has errors of its own.
fn heights(
    drawn: &[Deviations],
    adjusted: &Adjusted,
    ground: &Ground,
    (at, node): (usize, usize),
) -> [Matrix3<f64>; 2] {
    let height = &adjusted.heights[node];
    let [e, n, _] = adjusted.positions[node];
    let slope = ground.at(e, n).map_or([0.0; 2], |s| [s.slope_east, s.slope_north]);
    let above = Vector3::new(-slope[0], -slope[1], 1.0) * height.follows;
    let deviation = |drawn: &Deviations, lane: usize| {
        let by_place = above.dot(&vector(drawn.positions[at], lane));
        let read = drawn.heights.get(at).map_or(0.0, |read| read.0[lane]);
        let by_read = (1.0 - height.follows) * read;
        Vector3::new(by_place + by_read + drawn.own[at].0[lane], 0.0, 0.0)
    };
    let known = Matrix3::from_diagonal(&Vector3::new(height.sd.powi(2), 0.0, 0.0));
    [scatter(drawn, deviation), known]
}

/// Draws scatter about the adjusted places as their covariances say, nodes as well as the lines
/// between them, and so where steep legs share a lean. A sample of 16,000 has a variance right to
/// √(2 / 16,000) = 0.011 of itself, one standard deviation.
#[test]
fn draws_scatter_as_the_covariances_say() {
    let steep = "trail,anchor,tape_m,bearing_deg,height_m
Bor,0,,,0
Bor,1,3,12,0.4
Bor,2,4.05,63,4.4
Bor,3,2,165,4.9
Bor,4,3.02,250,7.9";
    let (_, walked, ground) = walk();
    let (_, climbed) = survey(steep, "");
    let apart = Precision::default();
    let common = CommonErrors { tape_scale: 0.03, bearing_deg: 4.0, height_scale: 0.05 };
    let alike = Precision { common, ..Precision::default() };
    for (network, ground, precision, leans) in [
        (&walked, &ground, &apart, false),
        (&climbed, &Ground::flat(), &apart, true),
        (&walked, &ground, &alike, false),
        (&climbed, &Ground::flat(), &alike, true),
    ] {
        let adjusted = adjust(network, precision, ground, Method::LeastSquares, true);
        assert_eq!(adjusted.residuals.iter().any(|r| r.kind == Kind::Steep), leans);
        let part = &adjusted.parts[0];
        let drawn: Vec<Deviations> = (0..BATCHES).map(|batch| drawn_whole(part, batch)).collect();
        for (at, &node) in part.nodes.iter().enumerate() {
            let found = scatter(&drawn, |drawn, lane| vector(drawn.positions[at], lane));
            near(found, adjusted.covariances[node], "node");
            let [found, known] = heights(&drawn, &adjusted, ground, (at, node));
            near(found, known, "height");
        }
        let local = |node: usize| part.nodes.binary_search(&node).unwrap();
        for (line, known) in network.lines.iter().zip(&adjusted.line_covariances) {
            let [from, to] = [line.from, line.to].map(local);
            let along = |drawn: &Deviations, lane: usize| {
                vector(drawn.positions[to], lane) - vector(drawn.positions[from], lane)
            };
            near(scatter(&drawn, along), *known, "line");
        }
    }
}

/// Two trails alike, both of three tapes of 2 m to a tenth of a millimetre, by one tape that is known
/// to 1 %: in each draw both are longer by the same.
#[test]
fn what_a_study_shares_is_the_same_in_every_part() {
    let legs = |trail: &str| {
        format!("{trail},0,,,0\n{trail},1,2,0,0\n{trail},2,2,10,0\n{trail},3,2,20,0\n")
    };
    let rows = format!("trail,anchor,tape_m,bearing_deg,height_m\n{}{}", legs("Bor"), legs("Jel"));
    let (_, network) = survey(rows.trim_end(), "");
    let common = CommonErrors { tape_scale: 0.01, ..CommonErrors::default() };
    let precision = Precision { tape_m: 1e-4, tape_per_m: 0.0, common, ..Precision::default() };
    let adjusted = adjust(&network, &precision, &Ground::flat(), Method::LeastSquares, true);
    let north = |part: usize| {
        let mut into = Deviations::default();
        adjusted.parts[part].sampler.draw(3, part as u64, (Origin::Read, 6), &mut into);
        into.positions[1][1]
    };
    let [one, other] = [north(0), north(1)];
    for lane in 0..LANES {
        assert!((one.0[lane] - other.0[lane]).abs() < 1e-3, "{one:?} {other:?}");
    }
    let squares: f64 = one.0.iter().map(|x| x * x).sum();
    assert!((0.007..0.04).contains(&(squares / LANES as f64).sqrt()), "{one:?}");
}

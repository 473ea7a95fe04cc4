//! Every error by itself: whose it is, and that all together make the covariances of the adjustment.

use super::super::raw::raw;
use super::super::weights::model;
use super::super::written::survey;
use super::super::{Adjusted, Method, adjust};
use super::{
    AllErrors, Errors, Lanes, LineError, Network, Number, Origin, Precision, Problem, Vector3,
};
use crate::maths::ground::Ground;
use crate::maths::quantity::{Bearing, Incline};
use nalgebra::Matrix3;

/// What one error does to a part, at one standard deviation: the moves of its nodes, and of their
/// heights beside what their elevations tell, metres.
struct Effect {
    moves: Vec<Vector3<f64>>,
    own: Vec<f64>,
}

/// A survey of one part, adjusted.
struct Part {
    network: Network,
    precision: Precision,
    ground: Ground,
    adjusted: Adjusted,
    all: AllErrors,
    /// By origin.
    effects: [Vec<Effect>; 2],
}

impl Part {
    fn of(anchors: &str, ties: &str, ground: Ground) -> Self {
        let (survey, network) = survey(anchors, ties);
        let precision = survey.settings.precision;
        let part = &network.components[0];
        let raw = raw(&network, &precision, &ground);
        let nodes: Vec<usize> = (0..network.nodes.len()).collect();
        assert_eq!(part.nodes, nodes);
        let model = model(&network, part, &precision, &raw, &nodes);
        let problem = Problem::new(&model, &ground, nodes.len());
        let adjusted = adjust(&network, &precision, &ground, Method::LeastSquares, true);
        let x: Vec<Vector3<f64>> = adjusted.positions.iter().copied().map(Vector3::from).collect();
        let (factor, within) = problem.factor(&x).ok().unwrap();
        let all = AllErrors::of(&problem, (&network, &precision), &nodes, &x, &within);
        let free = |moves: &mut [Vector3<f64>]| {
            for (at, &[plan, up]) in moves.iter_mut().zip(&model.held) {
                let keep = |held: bool| if held { 0.0 } else { 1.0 };
                at.component_mul_assign(&Vector3::new(keep(plan), keep(plan), keep(up)));
            }
        };
        let effects = [Origin::Read, Origin::Stated].map(|origin| {
            one_by_one(all.from(origin), nodes.len()).map(|(mut moves, own)| {
                free(&mut moves);
                problem.pattern.solve(&factor, &mut moves);
                free(&mut moves);
                Effect { moves, own }
            })
        });
        let effects = effects.map(Iterator::collect);
        Self { network, precision, ground, adjusted, all, effects }
    }

    fn errors(&self, origin: Origin) -> [usize; 3] {
        let Errors { lines, turns, points } = self.all.from(origin);
        [lines.len(), turns.len(), points.len()]
    }

    fn effects(&self) -> impl Iterator<Item = &Effect> {
        self.effects.iter().flatten()
    }

    /// What an error does to the height at a node, metres.
    fn lifts(&self, effect: &Effect, node: usize) -> f64 {
        let [e, n, _] = self.adjusted.positions[node];
        let slope = self.ground.at(e, n).map_or([0.0; 2], |s| [s.slope_east, s.slope_north]);
        let above = Vector3::new(-slope[0], -slope[1], 1.0).dot(&effect.moves[node]);
        self.adjusted.heights[node].follows * above + effect.own[node]
    }

    fn assert_makes_the_covariances(&self) {
        for node in 0..self.network.nodes.len() {
            let outer = |effect: &Effect| effect.moves[node] * effect.moves[node].transpose();
            let (found, known) =
                (self.effects().map(outer).sum::<Matrix3<f64>>(), self.adjusted.covariances[node]);
            assert!(
                (found - known).norm() < 1e-8 * known.norm().max(1e-6),
                "{node}: {found} {known}"
            );
            let found: f64 = self.effects().map(|effect| self.lifts(effect, node).powi(2)).sum();
            let known = self.adjusted.heights[node].sd.powi(2);
            assert!((found / known - 1.0).abs() < 1e-8, "{node}: {found} for {known}");
        }
    }
}

/// What each error of an origin adds to the right-hand side, and to heights, as draws of it do.
fn one_by_one(
    errors: &Errors,
    nodes: usize,
) -> impl Iterator<Item = (Vec<Vector3<f64>>, Vec<f64>)> {
    let count = errors.lines.len() + errors.turns.len() + errors.points.len();
    (0..count).map(move |only| {
        let (mut b, mut own) = (vec![[Lanes::default(); 3]; nodes], vec![Lanes::default(); nodes]);
        let mut asked = 0..count;
        let normal = || Lanes::of(if asked.next() == Some(only) { 1.0 } else { 0.0 });
        errors.draw(normal, &mut b, &mut own);
        let first = |lanes: &Lanes| lanes.0[0];
        let moves = b.iter().map(|axes| Vector3::from(axes.map(|axis| axis.0[0])));
        (moves.collect(), own.iter().map(first).collect())
    })
}

/// By bearings, a turn, a plumb leg, a leg whose direction is carried on, one by its clinometer and one
/// so steep by it, due north, that it tells the offset of its far end; heights but at the last two.
const WALK: &str = "trail,anchor,tape_m,bearing_deg,turn_deg,incline_deg,height_m
Bor,0,,,,,0.5
Bor,1,2.98,12,,,0.76
Bor,2,3.83,,63,,1.58
Bor,3,3,,,,4.5
Bor,4,2.8,165,,,4.4
Bor,5,2.2,,,,4.3
Bor,6,2.5,80,,-4.2,
Bor,7,2,0,,88,";

fn slope() -> Ground {
    Ground::slope(Incline::from_degrees(10.0).unwrap(), Bearing::from_degrees(120.0)).unwrap()
}

#[test]
fn readings_are_told_from_what_is_stated() {
    let walk = Part::of(WALK, "", Ground::flat());
    let courses: Vec<bool> = walk.network.lines.iter().map(|l| l.course.is_assumed()).collect();
    assert_eq!(courses, [false, false, false, false, true, false, false]);
    // Seven tapes, three bearings, a clinometer, and the offset of the leg that stands upright by another,
    // the easting of which is nothing; a turn; six heights.
    assert_eq!(walk.errors(Origin::Read), [7 + 3 + 1 + 2, 1, 6]);
    // The offset of the plumb leg; the turn of the leg that was carried on; rough ground everywhere.
    assert_eq!(walk.errors(Origin::Stated), [2, 1, 8]);
    let plumb = walk.all.from(Origin::Stated).lines.iter().map(|error| [error.from, error.to]);
    assert_eq!(plumb.collect::<Vec<_>>(), [[2, 3]; 2]);
}

#[test]
fn all_errors_together_make_the_covariances() {
    Part::of(WALK, "", Ground::flat()).assert_makes_the_covariances();
    Part::of(WALK, "trail,from,to,tape_m,bearing_deg\nBor,0,2,5.85,47", slope())
        .assert_makes_the_covariances();
}

/// 2 m north of the release ± 0.05 m by the tape; its errors at the release do nothing, which is held.
#[test]
fn the_error_of_a_tape_lies_along_it() {
    let walk = Part::of(
        "trail,anchor,tape_m,bearing_deg,height_m\nBor,0,,,0\nBor,1,2,0,0",
        "",
        Ground::flat(),
    );
    let LineError { from, to, by } = walk.all.from(Origin::Read).lines[0];
    assert_eq!((from, to), (0, 1));
    assert!((by - Vector3::new(0.0, walk.precision.tape(2.0).recip(), 0.0)).norm() < 1e-6);
    let moves = &walk.effects[0][0].moves;
    assert!(moves[0].norm() < 1e-12);
    assert!((moves[1].y - walk.precision.tape(2.0)).abs() < 1e-6, "{}", moves[1]);
}

/// Positions of controls are readings.
#[test]
fn the_error_of_a_position_is_read() {
    let anchors = "trail,anchor,tape_m,turn_deg,height_m,latitude,longitude,accuracy_m
Bor,0,,,0,47,11,3
Bor,1,40,,0,,,
Bor,2,40,10,0,47.0007,11,3";
    let walk = Part::of(anchors, "", Ground::flat());
    // Three heights, and two positions on two axes.
    assert_eq!(walk.errors(Origin::Read), [2, 1, 3 + 4]);
    assert_eq!(walk.errors(Origin::Stated), [0, 0, 3]);
    walk.assert_makes_the_covariances();
}

/// A height read to σ = 0.05 m over ground rough by ρ = 0.1 m, k = 0.2: if no line told more, the
/// elevation moves by σ with the one and by ρ with the other, the height by k σ + (1 − k) σ = σ and by
/// k ρ − k ρ = 0.
#[test]
fn a_height_follows_its_reading_not_the_rough_ground() {
    let walk = Part::of(
        "trail,anchor,tape_m,bearing_deg,height_m\nBor,0,,,0\nBor,1,2,0,0",
        "",
        Ground::flat(),
    );
    let [read, stated] = [Origin::Read, Origin::Stated].map(|origin| walk.all.from(origin));
    let both = 0.05_f64.hypot(0.1);
    for node in 0..2 {
        let (of_reading, of_ground) = (read.points[node], stated.points[node]);
        assert_eq!((of_reading.node, of_ground.node), (node, node));
        assert!((of_reading.by.z - 0.05 / both / both).abs() < 1e-9);
        assert!((of_ground.by.z - 0.1 / both / both).abs() < 1e-9);
        assert!((of_reading.own - 0.8 * 0.05).abs() < 1e-9);
        assert!((of_ground.own + 0.2 * 0.1).abs() < 1e-9);
    }
}

/// A line held by 4 /m² on each axis has three stated errors of 2 /m.
#[test]
fn what_held_a_loose_line_is_stated() {
    let (survey, network) = survey("trail,anchor,tape_m,bearing_deg\nBor,0,,\nBor,1,2,0", "");
    let precision = &survey.settings.precision;
    let ground = Ground::flat();
    let raw = raw(&network, precision, &ground);
    let model = model(&network, &network.components[0], precision, &raw, &[0, 1]);
    let problem = Problem::new(&model, &ground, 2);
    let x = [Vector3::zeros(), Vector3::new(0.0, 2.0, 0.0)];
    let of = |within: &[f64]| {
        let all = AllErrors::of(&problem, (&network, precision), &[0, 1], &x, within);
        all.from(Origin::Stated).lines.clone()
    };
    let (loose, held) = (of(&[]), of(&[4.0]));
    assert_eq!(held.len(), loose.len() + 3);
    let sum: Matrix3<f64> = held[loose.len()..].iter().map(|e| e.by * e.by.transpose()).sum();
    assert_eq!(sum, Matrix3::from_diagonal_element(4.0));
}

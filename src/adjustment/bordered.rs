//! The border of the normal equations against the same by dense linear algebra: derivatives by
//! differences, one matrix of all positions and all common errors, inverted whole.

use super::common::Common;
use super::common::Instrument::{Compass, Height, Tape};
use super::normal::{above_ground, along, turn_residual};
use super::observation::Kind;
use super::raw::raw;
use super::weights::{Model, model};
use super::written::survey;
use super::{Method, adjust};
use crate::adjustment::network::{Known, Network};
use crate::maths::ground::Ground;
use crate::survey::settings::{CommonErrors, Precision};
use nalgebra::{DMatrix, DVector, Matrix3, Vector3};

/// An invented walk by two observers, whose tapes are 0.4 % long and 0.3 % short and whose needles
/// show 0.3° too much and 0.2° too little; its release is held and its end stands on a known point.
const ANCHORS: &str = "trail,anchor,tape_m,bearing_deg,incline_deg,height_m,observer
Bor,0,,,,0.5013,Ana
Bor,1,4.0142,12.19,,1.4136,Ana
Bor,2,3.7852,74.79,-4.69,1.1057,Eva
Bor,3,4.5879,79.82,,2.0082,Eva
Bor,4,5.8224,31.34,,,Ana";
const TIES: &str = "trail,from,to,tape_m,bearing_deg,incline_deg,observer
Bor,0,2,6.5598,42.82,,Eva
Bor,4,1,13.0519,239.12,-4.41,Ana";

fn network() -> Network {
    let (_, mut network) = survey(ANCHORS, TIES);
    for (node, [east, north], sd) in [(0, [0.0; 2], 0.0), (4, [11.89, 10.54], 0.01)] {
        let known = Known { east, north, sd: Some(sd), elevation: None, in_plan: true };
        network.nodes[node].known = Some(known);
    }
    network
}

fn precision() -> Precision {
    let common = CommonErrors { tape_scale: 0.005, bearing_deg: 0.4, height_scale: 0.01 };
    Precision {
        tape_m: 0.003,
        tape_per_m: 0.0,
        bearing_deg: 0.2,
        incline_deg: 0.15,
        height_m: 0.005,
        height_per_m: 0.0,
        anchor_m: 0.003,
        ground_m: 0.01,
        common,
        ..Precision::default()
    }
}

/// All residuals over their standard deviations at the positions `x`, where readings are those of
/// `read` and standard deviations those of `stated`.
fn residuals(stated: &Model, read: &Model, x: &[Vector3<f64>]) -> Vec<f64> {
    let ground = Ground::flat();
    let mut all = Vec::new();
    for line in &stated.lines {
        for at in line.first..line.end {
            let (value, toward) = (read.readings[at].value, read.readings[at].toward);
            let reading = super::observation::Observation { value, toward, ..stated.readings[at] };
            all.push(reading.residual(along(line, x)) / reading.sd);
        }
    }
    all.extend(stated.turns.iter().map(|turn| turn_residual(turn, stated, x).0 / turn.reading.sd));
    for (point, read) in stated.points.iter().zip(&read.points) {
        let mut reading = point.reading;
        reading.value = read.reading.value;
        let at = above_ground(&ground, &reading, x[point.node]).0;
        all.push(reading.residual(at) / reading.sd);
    }
    all
}

/// The least squares of positions and common errors together: values, and their covariance.
fn dense(
    network: &Network,
    precision: &Precision,
    common: &Common,
) -> (DVector<f64>, DMatrix<f64>) {
    let nodes = network.nodes.len();
    let local: Vec<usize> = (0..nodes).collect();
    let part = &network.components[0];
    let ground = Ground::flat();
    let model_of = |network: &Network| {
        model(network, part, precision, &raw(network, precision, &ground), &local)
    };
    let stated = model_of(network);
    let of = |unknowns: &DVector<f64>| {
        let mut freed = common.clone();
        freed.unknowns.iter_mut().enumerate().for_each(|(k, u)| u.value = unknowns[3 * nodes + k]);
        let x: Vec<Vector3<f64>> = (0..nodes)
            .map(|n| Vector3::new(unknowns[3 * n], unknowns[3 * n + 1], unknowns[3 * n + 2]))
            .collect();
        let mut all = residuals(&stated, &model_of(&freed.corrected(network)), &x);
        all.extend(freed.unknowns.iter().map(|u| u.value / u.stated));
        // The release is held in plan.
        all.extend([x[0].x * 1e6, x[0].y * 1e6]);
        DVector::from_vec(all)
    };
    let mut at = DVector::zeros(3 * nodes + common.unknowns.len());
    let start = raw(network, precision, &ground).start.positions;
    start.iter().enumerate().for_each(|(n, x)| (0..3).for_each(|k| at[3 * n + k] = x[k]));
    let mut covariance = DMatrix::zeros(0, 0);
    for _ in 0..30 {
        let columns: Vec<DVector<f64>> = (0..at.len())
            .map(|k| {
                let (mut more, mut less) = (at.clone(), at.clone());
                more[k] += 1e-6;
                less[k] -= 1e-6;
                (of(&more) - of(&less)) / 2e-6
            })
            .collect();
        let jacobian = DMatrix::from_columns(&columns);
        covariance = (jacobian.transpose() * &jacobian).try_inverse().unwrap();
        at -= &covariance * jacobian.transpose() * of(&at);
    }
    (at, covariance)
}

#[test]
fn border_and_dense_matrix_agree() {
    let (network, precision) = (network(), precision());
    let adjusted = adjust(&network, &precision, &Ground::flat(), Method::LeastSquares, false);
    let unknowns = &adjusted.common.unknowns;
    let kinds: Vec<_> = unknowns.iter().map(|u| u.instrument).collect();
    assert_eq!(kinds, [Tape, Tape, Compass, Compass, Height, Height]);
    assert!(adjusted.residuals.iter().all(|r| r.kind != Kind::Steep));
    let mut begun = adjusted.common.clone();
    begun.unknowns.iter_mut().for_each(|u| u.value = 0.0);
    let (values, covariance) = dense(&network, &precision, &begun);
    let nodes = network.nodes.len();
    for (k, unknown) in unknowns.iter().enumerate() {
        let (value, sd) =
            (values[3 * nodes + k], covariance[(3 * nodes + k, 3 * nodes + k)].sqrt());
        assert!((unknown.sd / sd - 1.0).abs() < 0.01, "{unknown:?} {sd}");
        assert!((unknown.value - value).abs() < 0.03 * sd, "{unknown:?} {value}");
    }
    assert!(unknowns.iter().any(|u| u.is_told()) && unknowns.iter().any(|u| !u.is_told()));
    assert!(unknowns.iter().any(|u| u.value.abs() > 0.1 * u.stated), "{unknowns:?}");
    for node in 0..nodes {
        let block: Matrix3<f64> = covariance.fixed_view::<3, 3>(3 * node, 3 * node).into_owned();
        let found = adjusted.covariances[node];
        assert!((found - block).norm() < 0.02 * block.norm() + 1e-9, "{node} {found} {block}");
        let at = Vector3::new(values[3 * node], values[3 * node + 1], values[3 * node + 2]);
        let off = (Vector3::from(adjusted.positions[node]) - at).norm();
        assert!(off < 0.02 * block.trace().sqrt() + 1e-6, "{node} {off}");
    }
    for (line, found) in network.lines.iter().zip(&adjusted.line_covariances) {
        let block = |a: usize, b: usize| -> Matrix3<f64> {
            covariance.fixed_view::<3, 3>(3 * a, 3 * b).into_owned()
        };
        let (a, b) = (line.from, line.to);
        let known = block(a, a) + block(b, b) - block(a, b) - block(b, a);
        assert!((found - known).norm() < 0.02 * known.norm(), "{found} {known}");
    }
}

//! Coefficients with their intervals.
//!
//! In: animals and the point of greatest likelihood. Out: one coefficient a column. What a coefficient varies
//! by comes from the means of animals, from the nights about them, and from not knowing how to weigh the two:
//!
//! ```text
//! Var β = q_b B + q_w W + K      d = (X'V⁻¹X)⁻¹ c
//! B = Σ_i (x̄_i'd)² / v_i         q_b = Σ_i r̄_i² / v_i / ν_b              ν_b = k − p_b
//! W = Σ_ij w_ij (x_ij'd − x̄_i'd)²   q_w = Σ_ij w_ij (r_ij − r̄_i)² / ν_w   ν_w = N − k − p_w
//! K = 2 Σ_k Σ_l (I⁻¹)_kl f_k' P f_l      f_k = V_k V⁻¹ X d
//! 1/ν = ( (q_b B)² / ν_b + (q_w W)² / ν_w ) / (q_b B + q_w W)²
//! ```
//!
//! k animals, N nights; `p_b` + `p_w` = p, the coefficients by where they are found out. Each q is 1 on average: it
//! sets either level by how far its values do lie apart, so that Student's t stays in place where a variance
//! was cut at zero or a stated error is not quite right. Sources: [`Source::Knapp2003`](crate::survey::sources::Source::Knapp2003)
//! for q, [`Source::Kenward1997`](crate::survey::sources::Source::Kenward1997) for K,
//! [`Source::Satterthwaite1946`](crate::survey::sources::Source::Satterthwaite1946) for ν. The mean over all animals is
//! freed of skewness like that of one value an animal in [`means`](crate::maths::statistics::means).

use super::Coefficient;
use super::animals::Animals;
use super::likelihood::Point;
use super::matrix::dot;
use crate::maths::statistics::describe::sd;
use crate::maths::statistics::interval::Z95;
use crate::maths::statistics::means::{skewness, untransformed};
use statrs::distribution::{ContinuousCDF, StudentsT};

/// Fewest degrees of freedom that an interval is given with.
const FEWEST_DEGREES: f64 = 0.5;
/// From so many degrees of freedom on the quantile of Student's t follows from the normal's, to nine digits.
/// The quantile by search loses digits there: of ten million degrees it gave 1.83 for 1.96.
const MANY_DEGREES: f64 = 300.0;
/// A part of the variance that is less than this share need not be known.
const NOTHING: f64 = 1e-9;

/// The means of animals, or the nights about them.
#[derive(Clone, Copy)]
struct Level {
    /// ν.
    degrees: f64,
    /// q.
    scale: f64,
}

impl Level {
    fn of(squares: f64, degrees: f64) -> Self {
        let told = degrees > NOTHING;
        Self { degrees: degrees.max(NOTHING), scale: if told { squares / degrees } else { 1.0 } }
    }

    fn both(animals: &Animals, point: &Point) -> [Self; 2] {
        let (mut taken, mut between, mut within) = (0.0, 0.0, 0.0);
        for one in &point.each {
            taken += point.factor.product(&one.row, &one.row) / one.variance;
            between += one.rest * one.rest / one.variance;
            within += one.weights.iter().zip(&one.rests).map(|(w, r)| w * r * r).sum::<f64>();
        }
        let degrees = point.each.len() as f64 - taken;
        let rest = (animals.nights - animals.width) as f64 - degrees;
        [Self::of(between, degrees), Self::of(within, rest)]
    }
}

/// All coefficients; `None` where one of them has hardly a degree of freedom.
pub(super) fn coefficients(animals: &Animals, point: &Point) -> Option<Vec<Coefficient>> {
    let levels = Level::both(animals, point);
    let scaled = |at: usize| {
        let found = coefficient(&combination(animals, at), point, levels)?;
        let centre = if at == 0 { animals.centre } else { 0.0 };
        Some(Coefficient {
            value: centre + animals.unit * found.value,
            standard_error: animals.unit * found.standard_error,
            interval: found.interval.map(|end| centre + animals.unit * end),
            ..found
        })
    };
    (0..animals.width).map(scaled).collect()
}

/// The coefficient of the predictors as they were given, by those of the fit.
fn combination(animals: &Animals, at: usize) -> Vec<f64> {
    let mut combination = vec![0.0; animals.width];
    if at == 0 {
        combination[0] = 1.0;
        for (c, [mean, spread]) in combination[1..].iter_mut().zip(&animals.scales) {
            *c = -mean / spread;
        }
    } else {
        combination[at] = 1.0 / animals.scales[at - 1][1];
    }
    combination
}

fn coefficient(combination: &[f64], point: &Point, levels: [Level; 2]) -> Option<Coefficient> {
    let direction = point.factor.solve(combination);
    let (mut between, mut within) = (0.0, 0.0);
    for one in &point.each {
        between += dot(&one.row, &direction).powi(2) / one.variance;
        for (weight, row) in one.weights.iter().zip(&one.rows) {
            within += weight * dot(row, &direction).powi(2);
        }
    }
    let parts = [levels[0].scale * between, levels[1].scale * within];
    let variance = parts[0] + parts[1];
    let mut inverse = 0.0;
    for (share, level) in parts.map(|part| part / variance).iter().zip(levels) {
        if *share > NOTHING {
            inverse += share * share / level.degrees;
        }
    }
    let degrees_of_freedom = inverse.recip();
    // A first order that doubles what it corrects is no longer to be trusted.
    let weighing = weighing(point, &direction).min(variance);
    let standard_error = (variance + weighing).sqrt();
    if degrees_of_freedom < FEWEST_DEGREES || !(standard_error > 0.0 && standard_error.is_finite())
    {
        return None;
    }
    let value = dot(combination, &point.beta);
    let t = student_975(degrees_of_freedom)?;
    let reach = if combination.len() == 1 { reach_of_mean(point, t)? } else { [-t, t] };
    let interval = reach.map(|reach| value + reach * standard_error);
    Some(Coefficient { value, standard_error, degrees_of_freedom, interval })
}

/// Two-sided 95 % point of Student's t, of degrees of freedom that need not be whole.
///
/// ```text
/// t = z + (z³ + z) / 4ν + (5z⁵ + 16z³ + 3z) / 96ν² + (3z⁷ + 19z⁵ + 17z³ − 15z) / 384ν³      ν > 300
/// ```
fn student_975(degrees_of_freedom: f64) -> Option<f64> {
    if degrees_of_freedom > MANY_DEGREES {
        let (z, nu) = (Z95, degrees_of_freedom);
        let first = (z.powi(3) + z) / 4.0;
        let second = (5.0 * z.powi(5) + 16.0 * z.powi(3) + 3.0 * z) / 96.0;
        let third = (3.0 * z.powi(7) + 19.0 * z.powi(5) + 17.0 * z.powi(3) - 15.0 * z) / 384.0;
        return Some(z + (first + (second + third / nu) / nu) / nu);
    }
    let student = StudentsT::new(0.0, 1.0, degrees_of_freedom).ok()?;
    Some(student.inverse_cdf(0.975))
}

/// K. None where only one variance was estimated: its weights are taken as they are.
fn weighing(point: &Point, direction: &[f64]) -> f64 {
    let [[aa, ae], [_, ee]] = point.information();
    let [[f_aa, f_ae], [_, f_ee]] = point.forms_of(direction);
    let determinant = aa * ee - ae * ae;
    if determinant <= 1e-9 * aa * ee {
        return 0.0;
    }
    (2.0 * (ee * f_aa - 2.0 * ae * f_ae + aa * f_ee) / determinant).max(0.0)
}

/// How many standard errors the ends of the interval of the mean lie above it, by the skewness of what
/// each animal brings to it.
fn reach_of_mean(point: &Point, t: f64) -> Option<[f64; 2]> {
    let count = point.each.len() as f64;
    let all: f64 = point.each.iter().map(|one| 1.0 / one.variance).sum();
    let brought: Vec<f64> =
        point.each.iter().map(|one| count * one.rest / (one.variance * all)).collect();
    let spread = sd(&brought).filter(|spread| *spread > 0.0)?;
    let gamma = skewness(&brought, 0.0, spread);
    Some([t, -t].map(|t| -untransformed(t, gamma, count)))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// scipy 1.17: `stats.t.ppf(0.975, ν)`.
    #[test]
    fn student_takes_any_degrees_of_freedom() {
        let printed = [
            (0.5, 164.557_673_480),
            (1.0, 12.706_204_736),
            (2.7, 3.392_148_383),
            (300.0, 1.967_903_011_3),
            (1000.0, 1.962_339_080_8),
            (1e9, 1.959_963_987_0),
        ];
        for (degrees, expected) in printed {
            let found = student_975(degrees).unwrap();
            assert!((found / expected - 1.0).abs() < 1e-9, "{degrees}: {found}");
        }
    }
}

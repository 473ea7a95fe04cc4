//! The restricted likelihood of two variances, animal by animal.
//!
//! In: animals and the variances `σ_a²` and `σ_e²`. Out: the coefficients, the likelihood, its slope and its average information;
//! `None` where the coefficients are not determined. An animal's nights part into their weighted mean and
//! what they differ from it by, which are independent; nothing is subtracted that could cancel:
//!
//! ```text
//! w_j = 1 / (σ_e² + se_j²)      W = Σ w_j      v = σ_a² + 1/W      ū = Σ w_j u_j / W
//! u' V⁻¹ t = Σ w_j (u_j − ū)(t_j − t̄) + ū t̄ / v
//! ln |V| = −Σ ln w_j + ln (v W)
//! ```
//!
//! Source: [`Source::Gilmour1995`](crate::survey::sources::Source::Gilmour1995) for the average information.

use super::animals::{Animal, Animals};
use super::matrix::{Factor, add, dot};
use std::f64::consts::TAU;

/// One animal under two variances.
#[derive(Clone, Debug)]
pub(super) struct Weighed {
    /// `w_j`, by night.
    pub(super) weights: Vec<f64>,
    /// v: how far the mean of the animal may lie from what the predictors say.
    pub(super) variance: f64,
    /// x̄.
    pub(super) row: Vec<f64>,
    /// `x_j` − x̄, by night.
    pub(super) rows: Vec<Vec<f64>>,
    /// r̄, what the predictors leave of the mean.
    pub(super) rest: f64,
    /// `r_j` − r̄, by night.
    pub(super) rests: Vec<f64>,
}

impl Weighed {
    fn of(animal: &Animal, [between, within]: [f64; 2]) -> Self {
        let weights: Vec<f64> = animal.known.iter().map(|known| 1.0 / (within + known)).collect();
        let all: f64 = weights.iter().sum();
        let mut row = vec![0.0; animal.rows[0].len()];
        for (weight, x) in weights.iter().zip(&animal.rows) {
            add(&mut row, weight / all, x);
        }
        let less = |x: &Vec<f64>| x.iter().zip(&row).map(|(x, mean)| x - mean).collect();
        let rows = animal.rows.iter().map(less).collect();
        let rest = dot(&weights, &animal.values) / all;
        let rests = animal.values.iter().map(|y| y - rest).collect();
        Self { weights, variance: between + 1.0 / all, row, rows, rest, rests }
    }

    /// Takes what the coefficients say off the values.
    fn less(&mut self, beta: &[f64]) {
        self.rest -= dot(&self.row, beta);
        for (rest, row) in self.rests.iter_mut().zip(&self.rows) {
            *rest -= dot(row, beta);
        }
    }

    /// v W.
    fn ratio(&self) -> f64 {
        self.variance * self.weights.iter().sum::<f64>()
    }

    fn log_determinant(&self) -> f64 {
        self.ratio().ln() - self.weights.iter().map(|w| w.ln()).sum::<f64>()
    }
}

/// All animals under two variances, and the coefficients that follow.
#[derive(Clone, Debug)]
pub(super) struct Point {
    /// `σ_a²` and `σ_e²`.
    pub(super) variances: [f64; 2],
    pub(super) each: Vec<Weighed>,
    pub(super) beta: Vec<f64>,
    /// Of X'V⁻¹X.
    pub(super) factor: Factor,
    pub(super) log_likelihood: f64,
}

impl Point {
    pub(super) fn of(animals: &Animals, variances: [f64; 2]) -> Option<Self> {
        let mut each: Vec<Weighed> =
            animals.each.iter().map(|animal| Weighed::of(animal, variances)).collect();
        let width = animals.width;
        let (mut matrix, mut right) = (vec![vec![0.0; width]; width], vec![0.0; width]);
        let mut gather = |weight: f64, row: &[f64], y: f64| {
            for (line, x) in matrix.iter_mut().zip(row) {
                add(line, weight * x, row);
            }
            add(&mut right, weight * y, row);
        };
        for one in &each {
            gather(1.0 / one.variance, &one.row, one.rest);
            for ((weight, row), y) in one.weights.iter().zip(&one.rows).zip(&one.rests) {
                gather(*weight, row, *y);
            }
        }
        let factor = Factor::of(&matrix)?;
        let beta = factor.solve(&right);
        for one in &mut each {
            one.less(&beta);
        }
        let determinants: f64 = each.iter().map(Weighed::log_determinant).sum();
        let squares: f64 = each.iter().map(|one| one.squares()).sum();
        let constant = (animals.nights - width) as f64 * TAU.ln();
        let log_likelihood = -0.5 * (determinants + factor.log_determinant() + squares + constant);
        log_likelihood.is_finite().then_some(Self { variances, each, beta, factor, log_likelihood })
    }

    /// The slope of the likelihood by `σ_a²` and `σ_e²`.
    ///
    /// ```text
    /// −½ ( tr P V_k − r'V⁻¹ V_k V⁻¹ r )      V_a = 1 1' by animal, V_e = 1
    /// P = V⁻¹ − V⁻¹X (X'V⁻¹X)⁻¹ X'V⁻¹
    /// ```
    pub(super) fn slope(&self) -> [f64; 2] {
        let parts = self.each.iter().map(|one| one.slope(&self.factor));
        parts.fold([0.0; 2], |sum, own| [sum[0] + own[0], sum[1] + own[1]])
    }

    /// The average information of both variances.
    ///
    /// ```text
    /// ½ f_k' P f_l      f_k = V_k V⁻¹ r
    /// ```
    pub(super) fn information(&self) -> [[f64; 2]; 2] {
        let forms = self.forms(|one| Parted { mean: one.rest, rest: one.rests.clone() });
        forms.map(|row| row.map(|form| 0.5 * form))
    }

    /// The same forms of what weighs the nights in the estimate of d'β.
    ///
    /// ```text
    /// f_k' P f_l      f_k = V_k V⁻¹ X d
    /// ```
    pub(super) fn forms_of(&self, direction: &[f64]) -> [[f64; 2]; 2] {
        let along = |rows: &[Vec<f64>]| rows.iter().map(|row| dot(row, direction)).collect();
        self.forms(|one| Parted { mean: dot(&one.row, direction), rest: along(&one.rows) })
    }

    /// `f_k' P f_l` with `f_k = V_k V⁻¹ u`.
    fn forms(&self, of: impl Fn(&Weighed) -> Parted) -> [[f64; 2]; 2] {
        let mut forms = [[0.0; 2]; 2];
        let mut sides = [vec![0.0; self.beta.len()], vec![0.0; self.beta.len()]];
        for one in &self.each {
            let u = of(one);
            let working = [one.constant(u.mean / one.variance), one.parted(&one.inverse(&u))];
            for k in 0..2 {
                for l in 0..2 {
                    forms[k][l] += one.product(&working[k], &working[l]);
                }
                one.side(&working[k], &mut sides[k]);
            }
        }
        for k in 0..2 {
            for l in 0..2 {
                forms[k][l] -= self.factor.product(&sides[k], &sides[l]);
            }
        }
        forms
    }
}

/// A number a night, as its weighted mean and what is left of each.
struct Parted {
    mean: f64,
    rest: Vec<f64>,
}

impl Weighed {
    /// r' V⁻¹ r.
    fn squares(&self) -> f64 {
        let within = self.weights.iter().zip(&self.rests).map(|(w, r)| w * r * r);
        self.rest * self.rest / self.variance + within.sum::<f64>()
    }

    fn constant(&self, mean: f64) -> Parted {
        Parted { mean, rest: vec![0.0; self.weights.len()] }
    }

    fn parted(&self, numbers: &[f64]) -> Parted {
        let mean = dot(&self.weights, numbers) / self.weights.iter().sum::<f64>();
        Parted { mean, rest: numbers.iter().map(|x| x - mean).collect() }
    }

    /// f' V⁻¹ g.
    fn product(&self, f: &Parted, g: &Parted) -> f64 {
        let within = self.weights.iter().zip(&f.rest).zip(&g.rest).map(|((w, f), g)| w * f * g);
        f.mean * g.mean / self.variance + within.sum::<f64>()
    }

    /// Adds X' V⁻¹ f.
    fn side(&self, f: &Parted, to: &mut [f64]) {
        add(to, f.mean / self.variance, &self.row);
        for ((weight, row), rest) in self.weights.iter().zip(&self.rows).zip(&f.rest) {
            add(to, weight * rest, row);
        }
    }

    /// V⁻¹ u, night by night.
    fn inverse(&self, u: &Parted) -> Vec<f64> {
        let mean = u.mean / self.ratio();
        self.weights.iter().zip(&u.rest).map(|(w, u)| w * (u + mean)).collect()
    }

    /// What the animal adds to the slope of the likelihood.
    fn slope(&self, factor: &Factor) -> [f64; 2] {
        let squared = |list: Vec<f64>| list.iter().map(|x| x * x).sum::<f64>();
        let (v, ratio) = (self.variance, self.ratio());
        let by_mean = 1.0 / v - (squared(factor.half(&self.row)) + self.rest * self.rest) / (v * v);
        // tr V⁻¹: of each night w_j (1 − w_j/W (1 − 1/(vW)))
        let all: f64 = self.weights.iter().sum();
        let mut by_night = 0.0;
        let rests = self.inverse(&Parted { mean: self.rest, rest: self.rests.clone() });
        for ((weight, row), rest) in self.weights.iter().zip(&self.rows).zip(rests) {
            let whole: Vec<f64> =
                row.iter().zip(&self.row).map(|(x, mean)| weight * (x + mean / ratio)).collect();
            let inverse = weight * (1.0 - weight / all * (1.0 - 1.0 / ratio));
            by_night += inverse - squared(factor.half(&whole)) - rest * rest;
        }
        [-0.5 * by_mean, -0.5 * by_night]
    }
}

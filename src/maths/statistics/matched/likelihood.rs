//! The conditional likelihood of matched sets, and the small symmetric systems it needs.
//!
//! ```text
//! ℓ(β) = − Σ sets ln Σⱼ exp( β·(xⱼ − x used) )        j over all points of the set, the used one too
//! score = − Σ sets E(d)      information = Σ sets ( E(d dᵀ) − E(d) E(d)ᵀ )      d = xⱼ − x used
//! ```

/// One set: what each available point differs from the used one, by variable.
pub(super) type Differences = Vec<Vec<f64>>;

/// A symmetric matrix, by row.
pub(super) type Matrix = Vec<Vec<f64>>;

/// Log likelihood, score and information of one or more sets.
#[derive(Clone, Debug)]
pub(super) struct Likelihood {
    pub(super) log: f64,
    pub(super) score: Vec<f64>,
    pub(super) information: Matrix,
}

impl Likelihood {
    fn none(variables: usize) -> Self {
        let information = vec![vec![0.0; variables]; variables];
        Self { log: 0.0, score: vec![0.0; variables], information }
    }

    pub(super) fn of<'a>(sets: impl IntoIterator<Item = &'a Differences>, beta: &[f64]) -> Self {
        let mut sum = Self::none(beta.len());
        sets.into_iter().for_each(|set| sum.add(set, beta));
        sum
    }

    fn add(&mut self, set: &Differences, beta: &[f64]) {
        let along = |d: &Vec<f64>| d.iter().zip(beta).map(|(x, b)| x * b).sum::<f64>();
        let predictors: Vec<f64> = set.iter().map(along).collect();
        // of the used point the predictor is 0; the largest is taken off, so that none overflows
        let largest = predictors.iter().copied().fold(0.0, f64::max);
        let shares: Vec<f64> = predictors.iter().map(|eta| (eta - largest).exp()).collect();
        let all = (-largest).exp() + shares.iter().sum::<f64>();
        self.log -= largest + all.ln();
        let mut expected = vec![0.0; beta.len()];
        for (d, share) in set.iter().zip(&shares) {
            let share = share / all;
            for (at, x) in d.iter().enumerate() {
                expected[at] += share * x;
                self.information[at].iter_mut().zip(d).for_each(|(to, y)| *to += share * x * y);
            }
        }
        for (at, x) in expected.iter().enumerate() {
            self.score[at] -= x;
            self.information[at].iter_mut().zip(&expected).for_each(|(to, y)| *to -= x * y);
        }
    }
}

/// The lower triangular factor; `None` where a pivot is less than `least` of its diagonal element of `of`.
pub(super) fn factor(matrix: &Matrix, of: &Matrix, least: f64) -> Option<Matrix> {
    let mut lower = matrix.clone();
    for at in 0..matrix.len() {
        for column in 0..=at {
            let known: f64 = (0..column).map(|k| lower[at][k] * lower[column][k]).sum();
            let rest = matrix[at][column] - known;
            if column < at {
                lower[at][column] = rest / lower[column][column];
            } else if rest > least * of[at][at] && rest > 0.0 {
                lower[at][at] = rest.sqrt();
            } else {
                return None;
            }
        }
    }
    Some(lower)
}

/// x of L Lᵀ x = b.
pub(super) fn solve(lower: &Matrix, b: &[f64]) -> Vec<f64> {
    let mut x = b.to_vec();
    for at in 0..x.len() {
        let known: f64 = (0..at).map(|k| lower[at][k] * x[k]).sum();
        x[at] = (x[at] - known) / lower[at][at];
    }
    for at in (0..x.len()).rev() {
        let known: f64 = (at + 1..x.len()).map(|k| lower[k][at] * x[k]).sum();
        x[at] = (x[at] - known) / lower[at][at];
    }
    x
}

//! The mean up to a bound: of min(length, bound), where some lengths are only "at least".
//!
//! In: one length an animal, and a bound. Out: the area under the product-limit curve up to the bound, its
//! standard error, its 95 % interval. Nothing beyond the last length is made up.
//! The interval is that of [`interval_of_mean`] for what each animal does to the estimate (its
//! influence), so that of complete lengths the two are one number. Only the degrees of freedom are fewer: a
//! thread that ran out below the bound counts for none. Sources:
//! [`Source::KaplanMeier1958`](crate::survey::sources::Source::KaplanMeier1958) and
//! [`Source::Irwin1949`](crate::survey::sources::Source::Irwin1949) for the standard error,
//! [`Source::Hall1992`](crate::survey::sources::Source::Hall1992) for the interval.
//!
//! ```text
//! μ  = ∫₀ᵇ S                 A = ∫ S from a step to b
//! V  = n/(n − 1) Σ A² d / y(y − d)        over steps below b
//! ψᵢ = n ( Σ A d / y(y − d) over steps at which i went farther − A / y at its own )
//! ```
//! Σψ² / n² is Greenwood's sum, exactly.
//!
//! Measured: of 100 intervals, how many hold the mean up to the bound (4000 samples each; chance 0.4). Lengths
//! normal with a spread of 0.3 of their mean, exponential and log-normal; threads that run out at random;
//! the bound is where three tenths of animals go farther, or the longest length.
//!
//! ```text
//!            none ran out   20 % ran out   40 % ran out
//! 5 animals     96 to 99       95 to 99       94 to 100
//! 8             97 to 99       97 to 99       96 to 100
//! 12            97 to 99       97 to 99       97 to 100
//! 20            96 to 98       97 to 98       97 to 99
//! ```
//! Tried as well: Student's t with n − 1 degrees of freedom holds it in 90 to 99, with k − 1 (k animals whose
//! thread did not run out below the bound) in 93 to 99; the log-log scale in 94 to 99, the log scale in 94
//! to 99. Student's are narrower by a third of 5 animals, but of complete skewed lengths they hold the mean
//! in 88. Of 4 animals with threads run out this one held it in 93, of 3 in 91: below [`FEWEST`] there is none.
//! Where it is wrong: for the mean of whole lengths, see [`super`]; and where few animals stop before the
//! bound, as it sees those only that did.

use super::{Total, sorted};
use crate::maths::statistics::interval::student_975;
use crate::maths::statistics::means::{self, interval_of_mean};

/// Fewest animals of which an interval is given where a thread ran out below the bound. Where none did, as
/// for complete lengths: three.
pub const FEWEST: usize = 5;
/// Fewest trails that are complete below the bound where an interval is given: of one, the spread is what
/// that one trail says.
pub const FEWEST_COMPLETE: usize = 2;

/// The mean of min(length, bound).
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct RestrictedMean {
    /// The bound, in metres.
    pub bound: f64,
    /// The mean up to it, in metres.
    pub mean: f64,
    /// Its standard error, in metres; `None` where no trail is complete below the bound, or of one animal.
    pub standard_error: Option<f64>,
    /// Animals.
    pub animals: usize,
    /// How many threads ran out below the bound; one that ran out beyond it is fully known up to it.
    pub ran_out: usize,
    /// The 95 % interval of the mean up to the bound; `None` of fewer animals than [`FEWEST`] or fewer
    /// complete trails than [`FEWEST_COMPLETE`].
    pub interval: Option<[f64; 2]>,
}

/// The mean of min(length, bound). `None` of no animals, of a length that is negative or not finite, of a
/// bound that is not positive, or of one beyond a largest length that is "at least".
pub fn restricted_mean(sample: &[Total], bound: f64) -> Option<RestrictedMean> {
    let sample = sorted(sample)?;
    let last = sample.last()?;
    if !(bound > 0.0 && bound.is_finite()) || last.at_least && bound > last.value {
        return None;
    }
    let Influence { mean, of_each } = influence(&sample, bound);
    let n = sample.len() as f64;
    let squares: f64 = of_each.iter().map(|x| x * x).sum();
    let variance = squares / (n * (n - 1.0));
    let reach = Reach::of(&sample, bound);
    let standard_error =
        (reach.complete > 0 && reach.animals > 1).then(|| variance.sqrt()).filter(|e| *e > 0.0);
    let interval = interval(&sample, bound, mean, &of_each);
    let (animals, ran_out) = (reach.animals, reach.ran_out);
    Some(RestrictedMean { bound, mean, standard_error, animals, ran_out, interval })
}

/// How far a sample reaches towards a bound.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reach {
    pub(super) animals: usize,
    /// Complete below the bound.
    pub(super) complete: usize,
    /// Run out below it.
    pub(super) ran_out: usize,
}

impl Reach {
    pub(super) fn of(sample: &[Total], bound: f64) -> Self {
        let below = sample.iter().filter(|total| total.value < bound);
        let ran_out = below.clone().filter(|total| total.at_least).count();
        Self { animals: sample.len(), complete: below.count() - ran_out, ran_out }
    }

    /// Whether there is enough for an interval or a test.
    pub(super) fn suffices(&self) -> bool {
        let fewest = if self.ran_out > 0 { FEWEST } else { means::FEWEST };
        self.animals >= fewest && self.complete >= FEWEST_COMPLETE
    }
}

/// The mean up to a bound, and what each animal of a sorted sample does to it.
struct Influence {
    mean: f64,
    of_each: Vec<f64>,
}

/// Trails of one length are gone through one after the other: products and sums of the formulas are the same.
fn influence(sample: &[Total], bound: f64) -> Influence {
    let n = sample.len() as f64;
    let (mut farther, mut from, mut area) = (1.0, 0.0, 0.0);
    let mut areas = Vec::with_capacity(sample.len());
    for (at, total) in sample.iter().enumerate() {
        let to = total.value.min(bound);
        area += farther * (to - from);
        from = to;
        areas.push(area);
        if !total.at_least && total.value < bound {
            farther *= 1.0 - 1.0 / (n - at as f64);
        }
    }
    let mean = area + farther * (bound - from);
    let mut passed = 0.0;
    let mut of_each = Vec::with_capacity(sample.len());
    for (at, (total, before)) in sample.iter().zip(areas).enumerate() {
        let (rest, y) = (mean - before, n - at as f64);
        let stops = !total.at_least && total.value < bound;
        of_each.push(if stops { passed - n * rest / y } else { passed });
        if stops && y > 1.0 {
            passed += n * rest / (y * (y - 1.0));
        }
    }
    Influence { mean, of_each }
}

fn interval(sample: &[Total], bound: f64, mean: f64, of_each: &[f64]) -> Option<[f64; 2]> {
    let whole = |total: &Total| !total.at_least && total.value <= bound;
    let replaced: Vec<f64> = of_each.iter().map(|x| mean + x).collect();
    if sample.iter().all(whole) {
        return interval_of_mean(&replaced);
    }
    let reach = Reach::of(sample, bound);
    if !reach.suffices() {
        return None;
    }
    let t = student_975(reach.animals - reach.ran_out - 1);
    let skewness = skewness(of_each)?;
    let n = of_each.len() as f64;
    let error = (of_each.iter().map(|x| x * x).sum::<f64>() / (n * (n - 1.0))).sqrt();
    let end = |t: f64| mean - untransformed(t, skewness, n) * error;
    Some([end(t).max(0.0), end(-t).min(bound)])
}

/// As in [`means`], for another number of degrees of freedom.
fn untransformed(t: f64, skewness: f64, n: f64) -> f64 {
    let by = skewness / (3.0 * n.sqrt());
    if by.abs() < 1e-6 {
        return t;
    }
    ((1.0 + 3.0 * by * (t - skewness / (6.0 * n.sqrt()))).cbrt() - 1.0) / by
}

/// The same skewness as in [`means`], of values about their mean.
fn skewness(about: &[f64]) -> Option<f64> {
    let n = about.len() as f64;
    let spread = (about.iter().map(|x| x * x).sum::<f64>() / (n - 1.0)).sqrt();
    let third = about.iter().map(|x| (x / spread).powi(3)).sum::<f64>() / n;
    let unbiased =
        if about.len() > 3 { n * n / ((n - 1.0) * (n - 2.0)) } else { (n / (n - 1.0)).powf(1.5) };
    (spread > 0.0).then_some(third * unbiased)
}

#[cfg(test)]
mod tests {
    use super::super::tests::{complete, mixed};
    use super::*;
    use crate::maths::statistics::describe::{mean, sd};

    /// Of complete lengths all is as without a bound: 2.5 to 11.
    #[test]
    fn of_complete_lengths_it_is_the_mean_and_its_interval() {
        let values = [3.0, 11.0, 2.5, 4.0, 4.0, 7.5];
        let found = restricted_mean(&complete(&values), 11.0).unwrap();
        let error = sd(&values).unwrap() / 6.0_f64.sqrt();
        assert!((found.mean - mean(&values).unwrap()).abs() < 1e-12);
        assert!((found.standard_error.unwrap() - error).abs() < 1e-12);
        let ([low, high], [from, to]) =
            (found.interval.unwrap(), interval_of_mean(&values).unwrap());
        assert!((low - from).abs() < 1e-9 && (high - to).abs() < 1e-9);
    }

    /// Threads that ran out at the bound or beyond it leave nothing open: the lengths cut at the bound, with
    /// Student's t, skewness taken off.
    #[test]
    fn threads_that_ran_out_beyond_the_bound_are_fully_known() {
        let sample = mixed(&[3.0, 2.5, 4.0, 4.5], &[6.0, 8.0]);
        let found = restricted_mean(&sample, 6.0).unwrap();
        let cut = [3.0, 2.5, 4.0, 4.5, 6.0, 6.0];
        assert!((found.mean - mean(&cut).unwrap()).abs() < 1e-12);
        assert_eq!(found.ran_out, 0);
        let [low, high] = found.interval.unwrap();
        let [from, to] = interval_of_mean(&cut).unwrap();
        assert!((low - from).abs() < 1e-9 && (high - to.min(6.0)).abs() < 1e-9);
        assert_eq!(restricted_mean(&sample, 8.1), None, "beyond the last thread");
    }

    /// Σψ²/n² is Greenwood's sum, with ties: 2, 2, 3+, 5, 6+, 7 up to 6.5.
    #[test]
    fn influence_adds_up_to_greenwoods_sum() {
        let sample = sorted(&mixed(&[2.0, 2.0, 5.0, 7.0], &[3.0, 6.0])).unwrap();
        let Influence { mean, of_each } = influence(&sample, 6.5);
        // S: 1 to 2, 2/3 to 5, 4/9 to 6.5
        let rest = 2.0 / 3.0 * 3.0 + 4.0 / 9.0 * 1.5;
        assert!((mean - (2.0 + rest)).abs() < 1e-12);
        let by_hand = rest.powi(2) * 2.0 / (6.0 * 4.0) + (2.0_f64 / 3.0).powi(2) / (3.0 * 2.0);
        let squares: f64 = of_each.iter().map(|x| x * x).sum();
        assert!((squares / 36.0 - by_hand).abs() < 1e-12, "{squares}");
        assert!(of_each.iter().sum::<f64>().abs() < 1e-12);
    }

    #[test]
    fn too_few_have_no_interval() {
        let of = |sample: &[Total], bound| restricted_mean(sample, bound).unwrap();
        let four = of(&mixed(&[2.0, 3.0, 5.0], &[4.0]), 5.0);
        assert!(four.standard_error.is_some() && four.interval.is_none());
        let one_complete = of(&mixed(&[2.0], &[3.0, 4.0, 5.0, 6.0]), 6.0);
        assert_eq!((one_complete.interval, one_complete.ran_out), (None, 3));
        let all_out = of(&mixed(&[], &[3.0, 4.0]), 4.0);
        assert_eq!((all_out.mean.to_bits(), all_out.standard_error), (4.0_f64.to_bits(), None));
        assert!(of(&mixed(&[2.0, 3.0, 5.0, 6.0], &[4.0]), 6.0).interval.is_some());
    }

    #[test]
    fn the_order_of_the_rows_does_not_matter() {
        let mut sample = mixed(&[2.0, 3.0, 5.0, 5.0], &[5.0, 4.0, 9.0]);
        let found = restricted_mean(&sample, 9.0);
        sample.reverse();
        assert_eq!(found, restricted_mean(&sample, 9.0));
    }
}

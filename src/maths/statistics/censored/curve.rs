//! The product-limit curve: which share of animals goes farther than each length.
//!
//! In: one length an animal. Out: a step for each length at which a trail was complete, and the median.
//! Left out: an interval of the curve and of the median.

use super::{Total, sorted};

/// One step down of the curve.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Step {
    /// The length, in metres, at which trails were complete.
    pub value: f64,
    /// How many animals were followed this far: trails as long or longer, run out or not.
    pub at_risk: usize,
    /// How many of them stopped here.
    pub complete: usize,
    /// The share that goes farther, 0 to 1.
    pub farther: f64,
    /// Its standard error; `None` where the share is 0, where the formula has no value.
    pub standard_error: Option<f64>,
}

/// The curve of one sample.
#[derive(Clone, Debug, PartialEq)]
pub struct Curve {
    /// The steps, shortest first; none where every thread ran out.
    pub steps: Vec<Step>,
    /// The largest length: beyond it nothing is known, unless the curve is at zero.
    pub largest: Total,
}

/// The product-limit curve, and its standard error by Greenwood's formula. `None` of no animals, or of a
/// length that is negative or not finite. Sources:
/// [`Source::KaplanMeier1958`](crate::survey::sources::Source::KaplanMeier1958);
/// [`Source::Greenwood1926`](crate::survey::sources::Source::Greenwood1926).
///
/// ```text
/// S = Π ( 1 − d/y )        se = S √( Σ d / y(y − d) )
/// ```
/// d trails complete at a length, y at risk there; one that ran out at that very length was at risk.
pub fn curve(sample: &[Total]) -> Option<Curve> {
    let sample = sorted(sample)?;
    let (mut farther, mut sum) = (1.0, 0.0);
    let mut at_risk = sample.len();
    let mut steps = Vec::new();
    for run in sample.chunk_by(|a, b| a.value.total_cmp(&b.value).is_eq()) {
        let complete = run.iter().filter(|total| !total.at_least).count();
        if complete > 0 {
            let (d, y) = (complete as f64, at_risk as f64);
            farther *= (y - d) / y;
            sum += d / (y * (y - d));
            let standard_error = (complete < at_risk).then(|| farther * sum.sqrt());
            let value = run[0].value;
            steps.push(Step { value, at_risk, complete, farther, standard_error });
        }
        at_risk -= run.len();
    }
    sample.last().map(|&largest| Curve { steps, largest })
}

impl Curve {
    /// The least length that no more than half of the animals exceed. Where the curve runs at one half
    /// from one step to the next, the middle between the two, as the median of complete lengths has it.
    /// `None` where more than half go farther than the longest thread tells, or where the curve stays at
    /// one half to its open end.
    pub fn median(&self) -> Option<f64> {
        let at = self.steps.iter().position(|step| step.farther < 0.5 + 1e-12)?;
        let (value, farther) = (self.steps[at].value, self.steps[at].farther);
        if farther < 0.5 - 1e-12 {
            return Some(value);
        }
        self.steps.get(at + 1).map(|next| 0.5 * (value + next.value))
    }
}

#[cfg(test)]
mod tests {
    use super::super::tests::{complete, mixed};
    use super::*;
    use crate::maths::statistics::describe::median;

    #[test]
    fn of_complete_lengths_it_is_the_ordinary_median() {
        for values in [&[4.0, 1.0, 9.0][..], &[4.0, 1.0, 9.0, 5.0], &[2.0, 2.0, 2.0, 7.0]] {
            assert_eq!(curve(&complete(values)).unwrap().median(), median(values));
        }
    }

    #[test]
    fn an_open_half_has_no_median() {
        assert_eq!(curve(&mixed(&[3.0], &[8.0, 9.0])).unwrap().median(), None);
        assert_eq!(curve(&mixed(&[3.0], &[8.0])).unwrap().median(), None);
        assert_eq!(curve(&mixed(&[], &[8.0])).unwrap().median(), None);
        assert_eq!(curve(&mixed(&[3.0, 5.0], &[8.0])).unwrap().median(), Some(5.0));
    }

    #[test]
    fn a_thread_that_ran_out_where_a_trail_ended_was_at_risk() {
        let found = curve(&mixed(&[5.0, 7.0], &[5.0])).unwrap();
        let steps: Vec<_> = found.steps.iter().map(|s| (s.at_risk, s.complete)).collect();
        assert_eq!(steps, [(3, 1), (1, 1)]);
        assert!((found.steps[0].farther - 2.0 / 3.0).abs() < 1e-15);
        assert_eq!(found.steps[1].standard_error, None);
        assert_eq!(curve(&[]), None);
    }
}

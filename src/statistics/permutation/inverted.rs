//! The intervals of a difference that permutation tests leave: the differences that they do not refuse.
//!
//! In: two groups, or paired differences, and a seed. Out: both ends of the 95 % interval. A difference δ
//! belongs to it where the test finds p above 0.05 once δ is taken off the first group, by the arrangements
//! of the test itself; so p and interval cannot contradict each other. `None` where there are so few
//! arrangements that none can be refused: three and three have 20, and p is never below 0.1.
//! Source: [`Source::Fisher1935`](crate::sources::Source::Fisher1935).

use super::labels::{Welch, arrangements, studentised};
use super::{Count, DRAWS};
use crate::statistics::chance::Chance;
use crate::statistics::describe::mean;

/// Chance below which a difference is refused.
const LEVEL: f64 = 0.05;
/// Most arrangements that are gone through for each difference that is tried; of more, [`DRAWS`] are drawn.
/// Whether no difference is refused the test itself tells, by all of its own.
const MOST_TRIED: u64 = 20_000;
/// How often an end is halved in: to a millionth of where it was looked for.
const HALVINGS: usize = 24;
/// How often the search goes twice as far out: farther, values are lost beside what is taken off them.
const DOUBLINGS: usize = 20;

/// Of one arrangement, what the sums of the picked values are once δ is taken off the first group.
#[derive(Clone, Copy, Debug)]
struct Arrangement {
    /// How many of the picked belong to the first group.
    of_first: f64,
    /// Sum of the picked, of those of the first group, and of squares.
    sum: f64,
    sum_of_first: f64,
    squares: f64,
}

impl Arrangement {
    fn with(self, x: f64, is_first: bool) -> Self {
        let own = f64::from(u8::from(is_first));
        Self {
            of_first: self.of_first + own,
            sum: self.sum + x,
            sum_of_first: self.sum_of_first + own * x,
            squares: self.squares + x * x,
        }
    }

    /// Sum and sum of squares less δ for each of the first group.
    fn less(&self, by: f64) -> [f64; 2] {
        let squares = self.squares - 2.0 * by * self.sum_of_first + by * by * self.of_first;
        [self.sum - by * self.of_first, squares]
    }
}

const NONE: Arrangement = Arrangement { of_first: 0.0, sum: 0.0, sum_of_first: 0.0, squares: 0.0 };

/// The 95 % interval of mean first − mean second by the studentised permutation test.
pub fn interval_of_difference(first: &[f64], second: &[f64], seed: u64) -> Option<[f64; 2]> {
    if first.len() < 2 || second.len() < 2 {
        return None;
    }
    let all: Vec<f64> = first.iter().chain(second).copied().collect();
    let centre = mean(&all)?;
    let mut values: Vec<(f64, bool)> =
        all.iter().enumerate().map(|(at, x)| (x - centre, at < first.len())).collect();
    let gather = |own: &[(f64, bool)]| own.iter().fold(NONE, |sums, (x, is)| sums.with(*x, *is));
    let (whole, observed) = (gather(&values), gather(&values[..first.len()]));
    let exact = arrangements(values.len(), first.len()) <= MOST_TRIED;
    let mut others = Vec::new();
    if exact {
        pick(&values, first.len(), NONE, &mut others);
    } else {
        let mut chance = Chance::new(seed);
        for _ in 0..DRAWS {
            chance.choose(&mut values, first.len());
            others.push(gather(&values[..first.len()]));
        }
    }
    let sizes = [first.len() as f64, second.len() as f64];
    let p = |by: f64| {
        let [sum, squares] = whole.less(by);
        let welch = Welch { sizes, sum, squares };
        let z = welch.of(observed.less(by))[1];
        let mut count = Count::against(z, z);
        for other in &others {
            count.add(welch.of(other.less(by))[1]);
        }
        count.done(z, exact).p()
    };
    let (n1, n2) = (sizes[0], sizes[1]);
    // the observed arrangement, and in groups of one size its mirror, are always as far out
    let always = if first.len() == second.len() { 2.0 } else { 1.0 };
    let least = if exact { always } else { 1.0 } / others.len() as f64;
    let difference = observed.sum / n1 - (whole.sum - observed.sum) / n2;
    let spread = (whole.squares * (1.0 / n1 + 1.0 / n2) / (n1 + n2 - 2.0)).sqrt();
    let refuses_none = studentised(first, second, seed)?.p() <= LEVEL;
    if least > LEVEL { None } else { ends(difference, spread, refuses_none, p) }
}

/// The 95 % interval of the mean of paired differences, by their signs.
pub fn interval_of_pairs(differences: &[f64], seed: u64) -> Option<[f64; 2]> {
    let centre = mean(differences)?;
    let n = differences.len() as f64;
    let p = |by: f64| {
        let shifted: Vec<f64> = differences.iter().map(|d| d - by).collect();
        super::signs(&shifted, seed).map_or(1.0, |found| found.p())
    };
    let squares: f64 = differences.iter().map(|d| (d - centre).powi(2)).sum();
    // all signs alike, and all turned
    let least = 2.0 * 0.5_f64.powf(n);
    let spread = (squares / (n * (n - 1.0))).sqrt();
    if least > LEVEL { None } else { ends(centre, spread, p(0.0) <= LEVEL, p) }
}

/// Where p falls to [`LEVEL`] on either side of the estimate. No difference at all is a border of the
/// search, so that the interval leaves it out exactly where p refuses it.
fn ends(
    estimate: f64,
    spread: f64,
    refuses_none: bool,
    p: impl Fn(f64) -> f64,
) -> Option<[f64; 2]> {
    if !(spread > 1e-12 * estimate.abs() && spread.is_finite()) {
        return None;
    }
    let end = |side: f64| {
        let (mut inside, mut outside) = (estimate, estimate + side * spread);
        let none_lies_there = side * -estimate > 0.0;
        if none_lies_there && refuses_none {
            outside = 0.0;
        } else {
            if none_lies_there {
                (inside, outside) = (0.0, side * spread);
            }
            let mut doublings = 0;
            while p(outside) > LEVEL {
                (inside, outside) = (outside, estimate + 2.0 * (outside - estimate));
                doublings += 1;
                if doublings > DOUBLINGS {
                    return None;
                }
            }
        }
        for _ in 0..HALVINGS {
            let middle = 0.5 * (inside + outside);
            *(if p(middle) > LEVEL { &mut inside } else { &mut outside }) = middle;
        }
        Some(inside)
    };
    Some([end(-1.0)?, end(1.0)?])
}

/// Every arrangement that picks `count` of the values.
fn pick(values: &[(f64, bool)], count: usize, sums: Arrangement, to: &mut Vec<Arrangement>) {
    if count == 0 {
        return to.push(sums);
    }
    for at in 0..=values.len() - count {
        let (x, is_first) = values[at];
        pick(&values[at + 1..], count - 1, sums.with(x, is_first), to);
    }
}

#[cfg(test)]
mod tests {
    use super::super::{signs, studentised};
    use super::*;

    /// Whether the test of what is left once δ is taken off the first group refuses it.
    fn refuses(first: &[f64], second: &[f64], by: f64) -> bool {
        let less: Vec<f64> = first.iter().map(|x| x - by).collect();
        studentised(&less, second, 1).unwrap().p() <= LEVEL
    }

    /// Both ends are where the test itself changes its mind.
    #[test]
    fn ends_are_those_of_the_test() {
        let (first, second) = ([3.1, 4.4, 5.0, 7.9], [1.0, 2.2, 2.9, 3.3, 4.1, 4.8]);
        let [low, high] = interval_of_difference(&first, &second, 1).unwrap();
        let step = 1e-5 * (high - low);
        for (end, out) in [(low, -1.0), (high, 1.0)] {
            assert!(!refuses(&first, &second, end), "{low} {high}");
            assert!(refuses(&first, &second, end + out * step), "{low} {high}");
        }
        let difference = 5.1 - 18.3 / 6.0;
        assert!(low < difference && difference < high);
        // turned about
        let [from, to] = interval_of_difference(&second, &first, 1).unwrap();
        assert!((from + high).abs() < 1e-5 && (to + low).abs() < 1e-5);
    }

    /// Three and three have 20 arrangements: the least p is 0.1, and every difference stands.
    #[test]
    fn too_few_arrangements_refuse_nothing() {
        assert_eq!(interval_of_difference(&[1.0, 2.0, 3.0], &[7.0, 8.0, 9.5], 1), None);
        assert_eq!(interval_of_difference(&[1.0], &[7.0, 8.0, 9.5], 1), None);
        assert_eq!(interval_of_pairs(&[1.0, 2.0, 3.0, 2.5, 1.0], 1), None, "2 of 32 is 0.06");
    }

    /// p below 0.05 where, and only where, the interval leaves out no difference: 3 and 8 animals, and 6
    /// pairs, over 300 samples each of which some are far apart.
    #[test]
    fn p_and_interval_agree() {
        let mut chance = Chance::new(5);
        let mut value = |shift: f64| {
            let u = (chance.below(1 << 20) as f64 + 0.5) / f64::from(1 << 20);
            shift - u.ln()
        };
        let mut refused = [0, 0];
        for at in 0..300 {
            let shift = f64::from(at) / 100.0;
            let first: Vec<f64> = (0..3).map(|_| value(shift)).collect();
            let second: Vec<f64> = (0..8).map(|_| value(0.0)).collect();
            let p = studentised(&first, &second, 1).unwrap().p();
            let [low, high] = interval_of_difference(&first, &second, 1).unwrap();
            assert_eq!(p > LEVEL, low <= 0.0 && 0.0 <= high, "{p}: {low} {high}");
            refused[0] += usize::from(p <= LEVEL);
            let pairs: Vec<f64> = (0..7).map(|_| value(shift - 1.0)).collect();
            let p = signs(&pairs, 1).unwrap().p();
            let [low, high] = interval_of_pairs(&pairs, 1).unwrap();
            assert_eq!(p > LEVEL, low <= 0.0 && 0.0 <= high, "{p}: {low} {high}");
            refused[1] += usize::from(p <= LEVEL);
        }
        assert!(refused.iter().all(|count| (30..280).contains(count)), "{refused:?}");
    }
}

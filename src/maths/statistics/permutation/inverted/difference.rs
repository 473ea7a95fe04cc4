//! Welch's t inverted: its spread changes with the difference that is tried, so that the ends are searched for.

use super::fewest_that_stand;
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::describe::mean;
use crate::maths::statistics::permutation::labels::{Welch, arrangements};
use crate::maths::statistics::permutation::{DRAWS, MOST_ARRANGEMENTS};

/// How often an end is halved in: to far less than is printed.
const HALVINGS: usize = 40;
/// How often the search goes twice as far out: farther, values are lost beside what is taken off them.
const DOUBLINGS: usize = 20;

/// Of one arrangement, what the sums of the picked values are once δ is taken off the first group.
#[derive(Clone, Copy, Debug, Default)]
struct Arrangement {
    /// How many of the picked belong to the first group.
    of_first: f64,
    /// Sum of the picked, of those of the first group, and of squares.
    sum: f64,
    sum_of_first: f64,
    squares: f64,
}

impl Arrangement {
    fn of(picked: &[(f64, bool)]) -> Self {
        picked.iter().fold(Self::default(), |sums, (x, is_first)| sums.with(*x, *is_first))
    }

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

/// The 95 % interval of mean first − mean second by the studentised permutation test,
/// [`studentised`](super::super::studentised).
pub fn interval_of_difference(first: &[f64], second: &[f64], seed: u64) -> Option<[f64; 2]> {
    if first.len() < 2 || second.len() < 2 {
        return None;
    }
    let all: Vec<f64> = first.iter().chain(second).copied().collect();
    let centre = mean(&all)?;
    let mut values: Vec<(f64, bool)> =
        all.iter().enumerate().map(|(at, x)| (x - centre, at < first.len())).collect();
    let (whole, observed) = (Arrangement::of(&values), Arrangement::of(&values[..first.len()]));
    let exact = arrangements(values.len(), first.len()) <= MOST_ARRANGEMENTS;
    let mut others = Vec::new();
    if exact {
        pick(&values, first.len(), Arrangement::default(), &mut others);
    } else {
        let mut chance = Chance::new(seed);
        for _ in 0..DRAWS {
            chance.choose(&mut values, first.len());
            others.push(Arrangement::of(&values[..first.len()]));
        }
    }
    Inversion { sizes: [first.len() as f64, second.len() as f64], whole, observed, others, exact }
        .interval()
}

/// A test that is asked again and again.
struct Inversion {
    sizes: [f64; 2],
    whole: Arrangement,
    observed: Arrangement,
    others: Vec<Arrangement>,
    exact: bool,
}

impl Inversion {
    fn interval(&self) -> Option<[f64; 2]> {
        let [n1, n2] = self.sizes;
        let estimate = self.observed.sum / n1 - (self.whole.sum - self.observed.sum) / n2;
        let spread = (self.whole.squares * (1.0 / n1 + 1.0 / n2) / (n1 + n2 - 2.0)).sqrt();
        // the observed arrangement, and in groups of one size its mirror, are always as far out
        let always = if n1.total_cmp(&n2).is_eq() { 2 } else { 1 };
        let hopeless = self.exact && always >= fewest_that_stand(self.others.len(), true);
        if hopeless || !(spread > 1e-12 * estimate.abs() && spread.is_finite()) {
            return None;
        }
        Some([self.end(estimate, -spread)?, self.end(estimate, spread)?])
    }

    /// Whether an arrangement is as far out as the observed one, once δ is taken off.
    fn as_far(&self, by: f64) -> impl Fn(&Arrangement) -> bool {
        let [sum, squares] = self.whole.less(by);
        let welch = Welch { sizes: self.sizes, sum, squares };
        let bar = welch.of(self.observed.less(by))[1] * (1.0 - 1e-9);
        move |other| welch.reaches(other.less(by), bar)
    }

    /// Whether so many as far out are too few.
    fn refused(&self, as_far: usize) -> bool {
        as_far < fewest_that_stand(self.others.len(), self.exact)
    }

    fn refuses(&self, by: f64) -> bool {
        let as_far = self.as_far(by);
        self.refused(self.others.iter().filter(|other| as_far(other)).count())
    }

    /// Where the test begins to refuse, on the side that `step` points to. No difference at all is a border
    /// of the search, so that the interval leaves it out exactly where the test refuses it.
    fn end(&self, estimate: f64, step: f64) -> Option<f64> {
        let (mut inside, mut outside) = (estimate, estimate + 2.0 * step);
        let none_lies_there = step * estimate < 0.0;
        if none_lies_there && self.refuses(0.0) {
            outside = 0.0;
        } else {
            if none_lies_there {
                (inside, outside) = (0.0, outside + step.signum() * estimate.abs());
            }
            let mut doublings = 0;
            while !self.refuses(outside) {
                (inside, outside) = (outside, estimate + 2.0 * (outside - estimate));
                doublings += 1;
                if doublings > DOUBLINGS {
                    return None;
                }
            }
        }
        Some(self.halved(inside, outside))
    }

    /// The last difference inside that stands, before one that is refused. Only arrangements that change
    /// between both need to be looked at: half as many at every halving.
    fn halved(&self, mut inside: f64, mut outside: f64) -> f64 {
        let (mut at_inside, mut at_outside) = (self.as_far(inside), self.as_far(outside));
        let mut undecided: Vec<&Arrangement> = self.others.iter().collect();
        let mut decided = 0;
        for _ in 0..HALVINGS {
            undecided.retain(|other| {
                let far = at_outside(other);
                let same = far == at_inside(other);
                decided += usize::from(same && far);
                !same
            });
            let middle = 0.5 * (inside + outside);
            let at_middle = self.as_far(middle);
            if self.refused(decided + undecided.iter().filter(|other| at_middle(other)).count()) {
                (outside, at_outside) = (middle, at_middle);
            } else {
                (inside, at_inside) = (middle, at_middle);
            }
        }
        inside
    }
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

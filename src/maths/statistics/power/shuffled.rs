//! The test of [`studentised`](crate::maths::statistics::permutation::studentised), short enough for thousands of
//! made-up studies: does p come to 0.05 or less, and how wide is the interval?
//!
//! In: the values of one study, and chance. Out: yes or no; a width. The statistic is that of the test
//! itself; only [`DRAWS`] arrangements are drawn where there are more than [`MOST_GONE_THROUGH`], and a
//! test ends once its answer is certain.

use super::tally::{DRAWS, MOST_GONE_THROUGH, Tally, width};
use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::describe::mean;
use crate::maths::statistics::permutation::{Welch, arrangements, to_normal};

/// Whether the studentised permutation test of two groups finds p ≤ 0.05. False where it has no p.
pub(super) fn refuses(first: &[f64], second: &[f64], chance: &mut Chance) -> bool {
    let Some((mut values, welch)) = of_groups(first, second) else {
        return false;
    };
    let picked = picked(&welch);
    let bar = Bar::of(&welch, sums(&values[..picked]));
    let mut tally = Tally::of(arrangements(values.len(), picked), MOST_GONE_THROUGH);
    if tally.exact {
        pick(&values, picked, [0.0; 2], &mut |sums| tally.add(bar.is_reached(&welch, sums)));
    } else {
        for _ in 0..DRAWS {
            chance.choose(&mut values, picked);
            if !tally.add(bar.is_reached(&welch, sums(&values[..picked]))) {
                break;
            }
        }
    }
    tally.refuses()
}

/// How wide the inverted interval of the difference of two groups is; `None` where no difference can be
/// refused.
pub(super) fn width_of_difference(
    first: &[f64],
    second: &[f64],
    chance: &mut Chance,
) -> Option<f64> {
    let (values, welch) = of_groups(first, second)?;
    let picked = picked(&welch);
    let mut tagged: Vec<(f64, bool)> =
        values.iter().enumerate().map(|(at, x)| (*x, at < picked)).collect();
    let (whole, observed) = (Shifted::of(&tagged), Shifted::of(&tagged[..picked]));
    // an end is sought by some 25 tests: fewer arrangements than the single test goes through
    let tally = Tally::of(arrangements(tagged.len(), picked), DRAWS);
    let others = others(&mut tagged, picked, tally.exact, chance);
    let refuses = |by: f64| {
        let [sum, squares] = whole.less(by);
        let welch = Welch { sum, squares, ..welch };
        let (bar, mut tally) = (Bar::of(&welch, observed.less(by)), tally);
        let _all = others.iter().all(|one| tally.add(bar.is_reached(&welch, one.less(by))));
        tally.refuses()
    };
    let [n1, n2] = welch.sizes;
    let estimate = observed.sum / n1 - (whole.sum - observed.sum) / n2;
    let scale = whole.squares * (1.0 / n1 + 1.0 / n2) / (n1 + n2 - 2.0);
    width(estimate, scale.sqrt(), refuses)
}

/// All arrangements, or those that are drawn.
fn others(
    tagged: &mut [(f64, bool)],
    picked: usize,
    all: bool,
    chance: &mut Chance,
) -> Vec<Shifted> {
    let mut others = Vec::new();
    if all {
        pick_tagged(tagged, picked, Shifted::default(), &mut others);
    } else {
        for _ in 0..DRAWS {
            chance.choose(tagged, picked);
            others.push(Shifted::of(&tagged[..picked]));
        }
    }
    others
}

/// The values about their mean, those of the smaller group first. `None` of fewer than two values in a
/// group, and of values without spread.
fn of_groups(first: &[f64], second: &[f64]) -> Option<(Vec<f64>, Welch)> {
    let (few, many) = if first.len() <= second.len() { (first, second) } else { (second, first) };
    let all: Vec<f64> = few.iter().chain(many).copied().collect();
    let centre = mean(&all)?;
    let values: Vec<f64> = all.iter().map(|x| x - centre).collect();
    let [_, squares] = sums(&values);
    let welch = Welch { sizes: [few.len() as f64, many.len() as f64], sum: 0.0, squares };
    (few.len() > 1 && squares > 1e-24 * centre * centre).then_some((values, welch))
}

/// How many values the smaller group has.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "was a count")]
fn picked(welch: &Welch) -> usize {
    welch.sizes[0] as usize
}

/// The z of the observed arrangement, and the t² below which no z comes up to it, above which every z does:
/// ν lies between n₁ − 1 and n₁ + n₂ − 2, and z rises with it. Few arrangements need a logarithm.
struct Bar {
    z: f64,
    t_squared: [f64; 2],
}

impl Bar {
    fn of(welch: &Welch, sums: [f64; 2]) -> Self {
        let z = welch.z(welch.parts(sums)) * (1.0 - 1e-9);
        let [n1, n2] = welch.sizes;
        let t_squared = |nu: f64| nu * ((z / to_normal(nu)).powi(2) / nu).exp_m1();
        let (least, most) = (t_squared(n1 + n2 - 2.0), t_squared(n1 - 1.0));
        Self { z, t_squared: [least * (1.0 - 1e-6), most * (1.0 + 1e-6)] }
    }

    fn is_reached(&self, welch: &Welch, sums: [f64; 2]) -> bool {
        let parts = welch.parts(sums);
        let [difference, _, variance] = parts;
        let [least, most] = self.t_squared.map(|t_squared| t_squared * variance);
        let square = difference * difference;
        square >= least && (square >= most || welch.z(parts) >= self.z)
    }
}

/// Sums of the picked values once a difference is taken off the smaller group.
#[derive(Clone, Copy, Default)]
struct Shifted {
    of_group: f64,
    sum: f64,
    sum_of_group: f64,
    squares: f64,
}

impl Shifted {
    fn of(values: &[(f64, bool)]) -> Self {
        values.iter().fold(Self::default(), |sums, &(x, own)| sums.with(x, own))
    }

    fn with(self, x: f64, own: bool) -> Self {
        let own = f64::from(u8::from(own));
        Self {
            of_group: self.of_group + own,
            sum: self.sum + x,
            sum_of_group: self.sum_of_group + own * x,
            squares: self.squares + x * x,
        }
    }

    fn less(&self, by: f64) -> [f64; 2] {
        let squares = self.squares - 2.0 * by * self.sum_of_group + by * by * self.of_group;
        [self.sum - by * self.of_group, squares]
    }
}

fn sums(values: &[f64]) -> [f64; 2] {
    values.iter().fold([0.0; 2], |[sum, squares], x| [sum + x, squares + x * x])
}

/// Every sum of `count` of the values and of their squares, for as long as `give` wants more.
fn pick(
    values: &[f64],
    count: usize,
    [sum, squares]: [f64; 2],
    give: &mut impl FnMut([f64; 2]) -> bool,
) -> bool {
    if count == 0 {
        return give([sum, squares]);
    }
    (0..=values.len() - count).all(|at| {
        let x = values[at];
        pick(&values[at + 1..], count - 1, [sum + x, squares + x * x], give)
    })
}

fn pick_tagged(values: &[(f64, bool)], count: usize, sums: Shifted, to: &mut Vec<Shifted>) {
    if count == 0 {
        return to.push(sums);
    }
    for at in 0..=values.len() - count {
        let (x, own) = values[at];
        pick_tagged(&values[at + 1..], count - 1, sums.with(x, own), to);
    }
}

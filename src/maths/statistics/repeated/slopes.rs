//! Slopes within and between animals, with permutation tests and the intervals that these leave.
//!
//! In: animal, x and y of each night, and a seed. Out: [`Slope`]. Within animals x is shuffled inside each
//! animal only, so that animals may differ in level and in spread; between animals the means of animals are
//! shuffled. All distinct arrangements where there are no more than [`MOST_ARRANGEMENTS`], else [`DRAWS`].
//! Source: [`Source::Fisher1935`](crate::survey::sources::Source::Fisher1935).
//!
//! ```text
//! b = Σ_i Σ_j (x_ij − x̄_i)(y_ij − ȳ_i) / S      S = Σ_i Σ_j (x_ij − x̄_i)²
//! A, C   the sums of products of shuffled x with y, and with x itself
//! β is not refused by an arrangement where   |A − β C| ≥ |b − β| S
//! ```
//!
//! As |C| ≤ S, that holds from (b S − A)/(S − C) to (b S + A)/(S + C), in rising order, about b: the ends of
//! the interval are ordered numbers among these, and p and interval cannot contradict each other.

use crate::maths::statistics::chance::Chance;
use crate::maths::statistics::permutation::{DRAWS, MOST_ARRANGEMENTS, Permuted};
use std::cmp::Ordering;

/// Chance at or below which a slope is refused.
const LEVEL: f64 = 0.05;
/// What differs by less, of the most that a sum could be, counts as equal.
const TIE: f64 = 1e-9;

/// A slope and its test.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Slope {
    /// The slope, in the unit of y by that of x, and how often shuffled x give one as steep.
    pub test: Permuted,
    /// The 95 % interval: the slopes that the test does not refuse. `None` where the arrangements are too
    /// few to refuse any, or all points lie on one line.
    pub interval: Option<[f64; 2]>,
    /// How many animals tell of it.
    pub animals: usize,
    /// How many of their nights.
    pub nights: usize,
}

/// The slope of y on x within animals; rows are animal, x and y. An animal with one night, or with one x,
/// tells nothing of it. `None` where no animal is left, or y varies in none of them.
///
/// The plain slope is compared, not one divided by its standard error: within an animal the arrangements
/// are alike likely whatever its spread is. Of 1,000 made-up samples each of 3, 5, 8 and 12 animals with 1 to 5
/// nights it refused a slope of zero in 4.4 to 5.8 of 100, in 4.9 to 5.8 where a third of the animals was five
/// times as spread out, in 3.6 to 4.8 with exponential values (chance: 0.7). The test is of these animals: where
/// slopes differ from animal to animal by half a standard deviation of nights and are zero on average only,
/// it refused in 8 to 12 of 100.
pub fn within_animals(nights: &[(usize, f64, f64)], seed: u64) -> Option<Slope> {
    let groups = grouped(nights)?;
    let groups: Vec<Group> = groups.iter().filter_map(|group| Group::of(group)).collect();
    slope(&groups, seed)
}

/// The slope of the mean y of animals on their mean x; rows are animal, x and y. `None` of fewer than three
/// animals, or where one of the means does not vary.
///
/// Means of few nights lie farther out than those of many, and all weigh alike here. Of 1,000 made-up samples
/// of animals with 1 to 5 nights it refused a slope of zero in 5.3 to 5.7 of 100, and in 6.0 to 7.5 where x
/// grew with the number of nights (chance: 0.7); three animals have 6 arrangements and are never refused. [`fit`](super::fit)
/// with [`within_and_between`](super::within_and_between) weighs the nights.
pub fn between_animals(nights: &[(usize, f64, f64)], seed: u64) -> Option<Slope> {
    let mut means: Vec<[f64; 2]> = grouped(nights)?.iter().map(|group| means(group)).collect();
    means.sort_by(order);
    if means.len() < super::FEWEST_ANIMALS {
        return None;
    }
    let animals = means.len();
    slope(&[Group::of(&means)?], seed).map(|found| Slope { animals, ..found })
}

fn order(a: &[f64; 2], b: &[f64; 2]) -> Ordering {
    a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
}

/// x and y by animal, in an order that depends neither on rows nor on names. `None` of a number that is not finite.
fn grouped(nights: &[(usize, f64, f64)]) -> Option<Vec<Vec<[f64; 2]>>> {
    if !nights.iter().all(|(_, x, y)| x.is_finite() && y.is_finite()) {
        return None;
    }
    let mut sorted: Vec<(usize, [f64; 2])> = nights.iter().map(|&(a, x, y)| (a, [x, y])).collect();
    sorted.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| order(&a.1, &b.1)));
    let points = |chunk: &[(usize, [f64; 2])]| chunk.iter().map(|(_, point)| *point).collect();
    let mut groups: Vec<Vec<[f64; 2]>> = sorted.chunk_by(|a, b| a.0 == b.0).map(points).collect();
    groups.sort_by(|a, b| {
        let nights = a.iter().zip(b).map(|(a, b)| order(a, b));
        nights.fold(a.len().cmp(&b.len()), Ordering::then)
    });
    Some(groups)
}

fn means(points: &[[f64; 2]]) -> [f64; 2] {
    [0, 1].map(|at| points.iter().map(|point| point[at]).sum::<f64>() / points.len() as f64)
}

/// The nights of one animal, or the means of all animals.
struct Group {
    /// x about its mean, in rising order.
    x: Vec<f64>,
    /// y about its mean, night by night as x.
    y: Vec<f64>,
    /// How many distinct orders x has.
    orders: u64,
}

/// Sums of products of some order of x: with y, and with x as it was.
type Sums = [f64; 2];

impl Group {
    /// `None` where x does not vary.
    fn of(points: &[[f64; 2]]) -> Option<Self> {
        let [mean_x, mean_y] = means(points);
        let x: Vec<f64> = points.iter().map(|point| point[0] - mean_x).collect();
        let y = points.iter().map(|point| point[1] - mean_y).collect();
        let varies = x.iter().any(|x| x.abs() > 1e-12 * mean_x.abs());
        let orders = distinct_orders(&x);
        varies.then_some(Self { x, y, orders })
    }

    fn sums(&self, shuffled: &[f64]) -> Sums {
        let with = |own: &[f64]| shuffled.iter().zip(own).map(|(a, b)| a * b).sum();
        [with(&self.y), with(&self.x)]
    }

    /// Of every distinct order.
    fn all(&self) -> Vec<Sums> {
        let mut left: Vec<(f64, usize)> = Vec::new();
        for x in &self.x {
            match left.last_mut() {
                Some((value, count)) if value.to_bits() == x.to_bits() => *count += 1,
                _ => left.push((*x, 1)),
            }
        }
        let mut list = Vec::new();
        self.place(&mut left, 0, [0.0; 2], &mut list);
        list
    }

    /// Puts each of the x that are left on the night `at`, and so on.
    fn place(&self, left: &mut [(f64, usize)], at: usize, sums: Sums, to: &mut Vec<Sums>) {
        if at == self.x.len() {
            return to.push(sums);
        }
        for which in 0..left.len() {
            let (x, count) = left[which];
            if count > 0 {
                left[which].1 -= 1;
                let next = [sums[0] + x * self.y[at], sums[1] + x * self.x[at]];
                self.place(left, at + 1, next, to);
                left[which].1 += 1;
            }
        }
    }
}

/// n! over the product of the factorials of how often each value stands.
fn distinct_orders(sorted: &[f64]) -> u64 {
    let mut orders = 1_u64;
    for run in sorted.chunk_by(|a, b| a.to_bits() == b.to_bits()).scan(0, |before, run| {
        *before += run.len();
        Some((*before, run.len()))
    }) {
        // to choose the places of this run among those of it and of all before it
        let (all, own) = run;
        let ways = (0..own.min(all - own))
            .fold(1_u64, |ways, at| ways.saturating_mul((all - at) as u64) / (at as u64 + 1));
        orders = orders.saturating_mul(ways);
    }
    orders
}

/// The slope of all groups together.
fn slope(groups: &[Group], seed: u64) -> Option<Slope> {
    let squares =
        |list: fn(&Group) -> &[f64]| groups.iter().flat_map(list).map(|x| x * x).sum::<f64>();
    let (xx, yy) = (squares(|group| &group.x), squares(|group| &group.y));
    let xy: f64 = groups.iter().map(|group| group.sums(&group.x)[0]).sum();
    if !(xx > 0.0 && yy > 0.0 && yy.is_finite() && xx.is_finite()) {
        return None;
    }
    let orders = groups.iter().fold(1_u64, |all, group| all.saturating_mul(group.orders));
    let exact = orders <= MOST_ARRANGEMENTS;
    let mut unrefused = Unrefused::about([xy, xx], (xx * yy).sqrt());
    if exact {
        let lists: Vec<Vec<Sums>> = groups.iter().map(Group::all).collect();
        combine(&lists, [0.0; 2], &mut unrefused);
    } else {
        draw(groups, seed, &mut unrefused);
    }
    let (animals, nights) = (groups.len(), groups.iter().map(|group| group.x.len()).sum());
    let (as_large, arrangements) = (unrefused.at_zero, unrefused.low.len() as u64);
    let test = Permuted { statistic: xy / xx, as_large, arrangements, exact };
    let on_a_line = xx * yy - xy * xy <= 1e-18 * xx * yy;
    let interval = if on_a_line { None } else { unrefused.interval(exact) };
    Some(Slope { test, interval, animals, nights })
}

/// Every sum of one number of each list.
fn combine(lists: &[Vec<Sums>], sums: Sums, unrefused: &mut Unrefused) {
    match lists {
        [] => unrefused.add(sums),
        [list, rest @ ..] => {
            for [a, c] in list {
                combine(rest, [sums[0] + a, sums[1] + c], unrefused);
            }
        }
    }
}

fn draw(groups: &[Group], seed: u64, unrefused: &mut Unrefused) {
    let mut chance = Chance::new(seed);
    let mut shuffled: Vec<Vec<f64>> = groups.iter().map(|group| group.x.clone()).collect();
    for _ in 0..DRAWS {
        let mut sums = [0.0; 2];
        for (group, x) in groups.iter().zip(&mut shuffled) {
            let count = x.len();
            chance.choose(x, count);
            let [a, c] = group.sums(x);
            sums = [sums[0] + a, sums[1] + c];
        }
        unrefused.add(sums);
    }
}

/// From which slope to which each arrangement is at least as far out as what was observed.
struct Unrefused {
    observed: Sums,
    tie: f64,
    low: Vec<f64>,
    high: Vec<f64>,
    /// How many hold the slope of zero.
    at_zero: u64,
}

impl Unrefused {
    /// `size` is what a sum of products with y could be at most.
    fn about(observed: Sums, size: f64) -> Self {
        Self { observed, tie: TIE * size, low: Vec::new(), high: Vec::new(), at_zero: 0 }
    }

    fn add(&mut self, [a, c]: Sums) {
        let [xy, xx] = self.observed;
        let slope = xy / xx;
        let root = |above: f64, below: f64| {
            // the arrangement that was observed, or its mirror: as far out whatever the slope is
            if below <= 1e-9 * xx { None } else { Some(above / below) }
        };
        let roots = [root(xy - a, xx - c), root(xy + a, xx + c)];
        let end = |pick: fn(f64, f64) -> f64, side: f64| match roots {
            // rounding alone could put a root on the wrong side of the slope
            [Some(one), Some(other)] => pick(pick(one, other), slope),
            _ => side * f64::INFINITY,
        };
        let (mut low, mut high) = (end(f64::min, -1.0), end(f64::max, 1.0));
        let holds_zero = a.abs() >= xy.abs() - self.tie;
        if holds_zero {
            (low, high) = (low.min(0.0), high.max(0.0));
        } else if slope > 0.0 {
            low = low.max(f64::MIN_POSITIVE);
        } else {
            high = high.min(-f64::MIN_POSITIVE);
        }
        self.at_zero += u64::from(holds_zero);
        self.low.push(low);
        self.high.push(high);
    }

    /// The ends: where so many arrangements still hold a slope that p is above [`LEVEL`].
    fn interval(mut self, exact: bool) -> Option<[f64; 2]> {
        let all = self.low.len();
        let p = |held: usize| {
            if exact { held as f64 / all as f64 } else { (held + 1) as f64 / (all + 1) as f64 }
        };
        let needed = (1..=all).find(|&held| p(held) > LEVEL)?;
        let (_, low, _) = self.low.select_nth_unstable_by(needed - 1, f64::total_cmp);
        let (_, high, _) = self.high.select_nth_unstable_by(all - needed, f64::total_cmp);
        let ends = [*low, *high];
        ends.iter().all(|end| end.is_finite()).then_some(ends)
    }
}

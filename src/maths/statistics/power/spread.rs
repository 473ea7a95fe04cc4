//! The spread of a metric: between animals, between nights of one animal, and by measurement.
//!
//! In: three standard deviations, or the values of a pilot survey. Out: [`Spread`], and of a pilot what it
//! could be at worst ([`Pilot::upper`]). Left out: nights that all animals share, such as rain.

use crate::maths::statistics::interval::chi_square_upper;
use std::cmp::Ordering;

/// Chance with which the true spread lies below an upper limit.
pub const UPPER: f64 = 0.8;

/// Standard deviations of one metric, all in its unit.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Between the long-run means of animals of one group.
    pub animal: f64,
    /// Between nights of one animal. `None` where it is not known: it is then part of `animal`, and more
    /// nights are taken to bring nothing but a smaller error of measurement.
    pub night: Option<f64>,
    /// By measurement, of the value of one night.
    pub measurement: f64,
}

impl Spread {
    /// Standard deviation of the mean of so many nights of an animal, between animals; `None` without a night.
    ///
    /// ```text
    /// √( animal² + (night² + measurement²) / nights )
    /// ```
    pub fn of_animal(&self, nights: usize) -> Option<f64> {
        let night = self.night.unwrap_or(0.0);
        let within = night * night + self.measurement * self.measurement;
        (nights > 0).then(|| (self.animal * self.animal + within / nights as f64).sqrt())
    }

    /// Standard deviation of the change of an animal between two times of so many nights each. `response`
    /// is the spread of the true change between animals; 0 where all change alike. Where the nights' share
    /// is not known, the whole of `animal` counts as spread between nights, which is the worst case.
    ///
    /// ```text
    /// √( response² + 2 (night² + measurement²) / nights )
    /// ```
    pub fn of_change(&self, nights: usize, response: f64) -> Option<f64> {
        let night = self.night.unwrap_or(self.animal);
        let within = night * night + self.measurement * self.measurement;
        (nights > 0).then(|| (response * response + 2.0 * within / nights as f64).sqrt())
    }

    /// All three multiplied by one number: what a misjudged spread would be.
    #[must_use]
    pub fn times(self, factor: f64) -> Self {
        Self {
            animal: self.animal * factor,
            night: self.night.map(|night| night * factor),
            measurement: self.measurement * factor,
        }
    }
}

/// One value of a pilot survey.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct PilotValue {
    /// Which group; the difference between groups does not count as spread. All 0 where there is one.
    pub group: usize,
    /// Which animal. The same number in two groups stands for two animals.
    pub animal: usize,
    /// Which night. Values of one night of one animal are averaged first.
    pub night: usize,
    /// The metric.
    pub value: f64,
    /// Its standard error by measurement; where missing, the root mean square of the others, and 0
    /// where all are missing: the measurement is then part of `night`.
    pub se: Option<f64>,
}

/// What a pilot survey tells.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pilot {
    /// The spread, estimated.
    pub spread: Spread,
    /// How many animals it had.
    pub animals: usize,
    /// Degrees of freedom between animals, and between nights of animals.
    pub degrees_of_freedom: [usize; 2],
    /// Mean squares between animals, by [`Pilot::nights`], and between nights.
    mean_squares: [f64; 2],
    /// Nights an animal, as unequal numbers count.
    pub nights: f64,
}

/// The spread of a pilot survey by the analysis of variance with unequal numbers: sums of squares between
/// animals and between nights of animals are set equal to what they are expected to be. Errors of
/// measurement are taken off by the standard error of each value. What falls below zero is set to zero.
/// `None` unless some group has two animals, and where all values are equal.
/// Source: [`Source::Searle1992`](crate::survey::sources::Source::Searle1992), without measurement, which is ours.
///
/// ```text
/// night²  = ( Σ (y − ȳᵢ)² − Σ (1 − 1/nᵢ) se² ) / (N − k)
/// animal² = ( Σ nᵢ (ȳᵢ − ȳ)² − (k − 1) night² − Σ (1 − nᵢ/N) mean of se²ᵢ ) / (N − Σ nᵢ²/N)
/// ```
/// n nights of animal i of k, N in all; with groups each sum runs over groups as well.
///
/// Five animals of two nights, `night` as large as `animal`: `animal` is set to zero in 18 of 100 pilots, and
/// comes within a third of the truth in 43; of three nights in 11 and 49. `night` twice as large: zero in 36.
pub fn spread_of_pilot(values: &[PilotValue]) -> Option<Pilot> {
    let groups = by_animal(values);
    let sums = groups.iter().map(|group| Squares::of(group)).fold(Squares::default(), Squares::and);
    let [between, within] = sums.degrees_of_freedom;
    if between == 0 || sums.between + sums.within <= 0.0 {
        return None;
    }
    let night =
        (within > 0).then(|| ((sums.within - sums.measured_within) / within as f64).max(0.0));
    let left = sums.between - between as f64 * night.unwrap_or(0.0) - sums.measured_between;
    let animal = (left / sums.weight).max(0.0);
    let measurement = sums.measured / sums.values;
    let spread = Spread {
        animal: animal.sqrt(),
        night: night.map(f64::sqrt),
        measurement: measurement.sqrt(),
    };
    Some(Pilot {
        spread,
        animals: groups.iter().map(Vec::len).sum(),
        degrees_of_freedom: sums.degrees_of_freedom,
        mean_squares: [sums.between / between as f64, sums.within / within.max(1) as f64],
        nights: sums.weight / between as f64,
    })
}

impl Pilot {
    /// The spread for groups of animals of so many nights each, all three deviations multiplied so that
    /// that of the animals' means becomes its upper limit: the truth lies below it with a chance of about
    /// [`UPPER`]. `None` without a night. Planning by such a limit is from
    /// [`Source::Browne1995`](crate::survey::sources::Source::Browne1995); that of a sum of mean squares from
    /// [`Source::Burdick1992`](crate::survey::sources::Source::Burdick1992), which for as many nights as the pilot's is
    /// the one by χ²:
    ///
    /// ```text
    /// σ² ≤ s² ν / χ²₀.₂(ν)      ν one less than the animals
    /// ```
    ///
    /// Measured, for 4 to 12 animals, 1 to 10 nights planned and `night` 0.5 to 2 of `animal`: below in 79 to
    /// 90 of 100 pilots of two or three nights; in 77 to 88 where they have 1, 2, 3, 4 nights in turn; in 79 to
    /// 81 where they have one night and one is planned, up to 99 where more are: what nights add is not known.
    pub fn upper(&self, nights: usize) -> Option<Spread> {
        let [between, within] = self.degrees_of_freedom;
        let sd = self.spread.of_animal(nights)?;
        let share = 1.0 / nights as f64 - 1.0 / self.nights;
        let own = self.mean_squares[0] / self.nights;
        let of_nights = if within == 0 { 0.0 } else { share * self.mean_squares[1] };
        let raise = upper_factor(between)? - 1.0;
        // where the nights' mean square is taken off, its lower limit counts
        let raise_of_nights = match within {
            0 => 0.0,
            _ if share > 0.0 => upper_factor(within)? - 1.0,
            _ => 1.0 - lower_factor(within)?,
        };
        let most = (own + of_nights).max(0.0) + (own * raise).hypot(of_nights * raise_of_nights);
        Some(self.spread.times((most / (sd * sd)).max(1.0).sqrt()))
    }

    /// The same for pairs, to which only the spread within animals matters: the nights' deviation at its
    /// upper limit (held in 79 to 82 of 100 pilots). `None` where no animal has two nights.
    pub fn upper_of_nights(&self) -> Option<Spread> {
        let factor = upper_factor(self.degrees_of_freedom[1])?;
        let measured = self.spread.measurement.powi(2);
        let night = (self.mean_squares[1] * factor - measured).max(0.0).sqrt();
        Some(Spread { night: Some(night.max(self.spread.night?)), ..self.spread })
    }
}

/// By how much a variance of so many degrees of freedom is multiplied for its upper limit; `None` of none.
/// Of 3, 4 and 5 (a pilot of four to six animals) 2.99, 2.43 and 2.13: deviations times 1.73, 1.56, 1.46.
pub fn upper_factor(degrees_of_freedom: usize) -> Option<f64> {
    factor(degrees_of_freedom, UPPER)
}

fn lower_factor(degrees_of_freedom: usize) -> Option<f64> {
    factor(degrees_of_freedom, 1.0 - UPPER)
}

/// ν / χ², χ² the point exceeded with this chance.
fn factor(degrees_of_freedom: usize, exceeded: f64) -> Option<f64> {
    let nu = degrees_of_freedom as f64;
    let (mut low, mut high) = (0.0, nu + 10.0 * nu.sqrt() + 10.0);
    for _ in 0..60 {
        let point = 0.5 * (low + high);
        let beyond = chi_square_upper(point, nu) > exceeded;
        (low, high) = if beyond { (point, high) } else { (low, point) };
    }
    (degrees_of_freedom > 0).then(|| nu / high)
}

/// The value of one night, and the square of its error.
type Night = [f64; 2];

/// The nights of each animal of each group, in an order that neither that of the rows nor the animals'
/// numbers decide: sums come out alike to the last digit.
fn by_animal(values: &[PilotValue]) -> Vec<Vec<Vec<Night>>> {
    let usual = usual_square(values);
    let mut rows: Vec<(PilotValue, Night)> =
        values.iter().map(|v| (*v, [v.value, v.se.map_or(usual, |se| se * se)])).collect();
    rows.sort_by(|(a, night), (b, other)| {
        let place = |v: &PilotValue| (v.group, v.animal, v.night);
        place(a).cmp(&place(b)).then(order(night, other))
    });
    let of_animal = |rows: &[(PilotValue, Night)]| {
        let nights = rows.chunk_by(|(a, _), (b, _)| a.night == b.night);
        let mut nights: Vec<Night> = nights.map(average).collect();
        nights.sort_by(order);
        nights
    };
    let of_group = |rows: &[(PilotValue, Night)]| {
        let animals = rows.chunk_by(|(a, _), (b, _)| a.animal == b.animal);
        let mut animals: Vec<Vec<Night>> = animals.map(of_animal).collect();
        animals.sort_by(|a, b| {
            let first = a.iter().zip(b).map(|(a, b)| order(a, b)).find(|order| order.is_ne());
            first.unwrap_or(a.len().cmp(&b.len()))
        });
        animals
    };
    rows.chunk_by(|(a, _), (b, _)| a.group == b.group).map(of_group).collect()
}

/// The mean square of the errors that are known; 0 where none is.
fn usual_square(values: &[PilotValue]) -> f64 {
    let mut known: Vec<f64> = values.iter().filter_map(|v| v.se).map(|se| se * se).collect();
    known.sort_by(f64::total_cmp);
    known.iter().sum::<f64>() / known.len().max(1) as f64
}

/// The mean of several values of one night, and the square of its error.
fn average(rows: &[(PilotValue, Night)]) -> Night {
    let n = rows.len() as f64;
    let [value, squares] =
        rows.iter().fold([0.0; 2], |[sum, squares], (_, [y, e])| [sum + y, squares + e]);
    [value / n, squares / (n * n)]
}

fn order(a: &Night, b: &Night) -> Ordering {
    a[0].total_cmp(&b[0]).then(a[1].total_cmp(&b[1]))
}

/// Sums of squares of one group or several, and what measurement adds to them.
#[derive(Clone, Copy, Debug, Default)]
struct Squares {
    between: f64,
    within: f64,
    measured_between: f64,
    measured_within: f64,
    measured: f64,
    values: f64,
    /// N − Σ nᵢ²/N
    weight: f64,
    degrees_of_freedom: [usize; 2],
}

impl Squares {
    fn of(animals: &[Vec<Night>]) -> Self {
        let all: usize = animals.iter().map(Vec::len).sum();
        let n = all as f64;
        let centre = animals.iter().flatten().map(|night| night[0]).sum::<f64>() / n;
        let mut sums = Self {
            values: n,
            weight: n,
            degrees_of_freedom: [animals.len() - 1, all - animals.len()],
            ..Self::default()
        };
        for nights in animals {
            let own = nights.len() as f64;
            let [sum, errors] =
                nights.iter().fold([0.0; 2], |[sum, errors], [y, e]| [sum + y, errors + e]);
            let mean = sum / own;
            sums.between += own * (mean - centre).powi(2);
            sums.within += nights.iter().map(|[y, _]| (y - mean).powi(2)).sum::<f64>();
            sums.measured_between += (1.0 - own / n) * errors / own;
            sums.measured_within += (1.0 - 1.0 / own) * errors;
            sums.measured += errors;
            sums.weight -= own * own / n;
        }
        sums
    }

    fn and(self, other: Self) -> Self {
        let [between, within] = self.degrees_of_freedom;
        Self {
            between: self.between + other.between,
            within: self.within + other.within,
            measured_between: self.measured_between + other.measured_between,
            measured_within: self.measured_within + other.measured_within,
            measured: self.measured + other.measured,
            values: self.values + other.values,
            weight: self.weight + other.weight,
            degrees_of_freedom: [
                between + other.degrees_of_freedom[0],
                within + other.degrees_of_freedom[1],
            ],
        }
    }
}

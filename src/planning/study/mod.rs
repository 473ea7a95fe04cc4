//! What a planned study of animals can be expected to tell: the chance to see a difference, how wide the
//! intervals are, and how many animals it takes.
//!
//! In: a [`Question`], and the spread of one metric, stated or by a pilot survey ([`pilot`]). Out: an
//! [`Outlook`] for each spread that is planned by, in numbers; and in sentences ([`words`], [`limits`]).
//! Everything goes through [`statistics::power`](crate::maths::statistics::power), which judges made-up studies by
//! the rules that results are judged by. Assumes what that assumes.
//! Left out: several questions of one study, whose p are adjusted for each other; the errors of
//! planned legs, which [`forecast`](super::forecast::forecast) tells.

pub mod limits;
pub mod pilot;
pub mod words;

use crate::maths::parallel;
use crate::maths::statistics::power::{
    Aim, Design, Expected, PairedAim, PairedDesign, Pilot, Power, Spread, Width, animals_needed,
    detectable, detectable_of_pairs, expected, expected_of_pairs, least_p, least_p_of_pairs,
    pairs_needed,
};

/// Chance at or below which a difference counts as seen.
pub const LEVEL: f64 = 0.05;

/// Which animals are compared.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Animals {
    /// Two groups of so many animals.
    Groups([usize; 2]),
    /// The fewest of two groups, with so many animals of the second for one of the first.
    FewestGroups(f64),
    /// So many animals at two times each.
    Pairs(usize),
    /// The fewest of them.
    FewestPairs,
}

/// What is asked of a planned study.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Question {
    /// Which animals, and how many where that is known.
    pub animals: Animals,
    /// Nights of each animal; of pairs at each time.
    pub nights: usize,
    /// The true difference that is to be seen, in the unit of the metric.
    pub difference: Option<f64>,
    /// The power that is wanted, above 0.05 and below 1.
    pub power: f64,
    /// Of pairs: standard deviation between animals of the true change, in the unit of the metric.
    pub change: f64,
    /// What the random numbers begin with.
    pub seed: u64,
}

/// What can be expected if animals are spread like this. Numbers of animals are those of each group, or the
/// one number of pairs.
#[derive(Clone, Debug, PartialEq)]
pub struct Outlook {
    /// The spread.
    pub spread: Spread,
    /// Standard deviation of an animal's mean over its nights, of pairs that of its change.
    pub sd: f64,
    /// The numbers that were asked about, else the fewest; `None` where the most that are tried do not do.
    pub animals: Option<Vec<usize>>,
    /// The least p that these numbers can give.
    pub least_p: Option<f64>,
    /// The chance that they see the difference that was asked about.
    pub power: Option<Power>,
    /// The interval of the difference.
    pub width: Option<Width>,
    /// The interval of the mean of each group; of pairs there is none.
    pub widths_of_means: Vec<Option<Width>>,
    /// The least difference that they see with the power that is wanted.
    pub detectable: Option<f64>,
    /// The fewest animals that see the difference with the power that is wanted.
    pub needed: Option<Vec<usize>>,
}

impl Outlook {
    /// Before anything is expected.
    fn bare(spread: Spread, sd: f64) -> Self {
        Self {
            spread,
            sd,
            animals: None,
            least_p: None,
            power: None,
            width: None,
            widths_of_means: Vec::new(),
            detectable: None,
            needed: None,
        }
    }
}

/// What is worked out side by side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Part {
    Expected,
    Detectable,
    Needed,
}

impl Part {
    const ALL: [Self; 3] = [Self::Expected, Self::Detectable, Self::Needed];
}

/// What came of a part.
enum Found {
    Expected { width: Option<Width>, means: Vec<Option<Width>>, power: Power },
    Detectable(f64),
    Needed(Vec<usize>),
    Nothing,
}

impl Question {
    /// Whether the same animals are followed twice.
    pub fn of_pairs(&self) -> bool {
        matches!(self.animals, Animals::Pairs(_) | Animals::FewestPairs)
    }

    /// Whether the fewest animals are looked for.
    pub fn asks_fewest(&self) -> bool {
        matches!(self.animals, Animals::FewestGroups(_) | Animals::FewestPairs)
    }

    /// The numbers of animals that were asked about.
    pub fn asked(&self) -> Option<Vec<usize>> {
        match self.animals {
            Animals::Groups(sizes) => Some(sizes.to_vec()),
            Animals::Pairs(pairs) => Some(vec![pairs]),
            Animals::FewestGroups(_) | Animals::FewestPairs => None,
        }
    }

    /// The spread that a pilot may have at worst, for this question. `None` where it cannot be told.
    pub fn upper(&self, pilot: &Pilot) -> Option<Spread> {
        if self.of_pairs() { pilot.upper_of_nights() } else { pilot.upper(self.nights) }
    }

    /// What can be expected by each of these spreads. `None` without a night, and where the animals do not
    /// differ. What takes long is shared out among the cores.
    pub fn outlooks(&self, spreads: &[Spread]) -> Vec<Option<Outlook>> {
        parallel::each(spreads, |spread| self.outlook(*spread))
    }

    fn outlook(&self, spread: Spread) -> Option<Outlook> {
        let sd = if self.of_pairs() {
            spread.of_change(self.nights, self.change)
        } else {
            spread.of_animal(self.nights)
        };
        let sd = sd.filter(|sd| *sd > 0.0)?;
        let fewest = self.asks_fewest().then(|| self.needed(spread)).flatten();
        let animals = self.asked().or_else(|| fewest.clone());
        let least_p = animals.as_deref().and_then(least_p_of);
        let mut outlook = Outlook { animals, least_p, needed: fewest, ..Outlook::bare(spread, sd) };
        let parts = parallel::each(&Part::ALL, |part| self.part(*part, &outlook));
        for part in parts {
            match part {
                Found::Expected { width, means, power } => {
                    outlook.width = width;
                    outlook.widths_of_means = means;
                    outlook.power = self.difference.map(|_| power);
                }
                Found::Detectable(least) => outlook.detectable = Some(least),
                Found::Needed(needed) => outlook.needed = Some(needed),
                Found::Nothing => {}
            }
        }
        Some(outlook)
    }

    /// One part of an outlook of which the numbers of animals are known.
    fn part(&self, part: Part, outlook: &Outlook) -> Found {
        let found = match (part, outlook.animals.as_deref()) {
            (Part::Needed, _) if !self.asks_fewest() => {
                self.needed(outlook.spread).map(Found::Needed)
            }
            (Part::Needed, _) => None,
            (part, Some(&[first, second])) => self.of_groups(part, [first, second], outlook.spread),
            (part, Some(&[pairs])) => self.of_twice(part, pairs, outlook.spread),
            _ => None,
        };
        found.unwrap_or(Found::Nothing)
    }

    fn of_groups(&self, part: Part, sizes: [usize; 2], spread: Spread) -> Option<Found> {
        let difference = self.difference.unwrap_or(0.0);
        let design = Design { sizes, nights: self.nights, difference, spread };
        if part == Part::Detectable {
            return detectable(&design, self.power, self.seed).map(Found::Detectable);
        }
        let Expected { means, difference, power } = expected(&design, self.seed)?;
        Some(Found::Expected { width: difference, means: means.to_vec(), power })
    }

    fn of_twice(&self, part: Part, pairs: usize, spread: Spread) -> Option<Found> {
        let (nights, response) = (self.nights, self.change);
        let difference = self.difference.unwrap_or(0.0);
        let design = PairedDesign { pairs, nights, difference, spread, response };
        if part == Part::Detectable {
            return detectable_of_pairs(&design, self.power, self.seed).map(Found::Detectable);
        }
        let found = expected_of_pairs(&design, self.seed)?;
        Some(Found::Expected { width: found.difference, means: Vec::new(), power: found.power })
    }

    /// The fewest animals, in the ratio of those that were asked about.
    fn needed(&self, spread: Spread) -> Option<Vec<usize>> {
        let difference = self.difference?;
        let &Self { nights, power, change, seed, .. } = self;
        let ratio = match self.animals {
            Animals::Groups([first, second]) => second as f64 / first as f64,
            Animals::FewestGroups(ratio) => ratio,
            Animals::Pairs(_) | Animals::FewestPairs => {
                let aim = PairedAim { difference, nights, response: change, power };
                return pairs_needed(&spread, &aim, seed).map(|(pairs, _)| vec![pairs]);
            }
        };
        let aim = Aim { difference, nights, ratio, power };
        animals_needed(&spread, &aim, seed).map(|needed| needed.sizes.to_vec())
    }
}

/// The least p that so many animals can give: those of each group, or the number of pairs.
fn least_p_of(animals: &[usize]) -> Option<f64> {
    match *animals {
        [first, second] => least_p([first, second]),
        [pairs] => least_p_of_pairs(pairs),
        _ => None,
    }
}

/// The fewest animals, none fewer than these, by which a difference can be seen at all: the smaller group
/// grows.
pub fn fewest_that_can(mut animals: Vec<usize>) -> Vec<usize> {
    while least_p_of(&animals).is_some_and(|p| p > LEVEL) {
        if let Some(smaller) = animals.iter_mut().min() {
            *smaller += 1;
        }
    }
    animals
}

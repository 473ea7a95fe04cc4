//! Groups of animals, in sentences.

use super::headlines::{HEADLINES, Headline, Saying};
use super::words::{by_chance, capital, list, people, shuffles, value};
use crate::analysis::comparison::{GroupRow, MetricTest};
use crate::compare::TestRow;
use crate::compare::factors::Factor;
use crate::compare::summary::Summary;
use crate::quantity::significant;

/// The tests that an answer by groups rests on, the first there is.
pub const TESTS: [&str; 4] =
    ["permutation_within", "permutation_welch", "permutation", "kruskal_wallis"];

/// What the groups of one factor come to: first the whole, then question by question.
pub(super) fn sentences(factor: &Factor, groups: &[GroupRow], tests: &[MetricTest]) -> Vec<String> {
    let mut levels: Vec<&str> = Vec::new();
    for row in groups.iter().filter(|row| row.factor == factor.name) {
        if !levels.contains(&row.group.as_str()) {
            levels.push(&row.group);
        }
    }
    if levels.len() < 2 {
        let only = levels.first().map_or("blank", |level| level);
        return vec![format!("Nothing to compare by {}: it is {only} throughout.", factor.name)];
    }
    let mut sentences = vec![whole(factor, &levels, tests)];
    let of = |headline: &Headline| one(headline, factor, groups, tests);
    sentences.extend(HEADLINES.iter().filter_map(of));
    sentences
}

/// Which of the questions show a difference that chance seldom makes.
fn whole(factor: &Factor, levels: &[&str], tests: &[MetricTest]) -> String {
    let names: Vec<String> = levels.iter().map(|level| people(&factor.name, level)).collect();
    let names = capital(&list(&names));
    let tested: Vec<(&Headline, &TestRow, f64)> = HEADLINES
        .iter()
        .filter_map(|headline| {
            let row = headline.test(tests, &factor.name, &TESTS)?;
            Some((headline, row, row.p?))
        })
        .collect();
    let clear: Vec<String> = tested
        .iter()
        .filter(|(_, _, p)| *p < 0.05)
        .map(|(headline, ..)| headline.words())
        .collect();
    let least = tested.iter().map(|(_, _, p)| *p).fold(1.0, f64::min);
    // With labels of unequal groups one arrangement is the observed one; of equal ones, two.
    let few = tested.iter().filter_map(|(_, row, _)| {
        let equal = row.animals.windows(2).all(|pair| pair[0] == pair[1]);
        Some(if equal { 2.0 } else { 1.0 } / row.arrangements? as f64)
    });
    let few = few.fold(0.0, f64::max);
    if tested.is_empty() {
        format!("{names} cannot be tested: too few animals, or no values.")
    } else if few > 0.05 {
        let least = significant(few, 2);
        format!("{names}: with so few animals no difference, however large, can have p < {least}.")
    } else if clear.is_empty() {
        format!(
            "{names} do not differ in any of {} questions by more than chance would make; the \
             least likely of the differences arises in {}.",
            tested.len(),
            shuffles(least)
        )
    } else {
        let of = tested.len();
        format!("{names} differ in {}; {of} questions were asked.", list(&clear))
    }
}

fn one(
    headline: &Headline,
    factor: &Factor,
    groups: &[GroupRow],
    tests: &[MetricTest],
) -> Option<String> {
    let own = |row: &&GroupRow| {
        row.metric == headline.metric && row.part == headline.part && row.factor == factor.name
    };
    let own: Vec<&GroupRow> = groups.iter().filter(own).collect();
    let test = headline.test(tests, &factor.name, &TESTS)?;
    let clause = match own[..] {
        [first, second] => {
            let (a, b) = (first.summary.mean?, second.summary.mean?);
            let (more, less) = if a >= b { (first, second) } else { (second, first) };
            two(headline, &factor.name, (more, &more.summary), (less, &less.summary))?
        }
        _ => several(headline, &factor.name, &own)?,
    };
    let note = match test.reason.as_str() {
        "" => String::new(),
        _ if test.p.is_none() => String::new(),
        reason => format!(" ({reason})"),
    };
    Some(format!("{clause}; {}{note}.", by_chance(test)))
}

fn two(
    headline: &Headline,
    factor: &str,
    (more, high): (&GroupRow, &Summary),
    (less, low): (&GroupRow, &Summary),
) -> Option<String> {
    let (x, y) = (high.mean?, low.mean?);
    let [hi, lo] = [more, less].map(|row| people(factor, &row.group));
    let hi = capital(&hi);
    let sizes = format!("n = {} and {}", high.animals, low.animals);
    let [vx, vy] = [x, y].map(|mean| value(headline.metric, mean));
    Some(match headline.saying {
        Saying::Times(verb, how) if y > 0.0 && x / y >= 1.05 => {
            let times = significant(x / y, 2);
            format!("{hi} {verb} {times} times as {how} as {lo} ({vx} against {vy}; {sizes})")
        }
        Saying::Times(verb, how) => {
            format!("{hi} and {lo} {verb} about as {how} ({vx} and {vy}; {sizes})")
        }
        Saying::Values(verb, what) => format!("{hi} {verb} {vx} {what}, {lo} {vy} ({sizes})"),
    })
}

fn several(headline: &Headline, factor: &str, own: &[&GroupRow]) -> Option<String> {
    let of = |row: &&GroupRow| {
        let mean = value(headline.metric, row.summary.mean?);
        Some(format!("{} {mean} (n = {})", people(factor, &row.group), row.summary.animals))
    };
    let means: Vec<String> = own.iter().filter_map(of).collect();
    let words = capital(&headline.words());
    (!means.is_empty()).then(|| format!("{words}: {}", list(&means)))
}

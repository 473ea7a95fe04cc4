//! Groups of animals, in sentences.

use super::words::{
    capital, chance, difference, difference_and_interval, interval_of_value, list, p_equals,
    people, value,
};
use crate::maths::quantity::significant;
use crate::maths::statistics::censored::RestrictedMean;
use crate::measures::compare::TestRow;
use crate::measures::compare::factors::Factor;
use crate::results::comparison::{GroupRow, MetricTest};
use crate::results::headlines::{HEADLINES, Headline};

/// The tests that an answer by groups rests on, the first there is.
pub const TESTS: [&str; 4] =
    ["permutation_within", "log_rank", "permutation_welch", "kruskal_wallis"];

/// The test that stands where some totals are "at least".
const RAN_OUT: &str = "log_rank";

/// The row in whose place a reason stands where two groups cannot be tested.
const REFUSED: &str = "permutation";

/// What the groups of one factor come to: first the whole, then question by question.
pub(super) fn sentences(
    factor: &Factor,
    groups: &[GroupRow],
    tests: &[MetricTest],
    questions: usize,
) -> Vec<String> {
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
    let tested: Vec<Tested<'_>> = HEADLINES
        .iter()
        .filter_map(|headline| {
            let row = headline
                .test(tests, &factor.name, &TESTS)
                .or_else(|| headline.test(tests, &factor.name, &[REFUSED]))?;
            Some(Tested { headline, row })
        })
        .collect();
    let mut sentences = vec![whole(factor, &levels, &tested, questions)];
    sentences.extend(tested.iter().filter_map(|tested| one(tested, factor, groups, questions)));
    sentences
}

/// A question and its test.
struct Tested<'a> {
    headline: &'a Headline,
    row: &'a TestRow,
}

/// In what the groups differ beyond what chance makes of so many questions.
fn whole(factor: &Factor, levels: &[&str], tested: &[Tested<'_>], questions: usize) -> String {
    let names: Vec<String> = levels.iter().map(|level| people(&factor.name, level)).collect();
    let names = list(&names);
    let with_p: Vec<(&Tested<'_>, f64)> =
        tested.iter().filter_map(|tested| Some((tested, tested.row.p?))).collect();
    let Some(least) = with_p.iter().map(|(_, p)| *p).min_by(f64::total_cmp) else {
        let why =
            tested.iter().map(|tested| tested.row.reason.as_str()).find(|why| !why.is_empty());
        let why = why.unwrap_or("too few animals, or no values");
        return format!("{} cannot be tested: {why}.", capital(&names));
    };
    let adjusted = |tested: &Tested<'_>| tested.row.p_adjusted.or(tested.row.p);
    let clear: Vec<String> = with_p
        .iter()
        .filter_map(|(tested, _)| {
            let p = adjusted(tested).filter(|p| *p <= 0.05)?;
            Some(format!("{} ({})", tested.headline.words(), p_equals(p)))
        })
        .collect();
    let few =
        with_p.iter().filter_map(|(tested, _)| least_possible(tested.row)).fold(0.0, f64::max);
    if few > 0.05 {
        let few = significant(few, 2);
        format!(
            "{}: with so few animals no difference, however large, can have p < {few}.",
            capital(&names)
        )
    } else if clear.is_empty() {
        let all = with_p.iter().filter_map(|(tested, _)| adjusted(tested)).min_by(f64::total_cmp);
        format!(
            "Between {names} no difference is established: the smallest p is {}, adjusted for \
             {questions} questions {}.",
            significant(least, 2),
            significant(all.unwrap_or(least), 2)
        )
    } else {
        let allowing = if questions > 1 {
            format!(", allowing for {questions} questions")
        } else {
            String::new()
        };
        format!("{} differ in {}{allowing}.", capital(&names), list(&clear))
    }
}

/// The least p that so few animals can have. With labels of unequal groups one arrangement is the
/// observed one; of equal ones, two.
fn least_possible(row: &TestRow) -> Option<f64> {
    let equal = row.animals.windows(2).all(|pair| pair[0] == pair[1]);
    Some(if equal { 2.0 } else { 1.0 } / row.arrangements? as f64)
}

fn one(
    Tested { headline, row }: &Tested<'_>,
    factor: &Factor,
    groups: &[GroupRow],
    questions: usize,
) -> Option<String> {
    let own = |row: &&GroupRow| {
        row.metric == headline.metric && row.part == headline.part && row.factor == factor.name
    };
    let own: Vec<&GroupRow> = groups.iter().filter(own).collect();
    let note = match row.reason.as_str() {
        reason if !reason.is_empty() && row.p.is_some() && row.test != RAN_OUT => {
            format!("; {reason}")
        }
        _ => String::new(),
    };
    let chance = chance(row, questions) + &note;
    match own[..] {
        [first, second] if row.test == RAN_OUT => {
            cut_short(headline, &factor.name, [first, second], &chance)
        }
        [first, second] => two(headline, &factor.name, [first, second], row, &chance),
        _ => several(headline, &factor.name, &own, &chance),
    }
}

/// Both values, the larger first, with the difference and its interval.
fn two(
    headline: &Headline,
    factor: &str,
    [first, second]: [&GroupRow; 2],
    test: &TestRow,
    chance: &str,
) -> Option<String> {
    let (a, b) = (first.summary.mean?, second.summary.mean?);
    let (sign, more, less) = if a >= b { (1.0, first, second) } else { (-1.0, second, first) };
    let ends =
        test.interval.map(|[low, high]| if sign > 0.0 { [low, high] } else { [-high, -low] });
    // within strata the difference is another one than that of the means
    let effect = test.effect.map_or((a - b).abs(), |effect| sign * effect);
    let size = difference_and_interval(headline.metric, effect, ends);
    let [hi, lo] = [more, less].map(|row| people(factor, &row.group));
    let [x, y] = [more, less].map(|row| value(headline.metric, row.summary.mean.unwrap_or(0.0)));
    let [did, after] = headline.did;
    let [n, m] = [more, less].map(|row| row.summary.animals);
    Some(format!(
        "{} {did} {x} {after}, {lo} {y} ({size}; n = {n} and {m}; {chance}).",
        capital(&hi)
    ))
}

/// Where threads ran out: both means up to the length that both groups reach, each with its interval.
/// The test is of the whole curves, so that the difference of the means has no interval here.
fn cut_short(
    headline: &Headline,
    factor: &str,
    [first, second]: [&GroupRow; 2],
    chance: &str,
) -> Option<String> {
    let (a, b) = (first.summary.restricted?, second.summary.restricted?);
    let swapped = b.mean > a.mean;
    let [(more, high), (less, low)] =
        if swapped { [(second, b), (first, a)] } else { [(first, a), (second, b)] };
    let of = |mean: &RestrictedMean| {
        let ends = mean.interval.map_or_else(String::new, |ends| {
            format!(" (95 % interval {})", interval_of_value(headline.metric, ends))
        });
        format!("{}{ends}", value(headline.metric, mean.mean))
    };
    let [hi, lo] = [more, less].map(|row| people(factor, &row.group));
    let [did, after] = headline.did;
    let [n, m] = [more, less].map(|row| row.summary.animals);
    let [out, gone] = [more, less].map(|row| row.summary.at_least);
    Some(format!(
        "{} {did} {} {after}, {lo} {}, means restricted to {} (difference {}; n = {n} and {m}, {out} and {gone} of \
         them minimum values; log-rank test, {chance}).",
        capital(&hi),
        of(&high),
        of(&low),
        value(headline.metric, high.bound),
        difference(headline.metric, high.mean - low.mean),
    ))
}

fn several(headline: &Headline, factor: &str, own: &[&GroupRow], chance: &str) -> Option<String> {
    let of = |row: &&GroupRow| {
        let mean = value(headline.metric, row.summary.mean?);
        Some(format!("{} {mean} (n = {})", people(factor, &row.group), row.summary.animals))
    };
    let means: Vec<String> = own.iter().filter_map(of).collect();
    let words = capital(&headline.words());
    (!means.is_empty()).then(|| format!("{words}: {} ({chance}).", list(&means)))
}

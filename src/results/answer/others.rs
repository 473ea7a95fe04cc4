//! The same animals twice, a covariate, and directions, in sentences.

use super::words::{
    capital, chance, difference, difference_and_interval, interval, list, minus, p_equals, people,
};
use crate::maths::quantity::{Bearing, count_of, degrees, significant};
use crate::measures::compare::TestRow;
use crate::measures::compare::directions::mean_vector;
use crate::measures::compare::factors::Factor;
use crate::measures::metrics::Metric;
use crate::results::Analysis;
use crate::results::comparison::{MetricTest, headings};
use crate::results::headlines::{HEADLINES, Headline};
use crate::results::question::Question;
use crate::survey::dictionary::in_words;

/// The same animals in two states.
pub(super) fn within_animals(
    headline: &Headline,
    factor: &Factor,
    [first, second]: &[String; 2],
    tests: &[MetricTest],
    questions: usize,
) -> Option<String> {
    let test = headline.test(tests, &factor.name, &["sign_permutation"])?;
    let words = capital(&headline.words());
    let Some(effect) = test.effect else {
        return Some(format!("{words}: no test: {}.", test.reason));
    };
    let n = test.animals.first().copied().unwrap_or(0);
    Some(format!(
        "{words}, {} {second} less {first} of the same animals: {} (n = {n}; {}).",
        factor.name,
        difference_and_interval(headline.metric, effect, test.interval),
        chance(test, questions)
    ))
}

/// A metric against a number.
pub(super) fn against(
    headline: &Headline,
    factor: &Factor,
    tests: &[MetricTest],
    questions: usize,
) -> Option<String> {
    let rank = headline.test(tests, &factor.name, &["spearman"])?;
    let words = capital(&headline.words());
    let slope = headline.test(tests, &factor.name, &["slope"]);
    let Some((rho, slope)) = rank.effect.zip(slope) else {
        return Some(format!("{words} against {}: no test: {}.", factor.name, rank.reason));
    };
    let n = rank.animals.first().copied().unwrap_or(0);
    Some(format!(
        "{} (n = {n}; {}; rank correlation {}).",
        change(&words, headline, factor, slope)?,
        chance(slope, questions),
        minus(&significant(rho, 2))
    ))
}

/// Two groups by the model of repeated nights, in which each night weighs by what it knows.
pub(super) fn over_nights(factor: &Factor, tests: &[MetricTest]) -> Option<String> {
    let row = |headline: &Headline| headline.test(tests, &factor.name, &["repeated_nights"]);
    let one = |headline: &Headline| {
        let test = row(headline)?;
        let ends = test
            .interval
            .map_or_else(String::new, |ends| format!("{}; ", interval(headline.metric, ends)));
        let size = difference(headline.metric, test.effect?);
        Some(format!("{} {size} ({ends}n = {})", headline.words(), test.animals.first()?))
    };
    let each: Vec<String> = HEADLINES.iter().filter_map(one).collect();
    let groups = HEADLINES.iter().find_map(|headline| Some(row(headline)?.groups.clone()))?;
    let (first, second) = groups.split_once(" - ")?;
    let [first, second] = [first, second].map(|level| people(&factor.name, level));
    (!each.is_empty()).then(|| {
        format!(
            "By a mixed model of complete trails, nested in animals, {first} \
             less {second} with 95 % intervals: {}.",
            list(&each)
        )
    })
}

/// What goes with a number that differs between the nights of an animal, the animal held against itself.
pub(super) fn within_nights(
    factor: &Factor,
    tests: &[MetricTest],
    questions: usize,
) -> Option<String> {
    let one = |headline: &Headline| {
        let slope = headline.test(tests, &factor.name, &["slope_within_animals"])?;
        let n = slope.animals.first()?;
        let change = change(&headline.words(), headline, factor, slope)?;
        Some(format!("{change} (n = {n} {}; {})", slope.reason, chance(slope, questions)))
    };
    let each: Vec<String> = HEADLINES.iter().filter_map(one).collect();
    (!each.is_empty()).then(|| {
        format!("Within animals, values shuffled inside each animal: {}.", each.join("; "))
    })
}

/// `path length rose by 2 m with each degree of warmth, 95 % interval 1 to 3 m`.
fn change(words: &str, headline: &Headline, factor: &Factor, slope: &TestRow) -> Option<String> {
    let effect = slope.effect?;
    let way = if effect >= 0.0 { "rose" } else { "fell" };
    let ends =
        slope.interval.map(|[low, high]| if effect >= 0.0 { [low, high] } else { [-high, -low] });
    let ends = ends.map_or_else(String::new, |ends| {
        format!(", 95 % interval {}", interval(headline.metric, ends))
    });
    let (name, unit) = in_words(&factor.name);
    let each = unit.map_or(name.clone(), |unit| format!("{unit} of {name}"));
    let size = difference(headline.metric, effect.abs());
    Some(format!("{words} {way} by {size} with each {each}{ends}"))
}

/// Whether animals head one way, and whether that must be known first.
pub(super) fn direction(
    analysis: &Analysis,
    question: &Question,
    tests: &[MetricTest],
) -> (String, bool) {
    let headings = headings(analysis, 0);
    let bearing = Metric::NetBearing.entry().name;
    let found = |name: &str| {
        let own = |test: &&MetricTest| test.metric == bearing && test.part == 0;
        tests.iter().filter(own).find(|test| test.row.test == name).map(|test| &test.row)
    };
    let Some((row, p)) = found("rayleigh").and_then(|row| Some((row, row.p?))) else {
        let few = "Too few animals have a net bearing to say whether they head one way.";
        return (few.to_owned() + &analysis.left_out_of_directions(), false);
    };
    let mean = mean_vector(&headings).direction().map(Bearing::from_radians);
    let about = mean.filter(|_| p < 0.05).map(|mean| degrees(mean.to_degrees()));
    let about =
        about.map_or("show no common heading".into(), |mean| format!("gather about {mean}"));
    let length = significant(row.effect.unwrap_or(0.0), 2);
    let mut text = format!(
        "Net directions of {} {about}: mean resultant {length} (0 every way, 1 all one way), \
         Rayleigh {}.",
        count_of(headings.len(), "animal"),
        p_equals(p)
    );
    let v_test = found("v_test").and_then(|row| Some((question.direction?, row.p?)));
    if let Some((stated, p)) = v_test {
        let stated = degrees(stated.to_degrees());
        text += &format!(" Towards {stated}, one-sided: V-test {}.", p_equals(p));
    }
    text += &analysis.left_out_of_directions();
    (text, question.direction.is_some())
}

/// Where the animals of each group head, and whether both groups head the same way.
pub(super) fn directions_of_groups(factor: &Factor, tests: &[MetricTest]) -> Option<String> {
    let own: Vec<&TestRow> = of_bearings(tests, &factor.name).collect();
    let means: Vec<String> = own
        .iter()
        .filter(|row| row.test == "mean_direction")
        .filter_map(|row| {
            let n = row.animals.first()?;
            let who = people(&factor.name, &row.groups);
            let mean = row.effect?.rem_euclid(360.0);
            Some(match row.interval {
                Some(_) => format!("{who} about {mean:.0}° ({}n = {n})", turned(row.interval)),
                None => format!("{who} none in common (n = {n})"),
            })
        })
        .collect();
    let same = own.iter().find(|row| row.test == "same_direction");
    let same = same.map(|row| match row.p {
        Some(p) => format!("; test of a common direction, {}", p_equals(p)),
        None => format!("; no test of a common direction: {}", row.reason),
    });
    let same = same.unwrap_or_default();
    (!means.is_empty()).then(|| format!("Mean net directions: {}{same}.", list(&means)))
}

/// How far animals headed from the bearing of a place.
pub(super) fn towards_place(place: &str, tests: &[MetricTest]) -> Option<String> {
    let find = |name| of_bearings(tests, place).find(|row| row.test == name);
    let row = find("heading_to_place")?;
    let Some(effect) = row.effect else {
        return Some(format!("Headings towards {place}: none: {}.", row.reason));
    };
    let side = if effect < 0.0 { "left" } else { "right" };
    let n = row.animals.first()?;
    let test = find("v_test_to_place").and_then(|row| row.p);
    let test = test
        .map_or_else(String::new, |p| format!("; towards it, one-sided, V-test {}", p_equals(p)));
    Some(match row.interval {
        Some(_) => format!(
            "Animals headed on average {:.0}° to the {side} of {place} ({}n = {n}{test}).",
            effect.abs(),
            turned(row.interval),
        ),
        None => format!(
            "Headings of animals from the bearing of {place} show no common direction (n = {n}{test})."
        ),
    })
}

fn of_bearings<'a>(tests: &'a [MetricTest], factor: &'a str) -> impl Iterator<Item = &'a TestRow> {
    let bearing = Metric::NetBearing.entry().name;
    let own =
        move |test: &&MetricTest| test.metric == bearing && test.part == 0 && test.factor == factor;
    tests.iter().filter(own).map(|test| &test.row)
}

/// The interval of an angle, before what follows it.
fn turned(interval: Option<[f64; 2]>) -> String {
    interval.map_or_else(String::new, |ends| {
        let [low, high] = ends.map(|end| minus(&format!("{end:.0}")));
        format!("95 % interval {low} to {high}°; ")
    })
}

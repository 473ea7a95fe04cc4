//! The same animals twice, a covariate, and directions, in sentences.

use super::words::{
    capital, chance, difference, difference_and_interval, interval, minus, p_value,
};
use crate::analysis::Analysis;
use crate::analysis::comparison::{MetricTest, headings};
use crate::analysis::headlines::Headline;
use crate::analysis::question::Question;
use crate::compare::directions::mean_vector;
use crate::compare::factors::Factor;
use crate::metrics::Metric;
use crate::quantity::{Bearing, count_of, degrees, significant};
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
    let effect = slope.effect?;
    let way = if effect >= 0.0 { "rose" } else { "fell" };
    let sign = effect.signum();
    let ends =
        slope.interval.map(|[low, high]| if sign > 0.0 { [low, high] } else { [-high, -low] });
    let interval = ends.map_or_else(String::new, |ends| {
        format!("95 % interval {}; ", interval(headline.metric, ends))
    });
    let (name, unit) = in_words(&factor.name);
    let each = unit.map_or(name.clone(), |unit| format!("{unit} of {name}"));
    let n = rank.animals.first().copied().unwrap_or(0);
    Some(format!(
        "{words} {way} by {} with each {each} ({interval}n = {n}; {}; rank correlation {}).",
        difference(headline.metric, effect.abs()),
        chance(slope, questions),
        minus(&significant(rho, 2))
    ))
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
         Rayleigh p = {}.",
        count_of(headings.len(), "animal"),
        p_value(p)
    );
    let v_test = found("v_test").and_then(|row| Some((question.direction?, row.p?)));
    if let Some((stated, p)) = v_test {
        let stated = degrees(stated.to_degrees());
        text += &format!(" Towards {stated}, one-sided: V-test p = {}.", p_value(p));
    }
    text += &analysis.left_out_of_directions();
    (text, question.direction.is_some())
}

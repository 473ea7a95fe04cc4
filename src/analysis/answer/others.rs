//! The same animals twice, a covariate, and directions, in sentences.

use super::headlines::Headline;
use super::words::{by_chance, capital, p_value, value};
use crate::analysis::Analysis;
use crate::analysis::comparison::{MetricTest, Question, headings};
use crate::compare::directions::mean_vector;
use crate::compare::factors::Factor;
use crate::metrics::Metric;
use crate::quantity::{Bearing, count_of, degrees, significant};

/// The same animals in two states.
pub(super) fn within_animals(
    headline: &Headline,
    factor: &Factor,
    [first, second]: &[String; 2],
    tests: &[MetricTest],
) -> Option<String> {
    let test = headline.test(tests, &factor.name, &["sign_permutation"])?;
    let words = capital(&headline.words());
    let Some(effect) = test.effect else {
        return Some(format!("{words}: no test: {}.", test.reason));
    };
    let way = if effect >= 0.0 { "more" } else { "less" };
    let n = test.animals.first().copied().unwrap_or(0);
    let size = match headline.metric.entry().unit {
        "1" if headline.metric.entry().name.ends_with("share") => {
            format!("{} percentage points", significant(100.0 * effect.abs(), 2))
        }
        _ => value(headline.metric, effect.abs()),
    };
    Some(format!(
        "{words}: the same {} had {size} {way} in {} {second} than in {first}; {}.",
        count_of(n, "animal"),
        factor.name,
        by_chance(test)
    ))
}

/// A metric against a number.
pub(super) fn against(
    headline: &Headline,
    factor: &Factor,
    tests: &[MetricTest],
) -> Option<String> {
    let test = headline.test(tests, &factor.name, &["spearman"])?;
    let words = capital(&headline.words());
    let Some(rho) = test.effect else {
        return Some(format!("{words} against {}: no test: {}.", factor.name, test.reason));
    };
    let way = match rho {
        rho if rho.abs() < 0.05 => "neither rose nor fell",
        rho if rho > 0.0 => "rose",
        _ => "fell",
    };
    let n = test.animals.first().copied().unwrap_or(0);
    let often = by_chance(test).replace("as large", "as close");
    let rho = significant(rho, 2);
    Some(format!("{words} {way} with {} (rank correlation {rho}, n = {n}); {often}.", factor.name))
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
    (text, p < 0.05 || question.direction.is_some())
}

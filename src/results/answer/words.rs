//! Levels, values and p in words.

use crate::maths::quantity::{percent, significant};
use crate::measures::compare::TestRow;
use crate::measures::metrics::Metric;
use crate::survey::spellings::sex_of;

/// The animals of a level, as a sentence names them.
pub fn people(factor: &str, level: &str) -> String {
    if let Some(sex) = sex_of(level).filter(|_| factor == "sex") {
        return format!("{sex}s");
    }
    match factor {
        "age" if level.chars().all(char::is_alphabetic) => format!("{level}s"),
        _ if level.parse::<f64>().is_ok() => format!("animals with {factor} {level}"),
        _ => format!("animals of {level}"),
    }
}

/// A sentence's first word.
pub fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// A value with its unit.
pub fn value(metric: Metric, value: f64) -> String {
    match metric.entry().unit {
        _ if is_share(metric) => percent(value),
        unit if unit.starts_with('1') || unit.is_empty() => significant(value, 3),
        unit => format!("{} {unit}", significant(value, 3)),
    }
}

/// How much larger one value is than another, with its unit: shares in percentage points.
pub fn difference(metric: Metric, difference: f64) -> String {
    let (number, unit) = in_unit(metric, difference);
    with_unit(&number, unit)
}

/// The difference and its 95 % interval, the unit said once at the end of each.
pub(super) fn difference_and_interval(
    metric: Metric,
    effect: f64,
    ends: Option<[f64; 2]>,
) -> String {
    let interval =
        ends.map_or_else(String::new, |ends| format!(", 95 % interval {}", interval(metric, ends)));
    format!("difference {}{interval}", difference(metric, effect))
}

/// Both ends of an interval of a difference, with the unit once.
pub(super) fn interval(metric: Metric, ends: [f64; 2]) -> String {
    let (_, unit) = in_unit(metric, ends[0]);
    let [low, high] = ends.map(|end| in_unit(metric, end).0);
    with_unit(&format!("{low} to {high}"), unit)
}

/// Both ends of an interval of a value: shares in per cent, not in points.
pub(super) fn interval_of_value(metric: Metric, ends: [f64; 2]) -> String {
    let [low, high] = ends.map(|end| in_unit(metric, end).0);
    let unit = if is_share(metric) { "%" } else { in_unit(metric, ends[0]).1 };
    with_unit(&format!("{low} to {high}"), unit)
}

fn is_share(metric: Metric) -> bool {
    metric.entry().unit == "1" && metric.entry().name.ends_with("share")
}

/// A difference in its unit: points of a hundred to the whole point, else to two or three digits.
fn in_unit(metric: Metric, difference: f64) -> (String, &'static str) {
    match metric.entry().unit {
        _ if is_share(metric) => {
            let points = 100.0 * difference;
            let whole =
                if points.abs() < 1.0 { significant(points, 2) } else { format!("{points:.0}") };
            (minus(&whole), "points")
        }
        unit if unit.starts_with('1') => (minus(&significant(difference, 2)), ""),
        unit => (minus(&significant(difference, 2)), unit),
    }
}

fn with_unit(number: &str, unit: &str) -> String {
    if unit.is_empty() { number.to_owned() } else { format!("{number} {unit}") }
}

/// A number with a true minus sign, and none on nothing.
pub(super) fn minus(number: &str) -> String {
    match number.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| matches!(c, '0' | '.')) => rest.to_owned(),
        Some(rest) => format!("−{rest}"),
        None => number.to_owned(),
    }
}

/// The end of a sentence on a test: p, and of how many questions this is one; where p is low, what it
/// is for all of them together. Else why there is no test.
pub(super) fn chance(row: &TestRow, questions: usize) -> String {
    let Some(p) = row.p else { return format!("no test: {}", row.reason) };
    let words = p_equals(p);
    match row.p_adjusted {
        Some(all) if p <= 0.05 && questions > 1 => {
            format!("{words}, allowing for {questions} questions {}", p_value(all))
        }
        _ if questions > 1 => format!("{words}, one of {questions} questions"),
        _ => words,
    }
}

/// `p = 0.13`.
pub(super) fn p_equals(p: f64) -> String {
    let p = p_value(p);
    if p.starts_with('<') { format!("p {p}") } else { format!("p = {p}") }
}

/// A p value as it is printed.
pub fn p_value(p: f64) -> String {
    if p < 0.0001 { "< 0.0001".into() } else { significant(p, 2) }
}

/// `a, b and c`.
pub fn list(words: &[String]) -> String {
    match words {
        [] => String::new(),
        [one] => one.clone(),
        [first @ .., last] => format!("{} and {last}", first.join(", ")),
    }
}

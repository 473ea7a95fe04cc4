//! Levels, values and p in words.

use crate::compare::TestRow;
use crate::metrics::Metric;
use crate::quantity::{percent, significant};
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
pub(super) fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or(String::new(), |first| first.to_uppercase().chain(letters).collect())
}

/// A value with its unit.
pub fn value(metric: Metric, value: f64) -> String {
    match metric.entry().unit {
        "1" if metric.entry().name.ends_with("share") => percent(value),
        unit if unit.starts_with('1') || unit.is_empty() => significant(value, 3),
        unit => format!("{} {unit}", significant(value, 3)),
    }
}

/// How often shuffles bring about as much.
pub(super) fn shuffles(p: f64) -> String {
    if p < 0.005 {
        "fewer than 1 of 100 shuffles".to_owned()
    } else {
        format!("{:.0} of 100 shuffles", 100.0 * p)
    }
}

/// The end of a sentence on a difference: how often chance makes one as large, or why that was not
/// tested.
pub(super) fn by_chance(row: &TestRow) -> String {
    match row.p {
        Some(p) => format!("as large by chance in {}", shuffles(p)),
        None => format!("no test: {}", row.reason),
    }
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

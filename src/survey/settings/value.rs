//! What a setting takes, in one match each: how it is said, what it is left out, and how it is set.

use super::Settings;
use super::choices::{Choice, Declination};
use crate::maths::quantity::Bearing;
use jiff::civil::Date;
use toml::Value;

/// Where a setting is kept. The second argument is the name within its path, if that holds one.
pub(super) type Field<T> = for<'s> fn(&'s mut Settings, &str) -> &'s mut T;

/// The numbers a setting takes.
#[derive(Clone, Copy, Debug)]
pub(super) enum Range {
    /// Both ends allowed.
    From(f64, f64),
    /// Above zero, to the limit.
    AboveZero(f64),
}

impl Range {
    fn holds(self, number: f64) -> bool {
        match self {
            Self::From(low, high) => (low..=high).contains(&number),
            Self::AboveZero(high) => number > 0.0 && number <= high,
        }
    }

    fn words(self) -> String {
        match self {
            Self::From(low, high) => format!("a number from {low} to {high}"),
            Self::AboveZero(high) => format!("a number above 0, at most {high}"),
        }
    }
}

/// The kind of a setting, with its field.
#[derive(Clone, Copy)]
pub(super) enum Slot {
    Text(Field<Option<String>>),
    Heading(Field<String>),
    /// A point of the compass by its English name.
    Point(Field<String>),
    Date(Field<Option<Date>>),
    Word(fn(&mut Settings) -> &mut dyn Choice),
    Number(Range, Field<f64>),
    /// A number that something else stands in for while it is not stated.
    Optional(Range, Field<Option<f64>>),
    Count(Field<usize>),
    Declination(Field<Declination>),
    Edges(Range, Field<Vec<f64>>),
    /// Headings of columns.
    Headings(Field<Vec<String>>),
}

impl Slot {
    /// What it takes, in words.
    pub(super) fn accepts(self) -> String {
        match self {
            Self::Text(_) => "text in quotes".into(),
            Self::Heading(_) => "the heading as it stands in the table, in quotes".into(),
            Self::Point(_) => {
                "a point of the compass in English letters, like \"E\" or \"SSW\"".into()
            }
            Self::Date(_) => "a date like 2026-06-30".into(),
            Self::Word(field) => {
                format!("one of {}", field(&mut Settings::default()).words().join(", "))
            }
            Self::Number(range, _) | Self::Optional(range, _) => range.words(),
            Self::Count(_) => "a whole number above 0".into(),
            Self::Declination(_) => "\"model\", or a number of degrees from -180 to 180".into(),
            Self::Edges(..) => "a list of numbers that rise, like [0.3, 1, 5]".into(),
            Self::Headings(_) => "headings in quotes, like [\"sex\"] or [\"sex\", \"age\"]".into(),
        }
    }

    /// The words it may be, where it is one of a few.
    pub(super) fn words(self) -> &'static [&'static str] {
        match self {
            Self::Word(field) => field(&mut Settings::default()).words(),
            Self::Declination(_) => &["model"],
            _ => &[],
        }
    }

    /// Its value in `settings` as `survey.toml` would say it; `None` where it is not stated.
    pub(super) fn value(self, settings: &mut Settings, name: &str) -> Option<Value> {
        Some(match self {
            Self::Text(field) => field(settings, name).clone()?.into(),
            Self::Heading(field) | Self::Point(field) => {
                let heading = field(settings, name).clone();
                Some(heading).filter(|heading| !heading.is_empty())?.into()
            }
            Self::Date(field) => {
                let date = *field(settings, name);
                date?.to_string().parse().ok().map(Value::Datetime)?
            }
            Self::Word(field) => field(settings).word().into(),
            Self::Number(_, field) => (*field(settings, name)).into(),
            Self::Optional(_, field) => {
                let number = *field(settings, name);
                number?.into()
            }
            Self::Count(field) => i64::try_from(*field(settings, name)).ok()?.into(),
            Self::Declination(field) => match *field(settings, name) {
                Declination::Model => "model".into(),
                Declination::Stated(degrees) => degrees.into(),
            },
            Self::Edges(_, field) => field(settings, name).clone().into(),
            Self::Headings(field) => {
                let headings = field(settings, name).clone();
                Some(headings).filter(|headings| !headings.is_empty())?.into()
            }
        })
    }

    /// Sets it to `value`; `None`, and nothing set, where it does not take that.
    pub(super) fn set(self, settings: &mut Settings, name: &str, value: &Value) -> Option<()> {
        match self {
            Self::Text(field) => *field(settings, name) = Some(value.as_str()?.to_owned()),
            Self::Heading(field) => {
                let heading = value.as_str().filter(|heading| !heading.trim().is_empty())?;
                heading.trim().clone_into(field(settings, name));
            }
            Self::Point(field) => {
                let point = Bearing::from_point(value.as_str()?.trim())?.to_point();
                point.clone_into(field(settings, name));
            }
            Self::Date(field) => *field(settings, name) = Some(date(value)?),
            Self::Word(field) => return field(settings).choose(value.as_str()?).then_some(()),
            Self::Number(range, field) => *field(settings, name) = number(value, range)?,
            Self::Optional(range, field) => *field(settings, name) = Some(number(value, range)?),
            Self::Count(field) => *field(settings, name) = whole(value)?,
            Self::Declination(field) => *field(settings, name) = declination(value)?,
            Self::Edges(range, field) => *field(settings, name) = edges(value, range)?,
            Self::Headings(field) => *field(settings, name) = headings(value)?,
        }
        Some(())
    }
}

/// One heading, or a list of them.
fn headings(value: &Value) -> Option<Vec<String>> {
    let one = |value: &Value| {
        let heading = value.as_str()?.trim();
        (!heading.is_empty()).then(|| heading.to_owned())
    };
    match value {
        Value::Array(list) => list.iter().map(one).collect(),
        other => Some(vec![one(other)?]),
    }
}

fn number(value: &Value, range: Range) -> Option<f64> {
    let number = value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64));
    number.filter(|&number| range.holds(number))
}

fn whole(value: &Value) -> Option<usize> {
    usize::try_from(value.as_integer()?).ok().filter(|&whole| whole > 0)
}

fn date(value: &Value) -> Option<Date> {
    let text = match value {
        Value::Datetime(moment) => moment.date?.to_string(),
        other => other.as_str()?.to_owned(),
    };
    text.parse().ok()
}

fn declination(value: &Value) -> Option<Declination> {
    match value.as_str() {
        Some(word) => (word == "model").then_some(Declination::Model),
        None => number(value, Range::From(-180.0, 180.0)).map(Declination::Stated),
    }
}

fn edges(value: &Value, range: Range) -> Option<Vec<f64>> {
    let list = value.as_array()?.iter().map(|value| number(value, range));
    let edges = list.collect::<Option<Vec<_>>>()?;
    let rising = !edges.is_empty() && edges.windows(2).all(|pair| pair[0] < pair[1]);
    rising.then_some(edges)
}

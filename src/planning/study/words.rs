//! What a planned study can be expected to tell, in sentences.
//!
//! In: a [`Question`], its outlooks, and what is measured of whom ([`Subject`]). Out: sentences. Chances are
//! told in hundredths, since they are known to one or two of these. Left out: how they are laid out, and
//! what they rest on ([`limits`](super::limits)).

use super::pilot::PilotSurvey;
use super::{LEVEL, Outlook, Question, fewest_that_can};
use crate::maths::quantity::{count_of, plain, short, significant};
use crate::maths::statistics::power::MOST_ANIMALS;
use crate::measures::metrics::Metric;
use crate::results::answer::{difference as in_unit, list};

/// What is measured, and of whom.
#[derive(Clone, Debug)]
pub struct Subject {
    /// The metric.
    pub metric: Metric,
    /// Of which part of the trails.
    pub part: usize,
    /// The two groups in words, where a pilot names them.
    pub groups: Option<[String; 2]>,
}

impl Subject {
    /// The metric and the part, such as `path length after the escape run`.
    pub fn name(&self) -> String {
        let name = self.metric.entry().name.replace('_', " ");
        if self.part == 0 { name } else { format!("{name} after the escape run") }
    }

    /// A difference, a width or a standard deviation with its unit.
    pub fn in_unit(&self, value: f64) -> String {
        in_unit(self.metric, value)
    }

    /// So many animals: `10 adults and 5 subadults`, `10 and 5 animals`, `8 animals twice`.
    fn animals(&self, numbers: &[usize]) -> String {
        match (numbers, &self.groups) {
            ([first, second], Some([one, other])) => format!("{first} {one} and {second} {other}"),
            ([first, second], None) => format!("{first} and {second} animals"),
            ([pairs], _) => format!("{} followed twice", count_of(*pairs, "animal")),
            _ => String::new(),
        }
    }

    /// So many animals of one of two groups.
    fn group(&self, at: usize, number: usize) -> String {
        match &self.groups {
            Some(groups) => format!("{number} {}", groups[at]),
            None => count_of(number, "animal"),
        }
    }
}

/// So many studies of a hundred.
fn of_hundred(power: f64) -> String {
    match power {
        none if none < 0.005 => "fewer than 1 of 100 studies".to_owned(),
        all if all > 0.995 => "more than 99 of 100 studies".to_owned(),
        some => format!("{} of 100 studies", plain(100.0 * some, 0)),
    }
}

/// What is to be expected by one spread.
pub fn sentences(question: &Question, subject: &Subject, outlook: &Outlook) -> Vec<String> {
    let needed = needed(question, subject, outlook);
    let Some(animals) = &outlook.animals else { return needed.into_iter().collect() };
    let mut told = Vec::new();
    if let Some(least_p) = outlook.least_p.filter(|p| *p > LEVEL) {
        told.push(nothing_seen(question, subject, animals, least_p));
    } else {
        told.extend(seen(question, subject, outlook, animals));
    }
    told.extend(width_of_difference(question, subject, outlook));
    told.extend(widths_of_means(subject, outlook, animals));
    let place = if question.asks_fewest() { 0 } else { told.len() };
    told.splice(place..place, needed);
    told
}

/// The test, as a sentence names it.
fn test(question: &Question) -> &'static str {
    if question.of_pairs() { "signs of the changes shuffled" } else { "labels of animals shuffled" }
}

fn what(question: &Question) -> &'static str {
    if question.of_pairs() { "mean change" } else { "difference" }
}

fn nothing_seen(question: &Question, subject: &Subject, animals: &[usize], least_p: f64) -> String {
    format!(
        "With {} no {} can be found, however large: with {}, p cannot come below {}. The fewest that \
         can are {}.",
        subject.animals(animals),
        what(question),
        test(question),
        short(least_p, 3),
        subject.animals(&fewest_that_can(animals.to_vec())),
    )
}

/// The power, and the least difference that is seen.
fn seen(
    question: &Question,
    subject: &Subject,
    outlook: &Outlook,
    animals: &[usize],
) -> Vec<String> {
    let (what, test) = (what(question), test(question));
    let with = format!(
        "With {}, {} each{}",
        subject.animals(animals),
        count_of(question.nights, "night"),
        if question.of_pairs() { " time" } else { "" },
    );
    let wanted = of_hundred(question.power);
    let mut told = Vec::new();
    if let Some((power, difference)) = outlook.power.zip(question.difference) {
        told.push(format!(
            "{with}, a true {what} of {} in {} would be found in {} (p ≤ {LEVEL}, {test}).",
            subject.in_unit(difference),
            subject.name(),
            of_hundred(power.power),
        ));
        let least = outlook.detectable.filter(|_| !question.asks_fewest());
        told.extend(
            least.map(|least| {
                format!("{wanted} would find a {what} of {}.", subject.in_unit(least))
            }),
        );
    } else if let Some(least) = outlook.detectable {
        told.push(format!(
            "{with}, a true {what} of {} in {} would be found in {wanted} (p ≤ {LEVEL}, {test}); a \
             smaller one in fewer.",
            subject.in_unit(least),
            subject.name(),
        ));
    }
    told
}

fn width_of_difference(
    question: &Question,
    subject: &Subject,
    outlook: &Outlook,
) -> Option<String> {
    let width = outlook.width?;
    Some(format!(
        "The 95 % interval of the {} would be about {} wide from end to end, in 9 of 10 studies under {}.",
        what(question),
        subject.in_unit(width.mean),
        subject.in_unit(width.ninetieth),
    ))
}

/// How wide the interval of each mean turns out; equal groups without a name are told once.
fn widths_of_means(subject: &Subject, outlook: &Outlook, animals: &[usize]) -> Option<String> {
    let once = subject.groups.is_none() && animals.first() == animals.get(1);
    let widths = outlook.widths_of_means.iter().take(if once { 1 } else { 2 }).enumerate();
    let each: Vec<String> = widths
        .map(|(at, width)| {
            let group = subject.group(at, animals[at]);
            width.map_or_else(
                || format!("of {group} there is none"),
                |width| {
                    let [mean, most] = [width.mean, width.ninetieth].map(|w| subject.in_unit(w));
                    format!("of {group} {mean} ({most})")
                },
            )
        })
        .collect();
    (!each.is_empty()).then(|| format!("That of a mean: {}.", list(&each)))
}

/// How many animals it takes.
fn needed(question: &Question, subject: &Subject, outlook: &Outlook) -> Option<String> {
    let difference = subject.in_unit(question.difference?);
    let found = format!("For {difference} to be found in {}", of_hundred(question.power));
    Some(match &outlook.needed {
        Some(needed) => format!("{found}: {}.", subject.animals(needed)),
        None if question.of_pairs() => format!("{found} {MOST_ANIMALS} animals are not enough."),
        None => format!("{found} {MOST_ANIMALS} animals of the larger group are not enough."),
    })
}

/// Why to plan by the upper limit: how badly so few animals tell their spread.
pub fn why_upper(question: &Question, pilot: &PilotSurvey, own: f64, upper: f64) -> String {
    let (count, of) = if question.of_pairs() {
        (pilot.with_nights, " with two nights")
    } else {
        (pilot.pilot.animals, "")
    };
    format!(
        "A pilot of {}{of} tells its spread badly: in 1 of 5 such pilots the true one is more than {} \
         times as large. Planned by this upper limit",
        count_of(count, "animal"),
        significant(upper / own, 2),
    )
}

/// The groups of a pilot: `9 adults and 4 subadults`.
pub fn of_pilot(pilot: &PilotSurvey) -> String {
    let groups: Vec<String> = pilot.groups.iter().map(|(name, n)| format!("{n} {name}")).collect();
    list(&groups)
}

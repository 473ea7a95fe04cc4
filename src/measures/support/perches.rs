//! Perches and refuges: where, on what, by what evidence, by day or by night, and how often.

use crate::adjustment::path::Path;
use crate::survey::Survey;
use crate::survey::names::Name;
use crate::survey::rows::{AnchorRow, Ending, Moment, Perch, TrailRow};
use jiff::civil::Time;
use std::collections::BTreeMap;

/// What kind of place.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// It sat there.
    Perch,
    /// It hid or slept there.
    Refuge,
}

/// When it was there.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Period {
    /// Between the two hours of the settings.
    Day,
    /// Outside them.
    Night,
}

/// One perch or refuge of one trail.
#[derive(Clone, Copy, Debug)]
pub struct Stay {
    /// The trail.
    pub trail: usize,
    /// The point of its path.
    pub point: usize,
    /// What kind of place.
    pub place: Place,
    /// Seen, or by sign; `None` for a refuge at which nobody saw the animal.
    pub evidence: Option<Perch>,
    /// Day or night; `None` where no time was written.
    pub period: Option<Period>,
    /// The refuge's name.
    pub refuge: Option<Name>,
    /// Which of this animal's stays in this refuge it is, from 1.
    pub stay: Option<usize>,
    /// How many animals used this refuge.
    pub animals: Option<usize>,
}

/// A refuge without a name is written `yes`.
const UNNAMED: &str = "yes";

/// All perches and refuges of these paths, in order. `animal` names the animal of a trail.
pub fn stays(
    survey: &Survey,
    paths: &[&Path],
    listed: impl Fn(&Path) -> Option<usize>,
) -> Vec<Stay> {
    let row = |path: &Path| listed(path).map(|at| &survey.trails[at]);
    let mut found = Vec::new();
    let mut uses: BTreeMap<(Name, Option<Name>), usize> = BTreeMap::new();
    for path in paths {
        for (at, point) in path.points.iter().enumerate() {
            let anchor = &survey.anchors[point.row];
            let last = at + 1 == path.points.len();
            let Some(mut stay) = stay(survey, path, (at, last), anchor, row(path)) else {
                continue;
            };
            if let Some(refuge) = stay.refuge {
                let animal = row(path).and_then(|row| row.animal);
                let count = uses.entry((refuge, animal)).or_default();
                *count += 1;
                stay.stay = animal.map(|_| *count);
            }
            found.push(stay);
        }
    }
    let mut animals: BTreeMap<Name, usize> = BTreeMap::new();
    for (refuge, _) in uses.keys().filter(|(_, animal)| animal.is_some()) {
        *animals.entry(*refuge).or_default() += 1;
    }
    for stay in &mut found {
        stay.animals = stay.refuge.map(|refuge| animals.get(&refuge).copied().unwrap_or(0));
    }
    found
}

fn stay(
    survey: &Survey,
    path: &Path,
    (point, last): (usize, bool),
    anchor: &AnchorRow,
    listed: Option<&TrailRow>,
) -> Option<Stay> {
    if anchor.perch.is_none() && anchor.refuge.is_none() && !anchor.seen {
        return None;
    }
    let found = listed.filter(|row| last && row.ending == Some(Ending::Found));
    let time = anchor.time.or(found.and_then(|row| row.end_time));
    Some(Stay {
        trail: path.trail,
        point,
        place: if anchor.refuge.is_some() { Place::Refuge } else { Place::Perch },
        evidence: anchor.perch.or(anchor.seen.then_some(Perch::Seen)),
        period: time.map(|time| period(survey, time)),
        refuge: anchor.refuge.filter(|name| survey.text(*name) != UNNAMED),
        stay: None,
        animals: None,
    })
}

fn period(survey: &Survey, moment: Moment) -> Period {
    let time: Time = match moment {
        Moment::Time(time) => time,
        Moment::DateTime(moment) => moment.time(),
    };
    let hour = f64::from(time.hour()) + f64::from(time.minute()) / 60.0;
    let [from, to] = survey.settings.day_hours;
    if (from..to).contains(&hour) { Period::Day } else { Period::Night }
}

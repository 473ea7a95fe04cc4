//! Hours, nights and thread of a trail.

use crate::survey::Survey;
use crate::survey::rows::{Moment, TrailRow};
use jiff::civil::{Date, DateTime};

/// What a trail's times say.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Times {
    /// Hours from release to the end.
    pub hours: Option<f64>,
    /// Nights that the thread covers.
    pub nights: Option<f64>,
    /// Thread let out, metres.
    pub thread: Option<f64>,
    /// Whether the thread ended before the animal was found: then there is no rate.
    pub ended_before_found: bool,
}

impl Times {
    /// The times of a trail, from its row and its last reading of thread.
    pub fn of(
        survey: &Survey,
        listed: Option<&TrailRow>,
        sections: usize,
        read: Option<f64>,
    ) -> Self {
        let hours = listed.and_then(hours);
        let stated = listed.and_then(|row| row.nights);
        let weighed = listed.and_then(|row| survey.thread_by_weight(row));
        Self {
            hours,
            nights: stated.or(Some(sections as f64)).filter(|nights| *nights > 0.0),
            thread: read.or(weighed.map(|thread| thread.to_metres())),
            ended_before_found: listed
                .and_then(|row| row.ending)
                .is_some_and(|ending| ending.cut_short()),
        }
    }
}

/// Hours from start to end. Times without dates start on the trail's date, and an end that is not
/// later than the start lies on the day after; a trail of several nights then has no end.
fn hours(row: &TrailRow) -> Option<f64> {
    let any_day = Date::constant(2000, 1, 1);
    let on = |moment: Moment, date: Date| match moment {
        Moment::Time(time) => date.to_datetime(time),
        Moment::DateTime(moment) => moment,
    };
    let date = row.date.unwrap_or(any_day);
    let start = on(row.start_time?, date);
    let nights = row.nights.unwrap_or(1.0);
    let end = match row.end_time? {
        Moment::DateTime(end) => end,
        Moment::Time(_) if nights > 1.0 => return None,
        end @ Moment::Time(_) => {
            let same_day = on(end, start.date());
            if same_day > start { same_day } else { on(end, start.date().tomorrow().ok()?) }
        }
    };
    let hours = between(start, end);
    (hours > 0.0).then_some(hours)
}

fn between(start: DateTime, end: DateTime) -> f64 {
    end.duration_since(start).as_secs_f64() / 3600.0
}

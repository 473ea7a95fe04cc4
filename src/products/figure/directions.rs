//! Which way animals went: one net bearing an animal, their mean, and the Rayleigh test.

use super::canvas::{Canvas, Stroke};
use super::legend::{Key, Mark};
use super::rose::Rose;
use super::values::p_words;
use super::{Drawing, NotDrawn, Width};
use crate::maths::quantity::{Bearing, count_of, significant};
use crate::measures::compare::directions::{headings, mean_vector, tests};
use crate::measures::metrics::Metric;
use crate::products::scene::palette::{ALERT, CATEGORIES, Symbol};
use crate::results::Analysis;
use crate::results::comparison::{roster, trail_values};

pub(super) fn draw(analysis: &Analysis, width: Width) -> Result<Drawing, NotDrawn> {
    let bearings = trail_values(analysis, Metric::NetBearing, 0);
    let headings = headings(&roster(analysis), &bearings, |_| true);
    if headings.is_empty() {
        return Err(NotDrawn::because(format!(
            "no trail with an animal in the trails table has a net bearing.{}",
            analysis.left_out_of_directions()
        )));
    }
    let wide = width.mm();
    let radius = (0.27 * wide).min(30.0);
    let (rose, reaches) = Rose::below_top(wide, radius, &headings);
    let mut canvas = Canvas::new();
    rose.rim(&mut canvas);
    rose.names(&mut canvas, ["N", "E", "S", "W"], reaches);
    let colour = CATEGORIES[0].colour;
    for heading in &headings {
        let line = [rose.centre, rose.place(*heading, 1.0)];
        canvas.line(&line, Stroke::new(colour.tint(0.35), 0.2));
    }
    rose.points(&mut canvas, &headings, colour);
    let mean = mean_vector(&headings);
    rose.mean(&mut canvas, &mean);
    let test = tests(&headings, None).into_iter().next();
    let p = test.as_ref().and_then(|test| test.p);
    let found = match (p, mean.direction()) {
        (Some(p), Some(direction)) => format!(
            "mean {:.0}°, r = {}, Rayleigh {}",
            Bearing::from_radians(direction).to_degrees(),
            significant(mean.resultant().unwrap_or(0.0), 2),
            p_words(p)
        ),
        _ => test.map_or_else(String::new, |test| format!("no test: it {}", test.reason)),
    };
    let keys = [
        Key::new(
            Mark::Symbol(Symbol::Circle, colour),
            format!("net bearing, n = {}", count_of(headings.len(), "animal")),
        ),
        Key::new(Mark::Line(Stroke::new(ALERT, 0.6)), found.clone()),
    ];
    let high = rose.legend(&mut canvas, &keys, wide, reaches);
    let caption = format!(
        "Net bearings from release to the end of the path, true, of {}: one each, the mean of its \
         trails. Arrow: mean vector, its length the mean resultant length, the rim being 1 \
         ({found}).{}",
        count_of(headings.len(), "animal"),
        analysis.left_out_of_directions()
    );
    let alt = format!("Net bearings of {} about a circle.", count_of(headings.len(), "animal"));
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

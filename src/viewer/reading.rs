//! What was clicked, in words: the anchor or leg, its row, and the distance between two anchors.

use super::camera::{Place, dot, minus};
use super::marks::Shown;
use super::view::Pick;
use crate::maths::quantity::{Bearing, degrees, metres, plain};
use crate::products::scene::{LegInSpace, TrailScene};

impl Shown<'_> {
    /// The lines to read, for all that is picked and for where the walk has come to.
    pub fn reading(&self) -> Vec<String> {
        let mut lines = Vec::new();
        for picked in &self.view.picked {
            let told = match picked {
                Pick::Anchor(trail, point) => self.anchor(trail, *point),
                Pick::Leg(trail, leg) => self.leg(trail, *leg),
            };
            lines.extend(told.unwrap_or_default());
        }
        if let [Pick::Anchor(a, from), Pick::Anchor(b, to)] = self.view.picked.as_slice() {
            lines.extend(self.distance((a, *from), (b, *to)).unwrap_or_default());
        }
        lines.extend(self.walk_words().unwrap_or_default());
        lines
    }

    fn anchor(&self, name: &str, point: usize) -> Option<Vec<String>> {
        let trail = self.at(name)?;
        let known = self.space.trails[trail].points.get(point)?;
        let anchor = &self.space.scene.trails[trail].points[point];
        let mut lines = vec![format!("{name}, anchor {}", anchor.name)];
        lines.push(format!("{} along the thread", metres(anchor.along)));
        lines.extend(known.about.iter().cloned());
        if let Some(covariance) = known.covariance {
            let sd = |k: usize| covariance[(k, k)].max(0.0).sqrt();
            lines.push(format!("± {} in plan against the release", metres(sd(0).hypot(sd(1)))));
        }
        let closes = self.space.misclosures.iter().filter(|open| open.at == [trail, point]);
        lines.extend(closes.map(|open| open.words.clone()));
        lines.push(known.place.phrase());
        Some(lines)
    }

    fn leg(&self, name: &str, leg: usize) -> Option<Vec<String>> {
        let trail = self.at(name)?;
        let known = self.space.trails[trail].legs.get(leg)?;
        let points = &self.space.scene.trails[trail].points;
        let (from, to) = (&points[known.from], &points[known.to]);
        let along = minus(to.position, from.position);
        let mut lines = vec![format!("{name}, leg {} to {}", from.name, to.name)];
        lines.push(vector_words(along, &[&self.space.scene.trails[trail]]));
        if known.assumed {
            lines.push("no direction read: straight on with the leg before or after".to_owned());
        }
        lines.extend(self.lies_on(known));
        if !known.counted {
            lines.push("a gap: its length and climb are not counted".to_owned());
        }
        if known.escape {
            lines.push("on the escape run".to_owned());
        }
        lines.push(self.space.trails[trail].points[known.to].place.phrase());
        Some(lines)
    }

    /// What a leg lies on, the half at its start first.
    fn lies_on(&self, leg: &LegInSpace) -> Option<String> {
        let [first, second] = leg.supports.map(|at| self.space.supports.get(at));
        Some(match (first?, second?) {
            (first, second) if first == second => format!("on: {first}"),
            (first, second) => format!("on: half {first}, half {second}"),
        })
    }

    /// How far apart two anchors are, where both stand in one frame.
    fn distance(&self, (a, from): (&str, usize), (b, to): (&str, usize)) -> Option<Vec<String>> {
        let (first, second) = (self.at(a)?, self.at(b)?);
        let trails = &self.space.scene.trails;
        let position = |trail: usize, point: usize| Some(trails[trail].points.get(point)?.position);
        let along = minus(position(second, to)?, position(first, from)?);
        let head = format!(
            "from {a} {} to {b} {}",
            trails[first].points[from].name, trails[second].points[to].name
        );
        let one_frame = first == second || [first, second].iter().all(|&t| trails[t].on_map());
        if !one_frame {
            return Some(vec![
                head,
                "no known position and north tie these trails together".to_owned(),
            ]);
        }
        Some(vec![head, vector_words(along, &[&trails[first], &trails[second]])])
    }
}

/// `3.21 m: 3.10 m in plan towards 214.0°, up 0.83 m`; no bearing where a trail has no north.
fn vector_words(along: Place, trails: &[&TrailScene]) -> String {
    let rise = along[2];
    let up = format!("{} {}", if rise < 0.0 { "down" } else { "up" }, metres(rise.abs()));
    if trails.iter().any(|trail| !trail.has_plan) {
        return format!("{up}; too few directions for a plan");
    }
    let flat = along[0].hypot(along[1]);
    let towards = if flat > 0.005 && trails.iter().all(|trail| trail.oriented) {
        let bearing = Bearing::from_radians(along[0].atan2(along[1]));
        format!(" towards {}", degrees(bearing.to_degrees()))
    } else {
        String::new()
    };
    format!("{}: {} in plan{towards}, {up}", metres(dot(along, along).sqrt()), metres(flat))
}

/// Heights stretched, in words: `2 times`.
pub fn times(value: f64) -> String {
    let decimals = usize::from(value.fract().abs() > 0.01);
    format!("{} times", plain(value, decimals))
}

//! The walk along a trail: where it has come to, and what is told of that place.

use super::camera::Place;
use super::marks::Shown;
use super::view::{Pick, View, Walk};
use crate::maths::quantity::metres;
use crate::products::scene::{LegInSpace, Space, TrailScene};

/// A whole trail takes so long, seconds: an unhurried pace.
const WHOLE_S: f64 = 30.0;

/// Begins a walk along the trail that was clicked last, or else the first one shown; stops one that
/// goes. One that has come to its end begins anew.
pub fn start_or_stop(view: &mut View, space: &Space) {
    let clicked = view.picked.last().map(|picked| match picked {
        Pick::Anchor(trail, _) | Pick::Leg(trail, _) => trail,
    });
    let walked = view.walk.as_ref().map(|walk| &walk.trail);
    let names = || space.scene.trails.iter().map(|trail| &trail.name);
    let shown = |name: &&String| view.shows(name) && names().any(|known| known == *name);
    let wanted = clicked.filter(shown).or(walked.filter(shown));
    let Some(trail) = wanted.or_else(|| names().find(|name| view.shows(name))).cloned() else {
        view.walk = None;
        return;
    };
    let whole = length(space, &trail);
    view.walk = match view.walk.take() {
        Some(walk) if walk.trail == trail && walk.along < whole => {
            Some(Walk { going: !walk.going, ..walk })
        }
        _ => Some(Walk { trail, along: 0.0, going: true }),
    };
}

/// Goes some metres along the thread, or back, and stops there.
pub fn step(view: &mut View, space: &Space, metres: f64) {
    if view.walk.is_none() {
        start_or_stop(view, space);
    }
    if let Some(walk) = &mut view.walk {
        walk.going = false;
        walk.along = (walk.along + metres).clamp(0.0, length(space, &walk.trail));
    }
}

/// Goes on for `seconds`, if a walk goes.
pub fn go_on(view: &mut View, space: &Space, seconds: f64) -> bool {
    let Some(walk) = view.walk.as_mut().filter(|walk| walk.going) else { return false };
    let whole = length(space, &walk.trail);
    walk.along = (walk.along + whole * seconds / WHOLE_S).min(whole);
    walk.going = walk.along < whole;
    true
}

fn length(space: &Space, name: &str) -> f64 {
    let trail = space.scene.trails.iter().find(|trail| trail.name == name);
    trail.map_or(0.0, end)
}

fn end(trail: &TrailScene) -> f64 {
    trail.points.last().map_or(0.0, |point| point.along)
}

/// A place on a leg.
struct OnLeg<'a> {
    trail: usize,
    leg: &'a LegInSpace,
    /// How much of the leg lies behind, 0 to 1.
    share: f64,
}

impl OnLeg<'_> {
    fn between(&self, from: f64, to: f64) -> f64 {
        from + self.share * (to - from)
    }
}

impl Shown<'_> {
    fn on_leg(&self) -> Option<OnLeg<'_>> {
        let walk = self.view.walk.as_ref()?;
        let trail = self.at(&walk.trail)?;
        let points = &self.space.scene.trails[trail].points;
        let legs = &self.space.trails[trail].legs;
        let leg = legs.iter().find(|leg| walk.along <= points[leg.to].along).or(legs.last())?;
        let [from, to] = [leg.to.saturating_sub(1), leg.to].map(|point| points[point].along);
        let share = if to > from { (walk.along - from) / (to - from) } else { 0.0 };
        Some(OnLeg { trail, leg, share: share.clamp(0.0, 1.0) })
    }

    /// Where the walk has come to, and the ground below.
    pub fn walked(&self) -> Option<[Place; 2]> {
        let at = self.on_leg()?;
        let on = |line: &[Place]| {
            let [a, b] = [line[at.leg.from], line[at.leg.to]];
            [0, 1, 2].map(|k| at.between(a[k], b[k]))
        };
        Some([on(&self.laid.points[at.trail]), on(&self.laid.feet[at.trail])])
    }

    /// Metres above ground where the walk has come to.
    pub fn walked_height(&self) -> Option<f64> {
        let at = self.on_leg()?;
        let points = &self.space.scene.trails[at.trail].points;
        Some(at.between(points[at.leg.from].height, points[at.leg.to].height))
    }

    /// What is told of the place that the walk has come to, one thing a line.
    pub(super) fn walk_words(&self) -> Option<Vec<String>> {
        let at = self.on_leg()?;
        let trail = &self.space.scene.trails[at.trail];
        let along = self.view.walk.as_ref()?.along.min(end(trail));
        let [from, to] = [at.leg.from, at.leg.to].map(|point| &trail.points[point]);
        let mut lines = vec![
            format!("walk along {}, leg {} to {}", trail.name, from.name, to.name),
            format!("{} of {} along the thread", metres(along), metres(end(trail))),
            format!("{} above ground", metres(at.between(from.height, to.height))),
        ];
        let half = at.leg.supports[usize::from(at.share >= 0.5)];
        lines.extend(self.space.supports.get(half).map(|on| format!("on: {on}")));
        Some(lines)
    }
}

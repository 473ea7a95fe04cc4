//! What the colour of each leg says, with the legend in words.

use super::camera::round_step;
use super::view::ColourBy;
use crate::maths::quantity::short;
use crate::products::scene::palette::{CATEGORIES, Colour, QUIET, category, stratum};
use crate::products::scene::{Space, TrailInSpace};

/// The colours of all legs, and what they mean.
#[derive(Clone, Debug, PartialEq)]
pub struct Colouring {
    /// For each trail the colours of the two halves of each leg.
    pub legs: Vec<Vec<[Colour; 2]>>,
    /// What the colours say.
    pub title: String,
    /// Each colour and its meaning, from the top.
    pub keys: Vec<(Colour, String)>,
}

/// Steps of a scale for amounts: as many as the palette tells apart.
const STEPS: usize = 6;
/// Most trails that are named in the legend; the panel names all of them.
const MOST_NAMED: usize = 24;

impl Colouring {
    /// The colours of a space. Those by height are of whole legs here; the marks cut legs at the
    /// edges of the strata.
    pub fn of(space: &Space, by: ColourBy) -> Self {
        match by {
            ColourBy::Height => by_height(space),
            ColourBy::Trail => by_trail(space),
            ColourBy::Support => by_support(space),
            ColourBy::Group => by_group(space),
            ColourBy::Uncertainty => by_uncertainty(space),
            ColourBy::Section => by_section(space),
        }
    }
}

fn each_leg(space: &Space, colour: impl Fn(usize, usize) -> Colour) -> Vec<Vec<[Colour; 2]>> {
    let of = |(at, trail): (usize, &TrailInSpace)| {
        (0..trail.legs.len()).map(|leg| [colour(at, leg); 2]).collect()
    };
    space.trails.iter().enumerate().map(of).collect()
}

fn by_height(space: &Space) -> Colouring {
    let scene = &space.scene;
    let strata = scene.strata();
    let colour = |trail: usize, leg: usize| {
        let known = &space.trails[trail].legs[leg];
        let points = &scene.trails[trail].points;
        let middle = 0.5 * (points[known.from].height + points[known.to].height);
        stratum(scene.edges.iter().filter(|edge| middle >= **edge).count(), strata)
    };
    Colouring {
        legs: each_leg(space, colour),
        title: "height above ground".to_owned(),
        keys: (0..strata).rev().map(|at| (stratum(at, strata), scene.stratum_words(at))).collect(),
    }
}

fn by_trail(space: &Space) -> Colouring {
    let trails = &space.scene.trails;
    let mut keys: Vec<(Colour, String)> = trails
        .iter()
        .enumerate()
        .take(MOST_NAMED)
        .map(|(at, trail)| (category(at).colour, trail.name.clone()))
        .collect();
    if trails.len() > MOST_NAMED {
        keys.push((QUIET, format!("and {} more, in turn", trails.len() - MOST_NAMED)));
    }
    let again = if trails.len() > CATEGORIES.len() { "; six colours, in turn" } else { "" };
    Colouring {
        legs: each_leg(space, |trail, _| category(trail).colour),
        title: format!("trail{again}"),
        keys,
    }
}

/// Names in the colours of the palette; those after the last colour share a quiet one.
fn named(names: &[String]) -> (impl Fn(usize) -> Colour, Vec<(Colour, String)>) {
    let count = names.len();
    let own = if count > CATEGORIES.len() { CATEGORIES.len() - 1 } else { count };
    let colour = move |at: usize| if at < own { category(at).colour } else { QUIET };
    let mut keys: Vec<(Colour, String)> =
        names.iter().take(own).enumerate().map(|(at, name)| (colour(at), name.clone())).collect();
    if count > own {
        keys.push((QUIET, format!("{} others", count - own)));
    }
    (colour, keys)
}

fn by_support(space: &Space) -> Colouring {
    let (colour, keys) = named(&space.supports);
    let of =
        |trail: &TrailInSpace| trail.legs.iter().map(|leg| leg.supports.map(&colour)).collect();
    let legs = space.trails.iter().map(of).collect();
    Colouring { legs, title: "support".to_owned(), keys }
}

fn by_group(space: &Space) -> Colouring {
    let Some((factor, levels)) = &space.groups else {
        let keys = vec![(QUIET, "no column of the animals makes groups".to_owned())];
        return Colouring { legs: each_leg(space, |_, _| QUIET), title: "group".to_owned(), keys };
    };
    let (colour, mut keys) = named(levels);
    if space.trails.iter().any(|trail| trail.group.is_none()) {
        keys.push((QUIET, "not noted".to_owned()));
    }
    let of = |trail: usize, _| space.trails[trail].group.map_or(QUIET, &colour);
    Colouring { legs: each_leg(space, of), title: factor.clone(), keys }
}

fn by_section(space: &Space) -> Colouring {
    let sections = || space.trails.iter().flat_map(|trail| trail.legs.iter().map(|l| l.section));
    let most = sections().max().unwrap_or(1);
    let names: Vec<String> = (1..=most).map(|section| format!("section {section}")).collect();
    let (colour, keys) = named(&names);
    let legs = each_leg(space, |trail, leg| {
        colour(space.trails[trail].legs[leg].section.saturating_sub(1))
    });
    Colouring { legs, title: "section, from one place it was seen to the next".to_owned(), keys }
}

fn by_uncertainty(space: &Space) -> Colouring {
    let sd = |trail: usize, point: usize| {
        let covariance = space.trails[trail].points[point].covariance?;
        Some(covariance.trace().max(0.0).sqrt())
    };
    let of_leg = |trail: usize, leg: usize| {
        let known = &space.trails[trail].legs[leg];
        Some(0.5 * (sd(trail, known.from)? + sd(trail, known.to)?)).filter(|sd| sd.is_finite())
    };
    let all = space
        .trails
        .iter()
        .enumerate()
        .flat_map(|(at, trail)| (0..trail.legs.len()).filter_map(move |leg| of_leg(at, leg)));
    let most = all.fold(0.0, f64::max);
    // The next round number above an even share.
    let step = [1.0, 2.0, 2.5].map(|times| times * round_step(most / STEPS as f64));
    let step = step.into_iter().find(|step| step * STEPS as f64 >= most * (1.0 - 1e-9));
    let step = step.unwrap_or(most / STEPS as f64).max(1e-3);
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "0 to 5")]
    let class = |sd: f64| ((sd / step) as usize).min(STEPS - 1);
    let colour = |trail, leg| of_leg(trail, leg).map_or(QUIET, |sd| stratum(class(sd), STEPS));
    let edge = |at: usize| short(at as f64 * step, 3);
    let key = |at| (stratum(at, STEPS), format!("± {}–{} m", edge(at), edge(at + 1)));
    let mut keys: Vec<(Colour, String)> = (0..=class(most)).rev().map(key).collect();
    if space.trails.iter().flat_map(|t| &t.points).any(|point| point.covariance.is_none()) {
        keys = vec![(QUIET, "not known without an adjustment".to_owned())];
    }
    let title = "one standard deviation against the release".to_owned();
    Colouring { legs: each_leg(space, colour), title, keys }
}

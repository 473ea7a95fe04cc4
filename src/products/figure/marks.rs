//! What paths have in common on the plan, the panel, the profile and the oblique view.

use super::canvas::{Canvas, Spot, Stroke};
use super::legend::{Key, Mark};
use super::sentence_list;
use crate::maths::quantity::count_of;
use crate::products::scene::palette::{Colour, INK, PAPER, QUIET, Symbol, stratum};
use crate::products::scene::{Kind, Piece, Scene, TrailScene};
use crate::survey::rows::Ending;

const WALKED_MM: f64 = 0.5;
const ESCAPE_MM: f64 = 0.5;
const ESCAPE_DASH: &[f64] = &[0.9, 0.6];
/// A leg without a direction, drawn straight on with the leg before or after.
const ASSUMED_DASH: &[f64] = &[0.35, 0.65];
const GAP: Stroke = Stroke::new(QUIET, 0.25).dashed(&[0.3, 0.7]);

/// How a piece is drawn: the colour tells the stratum, the dash what it is.
pub(super) fn stroke(piece: &Piece, strata: usize) -> Stroke {
    let colour = stratum(piece.stratum, strata);
    match piece.kind {
        Kind::Walked | Kind::Escape if piece.assumed => {
            Stroke::new(colour, WALKED_MM).dashed(ASSUMED_DASH)
        }
        Kind::Walked => Stroke::new(colour, WALKED_MM),
        Kind::Escape => Stroke::new(colour, ESCAPE_MM).dashed(ESCAPE_DASH),
        Kind::Gap => GAP,
    }
}

/// Draws pieces through `place`; those alike that follow each other are one line.
pub(super) fn pieces(
    canvas: &mut Canvas,
    pieces: &[Piece],
    strata: usize,
    place: impl Fn(&Piece, usize) -> Spot,
) {
    let mut run: Vec<Spot> = Vec::new();
    for (at, piece) in pieces.iter().enumerate() {
        let ends = [place(piece, 0), place(piece, 1)];
        if run.is_empty() {
            run.push(ends[0]);
        }
        run.push(ends[1]);
        let goes_on = pieces.get(at + 1).is_some_and(|next| {
            let joined = near(place(next, 0), ends[1]);
            let alike = next.kind == piece.kind && next.assumed == piece.assumed;
            alike && next.stratum == piece.stratum && joined
        });
        if !goes_on {
            let stroke = stroke(piece, strata);
            if stroke.dash.is_empty() {
                canvas.obstacle(&run, stroke);
            } else {
                for way in ways(&run) {
                    canvas.obstacle(&way, stroke);
                }
            }
            run.clear();
        }
    }
}

/// The same pieces seen from the side, where directions in plan do not show.
pub(super) fn from_side(pieces: &[Piece]) -> Vec<Piece> {
    pieces.iter().map(|piece| Piece { assumed: false, ..*piece }).collect()
}

/// A line in pieces whose dashes fall on each other where it is walked there and back, and do not
/// fill each other's gaps: cut where it turns back, each piece begun there, or else at its upper end.
fn ways(line: &[Spot]) -> Vec<Vec<Spot>> {
    let mut line = line.to_vec();
    line.dedup_by(|a, b| near(*a, *b));
    let turn = |at: &usize| turns_back(line[at - 1], line[*at], line[at + 1]);
    let turns: Vec<usize> = (1..line.len().saturating_sub(1)).filter(turn).collect();
    let starts = [0].into_iter().chain(turns.iter().copied());
    let ends = turns.iter().copied().chain([line.len() - 1]);
    let way = |(start, end): (usize, usize)| {
        let mut way = line[start..=end].to_vec();
        let upper = line[end][1] < line[start][1];
        if !turns.contains(&start) && (turns.contains(&end) || upper) {
            way.reverse();
        }
        way
    };
    starts.zip(ends).map(way).collect()
}

/// Whether a line comes back along itself, within 25°.
fn turns_back(from: Spot, at: Spot, to: Spot) -> bool {
    let (a, b) = ([from[0] - at[0], from[1] - at[1]], [to[0] - at[0], to[1] - at[1]]);
    let along = a[0] * b[0] + a[1] * b[1];
    along > 0.9 * a[0].hypot(a[1]) * b[0].hypot(b[1])
}

fn near(a: Spot, b: Spot) -> bool {
    (a[0] - b[0]).hypot(a[1] - b[1]) < 0.005
}

/// A refuge: a frame, in which the end of a path still shows.
pub(super) fn refuge(canvas: &mut Canvas, [x, y]: Spot) {
    let s = 1.2;
    let corners = [[x - s, y - s], [x + s, y - s], [x + s, y + s], [x - s, y + s]];
    canvas.shape(&corners, PAPER, Stroke::new(INK, 0.35));
}

/// Where the animal was released.
pub(super) fn start(canvas: &mut Canvas, [x, y]: Spot) {
    let corners = [[x, y - 1.15], [x + 1.05, y + 0.75], [x - 1.05, y + 0.75]];
    canvas.shape(&corners, PAPER, Stroke::new(INK, 0.25));
}

/// Where the thread ends: a disc where the animal was found, a ring where it goes on unseen.
pub(super) fn end(canvas: &mut Canvas, at: Spot, trail: &TrailScene) {
    let found = trail.ending == Some(Ending::Found);
    let colour = if found { INK } else { PAPER };
    canvas.disc(at, 0.7, Some(colour), Stroke::new(if found { PAPER } else { INK }, 0.25));
}

/// The ends of a trail whose points stand at `place`.
pub(super) fn ends(canvas: &mut Canvas, trail: &TrailScene, place: impl Fn(usize) -> Spot) {
    if trail.points.len() > 1 {
        end(canvas, place(trail.points.len() - 1), trail);
    }
    if !trail.points.is_empty() {
        start(canvas, place(0));
    }
}

/// Keys to what the trails show, and to nothing else.
pub(super) fn keys(scene: &Scene, trails: &[&TrailScene]) -> Vec<Key> {
    let all = || trails.iter().flat_map(|trail| &trail.pieces);
    let mut keys: Vec<Key> = (0..scene.strata())
        .filter(|&at| all().any(|piece| piece.stratum == at && piece.kind != Kind::Gap))
        .map(|at| {
            let line = Stroke::new(stratum(at, scene.strata()), 0.8);
            Key::new(Mark::Line(line), format!("{} above ground", scene.stratum_words(at)))
        })
        .collect();
    if let [first, rest @ ..] = keys.as_mut_slice()
        && !rest.is_empty()
    {
        first.words = first.words.replace(" above ground", "");
        let last = rest.len() - 1;
        for key in &mut rest[..last] {
            key.words = key.words.replace(" above ground", "");
        }
    }
    if all().any(|piece| piece.kind == Kind::Escape) {
        let line = Stroke::new(stratum(2, 6), ESCAPE_MM).dashed(ESCAPE_DASH);
        keys.push(Key::new(Mark::Line(line), "escape run"));
    }
    if all().any(|piece| piece.kind == Kind::Gap) {
        keys.push(Key::new(Mark::Line(GAP), "gap, not counted"));
    }
    keys.push(Key::new(Mark::Start, "release"));
    let moved = || trails.iter().filter(|trail| trail.points.len() > 1);
    if moved().any(|trail| trail.ending == Some(Ending::Found)) {
        keys.push(Key::new(Mark::Symbol(Symbol::Circle, INK), "found"));
    }
    if moved().any(|trail| trail.ending != Some(Ending::Found)) {
        keys.push(Key::new(Mark::Symbol(Symbol::Ring, INK), "end of the thread followed"));
    }
    keys
}

/// The key to legs without a direction, where some are drawn.
pub(super) fn assumed_key(trails: &[&TrailScene]) -> Option<Key> {
    let line = Stroke::new(INK, WALKED_MM).dashed(ASSUMED_DASH);
    let words = "no direction read: carried on";
    (assumed_legs(trails) > 0).then(|| Key::new(Mark::Line(line), words))
}

fn assumed_legs(trails: &[&TrailScene]) -> usize {
    let planned = trails.iter().filter(|trail| trail.has_plan);
    planned.flat_map(|trail| &trail.legs).filter(|leg| leg.assumed).count()
}

/// A sentence on legs without a direction.
pub(super) fn assumed(trails: &[&TrailScene]) -> String {
    match assumed_legs(trails) {
        0 => String::new(),
        n => format!(
            " Dotted: {} without a direction, drawn straight on with the leg before or after.",
            count_of(n, "leg")
        ),
    }
}

/// How strongly a colour stands behind a path as its region of doubt.
pub(super) const DOUBT: Colour = Colour(0xe2, 0xe6, 0xee);

/// `n` numbers of trails and animals in words.
pub(super) fn numbers(trails: &[&TrailScene]) -> String {
    let mut animals: Vec<&str> = trails.iter().filter_map(|t| t.animal.as_deref()).collect();
    animals.sort_unstable();
    animals.dedup();
    match animals.len() {
        0 => count_of(trails.len(), "trail"),
        n => format!("{} of {}", count_of(trails.len(), "trail"), count_of(n, "animal")),
    }
}

/// What stands for itself in a figure: an animal, or a trail where nobody wrote down whose it is.
pub(super) fn unit(trails: &[&TrailScene]) -> &'static str {
    if trails.iter().any(|trail| trail.animal.is_some()) { "animal" } else { "trail" }
}

/// Sentences on the trails that have no plan, where they cannot be drawn.
pub(super) fn not_drawn(scene: &Scene) -> String {
    let flat = names(scene.trails.iter().filter(|trail| !trail.has_plan));
    let flat = flat.map_or(String::new(), |names| {
        format!(" Not drawn, since too few legs have a direction for a plan: {names}.")
    });
    unsettled(scene) + &flat
}

/// A sentence on the trails that have no plan, where they are drawn from the side.
pub(super) fn unrolled(trails: &[&TrailScene]) -> String {
    let flat = names(trails.iter().filter(|trail| !trail.has_plan).copied());
    flat.map_or(String::new(), |names| {
        format!(
            " Height along the thread, over the ground: {names}, of which too few legs have a \
             direction for a plan."
        )
    })
}

/// A sentence on where north is.
pub(super) fn north_words(trails: &[&TrailScene]) -> String {
    let planned = || trails.iter().filter(|trail| trail.has_plan).copied();
    let Some(free) = names(planned().filter(|trail| !trail.oriented)) else {
        return " True north is up.".to_owned();
    };
    if planned().any(|trail| trail.oriented) {
        format!(
            " True north is up, but for {free}: drawn from the release upward, no north is known."
        )
    } else {
        " Drawn from the release upward: no north is known.".to_owned()
    }
}

/// Trails by name; `None` where there are none.
fn names<'t>(trails: impl Iterator<Item = &'t TrailScene>) -> Option<String> {
    let names: Vec<&str> = trails.map(|trail| trail.name.as_str()).collect();
    (!names.is_empty()).then(|| sentence_list(&names))
}

/// A sentence on the trails whose animals stayed where they were.
pub(super) fn still(trails: &[&TrailScene]) -> String {
    let still = trails.iter().filter(|trail| trail.counted_m <= 0.0);
    let names: Vec<&str> = still.map(|trail| trail.name.as_str()).collect();
    if names.is_empty() {
        return String::new();
    }
    format!(" No movement: {}.", sentence_list(&names))
}

/// A sentence on the trails of which nothing is known.
pub(super) fn unsettled(scene: &Scene) -> String {
    let names: Vec<&str> = scene.unsettled.iter().map(String::as_str).collect();
    if names.is_empty() {
        return String::new();
    }
    format!(" Not drawn, since the adjustment did not settle: {}.", sentence_list(&names))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn dashes_of_a_way_out_and_back_begin_at_one_place() {
        // Up a trunk, out on a branch, and back over other anchors.
        let out = [[0.0, 9.0], [0.0, 4.0], [3.0, 4.0]];
        let back = [[1.0, 4.0], [0.0, 4.0], [0.0, 8.0]];
        let found = ways(&[out.as_slice(), &back].concat());
        assert_eq!(
            found,
            [
                [[3.0, 4.0], [0.0, 4.0], [0.0, 9.0]].as_slice(),
                &[[3.0, 4.0], [1.0, 4.0], [0.0, 4.0], [0.0, 8.0]]
            ]
        );
        // A trunk alone, cut off at both ends by others: from above, both ways.
        let trunk = [[0.0, 9.0], [0.0, 4.0]];
        let down = [[0.0, 4.0], [0.0, 8.0]];
        assert_eq!(
            [ways(&trunk), ways(&down)],
            [[[[0.0, 4.0], [0.0, 9.0]]], [[[0.0, 4.0], [0.0, 8.0]]]]
        );
        assert_eq!(ways(&[[1.0, 1.0], [1.0, 1.0]]), [[[1.0, 1.0]]]);
    }
}

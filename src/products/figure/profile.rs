//! Height above ground along the thread, one plot a trail, all on the same two scales.

use super::axes::{Axis, Scale, below, left, number_room};
use super::canvas::{Area, Canvas, Side, Spot, Stroke, TEXT};
use super::font::fitted;
use super::grid::Grid;
use super::legend::{ARROW_MM, Key, Mark, at_least, legend};
use super::marks::{DOUBT, ends, from_side, keys, numbers, pieces, refuge, unsettled};
use super::{Drawing, NotDrawn, Width, sentence_list};
use crate::maths::quantity::short;
use crate::maths::statistics::interval::Z95;
use crate::products::scene::palette::{ALERT, FAINT, PAPER, QUIET, Symbol};
use crate::products::scene::{Scene, ScenePoint, TrailScene};

pub(super) fn draw(scene: &Scene, width: Width) -> Result<Drawing, NotDrawn> {
    let all: Vec<&TrailScene> = scene.trails.iter().collect();
    if all.is_empty() {
        return Err(NotDrawn::because("no trail that was asked for has a known path"));
    }
    let wide = width.mm();
    let [low, highest] = heights(&all);
    let longest = all.iter().filter_map(|trail| trail.points.last()).map(|last| last.along);
    let longest = longest.fold(1.0, f64::max);
    let alone = all.len() == 1;
    let (down, apart) = if alone { (0.4 * wide, 7.0) } else { (12.0, 4.0) };
    let upright = Scale::new([low, HEADROOM * highest], [0.0, down], apart);
    let grid = Grid::new(all.len(), wide, 0.42, number_room(&upright) + 5.0);
    let plot_high = grid.cells.first().map_or(down, |cell| cell.area.height());
    let high = top(&all, [low, highest], plot_high);
    let shown = &all[..grid.cells.len()];
    let mut canvas = Canvas::new();
    let mut stretch = 1.0;
    for (trail, cell) in shown.iter().zip(&grid.cells) {
        let plot = cell.area;
        let up = Scale::new([low, high], [plot.bottom, plot.top], apart);
        let along = Scale::new([0.0, longest], [plot.left, plot.right], 9.0);
        stretch = up.mm_per_unit() / along.mm_per_unit();
        one(&mut canvas, scene, trail, (&along, &up), (plot, alone));
        let title = "height above ground (m)";
        let upright = if alone { title } else { "" };
        left(&mut canvas, plot, Axis { scale: &up, title: upright, numbers: cell.first_column });
        let lengthwise = if alone { "along the thread (m)" } else { "" };
        below(&mut canvas, plot, Axis { scale: &along, title: lengthwise, numbers: cell.last_row });
    }
    if !alone {
        grid.titles(&mut canvas, "along the thread (m)", "height above ground (m)");
    }
    let mut own = keys(scene, shown);
    own.extend(more_keys(shown));
    let foot = grid.height + 1.0;
    let high = foot + legend(&mut canvas, [0.5, foot], wide - 0.5, &own) + 0.5;
    let caption = caption(scene, shown, &all[grid.cells.len()..], stretch);
    let alt = format!("Height above ground along the thread, of {}.", numbers(shown));
    Ok(Drawing::new(&canvas, [wide, high], caption, alt))
}

/// Less below the ground than this, metres, is noise, for which no axis is lengthened.
const BURROW_M: f64 = -0.2;

/// The range of all heights with their doubt; from the ground, unless some lie below it.
fn heights(trails: &[&TrailScene]) -> [f64; 2] {
    let points = trails.iter().flat_map(|trail| &trail.points);
    let (low, high) = points.fold((0.0_f64, 0.5_f64), |(low, high), point| {
        let reach = Z95 * point.height_sd.unwrap_or(0.0);
        (low.min(point.height), high.max(point.height + reach))
    });
    [if low < BURROW_M { 1.1 * low } else { 0.0 }, high]
}

/// How far an axis reaches over the greatest height.
const HEADROOM: f64 = 1.22;

/// Where the axis of a plot so many millimetres high ends: the arrow of a height that may be greater
/// stays below the plot's name.
fn top(trails: &[&TrailScene], [low, highest]: [f64; 2], plot_mm: f64) -> f64 {
    let room = ARROW_MM + 0.6;
    let arrows = trails.iter().any(|trail| trail.points.iter().any(|point| point.at_least));
    let needed = if arrows { (highest - low) * room / (plot_mm - room) } else { 0.0 };
    (HEADROOM * highest).max(highest + needed)
}

fn one(
    canvas: &mut Canvas,
    scene: &Scene,
    trail: &TrailScene,
    (along, up): (&Scale, &Scale),
    (plot, alone): (Area, bool),
) {
    let [low, high] = up.ends();
    for edge in scene.edges.iter().filter(|edge| **edge > low && **edge < high) {
        let y = up.at(*edge);
        canvas.line(&[[plot.left, y], [plot.right, y]], Stroke::new(FAINT, 0.2));
    }
    if low < 0.0 {
        canvas.line(&[[plot.left, up.at(0.0)], [plot.right, up.at(0.0)]], Stroke::new(QUIET, 0.2));
    }
    let place = |point: &ScenePoint| [along.at(point.along), up.at(point.height)];
    band(canvas, trail, (along, up), plot);
    nights(canvas, trail, along, (plot, alone));
    pieces(canvas, &from_side(&trail.pieces), scene.strata(), |piece, end| {
        [along.at(piece.along[end]), up.at(piece.heights[end])]
    });
    for point in &trail.points {
        stay(canvas, point, place(point));
    }
    ends(canvas, trail, |at| place(&trail.points[at]));
    let name = match trail.animal.as_deref().filter(|animal| *animal != trail.name) {
        Some(animal) => format!("{}  {animal}", trail.name),
        None => trail.name.clone(),
    };
    let name = fitted(&name, TEXT.points, true, plot.width());
    canvas.text([plot.left, plot.top - 1.0], &name, TEXT.bold());
    if trail.counted_m <= 0.0 {
        canvas.text_level(plot.middle(), "no movement", TEXT.side(Side::Middle).colour(QUIET));
    }
}

/// The 95 % band, broken where the path is.
fn band(canvas: &mut Canvas, trail: &TrailScene, (along, up): (&Scale, &Scale), plot: Area) {
    let edge = |point: &ScenePoint, sign: f64| {
        let y = up.at(point.height + sign * Z95 * point.height_sd.unwrap_or(0.0));
        [along.at(point.along), y.clamp(plot.top, plot.bottom)]
    };
    let mut runs: Vec<Vec<&ScenePoint>> = vec![Vec::new()];
    for (at, point) in trail.points.iter().enumerate() {
        let broken = at > 0 && trail.legs.get(at - 1).is_some_and(|leg| !leg.counted);
        if broken {
            runs.push(Vec::new());
        }
        if let Some(run) = runs.last_mut().filter(|_| point.height_sd.is_some()) {
            run.push(point);
        }
    }
    for run in runs.iter().filter(|run| run.len() > 1) {
        let upper = run.iter().map(|point| edge(point, 1.0));
        let lower = run.iter().rev().map(|point| edge(point, -1.0));
        let outline: Vec<Spot> = upper.chain(lower).collect();
        canvas.fill(&outline, DOUBT);
    }
}

/// A line where one night ends and the next begins.
fn nights(canvas: &mut Canvas, trail: &TrailScene, along: &Scale, (plot, alone): (Area, bool)) {
    for pair in trail.points.windows(2).filter(|pair| pair[0].section != pair[1].section) {
        let x = along.at(pair[0].along);
        let stroke = Stroke::new(QUIET, 0.2).dashed(&[0.8, 0.8]);
        canvas.line(&[[x, plot.top], [x, plot.bottom]], stroke);
        if alone {
            let words = format!("night {}", pair[1].section);
            canvas.text([x + 0.7, plot.top + TEXT.rise()], &words, TEXT.colour(QUIET));
        }
    }
}

fn stay(canvas: &mut Canvas, point: &ScenePoint, at: Spot) {
    if point.refuge {
        refuge(canvas, at);
    } else if point.perch.is_some() {
        canvas.disc(at, 0.6, Some(PAPER), Stroke::new(ALERT, 0.3));
    }
    if point.at_least {
        at_least(canvas, at);
    }
}

fn more_keys(trails: &[&TrailScene]) -> Vec<Key> {
    let any =
        |what: fn(&ScenePoint) -> bool| trails.iter().any(|trail| trail.points.iter().any(what));
    let mut keys = Vec::new();
    if any(|point| point.height_sd.is_some()) {
        keys.push(Key::new(Mark::Block(DOUBT), "95 % band"));
    }
    if any(|point| point.perch.is_some() && !point.refuge) {
        keys.push(Key::new(Mark::Symbol(Symbol::Ring, ALERT), "perch"));
    }
    if any(|point| point.refuge) {
        keys.push(Key::new(Mark::Refuge, "refuge"));
    }
    if any(|point| point.at_least) {
        keys.push(Key::new(Mark::Arrow, "at least"));
    }
    let nights = |trail: &&&TrailScene| trail.points.last().is_some_and(|last| last.section > 1);
    if trails.iter().filter(nights).count() > 0 {
        let line = Stroke::new(QUIET, 0.2).dashed(&[0.8, 0.8]);
        keys.push(Key::new(Mark::Line(line), "next night"));
    }
    keys
}

fn caption(scene: &Scene, shown: &[&TrailScene], rest: &[&TrailScene], stretch: f64) -> String {
    let mut text = format!("Height above ground along the thread of {}.", numbers(shown));
    if (stretch - 1.0).abs() > 0.02 {
        text += &format!(" Heights are stretched {} times against lengths.", short(stretch, 2));
    }
    let edges: Vec<String> = scene.edges.iter().map(|edge| format!("{edge}")).collect();
    text += &format!(
        " Level lines: edges of the strata at {} m. Pale band: 95 % of each height by the stated \
         precisions, anchor by anchor.",
        edges.join(", ")
    );
    let cut: Vec<&str> =
        shown.iter().filter(|trail| trail.cut_short).map(|trail| trail.name.as_str()).collect();
    if !cut.is_empty() {
        text += &format!(" The path goes on beyond the thread of {}.", sentence_list(&cut));
    }
    if !rest.is_empty() {
        let names: Vec<&str> = rest.iter().map(|trail| trail.name.as_str()).collect();
        text += &format!(
            " Without room here: {}; draw them by themselves with --trail.",
            sentence_list(&names)
        );
    }
    text + &unsettled(scene)
}

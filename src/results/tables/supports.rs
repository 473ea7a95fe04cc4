//! `supports.csv`: metres, visits and anchors of each class, by trail, animal and group.

use super::{Analysis, Cell, Column, Emit, Table, count, metres, number, text};
use crate::measures::support::classes::{Division, words};
use crate::measures::support::visits::PathUse;
use crate::results::PART_NAMES;
use crate::results::question::groupings;
use crate::results::usage::{AnimalUse, by_level, of_animals, of_group};

pub(super) fn table() -> Table {
    let mut columns = vec![
        text("level", "trail, animal, group, or pooled: all animals"),
        text("trail", "the thread"),
        text("animal", "whose thread it is"),
        text("factor", "by what the animals are grouped"),
        text("group", "the level of the factor"),
        text("part", "whole, or after_escape: without the escape run"),
        text("division", "support, plant, diameter_cm, incline_deg, height_m, or all"),
        text(
            "class",
            "the class; crossing (without leg_support) and not recorded are classes of their own",
        ),
        metres("length_m", "metres of path that count"),
        number("share", "1", 5, "share of the length; of several animals the mean of their shares"),
        number("share_sd", "1", 5, "standard deviation of the share between animals"),
        count("animals", "animals that have a share"),
        count("visits", "unbroken stretches"),
        count("anchors", "anchors in the class"),
    ];
    columns.extend(between_classes());
    let meaning = "one class as a trail, an animal or a group used it";
    Table { name: "supports", meaning, columns, rows }
}

/// What lies between the classes.
fn between_classes() -> [Column; 5] {
    [
        count("changes", "changes from one support to another, where class is all"),
        count(
            "crossings",
            "counted legs from one tree or plant straight to another above ground, where class is all",
        ),
        count("gaps", "legs that could not be followed, where class is all"),
        metres(
            "crossing_m",
            "metres of the crossings, also those with a leg_support, where class is all",
        ),
        metres(
            "halves_m",
            "metres that count by halves: leg_support is blank, and the two ends of the leg differ or \
             one is blank; where class is all",
        ),
    ]
}

/// Who: level, trail, animal, factor, group.
type Who<'a> = [Cell<'a>; 5];

fn rows(analysis: &Analysis, emit: &mut Emit<'_>) {
    for part in 0..2 {
        for path in analysis.shown_paths() {
            let trail = Cell::Text(analysis.trail_name(path.trail));
            let animal = analysis.animal_name(path.trail);
            let who = [Cell::Text("trail"), trail, animal, Cell::Blank, Cell::Blank];
            if let Some(used) = &analysis.trails[path.trail].used[part] {
                one(analysis, who, part, used, emit);
            }
        }
        let animals = of_animals(analysis, part);
        for animal in &animals {
            let name = Cell::Text(analysis.survey.text(animal.animal));
            let who = [Cell::Text("animal"), Cell::Blank, name, Cell::Blank, Cell::Blank];
            one(analysis, who, part, &animal.used, emit);
        }
        for factor in groupings(analysis) {
            for (level, own) in by_level(&animals, &factor) {
                let [factor, level] = [Cell::Text(&factor.name), Cell::Text(&level)];
                let who = [Cell::Text("group"), Cell::Blank, Cell::Blank, factor, level];
                several(analysis, who, part, &own, emit);
            }
        }
        let all: Vec<&AnimalUse> = animals.iter().collect();
        if !all.is_empty() {
            let who = [Cell::Text("pooled"), Cell::Blank, Cell::Blank, Cell::Blank, Cell::Blank];
            several(analysis, who, part, &all, emit);
        }
    }
}

/// The rows of one trail or animal.
fn one(analysis: &Analysis, who: Who<'_>, part: usize, used: &PathUse, emit: &mut Emit<'_>) {
    whole(who, part, used, Cell::Blank, emit);
    for (division, name) in Division::ALL {
        let total: f64 = used.of(division).map(|(_, class)| class.length).sum();
        for (class, own) in used.of(division) {
            let class = words(class, division, &analysis.survey);
            let share = (total > 0.0).then(|| own.length / total);
            let counted = [
                Cell::Number(own.length),
                Cell::number(share),
                Cell::Blank,
                Cell::Blank,
                Cell::Count(own.visits),
                Cell::Count(own.anchors),
            ];
            row(who, (part, [name, &class]), counted, [Cell::Blank; 5], emit);
        }
    }
}

/// The row over all classes.
fn whole(who: Who<'_>, part: usize, used: &PathUse, animals: Cell<'_>, emit: &mut Emit<'_>) {
    let counted = [
        Cell::Number(used.total.length),
        Cell::number((used.total.length > 0.0).then_some(1.0)),
        Cell::Blank,
        animals,
        Cell::Count(used.total.visits),
        Cell::Count(used.total.anchors),
    ];
    let [changes, crossings, gaps] = [used.changes, used.crossings, used.gaps].map(Cell::Count);
    let [crossing_m, halves_m] = [used.crossing_m, used.halves_m].map(Cell::Number);
    let between = [changes, crossings, gaps, crossing_m, halves_m];
    row(who, (part, ["all", "all"]), counted, between, emit);
}

/// One row: whose, of which part, of which class, what is counted in it, and what lies between
/// classes.
fn row(
    who: Who<'_>,
    (part, class): (usize, [&str; 2]),
    counted: [Cell<'_>; 6],
    between: [Cell<'_>; 5],
    emit: &mut Emit<'_>,
) {
    let class = class.map(Cell::Text);
    let part = [Cell::Text(PART_NAMES[part])];
    emit(&[&who[..], &part, &class, &counted, &between].concat());
}

/// The rows of several animals.
fn several(
    analysis: &Analysis,
    who: Who<'_>,
    part: usize,
    uses: &[&AnimalUse],
    emit: &mut Emit<'_>,
) {
    let mut all = PathUse::default();
    for animal in uses {
        all.add(&animal.used);
    }
    whole(who, part, &all, Cell::Count(uses.len()), emit);
    for (division, name) in Division::ALL {
        for (class, own) in of_group(uses, division) {
            let class = words(class, division, &analysis.survey);
            let counted = [
                Cell::Number(own.length),
                Cell::number(own.share),
                Cell::number(own.share_sd),
                Cell::Count(own.animals),
                Cell::Count(own.visits),
                Cell::Count(own.anchors),
            ];
            row(who, (part, [name, &class]), counted, [Cell::Blank; 5], emit);
        }
    }
}

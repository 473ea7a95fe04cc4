//! Invents the demo surveys: edible dormice in a beech–fir wood that is nowhere.
//!
//! ```text
//! cargo run --example invent_demo -- demo
//! ```
//!
//! Three small models, one after the other: the **habit** of a dormouse (a walk on the ground from
//! tree to tree, climbs, moves along branches, home to a refuge), the **instruments** that measure
//! its thread (one standard deviation each as the defaults of `survey.toml` say, no error beyond
//! two of them, rounded as people write), and the **sheets** on which they are written. From the
//! sheets as corrected follow the sheets as first typed, with the slips of [`SLIPS`], which are
//! printed for `demo/README.md`. It shares no code with the library, so that it can test it.
//!
//! Left out: an anchor that is not met again exactly, slack thread, trees that lean.

#![expect(clippy::disallowed_methods, reason = "needs no unit types and writes its own files")]
#![expect(clippy::print_stdout, reason = "the list of slips goes into the readme")]
#![expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "small numbers")]

use rand_distr::{Distribution, LogNormal, StandardNormal, StandardUniform};
use rand_xoshiro::Xoshiro256PlusPlus;
use rand_xoshiro::rand_core::SeedableRng;
use std::collections::{BTreeMap, BTreeSet};
use std::env;
use std::fs;
use std::io;
use std::path::Path;

/// The same seed, the same demo.
const SEED: u64 = 20_250_906;

// ---- The study ------------------------------------------------------------------------------

/// Latitude and longitude of east 0, north 0.
const ORIGIN: (f64, f64) = (46.1, 14.9);
/// Magnetic declination there in September 2025 by the geomagnetic reference field, degrees east.
const DECLINATION_DEG: f64 = 4.75;
/// What has to be added to the bearings of each observer; the second one's compass reads high.
const OBSERVERS: [(&str, f64); 2] = [("K.V.", 0.0), ("O.J.", -1.5)];
/// Weight of a metre of thread.
const THREAD_G_PER_M: f64 = 0.011;
/// Rain in millimetres and lowest temperature of the nights from 6 September on.
const NIGHTS: [(f64, f64); 14] = [
    (0.0, 11.5),
    (0.0, 12.0),
    (2.4, 13.1),
    (7.8, 12.4),
    (0.6, 10.2),
    (0.0, 9.1),
    (0.0, 8.4),
    (0.0, 9.9),
    (11.2, 11.8),
    (3.0, 10.9),
    (0.0, 8.8),
    (0.0, 7.3),
    (0.0, 7.9),
    (1.2, 9.5),
];

/// One animal, and where its trap hung (metres east and north).
struct Animal {
    name: &'static str,
    sex: &'static str,
    age: &'static str,
    mass_g: f64,
    body_length_mm: u32,
    device_g: f64,
    stand: &'static str,
    catch: (f64, f64),
}

type AnimalWords = (&'static str, &'static str, &'static str, &'static str);

const fn animal(
    (name, sex, age, stand): AnimalWords,
    mass_g: f64,
    body_length_mm: u32,
    device_g: f64,
    catch: (f64, f64),
) -> Animal {
    Animal { name, sex, age, mass_g, body_length_mm, device_g, stand, catch }
}

const HOLLOW: &str = "Long Hollow";
const BENCH: &str = "Owl Bench";

const ANIMALS: [Animal; 13] = [
    animal(("Bramble", "m", "adult", HOLLOW), 128.0, 171, 4.6, (0.0, 0.0)),
    animal(("Fidget", "m", "adult", HOLLOW), 117.0, 166, 4.5, (46.0, 12.0)),
    animal(("Mast", "f", "adult", HOLLOW), 142.0, 178, 4.7, (81.0, -25.0)),
    animal(("Burr", "m", "subadult", HOLLOW), 84.0, 148, 3.6, (24.0, -58.0)),
    animal(("Drum", "m", "adult", HOLLOW), 154.0, 184, 4.8, (-38.0, 41.0)),
    animal(("Whisk", "f", "subadult", HOLLOW), 76.0, 139, 3.2, (-57.0, -2.0)),
    animal(("Cobnut", "m", "adult", HOLLOW), 96.0, 157, 4.4, (108.0, 40.0)),
    animal(("Soot", "m", "adult", BENCH), 133.0, 173, 4.6, (420.0, -260.0)),
    animal(("Pip", "f", "subadult", BENCH), 72.0, 134, 3.1, (452.0, -240.0)),
    animal(("Lantern", "m", "adult", BENCH), 119.0, 168, 4.5, (447.0, -305.0)),
    animal(("Thimble", "f", "adult", BENCH), 104.0, 160, 4.3, (391.0, -312.0)),
    animal(("Moss", "m", "adult", BENCH), 147.0, 181, 4.8, (512.0, -283.0)),
    animal(("Quill", "f", "adult", BENCH), 111.0, 163, 4.5, (490.0, -318.0)),
];

/// A refuge: where it is, how high, in what.
struct Refuge {
    name: &'static str,
    at: (f64, f64),
    height: f64,
    plant: &'static str,
}

const fn refuge(name: &'static str, at: (f64, f64), height: f64, plant: &'static str) -> Refuge {
    Refuge { name, at, height, plant }
}

const REFUGES: [Refuge; 9] = [
    refuge("split beech", (13.0, 9.0), 4.6, BEECH),
    refuge("box 7", (55.0, 27.0), 3.2, BEECH),
    refuge("sill crevice", (66.0, -33.0), 0.0, ""),
    refuge("stilt fir", (9.0, -47.0), 7.3, FIR),
    refuge("owl hole", (-50.0, 27.0), 5.4, BEECH),
    refuge("box 19", (432.0, -249.0), 3.0, FIR),
    refuge("burl maple", (455.0, -290.0), 4.1, "Acer pseudoplatanus"),
    refuge("bench crevice", (403.0, -322.0), 0.0, ""),
    refuge("box 23", (499.0, -297.0), 3.4, BEECH),
];

const BEECH: &str = "Fagus sylvatica";
const FIR: &str = "Abies alba";

/// One thread: whose, which night, and what it is to show.
struct Plan {
    trail: &'static str,
    animal: &'static str,
    /// Evening of the release, a day of September.
    evening: usize,
    nights: usize,
    /// Trees visited in a night, their distance apart, and the highest a climb goes.
    stops: usize,
    apart: f64,
    top: f64,
    /// How directions were measured, and what else is unusual.
    manner: &'static str,
    quirk: &'static str,
    ending: &'static str,
    /// Where each night ends; a night that ends elsewhere, ends on a branch.
    refuges: Vec<&'static str>,
    ties: usize,
    /// Whether the end has its own position by satellite.
    fixed_end: bool,
    escapes: bool,
}

/// All threads. A refuge for each night; a night without one ends on a branch. `calm`: no escape
/// climb; `fixed`: the end has its own position by satellite.
const PLANS: &str = "\
trail | animal  | eve | stops | apart | top  | manner     | ending    | ties | quirk        | more  | refuges
D01   | Bramble | 6   | 2     | 7     | 5.5  | needle     | found     | 2    |              |       | split beech
D02   | Bramble | 7   | 1     | 6     | 6.5  | needle     | found     | 0    |              |       | split beech
D03   | Fidget  | 6   | 1     | 8     | 8.0  | both ways  | found     | 1    |              |       | box 7
D04   | Mast    | 7   | 1     | 5     | 4.5  | needle     | found     | 0    |              | fixed | sill crevice, sill crevice
D05   | Burr    | 8   | 1     | 8     | 9.0  | needle     | found     | 0    |              |       | stilt fir
D06   | Burr    | 9   | 2     | 8     | 7.0  | needle     | found     | 0    | stayed       |       |
D07   | Burr    | 10  | 1     | 10    | 3.5  | needle     | found     | 0    |              |       |
D08   | Drum    | 9   | 2     | 5     | 4.0  | points     | found     | 0    |              |       | owl hole
D09   | Whisk   | 10  | 1     | 6     | 5.5  | clinometer | found     | 2    |              |       | owl hole
D10   | Whisk   | 11  | 2     | 8     | 7.0  | needle     | found     | 0    | stayed taped |       |
D11   | Cobnut  | 11  | 3     | 8     | 8.5  | needle     | ran_out   | 0    |              |       |
D12   | Soot    | 13  | 2     | 9     | 5.0  | needle     | broke     | 0    |              | calm  |
D13   | Pip     | 13  | 1     | 7     | 6.0  | heights    | found     | 0    |              |       | box 19
D14   | Pip     | 14  | 2     | 6     | 4.0  | needle     | found     | 3    |              |       | box 19
D15   | Lantern | 14  | 1     | 6     | 5.0  | needle     | found     | 0    |              |       | burl maple, box 19
D16   | Thimble | 15  | 1     | 6     | 7.0  | turns      | found     | 1    |              |       | bench crevice
D17   | Moss    | 16  | 2     | 6     | 4.5  | needle     | found     | 0    | lost         | fixed | box 23
D18   | Moss    | 17  | 2     | 9     | 6.0  | needle     | lost      | 0    |              |       |
D19   | Quill   | 17  | 1     | 7     | 11.5 | needle     | found     | 3    | out of reach |       | box 23
D20   | Quill   | 18  | 1     | 9     | 3.0  | needle     | shed      | 0    |              | calm  |";

impl Plan {
    fn all() -> Vec<Self> {
        PLANS.lines().skip(1).filter_map(Self::read).collect()
    }

    fn read(line: &'static str) -> Option<Self> {
        let cells = cells(line);
        let [trail, animal, evening, stops, apart, top, manner, ending, ties, quirk, more, refuges] =
            cells[..]
        else {
            return None;
        };
        let refuges: Vec<&str> = refuges.split(", ").filter(|name| !name.is_empty()).collect();
        Some(Self {
            trail,
            animal,
            evening: evening.parse().ok()?,
            nights: refuges.len().max(1),
            stops: stops.parse().ok()?,
            apart: apart.parse().ok()?,
            top: top.parse().ok()?,
            manner,
            quirk,
            ending,
            refuges,
            ties: ties.parse().ok()?,
            fixed_end: more == "fixed",
            escapes: more != "calm",
        })
    }
}

/// The cells of a line of one of the tables in this file.
fn cells(line: &'static str) -> Vec<&'static str> {
    line.split('|').map(str::trim).collect()
}

/// Slips of the pencil and of the typing hand. A row is named by its first cell or its first two;
/// without a name the heading is meant, and without a column the row is there once more, with its
/// names only.
const SLIPS: &str = "\
table    | row     | column           | written    | found by
anchors  | D20 5   |                  | again      | duplicate_anchor at anchor
anchors  | D11 24  | tape_m           | 2..86      | unreadable_number
anchors  | D12 19  | bearing_deg      | 335°       | unreadable_number
anchors  | D15 42  | bearing_deg      | 412        | out_of_range
anchors  | D02 24  | tape_m           | 1,420      | ambiguous_number
anchors  | D05 20  | height_by        | eys        | unknown_word
anchors  | D18 14  | height_m         | 14.1       | unit_slip; tape_shorter_than_climb at tape_m (the height is in feet)
anchors  | D03 8   | back_bearing_deg | 27         | back_bearing_not_opposite (the forward one was copied)
anchors  | D09 16  | bearing_deg      | 164        | suspect reversed_needle, by the ties of D09
anchors  | D14 16  | tape_m           | 33.7       | suspect decimal_slip, by the ties of D14; thread_against_tape at trails bobbin_after_g
anchors  | D01 41  | bearing_deg      | 27         | suspect swapped_digits, by the second tie of D01
anchors  | D19 30  | from             | 27         | suspect wrong_from, by the last tie of D19
anchors  | D04 20  | anchor           |            | blank_cell
anchors  | D08 9   | tape_m           | 1.63       | cannot be found from the tables: D08 has no tie
ties     | D16 8   | to               | 62         | unknown_anchor
controls |         | accuracy_m       | accuracy   | near_miss_heading at accuracy
trails   | D13     | date             | 1825-09-13 | date_outside_model
trails   | D10     | animal           | Wisk       | unknown_animal
trails   | D17     | bobbin_after_g   | 0.53       | thread_against_tape
animals  | Cobnut  | body_mass_g      | 69         | device_over_load at device_mass_g
animals  | Thimble | sex              | m          | cannot be found from the tables";

// ---- Chance ---------------------------------------------------------------------------------

/// Draws of chance; each trail has its own, so that a change to one leaves the others alone.
struct Chance(Xoshiro256PlusPlus);

impl Chance {
    fn new(stream: usize) -> Self {
        Self(Xoshiro256PlusPlus::seed_from_u64(SEED + 1000 * stream as u64))
    }

    fn between(&mut self, low: f64, high: f64) -> f64 {
        let share: f64 = StandardUniform.sample(&mut self.0);
        low + (high - low) * share
    }

    fn happens(&mut self, probability: f64) -> bool {
        self.between(0.0, 1.0) < probability
    }

    fn pick<T: Copy>(&mut self, of: &[T]) -> T {
        of[(self.between(0.0, of.len() as f64) as usize).min(of.len() - 1)]
    }

    /// A normal error that is never beyond two standard deviations.
    fn error(&mut self, sd: f64) -> f64 {
        loop {
            let deviate: f64 = StandardNormal.sample(&mut self.0);
            if deviate.abs() <= 2.0 {
                return sd * deviate;
            }
        }
    }
}

// ---- Habit ----------------------------------------------------------------------------------

/// How the animal came to an anchor.
#[derive(Clone, Copy, Debug, PartialEq)]
enum Way {
    Ground,
    Trunk,
    Branch,
    Liana,
}

/// Where the animal really was, and what it did there.
#[derive(Clone, Debug)]
struct Anchor {
    east: f64,
    north: f64,
    /// How much the ground here is above the plane.
    rough: f64,
    height: f64,
    way: Way,
    support: &'static str,
    plant: &'static str,
    tree: String,
    diameter_cm: Option<f64>,
    slope_deg: Option<f64>,
    perch: &'static str,
    refuge: &'static str,
    seen: bool,
    escape: bool,
    gap: &'static str,
}

impl Anchor {
    fn up(&self) -> f64 {
        self.rough + self.height
    }

    fn horizontal_to(&self, other: &Self) -> f64 {
        (other.east - self.east).hypot(other.north - self.north)
    }

    fn distance_to(&self, other: &Self) -> f64 {
        self.horizontal_to(other).hypot(other.up() - self.up())
    }

    /// True bearing towards `other`, degrees.
    fn azimuth_to(&self, other: &Self) -> f64 {
        (other.east - self.east).atan2(other.north - self.north).to_degrees()
    }

    fn incline_to(&self, other: &Self) -> f64 {
        (other.up() - self.up()).atan2(self.horizontal_to(other)).to_degrees()
    }
}

/// A tree of the wood; a crevice is a tree without a trunk.
#[derive(Clone)]
struct Tree {
    east: f64,
    north: f64,
    rough: f64,
    number: String,
    plant: &'static str,
    diameter_cm: f64,
}

/// The walk of one animal, as its thread will show it.
struct Walk {
    chance: Chance,
    anchors: Vec<Anchor>,
    escaping: bool,
    /// First figures of the tree tags of this walk, and how many it has given out.
    tag: usize,
    trees: usize,
}

impl Tree {
    fn grown(chance: &mut Chance, (east, north): (f64, f64), plant: &'static str) -> Self {
        let (rough, diameter_cm) = (chance.error(0.10), chance.between(14.0, 62.0));
        Self { east, north, rough, number: String::new(), plant, diameter_cm }
    }

    /// A tree that several trails meet: number `of` of those tagged `tag`, always the same.
    fn known(tag: char, of: usize, at: (f64, f64), plant: &'static str) -> Self {
        let mut chance = Chance::new(900 + 50 * usize::from(tag == 'H') + of);
        Self { number: format!("{tag}{of}"), ..Self::grown(&mut chance, at, plant) }
    }
}

impl Walk {
    /// A tree met on this walk only.
    fn tree(&mut self, at: (f64, f64), plant: &'static str) -> Tree {
        self.trees += 1;
        let number = format!("{}", 100 * self.tag + self.trees);
        Tree { number, ..Tree::grown(&mut self.chance, at, plant) }
    }

    /// A tree about `apart` from where the animal is.
    fn tree_nearby(&mut self, apart: f64) -> Tree {
        let (away, heading) =
            (self.chance.between(0.7, 1.3) * apart, self.chance.between(0.0, 360.0));
        let plant = self.chance.pick(&[BEECH, BEECH, FIR]);
        let (sin, cos) = heading.to_radians().sin_cos();
        let here = self.here();
        let at = (here.0 + away * sin, here.1 + away * cos);
        self.tree(at, plant)
    }

    fn here(&self) -> (f64, f64) {
        self.anchors.last().map_or((0.0, 0.0), |last| (last.east, last.north))
    }

    fn height(&self) -> f64 {
        self.anchors.last().map_or(0.0, |last| last.height)
    }

    /// Adds an anchor on the ground.
    fn on_ground(&mut self, east: f64, north: f64, rough: f64) -> &mut Anchor {
        let anchor = Anchor {
            east,
            north,
            rough,
            height: 0.0,
            way: Way::Ground,
            support: "litter",
            plant: "",
            tree: String::new(),
            diameter_cm: None,
            slope_deg: None,
            perch: "",
            refuge: "",
            seen: false,
            escape: self.escaping,
            gap: "",
        };
        self.anchors.push(anchor);
        let last = self.anchors.len() - 1;
        &mut self.anchors[last]
    }

    /// Adds an anchor on the bark of `tree`.
    fn on_trunk(&mut self, tree: &Tree, height: f64) -> &mut Anchor {
        let [lean_east, lean_north] = [0.07; 2].map(|sd| self.chance.error(sd));
        let taper = 1.0 - 0.03 * height;
        let anchor = self.on_ground(tree.east + lean_east, tree.north + lean_north, tree.rough);
        anchor.height = height;
        anchor.way = Way::Trunk;
        anchor.support = "trunk";
        anchor.plant = tree.plant;
        anchor.tree.clone_from(&tree.number);
        anchor.diameter_cm = Some(tree.diameter_cm * taper);
        anchor.slope_deg = Some(90.0);
        anchor
    }

    /// Climbs up or down the trunk, marked every metre or three; at height 0 it stands at its foot.
    fn climb(&mut self, tree: &Tree, to: f64) {
        loop {
            let (left, step) = (to - self.height(), self.chance.between(1.2, 3.0));
            let arrives = left.abs() < 1.5 * step;
            if arrives && to == 0.0 {
                self.on_ground(tree.east, tree.north, tree.rough).way = Way::Trunk;
            } else {
                let next = if arrives { to } else { self.height() + step.copysign(left) };
                self.on_trunk(tree, next);
            }
            if arrives {
                return;
            }
        }
    }

    /// Runs over the ground to the foot of `tree`, never quite straight.
    fn run_to(&mut self, tree: &Tree) {
        let Ok(steps) = LogNormal::new(0.6, 0.5) else { return };
        loop {
            let (east, north) = self.here();
            let (to_east, to_north) = (tree.east - east, tree.north - north);
            let step: f64 = steps.sample(&mut self.chance.0);
            let step = step.clamp(0.4, 5.0);
            if to_east.hypot(to_north) < 1.4 * step {
                self.on_ground(tree.east, tree.north, tree.rough);
                return;
            }
            let heading = to_east.atan2(to_north) + self.chance.error(38.0).to_radians();
            let rough = self.chance.error(0.10);
            let kind = self.chance.pick(&["litter", "litter", "litter", "log", "shrub", "rock"]);
            let dimensions = self.lying(kind);
            let (sin, cos) = heading.sin_cos();
            let anchor = self.on_ground(east + step * sin, north + step * cos, rough);
            (anchor.height, anchor.diameter_cm, anchor.slope_deg) = dimensions;
            anchor.support = kind;
            anchor.plant = match kind {
                "log" => FIR,
                "shrub" => "Corylus avellana",
                _ => "",
            };
        }
    }

    /// Height, diameter and steepness of what lies or grows low over the ground.
    fn lying(&mut self, support: &str) -> (f64, Option<f64>, Option<f64>) {
        let chance = &mut self.chance;
        match support {
            "log" => {
                let diameter = chance.between(16.0, 45.0);
                (diameter / 100.0, Some(diameter), Some(chance.error(12.0)))
            }
            "shrub" => {
                let (height, diameter) = (chance.between(0.3, 1.4), chance.between(0.8, 2.5));
                (height, Some(diameter), Some(chance.between(10.0, 70.0)))
            }
            "rock" => (chance.between(0.1, 0.6), None, None),
            _ => (0.0, None, None),
        }
    }

    /// Goes out along a branch and back to the trunk, or over a liana into the next crown.
    /// Returns the tree it ends up in.
    fn visit_crown(&mut self, tree: &Tree) -> Tree {
        let mut heading = self.chance.between(0.0, 360.0);
        for _ in 0..self.chance.pick(&[1, 2, 2, 3]) {
            let out = self.chance.between(0.6, 1.9);
            let rise = self.chance.between(-0.3, 0.6);
            heading += self.chance.error(25.0);
            self.along(Way::Branch, tree, (heading, out, rise));
        }
        if self.chance.happens(0.3) {
            self.mark_perch("sign");
        }
        if self.chance.happens(0.3) {
            let (sin, cos) = heading.to_radians().sin_cos();
            let ((east, north), gap) = (self.here(), self.chance.between(1.0, 2.4));
            let next = self.tree((east + gap * sin, north + gap * cos), BEECH);
            let height = self.height() - self.chance.between(0.1, 0.9);
            self.on_trunk(&next, height).way = Way::Liana;
            return next;
        }
        let height = self.height() - self.chance.between(0.0, 0.4);
        self.on_trunk(tree, height).way = Way::Branch;
        tree.clone()
    }

    /// One move off the trunk: heading, distance out, rise.
    fn along(&mut self, way: Way, tree: &Tree, (heading, out, rise): (f64, f64, f64)) {
        let ((east, north), height) = (self.here(), self.height());
        let diameter = self.chance.between(1.2, 7.0);
        let (sin, cos) = heading.to_radians().sin_cos();
        let anchor = self.on_ground(east + out * sin, north + out * cos, tree.rough);
        anchor.height = height + rise;
        anchor.way = way;
        anchor.support = if diameter < 1.8 { "liana" } else { "branch" };
        anchor.plant = if diameter < 1.8 { "Clematis vitalba" } else { tree.plant };
        anchor.tree.clone_from(&tree.number);
        anchor.diameter_cm = Some(diameter);
        anchor.slope_deg = Some(rise.atan2(out).to_degrees());
    }

    fn mark_perch(&mut self, evidence: &'static str) {
        if let Some(last) = self.anchors.last_mut() {
            last.perch = evidence;
        }
    }

    /// From release up the nearest trunk and down again, or straight down.
    fn release(&mut self, catch: &Tree, escapes: bool) {
        let height = self.chance.between(0.9, 1.2);
        self.on_trunk(catch, height);
        self.escaping = escapes;
        if escapes {
            let top = self.chance.between(2.5, 5.5);
            self.climb(catch, top);
            let tree =
                if self.chance.happens(0.4) { self.visit_crown(catch) } else { catch.clone() };
            self.climb(&tree, 0.0);
        } else {
            self.climb(catch, 0.0);
        }
        self.escaping = false;
    }

    /// One night: some trees, then home; without a refuge it ends on a branch.
    fn night(&mut self, plan: &Plan, home: Option<&Refuge>) {
        for stop in 0..plan.stops {
            let tree = self.tree_nearby(plan.apart);
            self.run_to(&tree);
            let highest = if stop == 0 { 1.0 } else { self.chance.between(0.4, 0.9) };
            let top = (plan.top * highest).max(2.0) - self.chance.between(0.0, 0.8);
            self.climb(&tree, top);
            let tree = self.visit_crown(&tree);
            if stop + 1 < plan.stops || home.is_some() {
                self.climb(&tree, 0.0);
            }
        }
        if let Some(refuge) = home {
            self.go_home(refuge);
        } else {
            self.anchors.pop(); // the last move, off the perch, was not made
            self.mark_perch("seen");
        }
        if let Some(last) = self.anchors.last_mut() {
            last.seen = true;
        }
    }

    fn go_home(&mut self, refuge: &Refuge) {
        let number = REFUGES.iter().take_while(|known| known.name != refuge.name).count() + 1;
        let tree = Tree::known('H', number, refuge.at, refuge.plant);
        self.run_to(&tree);
        if refuge.height > 0.0 {
            self.climb(&tree, refuge.height);
        }
        if let Some(last) = self.anchors.last_mut() {
            last.refuge = refuge.name;
            if refuge.height == 0.0 {
                last.support = "rock";
            }
        }
    }

    /// Down from the refuge for the next night.
    fn leave_home(&mut self) {
        if let Some(last) = self.anchors.last().filter(|last| last.height > 0.0).cloned() {
            let tree = Tree {
                east: last.east,
                north: last.north,
                rough: last.rough,
                number: last.tree,
                plant: last.plant,
                diameter_cm: last.diameter_cm.unwrap_or(30.0),
            };
            self.climb(&tree, 0.0);
        }
    }
}

/// The true anchors of a plan.
fn walk(plan: &Plan, animal: &Animal, stream: usize) -> Vec<Anchor> {
    let mut walk = Walk {
        chance: Chance::new(stream),
        anchors: Vec::new(),
        escaping: false,
        tag: stream,
        trees: 0,
    };
    let number = ANIMALS.iter().take_while(|known| known.name != animal.name).count() + 1;
    let catch = Tree::known('T', number, animal.catch, BEECH);
    if plan.quirk.starts_with("stayed") {
        return stay(walk, &catch, plan.quirk);
    }
    walk.release(&catch, plan.escapes);
    for night in 0..plan.nights {
        if night > 0 {
            walk.leave_home();
        }
        let home = plan.refuges.get(night);
        walk.night(plan, REFUGES.iter().find(|refuge| Some(&refuge.name) == home));
    }
    if plan.ending != "found" {
        let kept = walk.anchors.len() * 4 / 5;
        walk.anchors.truncate(kept);
    }
    hide_a_stretch(&mut walk.anchors, plan.quirk);
    walk.anchors
}

fn stay(mut walk: Walk, catch: &Tree, quirk: &str) -> Vec<Anchor> {
    walk.on_trunk(catch, 1.1);
    walk.anchors.extend((quirk == "stayed taped").then(|| walk.anchors[0].clone()));
    walk.mark_perch("seen");
    if let Some(last) = walk.anchors.last_mut() {
        last.seen = true;
    }
    walk.anchors
}

/// Takes the anchors away that nobody could mark, and says so at the next one.
fn hide_a_stretch(anchors: &mut Vec<Anchor>, quirk: &str) {
    match quirk {
        "lost" => {
            let ground = |a: &Anchor| a.way == Way::Ground && !a.escape;
            if let Some(at) = anchors.windows(4).position(|four| four.iter().all(ground)) {
                anchors.drain(at + 1..at + 3);
                anchors[at + 1].gap = "lost";
            }
        }
        "out of reach" => {
            let Some(top) = (0..anchors.len())
                .filter(|&at| anchors[at].way == Way::Branch)
                .max_by(|&a, &b| anchors[a].height.total_cmp(&anchors[b].height))
            else {
                return;
            };
            let reached = (0..top).rev().find(|&at| anchors[at].height < 5.0).unwrap_or(0);
            anchors.drain(reached + 1..top);
            anchors[reached + 1].gap = "out_of_reach";
        }
        _ => {}
    }
}

// ---- Instruments ----------------------------------------------------------------------------

fn tape_sd(metres: f64) -> f64 {
    0.03_f64.hypot(0.002 * metres)
}

/// By eye, one is worse than the default says; `survey.toml` states it.
fn height_sd(metres: f64) -> f64 {
    if metres < EYE_M { 0.05_f64.hypot(0.02 * metres) } else { 0.2_f64.hypot(0.05 * metres) }
}

/// Above this, heights are judged by eye.
const EYE_M: f64 = 6.0;
const BEARING_SD: f64 = 2.0;
const TURN_SD: f64 = 3.0;
const INCLINE_SD: f64 = 1.5;
const RISE_SD: f64 = 0.05;
const POINTS: [&str; 16] = [
    "N", "NNE", "NE", "ENE", "E", "ESE", "SE", "SSE", "S", "SSW", "SW", "WSW", "W", "WNW", "NW",
    "NNW",
];

/// `value` to the nearest `step`.
fn rounded(value: f64, step: f64) -> f64 {
    (value / step).round() * step + 0.0 // never -0
}

/// Who measures, with what.
struct Crew {
    chance: Chance,
    observer: (&'static str, f64),
}

impl Crew {
    fn tape(&mut self, from: &Anchor, to: &Anchor) -> f64 {
        let true_length = from.distance_to(to);
        rounded((true_length + self.chance.error(tape_sd(true_length))).max(0.0), 0.01)
    }

    /// The height and how it was measured.
    fn height(&mut self, anchor: &Anchor) -> (f64, &'static str) {
        let h = anchor.height;
        if h == 0.0 {
            return (0.0, "tape");
        }
        let (step, by) = match h {
            h if h < 2.0 => (0.05, "tape"),
            h if h < EYE_M => (0.1, "pole"),
            _ => (0.5, "eye"),
        };
        // The rounding is part of the error that is stated.
        let spread = (height_sd(h).powi(2) - step * step / 12.0).sqrt();
        (rounded(h + self.chance.error(spread), step).max(0.0), by)
    }

    /// The needle pointed along a true azimuth.
    fn needle(&mut self, azimuth: f64) -> f64 {
        let exact = azimuth - DECLINATION_DEG - self.observer.1;
        rounded(exact + self.chance.error(BEARING_SD), 1.0).rem_euclid(360.0)
    }

    /// The needle there and back, read again where the two do not fit.
    fn needle_both_ways(&mut self, azimuth: f64) -> (f64, f64) {
        loop {
            let (there, back) = (self.needle(azimuth), self.needle(azimuth + 180.0));
            if half_turn(back - there + 180.0).abs() <= 5.0 {
                return (there, back);
            }
        }
    }

    fn point(&mut self, azimuth: f64) -> &'static str {
        POINTS[rounded(self.needle(azimuth) / 22.5, 1.0) as usize % 16]
    }

    fn incline(&mut self, from: &Anchor, to: &Anchor) -> f64 {
        let read = from.incline_to(to) + self.chance.error(INCLINE_SD);
        rounded(read, 1.0).clamp(-90.0, 90.0)
    }

    fn turn(&mut self, before: f64, azimuth: f64) -> f64 {
        rounded(half_turn(azimuth - before + self.chance.error(TURN_SD)), 1.0)
    }

    /// A position by satellite, one standard deviation `accuracy` on each axis.
    fn fix(&mut self, east: f64, north: f64) -> [(&'static str, String); 3] {
        let accuracy = rounded(self.chance.between(4.0, 8.0), 1.0);
        let (east, north) =
            (east + self.chance.error(accuracy), north + self.chance.error(accuracy));
        let [latitude, longitude] = position(east, north);
        [
            ("latitude", format!("{latitude:.5}")),
            ("longitude", format!("{longitude:.5}")),
            ("accuracy_m", format!("{accuracy}")),
        ]
    }
}

/// An angle between −180° and 180°.
fn half_turn(degrees: f64) -> f64 {
    (degrees + 180.0).rem_euclid(360.0) - 180.0
}

/// Latitude and longitude, by the radii of curvature of WGS 84 at the origin.
///
/// ```text
/// N = a / √(1 − e² sin²φ),   M = N (1 − e²) / (1 − e² sin²φ)
/// ```
fn position(east: f64, north: f64) -> [f64; 2] {
    let (a, e2, latitude) = (6_378_137.0, 0.006_694_379_990_14, ORIGIN.0.to_radians());
    let w2 = 1.0 - e2 * latitude.sin().powi(2);
    let n = a / w2.sqrt();
    let m = n * (1.0 - e2) / w2;
    let degrees = [north / m, east / (n * latitude.cos())].map(f64::to_degrees);
    [ORIGIN.0 + degrees[0], ORIGIN.1 + degrees[1]]
}

// ---- Sheets ---------------------------------------------------------------------------------

type Row = BTreeMap<&'static str, String>;

/// A table; columns that nobody filled are not written.
#[derive(Clone)]
struct Table {
    name: &'static str,
    columns: Vec<&'static str>,
    rows: Vec<Row>,
}

impl Table {
    fn new(name: &'static str, columns: &str, rows: Vec<Row>) -> Self {
        let columns = columns.split_whitespace().map(|word| &*word.to_owned().leak()).collect();
        Self { name, columns, rows }
    }

    fn csv(&self) -> String {
        let filled: BTreeSet<&str> = self
            .rows
            .iter()
            .flat_map(|row| row.iter().filter(|c| !c.1.is_empty()))
            .map(|c| *c.0)
            .collect();
        let columns: Vec<&str> =
            self.columns.iter().copied().filter(|column| filled.contains(column)).collect();
        let line = |cells: Vec<String>| cells.join(",") + "\n";
        let mut text = line(columns.iter().map(|&column| column.to_owned()).collect());
        for row in &self.rows {
            text += &line(columns.iter().map(|column| quoted(row.get(column))).collect());
        }
        text
    }
}

fn quoted(cell: Option<&String>) -> String {
    match cell {
        Some(text) if text.contains([',', '"']) => format!("\"{}\"", text.replace('"', "\"\"")),
        Some(text) => text.clone(),
        None => String::new(),
    }
}

fn yes(is: bool) -> String {
    if is { "yes".to_owned() } else { String::new() }
}

/// The sheet of one trail, filled in at the anchors.
struct Sheet<'a> {
    plan: &'a Plan,
    crew: Crew,
    truth: &'a [Anchor],
    /// Heights as read, with the standard deviation of each.
    heights: Vec<(f64, f64)>,
    /// Azimuth of the last leg that had a direction.
    before: Option<f64>,
}

impl Sheet<'_> {
    fn rows(&mut self) -> Vec<Row> {
        (0..self.truth.len()).map(|at| self.row(at)).collect()
    }

    fn row(&mut self, at: usize) -> Row {
        let anchor = &self.truth[at];
        let mut row = described(anchor);
        row.insert("trail", self.plan.trail.to_owned());
        row.insert("anchor", format!("{}", at + 1));
        self.lengths(at, &mut row);
        if at > 0 && self.truth[at - 1].support != anchor.support {
            row.insert("leg_support", leg_support(anchor).to_owned());
        }
        if at > 0 && !self.is_plumb(at) {
            self.direction(at, &mut row);
        }
        if self.plan.manner == "clinometer" && at > 0 && !self.is_plumb(at)
            || self.beside_what_was_out_of_reach(at)
        {
            let incline = self.crew.incline(&self.truth[at - 1], anchor);
            row.insert("incline_deg", format!("{incline}"));
        }
        if self.plan.fixed_end && at + 1 == self.truth.len() {
            row.extend(self.crew.fix(anchor.east, anchor.north));
        }
        if anchor.seen && at + 1 < self.truth.len() {
            let morning = self.plan.evening + self.nights_until(at);
            row.insert("time", format!("2025-09-{morning:02} 08:{:02}", 10 + at % 40));
        }
        row
    }

    fn nights_until(&self, at: usize) -> usize {
        self.truth[..=at].iter().filter(|anchor| anchor.seen).count()
    }

    /// Tape and height, read again until the one spans the other.
    fn lengths(&mut self, at: usize, row: &mut Row) {
        let anchor = &self.truth[at];
        let stayed = self.plan.quirk == "stayed taped" && at > 0;
        loop {
            let (mut height, by) = self.crew.height(anchor);
            if anchor.gap == "out_of_reach" {
                height = (anchor.height / 0.5).floor() * 0.5;
            }
            if stayed {
                height = self.heights[at - 1].0;
            }
            let tape = (at > 0)
                .then(|| if stayed { 0.0 } else { self.crew.tape(&self.truth[at - 1], anchor) });
            let read = (height, height_sd(anchor.height));
            if tape.is_some_and(|tape| !self.fits(at, tape, read)) {
                continue;
            }
            self.heights.push(read);
            let decimals = if by == "tape" && height > 0.0 { 2 } else { usize::from(height > 0.0) };
            row.insert("height_m", format!("{height:.decimals$}"));
            row.insert("height_by", by.to_owned());
            row.insert("tape_m", tape.map_or(String::new(), |tape| format!("{tape:.2}")));
            return;
        }
    }

    /// Whether a tape spans the rise between two heights as read, and a plumb one no more.
    fn fits(&self, at: usize, tape: f64, (height, sd): (f64, f64)) -> bool {
        let (height_before, sd_before) = self.heights[at - 1];
        let (rise, sd_rise) = ((height - height_before).abs(), sd.hypot(sd_before));
        let spans = rise - tape <= 1.2 * tape_sd(tape).hypot(sd_rise);
        let sd_square = 2.0 * (tape * tape_sd(tape)).hypot(rise * sd_rise);
        let plumb = tape * tape - rise * rise <= 0.15 + 2.0 * sd_square;
        spans && (plumb || !self.is_plumb(at))
    }

    /// A leg along the bark: nobody reads a needle there.
    fn is_plumb(&self, at: usize) -> bool {
        at > 0 && self.truth[at].way == Way::Trunk && self.truth[at].gap.is_empty()
            || self.plan.quirk == "stayed taped"
    }

    fn beside_what_was_out_of_reach(&self, at: usize) -> bool {
        let out = |anchor: usize| self.truth[anchor].gap == "out_of_reach";
        at > 0 && (out(at) || out(at - 1))
    }

    fn direction(&mut self, at: usize, row: &mut Row) {
        let azimuth = self.truth[at - 1].azimuth_to(&self.truth[at]);
        match (self.plan.manner, self.before) {
            ("heights", _) => {}
            ("turns", Some(before)) => {
                row.insert("turn_deg", format!("{}", self.crew.turn(before, azimuth)));
            }
            ("points", _) => {
                row.insert("bearing_point", self.crew.point(azimuth).to_owned());
            }
            ("both ways", _) => {
                let (there, back) = self.crew.needle_both_ways(azimuth);
                row.insert("bearing_deg", format!("{there}"));
                row.insert("back_bearing_deg", format!("{back}"));
            }
            _ => {
                row.insert("bearing_deg", format!("{}", self.crew.needle(azimuth)));
            }
        }
        self.before = Some(azimuth);
    }

    /// Ties between anchors within reach, the ends far apart along the thread.
    fn ties(&mut self) -> Vec<Row> {
        let reach = |a: &Anchor| a.height < 2.0;
        let mut pairs: Vec<(usize, usize)> = Vec::new();
        for to in 0..self.truth.len() {
            for from in 0..to.saturating_sub(7) {
                let (a, b) = (&self.truth[from], &self.truth[to]);
                if reach(a) && reach(b) && (2.0..18.0).contains(&a.horizontal_to(b)) {
                    pairs.push((from, to));
                }
            }
        }
        let count = self.plan.ties.min(pairs.len());
        let share = pairs.len() / (count.max(1) + 1);
        (1..=count).map(|tie| self.tie(tie, pairs[tie * share])).collect()
    }

    fn tie(&mut self, count: usize, (from, to): (usize, usize)) -> Row {
        let (a, b) = (&self.truth[from], &self.truth[to]);
        let bearing = self.crew.needle(a.azimuth_to(b));
        let mut row = Row::from([
            ("trail", self.plan.trail.to_owned()),
            ("from", format!("{}", from + 1)),
            ("to", format!("{}", to + 1)),
            ("tape_m", format!("{:.2}", self.crew.tape(a, b))),
            ("bearing_deg", format!("{bearing}")),
            ("observer", self.crew.observer.0.to_owned()),
        ]);
        if count == 2 {
            row.insert("incline_deg", format!("{}", self.crew.incline(a, b)));
        } else if count == 3 {
            let rise = b.up() - a.up() + self.crew.chance.error(RISE_SD);
            row.insert("rise_m", format!("{:.2}", rounded(rise, 0.01)));
        }
        row
    }
}

/// What is written of an anchor beside the measurements.
fn described(anchor: &Anchor) -> Row {
    let diameter = |d: f64| if d < 10.0 { format!("{d:.1}") } else { format!("{d:.0}") };
    Row::from([
        ("support", anchor.support.to_owned()),
        ("plant", anchor.plant.to_owned()),
        ("tree", anchor.tree.clone()),
        ("diameter_cm", anchor.diameter_cm.map_or(String::new(), diameter)),
        (
            "support_incline_deg",
            anchor.slope_deg.map_or(String::new(), |s| format!("{}", rounded(s, 5.0))),
        ),
        ("perch", anchor.perch.to_owned()),
        ("refuge", anchor.refuge.to_owned()),
        ("seen", yes(anchor.seen)),
        ("escape", yes(anchor.escape)),
        ("gap", anchor.gap.to_owned()),
        ("height_at_least", yes(anchor.gap == "out_of_reach")),
    ])
}

fn leg_support(to: &Anchor) -> &'static str {
    match to.way {
        Way::Ground => "litter",
        Way::Trunk => "trunk",
        Way::Branch => "branch",
        Way::Liana => "liana",
    }
}

/// The row of `trails`, given how much tape was read along the thread.
fn trail_row(plan: &Plan, crew: &mut Crew, taped: f64) -> Row {
    let chance = &mut crew.chance;
    let (rain, cold) = NIGHTS[plan.evening - 6];
    let morning = plan.evening + plan.nights;
    let (dusk, dawn) = (chance.between(5.0, 55.0), chance.between(5.0, 55.0));
    let used = rounded(taped * THREAD_G_PER_M * (1.0 + chance.error(0.012)), 0.01);
    let full = match plan.ending {
        "ran_out" => used,
        _ => rounded(chance.between(1.8, 2.5), 0.01),
    };
    let weighed = !matches!(plan.ending, "broke" | "lost");
    let left = if weighed { format!("{:.2}", full - used) } else { String::new() };
    Row::from([
        ("trail", plan.trail.to_owned()),
        ("animal", plan.animal.to_owned()),
        ("date", format!("2025-09-{:02}", plan.evening)),
        ("release", release_of(plan.animal)),
        ("start_time", format!("2025-09-{:02} 21:{dusk:02.0}", plan.evening)),
        ("end_time", format!("2025-09-{morning:02} 08:{dawn:02.0}")),
        ("nights", format!("{}", plan.nights)),
        ("ending", plan.ending.to_owned()),
        ("bobbin_before_g", format!("{full:.2}")),
        ("bobbin_after_g", left),
        ("observer", crew.observer.0.to_owned()),
        ("rain_mm", format!("{rain:.1}")),
        ("night_min_c", format!("{cold:.1}")),
    ])
}

/// The control where an animal is released: its trap.
fn release_of(animal: &str) -> String {
    format!("trap {animal}")
}

fn control_row(animal: &Animal, crew: &mut Crew) -> Row {
    let mut row = Row::from(crew.fix(animal.catch.0, animal.catch.1));
    row.insert("control", release_of(animal.name));
    row.insert("elevation_m", "612".to_owned());
    row
}

fn animal_row(animal: &Animal, plans: &[Plan], chance: &mut Chance) -> Row {
    let plans: Vec<&Plan> = plans.iter().filter(|plan| plan.animal == animal.name).collect();
    let first = plans.first().map_or(6, |plan| plan.evening);
    let (last, ending) =
        plans.last().map_or((first, "found"), |plan| (plan.evening + plan.nights, plan.ending));
    let recovered = ending != "lost";
    let on_day = |day: usize| format!("2025-09-{day:02}");
    let after = animal.mass_g + rounded(chance.error(2.0), 1.0);
    let harm = if animal.name == "Drum" { "fur thinned at glue" } else { "" };
    Row::from([
        ("animal", animal.name.to_owned()),
        ("species", "Glis glis".to_owned()),
        ("sex", animal.sex.to_owned()),
        ("age", animal.age.to_owned()),
        ("body_mass_g", format!("{}", animal.mass_g)),
        ("mass_after_g", if recovered { format!("{after}") } else { String::new() }),
        ("body_length_mm", format!("{}", animal.body_length_mm)),
        ("device_mass_g", format!("{:.1}", animal.device_g)),
        ("attachment", "glued to the fur between the shoulders".to_owned()),
        ("attached", on_day(first)),
        ("removed", if recovered { on_day(last) } else { String::new() }),
        ("handling_min", format!("{:.0}", chance.between(6.0, 14.0))),
        ("recovered", if recovered { "yes" } else { "no" }.to_owned()),
        ("harm", harm.to_owned()),
        ("stand", animal.stand.to_owned()),
    ])
}

/// Per cent of what a line through each stand touches.
const AVAILABLE: [(&str, [u32; 2]); 7] = [
    ("litter", [46, 39]),
    ("log", [9, 6]),
    ("trunk", [14, 17]),
    ("branch", [15, 19]),
    ("liana", [2, 4]),
    ("shrub", [9, 5]),
    ("rock", [5, 10]),
];

fn available_rows() -> Vec<Row> {
    let row = |stand: &str, support: &str, amount: u32| {
        Row::from([
            ("support", support.to_owned()),
            ("amount", format!("{amount}")),
            ("stand", stand.to_owned()),
        ])
    };
    let of = |stand, at: usize| {
        AVAILABLE.iter().map(move |(support, amounts)| row(stand, support, amounts[at]))
    };
    of(HOLLOW, 0).chain(of(BENCH, 1)).collect()
}

const SETTINGS: &str = r#"# The demo survey of Perchline. Everything in it is invented.
name = "Edible dormice of an invented wood"
site = "Long Hollow and Owl Bench, a beech-fir wood that is nowhere"
date = 2025-09-06
permit = "INVENTED-2025-0417"
marked_when = "at every change of direction, steepness or support"

[bearings]
north = "magnetic"
declination = "model"

[precision.height_by.eye] # above 6 m
height_m = 0.2
height_per_m = 0.05

[observer."O.J."] # this compass reads high
bearing_deg = -1.5

[ground]
model = "flat"

[bobbin]
thread_g_per_m = 0.011
"#;

/// All tables of the survey as corrected.
fn survey() -> Vec<Table> {
    let (mut anchors, mut ties, mut trails) = (Vec::new(), Vec::new(), Vec::new());
    let plans = Plan::all();
    for (at, plan) in plans.iter().enumerate() {
        let Some(animal) = ANIMALS.iter().find(|animal| animal.name == plan.animal) else {
            continue;
        };
        let truth = walk(plan, animal, at + 1);
        let crew = Crew { chance: Chance::new(at + 501), observer: OBSERVERS[at % 3 % 2] };
        let mut sheet = Sheet { plan, crew, truth: &truth, heights: Vec::new(), before: None };
        let rows = sheet.rows();
        let taped = rows.iter().filter_map(|row| row["tape_m"].parse::<f64>().ok()).sum();
        ties.extend(sheet.ties());
        trails.push(trail_row(plan, &mut sheet.crew, taped));
        anchors.extend(rows);
    }
    let mut crew = Crew { chance: Chance::new(0), observer: OBSERVERS[0] };
    let controls = ANIMALS.iter().map(|animal| control_row(animal, &mut crew)).collect();
    let animals =
        ANIMALS.iter().map(|animal| animal_row(animal, &plans, &mut crew.chance)).collect();
    vec![
        Table::new("anchors", ANCHORS, anchors),
        Table::new("ties", TIES, ties),
        Table::new("controls", CONTROLS, controls),
        Table::new("trails", TRAILS, trails),
        Table::new("animals", ANIMAL_COLUMNS, animals),
        Table::new("available", "support amount stand", available_rows()),
    ]
}

const ANCHORS: &str = "trail anchor from tape_m bearing_deg bearing_point back_bearing_deg turn_deg \
    incline_deg height_m height_by height_at_least support leg_support plant tree diameter_cm \
    support_incline_deg seen perch refuge gap escape time latitude longitude accuracy_m";
const TIES: &str = "trail from to tape_m bearing_deg incline_deg rise_m observer";
const CONTROLS: &str = "control latitude longitude elevation_m accuracy_m";
const TRAILS: &str = "trail animal date release start_time end_time nights ending bobbin_before_g \
    bobbin_after_g observer rain_mm night_min_c";
const ANIMAL_COLUMNS: &str = "animal species sex age body_mass_g mass_after_g body_length_mm \
    device_mass_g attachment attached removed handling_min recovered harm stand";

// ---- Slips ----------------------------------------------------------------------------------

/// Makes the slip of one line of [`SLIPS`] and returns its line of the readme; `None` where it
/// finds no place.
fn make(slip: &'static str, tables: &mut [Table]) -> Option<String> {
    let cells = cells(slip);
    let [name, row, column, written, found_by] = cells[..] else { return None };
    let table = tables.iter_mut().find(|table| table.name == name)?;
    let (at, was) = if row.is_empty() {
        (1, rename(table, column, written)?)
    } else {
        let at = table.rows.iter().position(|known| is_called(known, &table.columns, row))?;
        if column.is_empty() {
            (at + 3, repeat(table, at))
        } else {
            (at + 2, write(table, at, [column, written])?)
        }
    };
    let shown = |cell: &str| if cell.is_empty() { String::new() } else { format!("`{cell}`") };
    let [written, was] = match column {
        "" => ["(its names again, nothing measured)".to_owned(), shown(&was)],
        _ => [written, &was].map(shown),
    };
    Some(format!("| {name} | {at} | {row} | {column} | {written} | {was} | {found_by} |"))
}

/// Whether the row's first cell, or its first two, are `name`.
fn is_called(row: &Row, columns: &[&str], name: &str) -> bool {
    let cell = |at: usize| row.get(columns[at]).map_or("", |text| text);
    cell(0) == name || format!("{} {}", cell(0), cell(1)) == name
}

/// Writes into row `at` and returns what stood there.
fn write(table: &mut Table, at: usize, [heading, written]: [&str; 2]) -> Option<String> {
    let column = table.columns.iter().find(|column| **column == heading)?;
    Some(table.rows[at].insert(column, written.to_owned()).unwrap_or_default())
}

/// Types the names of row `at` once more below it.
fn repeat(table: &mut Table, at: usize) -> String {
    let names = &table.columns[..2];
    let again = names.iter().map(|&name| (name, table.rows[at][name].clone())).collect();
    table.rows.insert(at + 1, again);
    String::new()
}

fn rename(table: &mut Table, heading: &str, written: &'static str) -> Option<String> {
    let at = table.columns.iter().position(|column| *column == heading)?;
    for row in &mut table.rows {
        if let Some(cell) = row.remove(heading) {
            row.insert(written, cell);
        }
    }
    table.columns[at] = written;
    Some(heading.to_owned())
}

fn save(folder: &Path, tables: &[Table]) -> io::Result<()> {
    fs::create_dir_all(folder)?;
    fs::write(folder.join("survey.toml"), SETTINGS)?;
    tables
        .iter()
        .try_for_each(|table| fs::write(folder.join(table.name).with_extension("csv"), table.csv()))
}

fn main() -> io::Result<()> {
    let folder = env::args().nth(1).unwrap_or_else(|| "demo".to_owned());
    let mut tables = survey();
    save(&Path::new(&folder).join("dormice"), &tables)?;
    println!("| table | row | of | column | written | was | found by |");
    println!("|---|---|---|---|---|---|---|");
    for slip in SLIPS.lines().skip(1) {
        let line = make(slip, &mut tables);
        println!("{}", line.ok_or_else(|| io::Error::other(format!("no place for {slip}")))?);
    }
    save(&Path::new(&folder).join("dormice-as-written"), &tables)
}

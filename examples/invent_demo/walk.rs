//! The habit: the walk of one animal, as its thread will show it.

use crate::chance::Chance;
use crate::study::{ANIMALS, Animal, BEECH, FIR, Plan, REFUGES, Refuge};
use crate::wood::{Anchor, Tree, Way};
use rand_distr::LogNormal;

/// The walk of one animal, as its thread will show it.
struct Walk {
    chance: Chance,
    anchors: Vec<Anchor>,
    escaping: bool,
    /// First figures of the tree tags of this walk, and how many it has given out.
    tag: usize,
    trees: usize,
}

impl Walk {
    /// A tree met on this walk only.
    pub(crate) fn tree(&mut self, at: (f64, f64), plant: &'static str) -> Tree {
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

    pub(crate) fn height(&self) -> f64 {
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
            let step = self.chance.like(&steps).clamp(0.4, 5.0);
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
pub(crate) fn walk(plan: &Plan, animal: &Animal, stream: usize) -> Vec<Anchor> {
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

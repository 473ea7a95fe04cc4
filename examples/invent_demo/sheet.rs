//! The sheet of one trail, filled in at the anchors.

use crate::crew::{Crew, RISE_SD, height_sd, rounded, tape_sd};
use crate::study::{LEG_SUPPORT_FROM, OBSERVERS, Plan};
use crate::table::{Row, yes};
use crate::wood::{Anchor, Way};

/// The sheet of one trail, filled in at the anchors.
pub(crate) struct Sheet<'a> {
    pub(crate) plan: &'a Plan,
    pub(crate) crew: Crew,
    pub(crate) truth: &'a [Anchor],
    /// Heights as read, with the standard deviation of each.
    pub(crate) heights: Vec<(f64, f64)>,
    /// Azimuth of the last leg that had a direction.
    pub(crate) before: Option<f64>,
}

impl Sheet<'_> {
    pub(crate) fn rows(&mut self) -> Vec<Row> {
        (0..self.truth.len()).map(|at| self.row(at)).collect()
    }

    fn row(&mut self, at: usize) -> Row {
        let anchor = &self.truth[at];
        let mut row = described(anchor);
        row.insert("trail", self.plan.trail.to_owned());
        row.insert("anchor", format!("{}", at + 1));
        self.lengths(at, &mut row);
        if at > 0 && self.truth[at - 1].support != anchor.support && self.writes_leg_support() {
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

    /// The second observer did not from the first evening on.
    fn writes_leg_support(&self) -> bool {
        self.crew.observer != OBSERVERS[1] || self.plan.evening >= LEG_SUPPORT_FROM
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
    pub(crate) fn ties(&mut self) -> Vec<Row> {
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

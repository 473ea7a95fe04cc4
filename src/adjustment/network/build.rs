//! Rows into nodes, lines and visits.

use super::course::Courses;
use super::frame::{frame, known_control, known_fix, north_correction};
use super::{
    Certainty, Course, HeightReading, Known, Layout, Line, Network, Node, Trail, Visit, Written,
    layout, tree,
};
use crate::maths::earth::convergence::utm_convergence;
use crate::maths::quantity::{Turn, wrap_half_turn};
use crate::survey::Survey;
use crate::survey::names::{ByName, Name};
use crate::survey::rows::{AnchorRow, Readings};
use crate::survey::settings::Observer;
use std::f64::consts::PI;

/// The network of a survey.
pub fn build(survey: &Survey) -> Network {
    let mut builder = Builder::new(survey);
    for (name, rows) in rows_by_trail(survey) {
        builder.trail(name, &rows);
    }
    builder.ties();
    let mut network = builder.network;
    sort_heights(&mut network);
    tree::grow(&mut network);
    layout::let_go(&mut network, &survey.settings.precision);
    tree::grow(&mut network); // what is held hangs on the positions that are left
    layout::lay_out(&mut network);
    network
}

/// The rows of each trail in walking order, trails by first mention.
fn rows_by_trail(survey: &Survey) -> Vec<(Name, Vec<usize>)> {
    let mut place: ByName<Name, usize> = ByName::default();
    let mut trails: Vec<(Name, Vec<usize>)> = Vec::new();
    for (index, row) in survey.anchors.iter().enumerate() {
        let at = *place.entry(row.trail).or_insert_with(|| {
            trails.push((row.trail, Vec::new()));
            trails.len() - 1
        });
        trails[at].1.push(index);
    }
    trails
}

fn sort_heights(network: &mut Network) {
    network.heights.sort_by_key(|reading| (reading.node, reading.row));
    let mut first = vec![0; network.nodes.len() + 1];
    for reading in &network.heights {
        first[reading.node + 1] += 1;
    }
    for node in 0..network.nodes.len() {
        first[node + 1] += first[node];
    }
    network.first_height = first;
}

struct Builder<'a> {
    survey: &'a Survey,
    controls: ByName<Name, Known>,
    node_of: ByName<(Name, Name), usize>,
    node_of_control: ByName<Name, usize>,
    /// The row of each trail in the trails table.
    listed: ByName<Name, usize>,
    network: Network,
}

impl<'a> Builder<'a> {
    fn new(survey: &'a Survey) -> Self {
        let frame = frame(survey);
        let known = |control| known_control(survey, frame.as_ref(), control);
        let controls =
            survey.controls.iter().filter_map(|c| Some((c.control, known(c)?))).collect();
        let convergence = frame.as_ref().map(|f| utm_convergence(f.origin()).to_radians());
        let mut node_of = ByName::default();
        node_of.reserve(survey.anchors.len());
        Self {
            survey,
            controls,
            node_of,
            node_of_control: ByName::default(),
            // Of two rows of one name, which is an error, the first is taken.
            listed: survey
                .trails
                .iter()
                .enumerate()
                .rev()
                .map(|(at, row)| (row.trail, at))
                .collect(),
            network: Network { frame, convergence, ..Network::default() },
        }
    }

    /// Enters the trail called `name`, whose anchors stand in `rows`.
    fn trail(&mut self, name: Name, rows: &[usize]) {
        let survey = self.survey;
        let listed = self.listed.get(&name).copied();
        let courses = Courses::of(survey, rows);
        let date = listed.and_then(|at| survey.trails[at].date);
        let declination = north_correction(survey, self.network.frame.as_ref(), date);
        let first = self.network.visits.len();
        let shape = if courses.profile_only { Certainty::Unknown } else { Certainty::Measured };
        let layout = Layout { shape, orientation: shape, place: shape };
        let visits = first..first + rows.len();
        let trail = Trail { name, listed, visits, layout, turn_spread: CARRIED_ON, declination };
        self.network.trails.push(trail);
        for (k, &row) in rows.iter().enumerate() {
            let from = self.start_of_leg(rows, k);
            let node = self.node(row);
            let line = from.and_then(|from| self.leg(row, [from, node], courses.of_row[k]));
            self.network.visits.push(Visit { row, node, from, line });
        }
        self.direct(first, &courses);
        self.release(listed, first);
    }

    /// Lets the courses of a trail's lines, whose first visit is `first`, name lines.
    fn direct(&mut self, first: usize, courses: &Courses) {
        let Network { visits, lines, trails, .. } = &mut self.network;
        let visits = &visits[first..];
        let line_of = |row: usize| visits[row].line;
        for (row, visit) in visits.iter().enumerate() {
            let Some(line) = visit.line else { continue };
            lines[line].course = lines[line].course.of_line(line_of);
            lines[line].turned_from = courses.turned_from(row).and_then(line_of);
        }
        if let Some(trail) = trails.last_mut() {
            let own = visits.iter().filter_map(|visit| visit.line);
            trail.turn_spread = turn_spread(lines, own).unwrap_or(CARRIED_ON);
        }
    }

    fn start_of_leg(&self, rows: &[usize], k: usize) -> Option<usize> {
        let row = &self.survey.anchors[rows[k]];
        match row.from {
            Some(from) => self.find(row.trail, from),
            None if k > 0 => self.network.visits.last().map(|visit| visit.node),
            None => None,
        }
    }

    /// The node called `name` in `trail`: one of its anchors, else a control.
    fn find(&self, trail: Name, name: Name) -> Option<usize> {
        let anchor = self.node_of.get(&(trail, name));
        anchor.or_else(|| self.node_of_control.get(&name)).copied()
    }

    /// The node of an anchor's row, entered if the row names it first.
    fn node(&mut self, row: usize) -> usize {
        let anchor = &self.survey.anchors[row];
        let node = self.known_node(anchor).unwrap_or_else(|| self.new_node(anchor));
        let entered = &mut self.network.nodes[node];
        entered.row.get_or_insert(row);
        if let Some(fix) = &anchor.fix {
            entered.known = entered.known.or(known_fix(self.network.frame.as_ref(), fix));
        }
        if let Some(height) = anchor.height {
            let (height, by) = (height.to_metres(), anchor.height_by);
            let observer = self.observer(self.network.trails.len() - 1, anchor.observer);
            self.network.heights.push(HeightReading { node, row, height, by, observer });
        }
        node
    }

    /// Whether the trail that is being entered has a profile only.
    fn profile_only(&self) -> bool {
        self.network.trails.last().is_some_and(|trail| !trail.layout.has_plan())
    }

    /// The node of a control, or of an anchor named before. A trail without a plan closes no loop:
    /// there each row is a node of its own.
    fn known_node(&mut self, anchor: &AnchorRow) -> Option<usize> {
        if self.profile_only() {
            return None;
        }
        match self.controls.get(&anchor.anchor) {
            Some(&control) => Some(self.control_node(anchor.anchor, control)),
            None => self.node_of.get(&(anchor.trail, anchor.anchor)).copied(),
        }
    }

    /// A new node of the trail; of a control, where the trail has no plan, with its elevation.
    fn new_node(&mut self, anchor: &AnchorRow) -> usize {
        let trail = self.network.trails.len() - 1;
        let node = self.enter(anchor.anchor, Some(trail));
        self.network.nodes[node].known = self.controls.get(&anchor.anchor).copied();
        self.node_of.insert((anchor.trail, anchor.anchor), node);
        node
    }

    fn control_node(&mut self, name: Name, known: Known) -> usize {
        if let Some(&node) = self.node_of_control.get(&name) {
            return node;
        }
        let node = self.enter(name, None);
        self.network.nodes[node].known = Some(known);
        self.node_of_control.insert(name, node);
        node
    }

    fn enter(&mut self, name: Name, trail: Option<usize>) -> usize {
        self.network.nodes.push(Node {
            name,
            trail,
            row: None,
            known: None,
            plan_held: false,
            elevation_held: false,
        });
        self.network.nodes.len() - 1
    }

    /// The release stands at its control, unless its own position was written down.
    fn release(&mut self, listed: Option<usize>, first: usize) {
        let control = listed.and_then(|at| self.survey.trails[at].release);
        let known = control.and_then(|control| self.controls.get(&control)).copied();
        let Some(visit) = self.network.visits.get(first) else { return };
        let node = &mut self.network.nodes[visit.node];
        // Its elevation is that of the ground, which the ground model knows: not a second height.
        let known = known.map(|known| Known { elevation: None, ..known });
        node.known = node.known.or(known.filter(|known| known.in_plan));
    }

    /// The measured line of the leg to `row`; `None` where its far end cannot be placed by it.
    fn leg(&mut self, row: usize, [from, to]: [usize; 2], course: Option<Course>) -> Option<usize> {
        let course = course.filter(|_| from != to)?;
        let anchor = &self.survey.anchors[row];
        let trail = self.network.trails.len() - 1;
        let (readings, observer) = (&anchor.readings, anchor.observer);
        let line = self.line(trail, [from, to], Written::Anchor(row), readings, observer);
        self.network.lines.push(Line { course, ..line });
        Some(self.network.lines.len() - 1)
    }

    fn ties(&mut self) {
        let trail_of: ByName<Name, usize> =
            self.network.trails.iter().enumerate().map(|(at, trail)| (trail.name, at)).collect();
        for (row, tie) in self.survey.ties.iter().enumerate() {
            let Some(&trail) = trail_of.get(&tie.trail) else { continue };
            if !self.network.trails[trail].layout.has_plan() || tie.readings.is_empty() {
                continue; // without a plan, two anchors of a trail cannot be compared
            }
            let ends = [tie.from, tie.to].map(|name| self.end_of_tie(tie.trail, name));
            let [Some(from), Some(to)] = ends else { continue };
            if from != to {
                let line =
                    self.line(trail, [from, to], Written::Tie(row), &tie.readings, tie.observer);
                self.network.lines.push(line);
            }
        }
    }

    fn end_of_tie(&mut self, trail: Name, name: Name) -> Option<usize> {
        self.find(trail, name).or_else(|| {
            let known = *self.controls.get(&name)?;
            Some(self.control_node(name, known))
        })
    }

    /// Who read a row: whom it names, else the observer of the trail.
    fn observer(&self, trail: usize, of_row: Option<Name>) -> Option<Name> {
        let listed = self.network.trails.get(trail).and_then(|trail| trail.listed);
        of_row.or_else(|| self.survey.trails[listed?].observer)
    }

    /// A line with its readings corrected for its observer and for north.
    #[expect(clippy::too_many_arguments, reason = "a line is where, what and by whom")]
    fn line(
        &self,
        trail: usize,
        [from, to]: [usize; 2],
        written: Written,
        readings: &Readings,
        observer: Option<Name>,
    ) -> Line {
        let own = self.network.trails.get(trail);
        let observer = self.observer(trail, observer);
        let Observer { bearing_deg, incline_deg, tape_scale } =
            self.survey.settings.observer(&self.survey.names, observer);
        let north = own.map_or(0.0, |trail| trail.declination.0);
        let needle = north + Turn::from_degrees(bearing_deg).to_radians();
        let clinometer = Turn::from_degrees(incline_deg).to_radians();
        let course =
            match (readings.bearing.is_some() || readings.back_bearing.is_some(), readings.tape) {
                (true, Some(_)) => Course::Needle,
                _ => Course::Open,
            };
        Line {
            from,
            to,
            trail,
            written,
            tape: readings.tape.map(|tape| tape.to_metres() * tape_scale),
            bearing: readings.bearing.map(|read| read.value.to_radians() + needle),
            named_point: readings.bearing.is_some_and(|read| read.named_point),
            back_bearing: readings.back_bearing.map(|back| back.reversed().to_radians() + needle),
            turn: readings.turn.map(Turn::to_radians),
            turned_from: None,
            incline: readings.incline.map(|incline| incline.to_radians() + clinometer),
            rise: readings.rise_m,
            course,
            observer,
        }
    }
}

/// A direction that was carried on for want of a reading is known this well, radians, where a trail
/// has too few turns to tell: 50°, common practice, no source.
const CARRIED_ON: f64 = 50.0 * PI / 180.0;
/// Fewer turns than this tell no spread.
const LEAST_TURNS: usize = 10;

/// Root mean squared turn of a trail with these lines, radians; `None` where there are too few.
fn turn_spread(lines: &[Line], own: impl Iterator<Item = usize>) -> Option<f64> {
    let own: Vec<usize> = own.collect();
    let by_needle = own.windows(2).filter(|pair| lines[pair[0]].to == lines[pair[1]].from);
    let by_needle = by_needle.filter_map(|pair| {
        let [a, b] = [lines[pair[0]].needle()?, lines[pair[1]].needle()?];
        Some(wrap_half_turn(b - a))
    });
    let read = own.iter().filter_map(|&at| lines[at].turned_from.and(lines[at].turn));
    let turns: Vec<f64> = match read.collect::<Vec<f64>>() {
        read if read.len() < LEAST_TURNS => by_needle.collect(),
        read => read,
    };
    let squares: f64 = turns.iter().map(|turn| turn * turn).sum();
    (turns.len() >= LEAST_TURNS).then(|| (squares / turns.len() as f64).sqrt())
}

//! A true path as a crew writes it down, by its protocol.

use super::dice::Dice;
use super::protocol::Protocol;
use super::walk::{Truth, sd_of_tape};
use perchline::maths::earth::frame::{Frame, Position};
use perchline::maths::quantity::{Bearing, Elevation, Latitude, Longitude, Turn};

/// What the instruments do beyond what the settings state, and by what.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Errors {
    /// Every stated standard deviation is multiplied by this: 0 for readings without error.
    pub(crate) noise: f64,
    /// Every tape reads this share of the length more: 0.01 for 1 %.
    pub(crate) tape_long: f64,
    /// Every height reads this share of it more.
    pub(crate) heights_high: f64,
    /// Standard deviation of a bearing, degrees, whatever is stated.
    pub(crate) bearing_deg: f64,
    /// Correlation of the errors of heights from anchor to anchor.
    pub(crate) heights_together: f64,
    /// Share of the positions that are off by ten times what is stated.
    pub(crate) outliers: f64,
}

impl Errors {
    /// As the default settings state.
    pub(crate) const STATED: Self = Self {
        noise: 1.0,
        tape_long: 0.0,
        heights_high: 0.0,
        bearing_deg: 2.0,
        heights_together: 0.0,
        outliers: 0.0,
    };
}

/// Standard deviation of a turn, degrees, and of an anchor found again, metres: the defaults.
const TURN_DEG: f64 = 3.0;
const ANCHOR_M: f64 = 0.03;
/// Stated accuracy of a position on each axis, metres.
const ACCURACY_M: f64 = 3.0;
/// Standard deviation of a height by eye, at the ground and for each metre: a crew's own statement.
const EYE: [f64; 2] = [0.3, 0.1];
/// An invented wood.
const PLACE: [f64; 2] = [48.1, 11.2];

/// The settings that a study goes with: the defaults, but true bearings, no escape run, and what a
/// crew that judges by eye says of its eye.
pub(crate) fn settings(protocol: Protocol) -> String {
    let mut text = String::from("[bearings]\nnorth = \"true\"\n[escape]\nrule = \"none\"\n");
    if protocol == Protocol::ByEye {
        let [at_ground, per_m] = EYE;
        text += "[precision.height_by.eye]\n";
        text += &format!("height_m = {at_ground}\nheight_per_m = {per_m}\n");
    }
    text
}

const HEADINGS: [&str; 14] = [
    "trail",
    "anchor",
    "tape_m",
    "bearing_deg",
    "bearing_point",
    "turn_deg",
    "height_m",
    "height_by",
    "latitude",
    "longitude",
    "accuracy_m",
    "support",
    "leg_support",
    "seen",
];

/// One row of the field table, by heading.
#[derive(Default)]
struct Row {
    trail: String,
    anchor: String,
    tape: String,
    bearing: String,
    point: String,
    turn: String,
    height: String,
    by: &'static str,
    latitude: String,
    longitude: String,
    accuracy: String,
    support: &'static str,
    leg_support: &'static str,
    seen: &'static str,
}

impl Row {
    fn cells(&self) -> [&str; HEADINGS.len()] {
        [
            &self.trail,
            &self.anchor,
            &self.tape,
            &self.bearing,
            &self.point,
            &self.turn,
            &self.height,
            self.by,
            &self.latitude,
            &self.longitude,
            &self.accuracy,
            self.support,
            self.leg_support,
            self.seen,
        ]
    }
}

/// The field table of a study; a column that nobody filled in is not there.
pub(crate) fn written(
    protocol: Protocol,
    errors: &Errors,
    truths: &[Truth],
    dice: &mut Dice,
) -> String {
    let mut rows = Vec::new();
    for (trail, truth) in truths.iter().enumerate() {
        Crew { protocol, errors, truth, trail, dice }.walk(&mut rows);
    }
    let used = |at: &usize| rows.iter().any(|row| !row.cells()[*at].is_empty());
    let columns: Vec<usize> = (0..HEADINGS.len()).filter(used).collect();
    let line = |cells: &[&str]| {
        let cells: Vec<&str> = columns.iter().map(|&at| cells[at]).collect();
        cells.join(",") + "\n"
    };
    std::iter::once(line(&HEADINGS)).chain(rows.iter().map(|row| line(&row.cells()))).collect()
}

/// A crew on its way along one trail.
struct Crew<'a> {
    protocol: Protocol,
    errors: &'a Errors,
    truth: &'a Truth,
    trail: usize,
    dice: &'a mut Dice,
}

impl Crew<'_> {
    fn walk(&mut self, rows: &mut Vec<Row>) {
        let unread = self.unread();
        let bearing_at = self.leg_with_bearing();
        let mut off = 0.0;
        for anchor in 0..self.truth.places.len() {
            let mut row = Row {
                trail: format!("T{}", self.trail),
                anchor: anchor.to_string(),
                ..Row::default()
            };
            off = self.height(anchor, off, &mut row);
            if anchor > 0 {
                row.tape = self.tape(anchor);
            }
            let with_bearing = !self.protocol.turns() || bearing_at == Some(anchor);
            if anchor > 0 && !self.truth.plumb[anchor] && self.protocol != Protocol::Vertical {
                if with_bearing && !unread.contains(&anchor) {
                    self.bearing(anchor, &mut row);
                }
                if self.protocol.turns() {
                    row.turn = self.turn(anchor);
                }
            }
            self.position(anchor, &mut row);
            self.supports_and_sightings(anchor, &mut row);
            rows.push(row);
        }
    }

    /// The legs that have a direction in plan, by the anchor they lead to.
    fn directed(&self) -> Vec<usize> {
        (1..self.truth.places.len()).filter(|&anchor| !self.truth.plumb[anchor]).collect()
    }

    /// Those whose needle could not be read: one, or two in every other pair of longer trails.
    fn unread(&mut self) -> Vec<usize> {
        if self.protocol != Protocol::OneBlank {
            return Vec::new();
        }
        let mut directed = self.directed();
        let two = self.truth.places.len() > 10 && self.trail / 2 % 2 == 1;
        let mut unread = Vec::new();
        while unread.len() < 1 + usize::from(two) && !directed.is_empty() {
            unread.push(directed.remove(self.below(directed.len())));
        }
        unread
    }

    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "below count")]
    fn below(&mut self, count: usize) -> usize {
        ((self.dice.even() * count as f64) as usize).min(count - 1)
    }

    /// The leg whose needle is read although the crew goes by turns.
    fn leg_with_bearing(&self) -> Option<usize> {
        let directed = self.directed();
        match self.protocol {
            Protocol::TurnsFirstBearing => directed.first().copied(),
            Protocol::TurnsOtherBearing => directed.get(directed.len() / 2).copied(),
            _ => None,
        }
    }

    fn error(&mut self, sd: f64) -> f64 {
        self.dice.normal(sd * self.errors.noise)
    }

    /// Writes a height down; `off` is the error of the one before in its own standard deviations.
    fn height(&mut self, anchor: usize, off: f64, row: &mut Row) -> f64 {
        let height = self.truth.heights[anchor];
        let by_eye = self.protocol == Protocol::ByEye;
        let [at_ground, per_m] = if by_eye { EYE } else { [0.05, 0.02] };
        let shared = if anchor == 0 { 0.0 } else { self.errors.heights_together };
        let off = shared * off + self.dice.normal((1.0 - shared * shared).sqrt());
        let sd = at_ground.hypot(per_m * height) * self.errors.noise;
        let read = height * (1.0 + self.errors.heights_high) + off * sd;
        row.height = format!("{read:.6}");
        row.by = if by_eye { "eye" } else { "" };
        off
    }

    fn tape(&mut self, anchor: usize) -> String {
        let [e, n, u] = self.truth.along(anchor);
        let length = e.hypot(n).hypot(u);
        let noise = self.errors.noise > 0.0;
        if let Some(step) = self.truth.step.filter(|_| noise) {
            return step.to_string();
        }
        let read = length * (1.0 + self.errors.tape_long) + self.error(sd_of_tape(length));
        format!("{:.6}", read.max(0.01))
    }

    /// The error of a direction whose sighting is good to so many degrees: at the far end, an
    /// anchor that is found again sideways counts too.
    fn aside(&mut self, degrees: f64, run: f64) -> f64 {
        let sighting = Turn::from_degrees(degrees).to_radians();
        self.error(sighting.hypot(ANCHOR_M / run))
    }

    fn bearing(&mut self, anchor: usize, row: &mut Row) {
        let [e, n, _] = self.truth.along(anchor);
        let by_eye = self.protocol == Protocol::ByEye;
        // The nearest of 16 names is off by up to half a sector: 6.5° all told.
        let sighting = if by_eye { 0.0 } else { self.errors.bearing_deg };
        let bearing = Bearing::from_radians(e.atan2(n) + self.aside(sighting, e.hypot(n)));
        if by_eye {
            bearing.to_point().clone_into(&mut row.point);
        } else {
            row.bearing = format!("{:.6}", bearing.to_degrees());
        }
    }

    /// The turn from the last leg that has a direction; of the first, blank or 0.
    fn turn(&mut self, anchor: usize) -> String {
        let [e, n, _] = self.truth.along(anchor);
        let aside = self.aside(TURN_DEG, e.hypot(n));
        let before = (1..anchor).rfind(|&before| !self.truth.plumb[before]);
        let Some(before) = before else {
            let typed = if self.trail.is_multiple_of(3) { "0" } else { "" };
            return typed.to_owned();
        };
        let [e0, n0, _] = self.truth.along(before);
        let from = Bearing::from_radians(e0.atan2(n0));
        let turn = Bearing::from_radians(e.atan2(n) + aside).turn_from(from);
        format!("{:.6}", turn.to_degrees())
    }

    fn position(&mut self, anchor: usize, row: &mut Row) {
        let end = anchor + 1 == self.truth.places.len();
        let taken = match self.protocol {
            Protocol::Turns => anchor == 0 && self.trail.is_multiple_of(2),
            Protocol::TurnsEnds => anchor == 0 || end,
            Protocol::TurnsPositions => true,
            _ => false,
        };
        if !taken {
            return;
        }
        let astray = self.dice.even() < self.errors.outliers;
        let sd = if astray { 10.0 * ACCURACY_M } else { ACCURACY_M };
        let [east, north, _] = self.truth.places[anchor];
        let at = [east + self.error(sd), north + self.error(sd), 0.0];
        if let Some(position) = origin().and_then(|origin| Frame::at(origin).geodetic(at)) {
            row.latitude = format!("{:.9}", position.latitude.to_degrees());
            row.longitude = format!("{:.9}", position.longitude.to_degrees());
            row.accuracy = ACCURACY_M.to_string();
        }
    }

    fn supports_and_sightings(&self, anchor: usize, row: &mut Row) {
        let count = self.truth.places.len();
        row.support = self.truth.support(anchor);
        if self.protocol == Protocol::SupportByLeg && anchor > 0 {
            let trunk = self.truth.plumb[anchor];
            row.leg_support = if trunk { "trunk" } else { self.truth.support(anchor - 1) };
        }
        let found = [count / 3, 2 * count / 3].contains(&anchor);
        row.seen = if self.protocol == Protocol::SeveralNights && found { "yes" } else { "" };
    }
}

fn origin() -> Option<Position> {
    let [north, east] = PLACE;
    let (latitude, longitude) = Latitude::from_degrees(north).zip(Longitude::from_degrees(east))?;
    Some(Position { latitude, longitude, elevation: Elevation::from_metres(0.0) })
}

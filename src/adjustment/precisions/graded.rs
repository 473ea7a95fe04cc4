//! Which precision a reading stands for, and what its residual adds.

use super::super::observation::Kind;
use super::super::outcome::Residual;
use crate::adjustment::network::{Course, Network};
use crate::maths::quantity::Turn;
use crate::survey::names::Name;
use crate::survey::settings::Precision;

/// A kind of reading whose precision the settings state.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Graded {
    /// Tapes: `tape_m` and `tape_per_m`.
    Tape,
    /// Needles, forward and back: `bearing_deg`.
    Bearing,
    /// Points of the compass: `bearing_point_deg`.
    BearingPoint,
    /// Turns: `turn_deg`.
    Turn,
    /// Clinometers: `incline_deg`.
    Incline,
    /// Heights above ground: `height_m`, `height_per_m` and those by method.
    Height,
    /// Roughness of the ground that heights stand on: `ground_m`.
    Ground,
    /// Both together, where the readings do not tell them apart.
    HeightOnGround,
    /// Rises of ties: `rise_m`.
    Rise,
    /// Plumb legs: `plumb_m`.
    Plumb,
    /// Positions without a stated accuracy of their own: `control_m`.
    Control,
}

impl Graded {
    /// All of them.
    pub const ALL: [Self; 11] = [
        Self::Tape,
        Self::Bearing,
        Self::BearingPoint,
        Self::Turn,
        Self::Incline,
        Self::Height,
        Self::Ground,
        Self::HeightOnGround,
        Self::Rise,
        Self::Plumb,
        Self::Control,
    ];

    /// Its place in [`Graded::ALL`].
    pub const fn at(self) -> usize {
        self as usize
    }

    /// Its name in `precisions.csv`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tape => "tape",
            Self::Bearing => "bearing",
            Self::BearingPoint => "bearing_point",
            Self::Turn => "turn",
            Self::Incline => "incline",
            Self::Height => "height",
            Self::Ground => "ground",
            Self::HeightOnGround => "height_and_ground",
            Self::Rise => "rise",
            Self::Plumb => "plumb",
            Self::Control => "position",
        }
    }

    /// Whether it is stated in degrees, else in metres.
    pub const fn is_angle(self) -> bool {
        matches!(self, Self::Bearing | Self::BearingPoint | Self::Turn | Self::Incline)
    }

    /// The precisions that make the variance of a reading of this kind, each by its share; the rest
    /// of that of a bearing or turn is how well anchors are found again. `merged` takes heights and
    /// ground as one.
    pub(super) fn shares(
        self,
        precision: &Precision,
        residual: &Residual,
        merged: bool,
    ) -> impl Iterator<Item = (Self, f64)> {
        let share = |sd: f64| (sd / residual.sd).powi(2).min(1.0);
        let of_angle = |degrees: f64| share(Turn::from_degrees(degrees).to_radians());
        let (first, second) = match self {
            Self::Bearing => ((self, of_angle(precision.bearing_deg)), None),
            Self::BearingPoint => ((self, of_angle(precision.bearing_point_deg)), None),
            Self::Turn => ((self, of_angle(precision.turn_deg)), None),
            Self::Height if merged => ((Self::HeightOnGround, 1.0), None),
            Self::Height => {
                let ground = share(precision.ground_m);
                // What lies on the ground was not measured.
                let own = if residual.observed == 0.0 { 0.0 } else { 1.0 - ground };
                ((self, own), Some((Self::Ground, ground)))
            }
            _ => ((self, 1.0), None),
        };
        std::iter::once(first).chain(second).filter(|(_, share)| *share > 0.0)
    }

    /// The kind that slips of its readings are listed by; `None` for the ground, which nobody reads.
    pub(super) fn read_as(self) -> Option<Self> {
        match self {
            Self::Ground => None,
            Self::HeightOnGround => Some(Self::Height),
            other => Some(other),
        }
    }
}

/// Which readings stand for which precision.
pub(super) struct Grading<'a> {
    network: &'a Network,
    /// For each node whether a trunk stands there.
    trunk: Vec<bool>,
}

impl<'a> Grading<'a> {
    /// Trunks are where a leg stands plumb, or so steep that the adjustment took its run for a guess.
    pub(super) fn of(network: &'a Network, residuals: &[Residual]) -> Self {
        let mut trunk = vec![false; network.nodes.len()];
        let plumb = network.lines.iter().filter(|line| line.course == Course::Plumb);
        let steep = residuals.iter().filter(|residual| residual.kind == Kind::Steep);
        let steep = steep.filter_map(|residual| Some(&network.lines[residual.line?]));
        for line in plumb.chain(steep) {
            (trunk[line.from], trunk[line.to]) = (true, true);
        }
        Self { network, trunk }
    }

    /// The precision of a reading; `None` where the settings state none for it. A height along a trunk
    /// stands on the same ground as the next, whose roughness it does not show.
    pub(super) fn grade(&self, residual: &Residual) -> Option<Graded> {
        if residual.assumed {
            return None;
        }
        let line = residual.line.map(|line| &self.network.lines[line]);
        let known = residual.node.and_then(|node| self.network.nodes[node].known);
        match residual.kind {
            Kind::Tape => Some(Graded::Tape),
            Kind::Bearing if line?.named_point => Some(Graded::BearingPoint),
            Kind::Bearing | Kind::BackBearing => Some(Graded::Bearing),
            Kind::Turn => Some(Graded::Turn),
            Kind::Incline => Some(Graded::Incline),
            Kind::Height => (!self.trunk[residual.node?]).then_some(Graded::Height),
            Kind::Rise => line?.rise.map(|_| Graded::Rise),
            Kind::Plumb { .. } => (line?.course == Course::Plumb).then_some(Graded::Plumb),
            Kind::ControlEast | Kind::ControlNorth => {
                known?.sd.is_none().then_some(Graded::Control)
            }
            Kind::ControlElevation => {
                known?.elevation.is_some_and(|(_, sd)| sd.is_none()).then_some(Graded::Control)
            }
            Kind::Steep => None,
        }
    }
}

/// How many precisions there are.
pub(super) const KINDS: usize = Graded::ALL.len();

/// Who took a reading, where that was recorded.
pub(in super::super) fn observer_of(network: &Network, residual: &Residual) -> Option<Name> {
    let line = residual.line.and_then(|line| network.lines[line].observer);
    let at = |node: usize| {
        let mut by = network.heights_at(node).iter().map(|read| read.observer);
        let first = by.next()?;
        first.filter(|_| by.all(|other| other == first))
    };
    line.or_else(|| residual.node.filter(|_| residual.kind == Kind::Height).and_then(at))
}

/// What the residuals of some readings come to, each weighed by the share w of its variance.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(in super::super) struct Scatter {
    pub(in super::super) readings: usize,
    /// Σ w v²/σ².
    pub(in super::super) squares: f64,
    /// Σ w r.
    pub(in super::super) redundancy: f64,
    /// Σ w² r.
    pub(in super::super) information: f64,
}

/// A step changes a variance by no more than this, either way.
const LONGEST: f64 = 4.0;
/// The ratio's step falls short by the part of F that lies off its diagonal, so that any length below
/// twice it closes in.
const FARTHER: f64 = 1.5;

impl Scatter {
    /// Takes a reading in, of whose variance a precision makes this share.
    pub(super) fn add(&mut self, residual: &Residual, share: f64) {
        self.readings += 1;
        self.squares += share * (residual.residual / residual.sd).powi(2);
        self.redundancy += share * residual.redundancy;
        self.information += share * share * residual.redundancy;
    }

    /// What the variance would be multiplied by, were all other kinds as they should be.
    ///
    /// ```text
    /// Σ w v²/σ² / Σ w r
    /// ```
    pub(super) fn ratio(&self) -> f64 {
        if self.redundancy > 0.0 { self.squares / self.redundancy } else { 1.0 }
    }

    /// What the standard deviation is multiplied by in one step, which goes half as far again: kinds
    /// that check each other take up only part of what is amiss at a time.
    pub(super) fn step(&self) -> f64 {
        self.ratio().clamp(LONGEST.recip(), LONGEST).powf(0.5 * FARTHER)
    }
}

/// The precisions with each kind's multiplied by its factor.
pub(super) fn scaled(stated: &Precision, factors: &[f64; KINDS]) -> Precision {
    let mut precision = stated.clone();
    let of = |graded: Graded| factors[graded.at()];
    precision.tape_m *= of(Graded::Tape);
    precision.tape_per_m *= of(Graded::Tape);
    precision.bearing_deg *= of(Graded::Bearing);
    precision.bearing_point_deg *= of(Graded::BearingPoint);
    precision.turn_deg *= of(Graded::Turn);
    precision.incline_deg *= of(Graded::Incline);
    precision.rise_m *= of(Graded::Rise);
    precision.plumb_m *= of(Graded::Plumb);
    precision.control_m *= of(Graded::Control);
    let height = of(Graded::Height) * of(Graded::HeightOnGround);
    precision.height_m *= height;
    precision.height_per_m *= height;
    precision.ground_m *= of(Graded::Ground) * of(Graded::HeightOnGround);
    for own in precision.height_by.values_mut() {
        own.height_m = own.height_m.map(|sd| sd * height);
        own.height_per_m = own.height_per_m.map(|sd| sd * height);
    }
    precision
}

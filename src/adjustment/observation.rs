//! One reading: its residual and derivative, as the solver sees them.

use crate::maths::quantity::wrap_half_turn;
use nalgebra::Vector3;

/// What was read; the names are those of `residuals.csv`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Slope distance.
    Tape,
    /// Needle, forward.
    Bearing,
    /// Needle, back.
    BackBearing,
    /// Turn from the line before.
    Turn,
    /// Clinometer.
    Incline,
    /// Rise of a tie.
    Rise,
    /// Height above ground, combined with the ground it stands on.
    Height,
    /// Offset of a plumb leg, east (`true`) or north.
    Plumb {
        /// Whether it is the offset to the east.
        east: bool,
    },
    /// Horizontal length of a leg so steep that tape and heights leave it free.
    Steep,
    /// Position of a control, east.
    ControlEast,
    /// Position of a control, north.
    ControlNorth,
    /// Elevation of a control.
    ControlElevation,
}

impl Kind {
    /// The name in `residuals.csv`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Tape => "tape",
            Self::Bearing => "bearing",
            Self::BackBearing => "back_bearing",
            Self::Turn => "turn",
            Self::Incline => "incline",
            Self::Rise => "rise",
            Self::Height => "height",
            Self::Plumb { .. } => "plumb",
            Self::Steep => "steep",
            Self::ControlEast => "control_east",
            Self::ControlNorth => "control_north",
            Self::ControlElevation => "control_elevation",
        }
    }

    /// The word for a reader.
    pub const fn words(self) -> &'static str {
        match self {
            Self::BackBearing => "back bearing",
            Self::ControlEast | Self::ControlNorth => "position",
            Self::ControlElevation => "elevation",
            Self::Plumb { .. } => "offset of a plumb leg",
            _ => self.name(),
        }
    }

    /// Whether readings of this kind are angles.
    pub const fn is_angle(self) -> bool {
        matches!(self, Self::Bearing | Self::BackBearing | Self::Turn | Self::Incline)
    }
}

/// A reading along a line, as a function of the vector `v` from its start to its end.
#[derive(Clone, Copy, Debug, PartialEq)]
#[expect(clippy::struct_excessive_bools, reason = "each is a separate fact of the reading")]
pub struct Observation {
    /// What was read.
    pub kind: Kind,
    /// The reading: metres, or radians.
    pub value: f64,
    /// One standard deviation of the residual, metres (radians for an incline).
    pub sd: f64,
    /// For a bearing or turn, the raw horizontal length that turns radians into metres.
    pub scale: f64,
    /// East and north of the unit vector in the direction read; of a steep leg, in its bearing.
    pub toward: [f64; 2],
    /// For a bearing, whether the leg is so steep that its direction is no firm ground for a
    /// derivative: the bearing then enters as the sideways offset, equal to the first order.
    pub sideways: bool,
    /// Whether its derivative is that of the line as it was read: where the adjustment has left a
    /// line no run, its bearing has none.
    pub as_read: bool,
    /// Whether the survey said so, or the model assumed it to have a firm minimum.
    pub assumed: bool,
    /// Whether it is no reading but a mean about which the truth scatters: the offset of a plumb leg.
    pub stated: bool,
}

impl Observation {
    /// A reading of this `kind`, with its standard deviation; neither scaled nor assumed.
    pub fn new(kind: Kind, value: f64, sd: f64) -> Self {
        let toward = match kind {
            Kind::Bearing | Kind::BackBearing => unit_toward(value),
            _ => [0.0, 1.0],
        };
        Self {
            kind,
            value,
            sd,
            scale: 1.0,
            toward,
            sideways: false,
            as_read: false,
            assumed: false,
            stated: false,
        }
    }

    /// The same, with the raw horizontal length that turns radians into metres.
    #[must_use]
    pub const fn scaled(self, scale: f64) -> Self {
        Self { scale, ..self }
    }

    /// The same, taken in the direction `azimuth`, radians from north.
    #[must_use]
    pub fn toward(self, azimuth: f64) -> Self {
        Self { toward: unit_toward(azimuth), ..self }
    }

    /// The same, which the model assumes.
    #[must_use]
    pub const fn assumed(self) -> Self {
        Self { assumed: true, ..self }
    }

    /// The same, where it is stated, not read.
    #[must_use]
    pub const fn stated(self) -> Self {
        Self { stated: true, ..self }
    }

    /// Whether it enters as an angle in plan.
    pub fn is_direction(&self) -> bool {
        !self.sideways && matches!(self.kind, Kind::Bearing | Kind::BackBearing)
    }

    /// What the reading would be, were it taken along `v`.
    pub fn predict(&self, v: Vector3<f64>) -> f64 {
        match self.kind {
            Kind::Tape => v.norm(),
            Kind::Bearing | Kind::BackBearing | Kind::Turn => v.x.atan2(v.y),
            Kind::Incline => v.z.atan2(v.x.hypot(v.y)),
            Kind::Plumb { east: true } | Kind::ControlEast => v.x,
            Kind::Plumb { east: false } | Kind::ControlNorth => v.y,
            Kind::Steep => self.along(v),
            Kind::Rise | Kind::Height | Kind::ControlElevation => v.z,
        }
    }

    /// Predicted minus read: metres, radians for an incline. A bearing's difference is wrapped
    /// and multiplied by the horizontal length, so that a needle read at the wrong end is seen.
    #[inline]
    pub fn residual(&self, v: Vector3<f64>) -> f64 {
        match self.kind {
            Kind::Bearing | Kind::BackBearing if self.sideways => self.across(v),
            Kind::Bearing | Kind::BackBearing => self.scale * self.across(v).atan2(self.along(v)),
            Kind::Turn => self.scale * wrap_half_turn(self.predict(v) - self.value),
            _ => self.predict(v) - self.value,
        }
    }

    /// How far `v` goes in the direction read, metres.
    fn along(&self, v: Vector3<f64>) -> f64 {
        v.x * self.toward[0] + v.y * self.toward[1]
    }

    /// How far `v` goes to the right of the direction read, metres.
    fn across(&self, v: Vector3<f64>) -> f64 {
        v.x * self.toward[1] - v.y * self.toward[0]
    }

    /// Derivative of the residual with respect to `v`.
    #[inline]
    pub fn gradient(&self, v: Vector3<f64>) -> Vector3<f64> {
        let [east, north] = self.toward;
        if self.sideways || self.as_read {
            return Vector3::new(north, -east, 0.0);
        }
        let run2 = (v.x * v.x + v.y * v.y).max(NO_RUN);
        match self.kind {
            Kind::Tape => v / v.norm().max(NO_RUN),
            Kind::Bearing | Kind::BackBearing | Kind::Turn => {
                Vector3::new(v.y, -v.x, 0.0) * (self.scale / run2)
            }
            Kind::Incline => {
                let run = run2.sqrt();
                Vector3::new(-v.z * v.x / run, -v.z * v.y / run, run) / (run2 + v.z * v.z)
            }
            Kind::Plumb { east: true } | Kind::ControlEast => Vector3::x(),
            Kind::Plumb { east: false } | Kind::ControlNorth => Vector3::y(),
            Kind::Steep => Vector3::new(east, north, 0.0),
            Kind::Rise | Kind::Height | Kind::ControlElevation => Vector3::z(),
        }
    }
}

/// East and north of the unit vector in a direction, radians from north.
fn unit_toward(azimuth: f64) -> [f64; 2] {
    azimuth.sin_cos().into()
}

/// Under a tenth of a millimetre of run (squared, m²) a line has no direction to differentiate.
const NO_RUN: f64 = 1e-8;

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn any_kind() -> impl Strategy<Value = Kind> {
        prop::sample::select(vec![
            Kind::Tape,
            Kind::Bearing,
            Kind::BackBearing,
            Kind::Turn,
            Kind::Incline,
            Kind::Rise,
            Kind::Height,
            Kind::Plumb { east: true },
            Kind::Plumb { east: false },
            Kind::Steep,
            Kind::ControlEast,
            Kind::ControlNorth,
            Kind::ControlElevation,
        ])
    }

    proptest! {
        #[test]
        fn derivatives_agree_with_differences(
            kind in any_kind(),
            e in 0.2..9.0_f64,
            n in -9.0..9.0_f64,
            u in -9.0..9.0_f64,
            off in -1.0..1.0_f64,
            sideways: bool,
            k in 0..3usize,
        ) {
            let v = Vector3::new(e, n, u);
            let sideways = sideways && matches!(kind, Kind::Bearing | Kind::BackBearing);
            let toward = unit_toward(1.3);
            let bare =
                Observation { scale: 1.3, toward, sideways, ..Observation::new(kind, 0.0, 1.0) };
            let value = bare.predict(v) + off;
            let toward = if sideways || kind == Kind::Steep { toward } else { unit_toward(value) };
            let o = Observation { value, toward, ..bare };
            let mut nudge = Vector3::zeros();
            nudge[k] = 1e-6;
            let slope = (o.residual(v + nudge) - o.residual(v - nudge)) / 2e-6;
            prop_assert!((o.gradient(v)[k] - slope).abs() < 1e-5 * (1.0 + slope.abs()));
        }
    }
}

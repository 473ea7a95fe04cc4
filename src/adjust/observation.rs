//! One reading: its residual and derivative, as the solver sees them.

use crate::quantity::wrap_half_turn;
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

    /// Whether readings of this kind are angles.
    pub const fn is_angle(self) -> bool {
        matches!(self, Self::Bearing | Self::BackBearing | Self::Turn | Self::Incline)
    }
}

/// A reading along a line, as a function of the vector `v` from its start to its end.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Observation {
    /// What was read.
    pub kind: Kind,
    /// The reading: metres, or radians.
    pub value: f64,
    /// One standard deviation of the residual, metres (radians for an incline).
    pub sd: f64,
    /// For a bearing or turn, the raw horizontal length that turns radians into metres; for a
    /// steep leg, its bearing.
    pub scale: f64,
    /// For a bearing, whether the leg is so steep that its direction is no firm ground for a
    /// derivative: the bearing then enters as the sideways offset, equal to the first order.
    pub sideways: bool,
    /// Whether the survey said so, or the model assumed it to have a firm minimum.
    pub assumed: bool,
}

impl Observation {
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
            Kind::Steep => v.x * self.scale.sin() + v.y * self.scale.cos(),
            Kind::Rise | Kind::Height | Kind::ControlElevation => v.z,
        }
    }

    /// Predicted minus read: metres, radians for an incline. A bearing's difference is wrapped
    /// and multiplied by the horizontal length, so that a needle read at the wrong end is seen.
    pub fn residual(&self, v: Vector3<f64>) -> f64 {
        if self.sideways {
            let (sin, cos) = self.value.sin_cos();
            return v.x * cos - v.y * sin;
        }
        let difference = self.predict(v) - self.value;
        match self.kind {
            Kind::Bearing | Kind::BackBearing | Kind::Turn => {
                self.scale * wrap_half_turn(difference)
            }
            _ => difference,
        }
    }

    /// Derivative of the residual with respect to `v`.
    pub fn gradient(&self, v: Vector3<f64>) -> Vector3<f64> {
        if self.sideways {
            let (sin, cos) = self.value.sin_cos();
            return Vector3::new(cos, -sin, 0.0);
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
            Kind::Steep => Vector3::new(self.scale.sin(), self.scale.cos(), 0.0),
            Kind::Rise | Kind::Height | Kind::ControlElevation => Vector3::z(),
        }
    }
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
            let bare = Observation {
                kind,
                value: 0.0,
                sd: 1.0,
                scale: 1.3,
                sideways,
                assumed: false,
            };
            let o = Observation { value: bare.predict(v) + off, ..bare };
            let mut nudge = Vector3::zeros();
            nudge[k] = 1e-6;
            let slope = (o.residual(v + nudge) - o.residual(v - nudge)) / 2e-6;
            prop_assert!((o.gradient(v)[k] - slope).abs() < 1e-5 * (1.0 + slope.abs()));
        }
    }
}

//! The protocols by which crews measure, and what each can carry.

use perchline::measures::metrics::{METRICS, Metric, Needs};

/// What a crew writes at an anchor.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Protocol {
    /// Tape, bearing, height.
    Bearings,
    /// Tape, turning angle, height; the position of the release of every other trail.
    Turns,
    /// Turning angles, and a bearing on the first leg that has a direction.
    TurnsFirstBearing,
    /// Turning angles, and a bearing on a leg half way along.
    TurnsOtherBearing,
    /// Turning angles, and a position at every anchor.
    TurnsPositions,
    /// Turning angles, and a position at either end.
    TurnsEnds,
    /// Tape and height; no direction at all.
    Vertical,
    /// Tape, one of 16 points of the compass, height by eye.
    ByEye,
    /// Bearings, of which one or two could not be read.
    OneBlank,
    /// A turn every metre, or every two.
    EvenSteps,
    /// Bearings; the animal was found on the way, twice.
    SeveralNights,
    /// Bearings, and what each leg lies on.
    SupportByLeg,
    /// Bearings, and what each anchor is on.
    SupportByAnchor,
}

impl Protocol {
    pub(crate) const ALL: [Self; 13] = [
        Self::Bearings,
        Self::Turns,
        Self::TurnsFirstBearing,
        Self::TurnsOtherBearing,
        Self::TurnsPositions,
        Self::TurnsEnds,
        Self::Vertical,
        Self::ByEye,
        Self::OneBlank,
        Self::EvenSteps,
        Self::SeveralNights,
        Self::SupportByLeg,
        Self::SupportByAnchor,
    ];

    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::Bearings => "bearings",
            Self::Turns => "turns",
            Self::TurnsFirstBearing => "turns, one bearing (first leg)",
            Self::TurnsOtherBearing => "turns, one bearing (half way)",
            Self::TurnsPositions => "turns, positions (every anchor)",
            Self::TurnsEnds => "turns, positions (both ends)",
            Self::Vertical => "vertical",
            Self::ByEye => "by eye",
            Self::OneBlank => "one blank",
            Self::EvenSteps => "even steps",
            Self::SeveralNights => "several nights",
            Self::SupportByLeg => "support by leg",
            Self::SupportByAnchor => "support by anchor",
        }
    }

    /// Whether turning angles are written.
    pub(crate) const fn turns(self) -> bool {
        use Protocol::{EvenSteps, Turns};
        use Protocol::{TurnsEnds, TurnsFirstBearing, TurnsOtherBearing, TurnsPositions};
        matches!(
            self,
            Turns | TurnsFirstBearing | TurnsOtherBearing | TurnsPositions | TurnsEnds | EvenSteps
        )
    }

    /// The even step of a trail, metres: one, or two in every other pair of trails.
    pub(crate) const fn step(self, trail: usize) -> Option<f64> {
        match self {
            Self::EvenSteps if (trail / 2).is_multiple_of(2) => Some(1.0),
            Self::EvenSteps => Some(2.0),
            _ => None,
        }
    }

    /// Whether a metric can be known by this protocol.
    pub(crate) fn carries(self, metric: Metric) -> bool {
        match METRICS[metric.at()].needs {
            Needs::Nothing => true,
            _ if self == Self::Vertical => false,
            Needs::Direction => !matches!(self, Self::Turns | Self::EvenSteps),
            _ => true,
        }
    }
}

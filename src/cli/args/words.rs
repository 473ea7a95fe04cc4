//! Words of the library that may be typed, with what help says of each.

use crate::adjustment::Method;
use crate::adjustment::slip::Slip;
use crate::planning::truth::Habit;
use crate::products::figure::Width;
use crate::products::sheet::Paper;
use clap::ValueEnum;
use clap::builder::PossibleValue;

/// How positions are found.
impl ValueEnum for Method {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let help = match self {
            Self::LeastSquares => "Weighted least squares",
            Self::Robust => {
                "Least squares by Huber's weights (k = 1.345): readings far off count less"
            }
            Self::CompassRule => {
                "The hand rule: each misclosure spread by taped length; no standard errors, no \
                 intervals"
            }
            Self::None => "The raw traverse, unadjusted: no standard errors, no intervals",
        };
        Some(PossibleValue::new(self.name()).help(help))
    }
}

/// What may have happened to a reading.
impl ValueEnum for Slip {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let help = match self {
            Self::ReversedNeedle => "The needle was read at its wrong end",
            Self::DigitSlipTens => "One digit of a bearing is off",
            Self::DecimalSlip => "The decimal mark of a tape stands one place off",
            Self::FeetForMetres => "A tape was read in feet",
            Self::CentimetresForMetres => "A tape was written in centimetres",
            Self::SwappedDigits => "Two digits of a bearing changed places",
            Self::WrongSign => "The sign of an incline was lost (needs --clinometer)",
            Self::WrongFrom => "A leg starts at another anchor than written",
        };
        Some(PossibleValue::new(self.name()).help(help))
    }
}

/// How made-up animals move.
impl ValueEnum for Habit {
    fn value_variants<'a>() -> &'a [Self] {
        &[Self::Walker, Self::Climber, Self::Mixed]
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let (name, help) = match self {
            Self::Walker => ("walker", "On the ground, over logs and low shrubs"),
            Self::Climber => ("climber", "Mostly up and down trunks and out on branches"),
            Self::Mixed => ("mixed", "From tree to tree, climbing some"),
        };
        Some(PossibleValue::new(name).help(help))
    }
}

/// The widths of a journal.
impl ValueEnum for Width {
    fn value_variants<'a>() -> &'a [Self] {
        &Self::ALL
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let (name, help) = match self {
            Self::Narrow => ("85", "One column"),
            Self::Middle => ("120", "One column and a half"),
            Self::Wide => ("174", "The page"),
        };
        Some(PossibleValue::new(name).help(help))
    }
}

/// The paper of the field sheet.
impl ValueEnum for Paper {
    fn value_variants<'a>() -> &'a [Self] {
        &[Self::A4, Self::Letter]
    }

    fn to_possible_value(&self) -> Option<PossibleValue> {
        let (name, help) = match self {
            Self::A4 => ("a4", "210 × 297 mm"),
            Self::Letter => ("letter", "8.5 × 11 inches"),
        };
        Some(PossibleValue::new(name).help(help))
    }
}

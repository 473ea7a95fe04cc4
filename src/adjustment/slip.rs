//! The slips that are tried, by name, and how likely they are.

use crate::maths::quantity::Bearing;

/// What may have happened; the names are those of `check --json`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Slip {
    /// The needle was read at its wrong end.
    ReversedNeedle,
    /// One digit is another, or the scale was read a ten or two off.
    DigitSlipTens,
    /// The decimal mark stands one place off.
    DecimalSlip,
    /// Read in feet, written under metres.
    FeetForMetres,
    /// Read in centimetres, written under metres; or made metres twice.
    CentimetresForMetres,
    /// Two neighbouring digits changed places.
    SwappedDigits,
    /// The sign of an incline or turn was lost.
    WrongSign,
    /// The leg starts at another anchor.
    WrongFrom,
}

impl Slip {
    /// All of them.
    pub const ALL: [Self; 8] = [
        Self::ReversedNeedle,
        Self::DigitSlipTens,
        Self::DecimalSlip,
        Self::FeetForMetres,
        Self::CentimetresForMetres,
        Self::SwappedDigits,
        Self::WrongSign,
        Self::WrongFrom,
    ];

    /// The name in `check --json`.
    pub const fn name(self) -> &'static str {
        match self {
            Self::ReversedNeedle => "reversed_needle",
            Self::DigitSlipTens => "digit_slip_tens",
            Self::DecimalSlip => "decimal_slip",
            Self::FeetForMetres => "feet_for_metres",
            Self::CentimetresForMetres => "centimetres_for_metres",
            Self::SwappedDigits => "swapped_digits",
            Self::WrongSign => "wrong_sign",
            Self::WrongFrom => "wrong_from",
        }
    }

    /// Squared standard deviations by which it must fit better than a reversed needle to be as
    /// likely: about twice the logarithm of how many trial readings of its sort a line has, since
    /// of many trials one fits by chance; more where it seldom happens, as one tape in feet among
    /// metres, or another start. Common practice, no source.
    pub(super) const fn handicap(self) -> f64 {
        match self {
            Self::ReversedNeedle | Self::WrongSign | Self::DecimalSlip => 0.0,
            Self::FeetForMetres | Self::CentimetresForMetres => 2.8,
            Self::SwappedDigits => 2.0,
            Self::DigitSlipTens => 5.3,
            Self::WrongFrom => 8.0,
        }
    }
}

/// What would stand in the cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum WouldRead {
    /// A number in the unit of its column, with so many decimals.
    Number(f64, usize),
    /// A point of the compass.
    Point(Bearing),
    /// The anchor at this node.
    Node(usize),
}

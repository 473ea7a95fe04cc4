//! One natural row of each table, typed. A field that is `None` was not measured.

use super::names::Name;
use crate::maths::quantity::{
    Bearing, Elevation, Height, Incline, Latitude, Length, Longitude, Turn,
};
use jiff::civil::{Date, DateTime, Time};

/// How a height was measured.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum HeightMethod {
    /// A tape held upright.
    Tape,
    /// A graduated pole.
    Pole,
    /// A clinometer from a distance.
    Clinometer,
    /// A laser range finder.
    Laser,
    /// Judged by eye.
    Eye,
}

impl HeightMethod {
    /// All methods with their words, in the order of the field sheet.
    pub const ALL: [(Self, &'static str); 5] = [
        (Self::Tape, "tape"),
        (Self::Pole, "pole"),
        (Self::Clinometer, "clinometer"),
        (Self::Laser, "laser"),
        (Self::Eye, "eye"),
    ];
}

/// A stretch of thread that could not be followed as usual.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gap {
    /// The thread was lost and found again.
    Lost,
    /// The thread ran where nobody could reach or see it.
    OutOfReach,
}

/// What shows that an animal perched here.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Perch {
    /// It was seen.
    Seen,
    /// Droppings, loops of thread or the like.
    Sign,
}

/// How a trail ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Ending {
    /// The animal was found at the end of the thread.
    Found,
    /// The bobbin was empty.
    RanOut,
    /// The thread broke.
    Broke,
    /// The device came off.
    Shed,
    /// The thread could not be followed to its end.
    Lost,
}

impl Ending {
    /// Whether the path may go on beyond the last anchor.
    pub const fn cut_short(self) -> bool {
        !matches!(self, Self::Found)
    }

    /// The word for a reader.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Found => "the animal was found",
            Self::RanOut => "the thread ran out",
            Self::Broke => "the thread broke",
            Self::Shed => "the device was shed",
            Self::Lost => "the thread was lost",
        }
    }
}

/// A bearing as read: its value and whether it is one of the 16 named points, which is coarser.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ReadBearing {
    /// The needle's reading, uncorrected.
    pub value: Bearing,
    /// Whether it was written as a point of the compass.
    pub named_point: bool,
}

/// A position by satellite or map.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fix {
    /// North positive.
    pub latitude: Latitude,
    /// East positive.
    pub longitude: Longitude,
    /// One standard deviation on each horizontal axis.
    pub accuracy: Option<Length>,
}

/// A time of day, with its date where one was written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Moment {
    /// Only the time of day.
    Time(Time),
    /// Date and time.
    DateTime(DateTime),
}

/// What was measured along a line from one anchor to another.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Readings {
    /// Slope distance by tape.
    pub tape: Option<Length>,
    /// Needle read towards the far end.
    pub bearing: Option<ReadBearing>,
    /// Needle read back from the far end.
    pub back_bearing: Option<Bearing>,
    /// Turn from the leg before.
    pub turn: Option<Turn>,
    /// Clinometer, up positive.
    pub incline: Option<Incline>,
    /// Rise of the far end, metres.
    pub rise_m: Option<f64>,
}

impl Readings {
    /// Whether nothing at all was measured.
    pub fn is_empty(&self) -> bool {
        *self == Self::default()
    }
}

/// A row of `anchors`.
#[derive(Clone, Debug)]
pub struct AnchorRow {
    /// Its index in the grid of its table.
    pub row: usize,
    /// The trail.
    pub trail: Name,
    /// The anchor.
    pub anchor: Name,
    /// Where the leg starts, if not at the row above.
    pub from: Option<Name>,
    /// What was measured along the leg.
    pub readings: Readings,
    /// Height above ground.
    pub height: Option<Height>,
    /// How the height was measured.
    pub height_by: Option<HeightMethod>,
    /// Whether the true height may be greater: the anchor was out of reach.
    pub height_at_least: bool,
    /// What the thread lies on here.
    pub support: Option<Name>,
    /// What the leg lies on.
    pub leg_support: Option<Name>,
    /// Plant species.
    pub plant: Option<Name>,
    /// Number or name of the tree.
    pub tree: Option<Name>,
    /// Diameter of the support, centimetres.
    pub diameter_cm: Option<f64>,
    /// Steepness of the support.
    pub support_incline: Option<Incline>,
    /// Whether the animal was found here.
    pub seen: bool,
    /// Evidence of a perch.
    pub perch: Option<Perch>,
    /// The refuge here, by name, or `yes`.
    pub refuge: Option<Name>,
    /// Whether the leg to here could not be followed.
    pub gap: Option<Gap>,
    /// Whether the leg to here belongs to the escape run.
    pub escape: bool,
    /// Reading of the thread let out since the release.
    pub thread: Option<Length>,
    /// When the animal was seen here, or the anchor was measured.
    pub time: Option<Moment>,
    /// A position by satellite.
    pub fix: Option<Fix>,
    /// Who measured.
    pub observer: Option<Name>,
}

/// A row of `ties`.
#[derive(Clone, Debug)]
pub struct TieRow {
    /// Its index in the grid of its table.
    pub row: usize,
    /// The trail whose anchors it joins.
    pub trail: Name,
    /// One end.
    pub from: Name,
    /// The other end.
    pub to: Name,
    /// What was measured.
    pub readings: Readings,
    /// Who measured.
    pub observer: Option<Name>,
}

/// Where a control lies: on the globe or on the survey's own grid.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum ControlPosition {
    /// WGS 84.
    Geodetic(Latitude, Longitude),
    /// Metres east and north of the survey's origin.
    Local(f64, f64),
}

/// A row of `controls`.
#[derive(Clone, Debug)]
pub struct ControlRow {
    /// Its index in the grid of its table.
    pub row: usize,
    /// The control's name.
    pub control: Name,
    /// Where it lies; `None` where neither pair of columns is filled.
    pub position: Option<ControlPosition>,
    /// Elevation of the ground at the control.
    pub elevation: Option<Elevation>,
    /// One standard deviation on each horizontal axis.
    pub accuracy: Option<Length>,
    /// One standard deviation of the elevation.
    pub elevation_accuracy: Option<Length>,
}

/// A row of `trails`.
#[derive(Clone, Debug)]
pub struct TrailRow {
    /// Its index in the grid of its table.
    pub row: usize,
    /// The trail.
    pub trail: Name,
    /// Whose thread it is.
    pub animal: Option<Name>,
    /// The date of release.
    pub date: Option<Date>,
    /// The control at which the animal was released.
    pub release: Option<Name>,
    /// When it was released.
    pub start_time: Option<Moment>,
    /// When it was found, or the thread ended.
    pub end_time: Option<Moment>,
    /// How many nights the thread covers.
    pub nights: Option<f64>,
    /// How it ended.
    pub ending: Option<Ending>,
    /// The first metres that belong to the escape run.
    pub escape: Option<Length>,
    /// Bobbin before release, grams.
    pub bobbin_before_g: Option<f64>,
    /// Bobbin after recovery, grams.
    pub bobbin_after_g: Option<f64>,
    /// Who measured.
    pub observer: Option<Name>,
}

/// A row of `animals`.
#[derive(Clone, Debug)]
pub struct AnimalRow {
    /// Its index in the grid of its table.
    pub row: usize,
    /// The animal.
    pub animal: Name,
    /// Body mass before, grams.
    pub body_mass_g: Option<f64>,
    /// Body mass after, grams.
    pub mass_after_g: Option<f64>,
    /// Mass of the whole device, grams.
    pub device_mass_g: Option<f64>,
    /// When the device was fixed on.
    pub attached: Option<Date>,
    /// When it was taken off.
    pub removed: Option<Date>,
}

/// A row of `available`.
#[derive(Clone, Debug)]
pub struct AvailableRow {
    /// Its index in the grid of its table.
    pub row: usize,
    /// The support on offer.
    pub support: Option<Name>,
    /// The plant on offer.
    pub plant: Option<Name>,
    /// How much of it, in any unit common to the table; 0 of a point beside a path.
    pub amount: f64,
    /// Of a point beside a path: its trail, and the anchor that it is held against.
    pub beside: Option<(Name, Option<Name>)>,
    /// For whom, where not for all.
    pub animal: Option<Name>,
    /// At how many sample points it was found, where it was sampled.
    pub points: Option<f64>,
}

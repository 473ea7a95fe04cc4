//! The dictionary of input columns: one entry a column, for readers, templates and the
//! book.

/// What a cell of a column may hold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Kind {
    /// A number between two limits, both allowed.
    Number(f64, f64),
    /// A name: any text without control characters.
    Name,
    /// Free text, kept and passed on.
    Text,
    /// `yes`, or blank or `no`.
    YesNo,
    /// One of these words.
    Word(&'static [&'static str]),
    /// A point of the compass, `N` to `NNW`.
    Point,
    /// A date, `2026-06-30`.
    Date,
    /// A time of day, `05:40`, or date and time, `2026-06-30 05:40`.
    Moment,
}

/// One column of an input table.
#[derive(Clone, Copy, Debug)]
pub struct Column {
    /// The heading, unit included.
    pub heading: &'static str,
    /// What a cell may hold.
    pub kind: Kind,
    /// Whether the table is useless without it.
    pub needed: bool,
    /// Whether a new survey has it unless asked otherwise.
    pub usual: bool,
    /// What such a cell looks like.
    pub example: &'static str,
    /// What it means, in the words of the field.
    pub meaning: &'static str,
}

impl Kind {
    /// What a cell may hold, in words.
    pub fn accepts(self) -> String {
        match self {
            Self::Number(low, high) => format!("a number from {low} to {high}"),
            Self::Name => "a name".into(),
            Self::Text => "text".into(),
            Self::YesNo => "yes, no or blank".into(),
            Self::Word(words) => format!("one of {}", words.join(", ")),
            Self::Point => "one of the 16 points N, NNE, NE … NNW".into(),
            Self::Date => "a date like 2026-06-30".into(),
            Self::Moment => "a time like 05:40, or 2026-06-30 05:40".into(),
        }
    }
}

/// Units that stand at the end of a heading.
const UNITS: [&str; 8] = ["m", "ft", "deg", "gon", "cm", "mm", "g", "min"];

/// A heading in words, and its unit: `back_bearing_deg` is `back bearing` in `deg`.
pub fn in_words(heading: &str) -> (String, Option<&'static str>) {
    let split = heading.rsplit_once('_');
    let unit = split.and_then(|(_, last)| UNITS.into_iter().find(|unit| *unit == last));
    let name = split.filter(|_| unit.is_some()).map_or(heading, |(name, _)| name);
    (name.replace('_', " "), unit)
}

/// One input table.
#[derive(Clone, Copy, Debug)]
pub struct InputTable {
    /// The stem of its file, or the name of its sheet.
    pub name: &'static str,
    /// What one row is of.
    pub row: &'static str,
    /// What its rows are.
    pub meaning: &'static str,
    /// Its columns, in the order of the field sheet.
    pub columns: &'static [Column],
}

impl InputTable {
    /// The column headed `heading`.
    pub fn column(&self, heading: &str) -> Option<&'static Column> {
        self.columns.iter().find(|column| column.heading == heading)
    }
}

const fn needed(
    heading: &'static str,
    kind: Kind,
    example: &'static str,
    meaning: &'static str,
) -> Column {
    Column { heading, kind, needed: true, usual: true, example, meaning }
}

const fn usual(
    heading: &'static str,
    kind: Kind,
    example: &'static str,
    meaning: &'static str,
) -> Column {
    Column { heading, kind, needed: false, usual: true, example, meaning }
}

const fn column(
    heading: &'static str,
    kind: Kind,
    example: &'static str,
    meaning: &'static str,
) -> Column {
    Column { heading, kind, needed: false, usual: false, example, meaning }
}

/// Longest tape reading that can be one leg: 1,000 m is more than a bobbin holds.
const TAPE_M: Kind = Kind::Number(0.0, 1000.0);
const TAPE_FT: Kind = Kind::Number(0.0, 3300.0);
/// No tree is taller than 130 m, no burrow that is followed deeper than 20 m.
const HEIGHT_M: Kind = Kind::Number(-20.0, 130.0);
const HEIGHT_FT: Kind = Kind::Number(-66.0, 430.0);
const BEARING: Kind = Kind::Number(0.0, 360.0);
const INCLINE: Kind = Kind::Number(-90.0, 90.0);
const LATITUDE: Kind = Kind::Number(-90.0, 90.0);
const LONGITUDE: Kind = Kind::Number(-180.0, 180.0);
const ACCURACY: Kind = Kind::Number(0.0, 1000.0);
const ELEVATION: Kind = Kind::Number(-500.0, 9000.0);
const LOCAL: Kind = Kind::Number(-1e6, 1e6);
const GRAMS: Kind = Kind::Number(0.0, 1e5);

/// How a height was measured, as written.
pub const HEIGHT_METHODS: &[&str] = &["tape", "pole", "clinometer", "laser", "eye"];
/// Evidence of a perch, as written.
pub const PERCHES: &[&str] = &["seen", "sign"];
/// Kinds of gap, as written.
pub const GAPS: &[&str] = &["lost", "out_of_reach"];
/// How a trail ended, as written.
pub const ENDINGS: &[&str] = &["found", "ran_out", "broke", "shed", "lost"];

/// Supports that many studies tell apart; any other word is taken as well.
pub const SUPPORTS: &[&str] =
    &["litter", "log", "rock", "shrub", "trunk", "branch", "twig", "liana", "leaf"];
/// The anchors: one row a marked point, in walking order.
pub const ANCHORS: InputTable = InputTable {
    name: "anchors",
    row: "marked point",
    meaning: "one row for each marked point, in walking order",
    columns: &[
        needed("trail", Kind::Name, "D01", "the thread this row belongs to"),
        needed("anchor", Kind::Name, "7", "the marked point; the first of a trail is the release"),
        usual("from", Kind::Name, "5", "where the tape starts, if not at the row above"),
        usual("tape_m", TAPE_M, "2.35", "tape from the anchor before, along the thread"),
        column("tape_ft", TAPE_FT, "7.7", "the same in feet"),
        usual("bearing_deg", BEARING, "214", "needle towards this anchor, degrees from north"),
        column(
            "bearing_gon",
            Kind::Number(0.0, 400.0),
            "238",
            "the same in gon, 400 to the circle",
        ),
        column("bearing_point", Kind::Point, "SSW", "the same as a point of the compass"),
        usual("back_bearing_deg", BEARING, "33", "needle read back to the anchor before"),
        column(
            "turn_deg",
            Kind::Number(-180.0, 180.0),
            "-40",
            "turn from the leg before, right positive",
        ),
        column("incline_deg", INCLINE, "35", "clinometer towards this anchor, up positive"),
        usual("height_m", HEIGHT_M, "3.2", "height above ground; negative in a burrow"),
        column("height_ft", HEIGHT_FT, "10.5", "the same in feet"),
        usual("height_by", Kind::Word(HEIGHT_METHODS), "pole", "how the height was measured"),
        column(
            "height_at_least",
            Kind::YesNo,
            "yes",
            "yes: out of reach, the height may be greater",
        ),
        usual("support", Kind::Name, "branch", "what the thread lies on at this anchor"),
        usual(
            "leg_support",
            Kind::Name,
            "trunk",
            "what the thread lies on all the way from the anchor before to here; blank: half what \
             each end does; crossing: through the air",
        ),
        column("plant", Kind::Name, "beech", "plant species of the support"),
        usual("tree", Kind::Name, "T12", "number or name of the tree"),
        usual("diameter_cm", Kind::Number(0.0, 1000.0), "4.5", "diameter of the support"),
        column("support_incline_deg", INCLINE, "80", "steepness of the support"),
        usual("seen", Kind::YesNo, "yes", "yes: the animal was found here; a night ends"),
        column("perch", Kind::Word(PERCHES), "seen", "evidence of a perch"),
        column("refuge", Kind::Name, "nest box 4", "the refuge or nest here, by name, or yes"),
        usual("gap", Kind::Word(GAPS), "out_of_reach", "the leg to here could not be followed"),
        column("escape", Kind::YesNo, "yes", "yes: the leg to here belongs to the escape run"),
        column("thread_m", Kind::Number(0.0, 1e4), "38.5", "thread let out since the release"),
        column("time", Kind::Moment, "05:40", "when the animal was seen here"),
        column("latitude", LATITUDE, "46.10012", "WGS 84, north positive"),
        column("longitude", LONGITUDE, "14.90034", "WGS 84, east positive"),
        column("accuracy_m", ACCURACY, "4", "one standard deviation of the position on each axis"),
        column("observer", Kind::Name, "second hand", "who measured"),
        usual("note", Kind::Text, "flag lost", "anything else"),
    ],
};

/// The ties: extra measured lines that check a trail.
pub const TIES: InputTable = InputTable {
    name: "ties",
    row: "extra measured line",
    meaning: "extra measured lines that check a trail, one row each",
    columns: &[
        needed("trail", Kind::Name, "D01", "the trail whose anchors are joined"),
        needed("from", Kind::Name, "3", "one end, an anchor or a control"),
        needed("to", Kind::Name, "14", "the other end"),
        usual("tape_m", TAPE_M, "6.85", "tape between the two"),
        column("tape_ft", TAPE_FT, "22.5", "the same in feet"),
        usual("bearing_deg", BEARING, "301", "needle from one end to the other"),
        column("bearing_gon", Kind::Number(0.0, 400.0), "334", "the same in gon"),
        column("bearing_point", Kind::Point, "WNW", "the same as a point of the compass"),
        column("back_bearing_deg", BEARING, "120", "needle read back"),
        column("incline_deg", INCLINE, "-12", "clinometer from one end to the other"),
        usual("rise_m", Kind::Number(-200.0, 200.0), "1.2", "rise of the other end"),
        usual("observer", Kind::Name, "second hand", "who measured"),
    ],
};

/// The controls: points of known position.
pub const CONTROLS: InputTable = InputTable {
    name: "controls",
    row: "known point",
    meaning: "points of known position, one row each",
    columns: &[
        needed("control", Kind::Name, "R1", "the known point"),
        usual("latitude", LATITUDE, "46.10012", "WGS 84, north positive"),
        usual("longitude", LONGITUDE, "14.90034", "WGS 84, east positive"),
        column("east_m", LOCAL, "12.5", "metres east of the survey's origin"),
        column("north_m", LOCAL, "-40.2", "metres north of the survey's origin"),
        usual("elevation_m", ELEVATION, "742", "elevation of the ground at the control"),
        usual("accuracy_m", ACCURACY, "4", "one standard deviation on each horizontal axis"),
        column("elevation_accuracy_m", ACCURACY, "8", "one standard deviation of the elevation"),
    ],
};

/// The trails: one row a thread.
pub const TRAILS: InputTable = InputTable {
    name: "trails",
    row: "thread",
    meaning: "one row for each thread",
    columns: &[
        needed("trail", Kind::Name, "D01", "the thread"),
        usual("animal", Kind::Name, "Bramble", "whose thread it is"),
        usual("date", Kind::Date, "2026-06-30", "the evening of the release"),
        usual("release", Kind::Name, "R1", "the control at which the animal was released"),
        usual("start_time", Kind::Moment, "21:40", "when it was released"),
        usual("end_time", Kind::Moment, "05:40", "when it was found, or the thread ended"),
        usual("nights", Kind::Number(0.0, 100.0), "1", "how many nights the thread covers"),
        usual("ending", Kind::Word(ENDINGS), "found", "how the trail ended"),
        usual(
            "escape_m",
            Kind::Number(0.0, 1000.0),
            "10",
            "metres after release that are escape run",
        ),
        usual("bobbin_before_g", GRAMS, "2.31", "weight of the bobbin before release"),
        usual("bobbin_after_g", GRAMS, "1.44", "weight of what is left of it"),
        usual("observer", Kind::Name, "second hand", "who measured"),
        usual("note", Kind::Text, "rain after midnight", "anything else"),
    ],
};

/// The animals: one row an animal.
pub const ANIMALS: InputTable = InputTable {
    name: "animals",
    row: "animal",
    meaning: "one row for each animal",
    columns: &[
        needed("animal", Kind::Name, "Bramble", "the animal"),
        usual("species", Kind::Text, "edible dormouse", "its species"),
        usual("sex", Kind::Text, "female", "its sex"),
        usual("age", Kind::Text, "adult", "its age class"),
        usual("body_mass_g", GRAMS, "112", "body mass at capture"),
        usual("mass_after_g", GRAMS, "110", "body mass at recapture"),
        usual("body_length_mm", Kind::Number(0.0, 2000.0), "165", "snout-vent or body length"),
        usual("device_mass_g", GRAMS, "4.5", "mass of the whole device, bobbin full"),
        usual("attachment", Kind::Text, "glued under the fur", "how the device was fixed on"),
        usual("attached", Kind::Date, "2026-06-30", "when the device was fixed on"),
        usual("removed", Kind::Date, "2026-07-01", "when it was taken off"),
        usual("handling_min", Kind::Number(0.0, 600.0), "12", "minutes of handling"),
        usual("recovered", Kind::YesNo, "yes", "yes: the device was recovered"),
        usual("harm", Kind::Text, "none seen", "any harm that was noted"),
        usual("note", Kind::Text, "torn left ear", "anything else"),
    ],
};

/// What was on offer.
pub const AVAILABLE: InputTable = InputTable {
    name: "available",
    row: "support or plant on offer",
    meaning: "what was on offer, one row for each support or plant",
    columns: &[
        usual("support", Kind::Name, "branch", "the support on offer"),
        usual("plant", Kind::Name, "beech", "the plant on offer"),
        usual("amount", Kind::Number(0.0, 1e9), "35", "how much of it, in one unit throughout"),
        usual("animal", Kind::Name, "Bramble", "for whom, if not for all"),
        column(
            "points",
            Kind::Number(0.0, 1e9),
            "35",
            "at how many sample points it was found, where what is on offer was sampled",
        ),
        column(
            "trail",
            Kind::Name,
            "A",
            "of a point beside the path: the trail; measured columns are those of the anchors",
        ),
        column(
            "anchor",
            Kind::Name,
            "5",
            "the anchor of that trail that the point is held against",
        ),
    ],
};

/// All input tables, the needed one first.
pub const TABLES: [&InputTable; 6] = [&ANCHORS, &TIES, &CONTROLS, &TRAILS, &ANIMALS, &AVAILABLE];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_heading_stands_twice_in_a_table() {
        for table in TABLES {
            for (at, column) in table.columns.iter().enumerate() {
                let first = table.columns.iter().position(|c| c.heading == column.heading);
                assert_eq!(first, Some(at), "{} in {}", column.heading, table.name);
            }
        }
    }
}

//! Faults of a survey: what is wrong, where, what was expected, and what may cure it.
//!
//! In: reports from readers and rules. Out: [`Faults`], sorted by place, to be shown together.
//! A fault is data, never an `Err`: failures of the machine travel another way.
//! Assumes that a rule blinded by an earlier fault stays silent; that is the rule's own duty.

use serde::Serialize;
use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::sync::Arc;

/// How much a fault matters.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Severity {
    /// Stops a rebuild.
    Error,
    /// Does not stop a rebuild, and should be looked at before the numbers are used.
    Warning,
    /// Worth knowing: an assumption that was made, a form that was accepted.
    Note,
}

impl Severity {
    /// An error where `size` exceeds `limit`, else a warning.
    pub fn above(size: f64, limit: f64) -> Self {
        if size > limit { Self::Error } else { Self::Warning }
    }

    /// The word for a reader.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Error => "error",
            Self::Warning => "warning",
            Self::Note => "note",
        }
    }
}

/// Where in the survey a fault lies. Rows count from 1 with the heading as row 1, or as the row in
/// which it stands below remarks; in `survey.toml` the row is the line.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Place {
    /// The file, as the user names it.
    pub file: Arc<str>,
    /// The sheet, where the file is a workbook.
    pub sheet: Option<Arc<str>>,
    /// The row, where the fault lies in one.
    pub row: Option<usize>,
    /// The heading of the column, where the fault lies in one.
    pub column: Option<Arc<str>>,
    /// The cell by its letters and number, where the file is a workbook.
    pub cell: Option<Arc<str>>,
}

impl Place {
    /// A whole file.
    pub fn file(name: &str) -> Self {
        Self { file: name.into(), ..Self::default() }
    }

    /// The same file, at `row`.
    #[must_use]
    pub fn row(mut self, row: usize) -> Self {
        self.row = Some(row);
        self
    }

    /// The same row, in the column headed `column`.
    #[must_use]
    pub fn column(mut self, column: &str) -> Self {
        self.column = Some(column.into());
        self
    }

    /// The place in one phrase, without what is not known of it.
    pub fn phrase(&self) -> String {
        let mut phrase = self.file.to_string();
        if let Some(sheet) = &self.sheet {
            phrase += &format!(", sheet {sheet}");
        }
        if let Some(row) = self.row {
            phrase += &format!(", row {row}");
        }
        if let Some(column) = &self.column {
            phrase += &format!(", column {column}");
        }
        if let Some(cell) = &self.cell {
            phrase += &format!(", cell {cell}");
        }
        phrase
    }

    fn order(&self, other: &Self) -> Ordering {
        let key = |place: &Self| {
            (place.file.clone(), place.sheet.clone(), place.row, place.column.clone())
        };
        key(self).cmp(&key(other))
    }
}

/// Declares the codes with their stable names, so that the two cannot drift apart.
macro_rules! codes {
    ($($(#[$doc:meta])* $code:ident = $name:literal,)*) => {
        /// What kind of fault; the name is stable and may be relied on by scripts.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub enum Code { $($(#[$doc])* $code,)* }

        impl Code {
            /// Every code there is, in the order of declaration.
            pub const ALL: &'static [Self] = &[$(Self::$code,)*];

            /// The stable name.
            pub const fn name(self) -> &'static str {
                match self { $(Self::$code => $name,)* }
            }
        }
    };
}

codes! {
    /// The survey's folder or a table is a different thing than it should be.
    NotASurvey = "not_a_survey",
    /// A needed table is not there.
    MissingTable = "missing_table",
    /// A file of the survey could not be read.
    UnreadableFile = "unreadable_file",
    /// A table without any row.
    EmptyTable = "empty_table",
    /// A file beyond its size limit.
    FileTooLarge = "file_too_large",
    /// More rows than the limit.
    TooManyRows = "too_many_rows",
    /// A cell longer than any reading or note.
    CellTooLong = "cell_too_long",
    /// Bytes that are neither UTF-8 nor Windows-1252.
    NotText = "not_text",
    /// A file in Windows-1252, read as such.
    Windows1252 = "windows_1252",
    /// Semicolons, tabs or decimal commas, read as such.
    OtherSeparator = "other_separator",
    /// A quote that is opened and never closed.
    OpenQuote = "open_quote",
    /// Rows that begin with # and have cells, left out as comments.
    CommentRow = "comment_row",
    /// A cell whose formula gives an error.
    ErrorValue = "error_value",
    /// A formula whose value was never stored.
    FormulaWithoutValue = "formula_without_value",
    /// A number or name that a spreadsheet took for a date.
    TurnedIntoDate = "turned_into_date",
    /// Numbers that a workbook keeps as text, read as numbers.
    NumberAsText = "number_as_text",
    /// Cells of a table made into one.
    MergedCells = "merged_cells",
    /// A table that is there and not read, because another holds the survey.
    TableNotRead = "table_not_read",
    /// A row with more or fewer cells than the heading.
    RaggedRow = "ragged_row",
    /// A needed column is not there.
    MissingColumn = "missing_column",
    /// Two columns of one name.
    DuplicateColumn = "duplicate_column",
    /// A heading close to a known one.
    NearMissHeading = "near_miss_heading",
    /// A heading mapped in the settings that is not in the table, or mapped twice.
    UnusedColumnMap = "unused_column_map",
    /// A cell that must be filled and is blank.
    BlankCell = "blank_cell",
    /// A cell that should be a number and is not.
    UnreadableNumber = "unreadable_number",
    /// A number that can be read in two ways.
    AmbiguousNumber = "ambiguous_number",
    /// NaN or infinity.
    NotFinite = "not_finite",
    /// A number outside what is possible.
    OutOfRange = "out_of_range",
    /// A word outside the list of its column.
    UnknownWord = "unknown_word",
    /// A date or time that cannot be read.
    UnreadableDate = "unreadable_date",
    /// A name with control characters.
    ControlCharacter = "control_character",
    /// Two columns of one row that give the same reading.
    GivenTwice = "given_twice",
    /// An anchor that no row of its trail names.
    UnknownAnchor = "unknown_anchor",
    /// An anchor named again without any measurement.
    DuplicateAnchor = "duplicate_anchor",
    /// A trail, animal or control named twice in its own table.
    DuplicateName = "duplicate_name",
    /// A trail that has no anchors.
    UnknownTrail = "unknown_trail",
    /// An animal that the table of animals does not name.
    UnknownAnimal = "unknown_animal",
    /// A control that the table of controls does not name.
    UnknownControl = "unknown_control",
    /// A leg from an anchor to itself.
    LegToItself = "leg_to_itself",
    /// Rows of one trail that stand apart in the table.
    ScatteredTrail = "scattered_trail",
    /// A trail whose legs do not hang together.
    TwoPieces = "two_pieces",
    /// A leg nobody measured, outside a gap.
    UnmeasuredLeg = "unmeasured_leg",
    /// A tie that measures nothing.
    EmptyTie = "empty_tie",
    /// A trail without the bearings that a plan needs.
    ProfileOnly = "profile_only",
    /// A leg whose missing bearing was carried on.
    CarriedOn = "carried_on",
    /// A leg whose rise nobody measured.
    RiseUnknown = "rise_unknown",
    /// The tape is shorter than the difference of the heights.
    TapeShorterThanClimb = "tape_shorter_than_climb",
    /// A back bearing that is not opposite.
    BackBearingNotOpposite = "back_bearing_not_opposite",
    /// A reading that looks like another unit.
    UnitSlip = "unit_slip",
    /// Thread out by weight against the taped length.
    ThreadAgainstTape = "thread_against_tape",
    /// A device beyond its share of body mass.
    DeviceOverLoad = "device_over_load",
    /// A device carried longer than allowed.
    DeviceOverDays = "device_over_days",
    /// A date outside the magnetic model.
    DateOutsideModel = "date_outside_model",
    /// Magnetic bearings without what makes them true.
    DeclinationUnknown = "declination_unknown",
    /// Controls of different elevation on flat ground.
    FlatGroundControls = "flat_ground_controls",
    /// Something was used that is not among what was on offer.
    NotOnOffer = "not_on_offer",
    /// Something on offer that no trail ever met.
    NeverUsed = "never_used",
    /// A column of what was on offer that belongs to no animal and no trail.
    OfferUndivided = "offer_undivided",
    /// Amounts on offer that add up to nothing.
    NothingOnOffer = "nothing_on_offer",
    /// A ground model that lacks what it needs.
    GroundIncomplete = "ground_incomplete",
    /// A raster of the ground that cannot be used.
    UnusableRaster = "unusable_raster",
    /// A raster of the ground that does not lie under the survey.
    RasterElsewhere = "raster_elsewhere",
    /// A control whose stated elevation is far from the raster's.
    RasterAgainstControl = "raster_against_control",
    /// A trail whose adjustment does not settle.
    NotSettled = "not_settled",
    /// `survey.toml` is not TOML.
    UnreadableSettings = "unreadable_settings",
    /// A setting nobody knows.
    UnknownSetting = "unknown_setting",
    /// A setting with a value it cannot have.
    BadSetting = "bad_setting",
}

/// One fault.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fault {
    /// What kind.
    pub code: Code,
    /// How much it matters.
    pub severity: Severity,
    /// Where.
    pub place: Place,
    /// What stands there, as the user wrote it.
    pub found: String,
    /// What should stand there.
    pub expected: String,
    /// What may have happened, or what to do.
    pub hint: String,
}

impl Fault {
    fn alike(&self) -> Alike {
        let Self { code, severity, place: Place { file, column, .. }, .. } = self;
        let (file, column) = (file.clone(), column.clone());
        Alike { code: *code, severity: *severity, file, column }
    }

    /// Says what stands there.
    pub fn found(&mut self, found: impl Into<String>) -> &mut Self {
        self.found = found.into();
        self
    }

    /// Says what should stand there.
    pub fn expected(&mut self, expected: impl Into<String>) -> &mut Self {
        self.expected = expected.into();
        self
    }

    /// Says what may have happened, or what to do.
    pub fn hint(&mut self, hint: impl Into<String>) -> &mut Self {
        self.hint = hint.into();
        self
    }
}

/// What makes faults alike: a column written wrongly throughout gives one a row.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Alike {
    /// What kind.
    pub code: Code,
    /// How much they matter.
    pub severity: Severity,
    /// The file they lie in.
    pub file: Arc<str>,
    /// The column they lie in.
    pub column: Option<Arc<str>>,
}

/// How many faults that are alike are listed. All are counted; nobody reads more, and a large table
/// in a wrong unit would fill the memory with them.
pub const MOST_ALIKE: usize = 1000;

/// All faults found so far.
#[derive(Clone, Debug, Default)]
pub struct Faults {
    list: Vec<Fault>,
    counts: BTreeMap<Alike, usize>,
    /// Takes what is said of a fault that is not listed.
    unlisted: Option<Box<Fault>>,
}

impl Faults {
    /// Adds a fault, to be completed by what was found, what was expected, and a hint.
    pub fn report(&mut self, code: Code, severity: Severity, place: Place) -> &mut Fault {
        let (file, column) = (place.file.clone(), place.column.clone());
        let count = self.counts.entry(Alike { code, severity, file, column }).or_default();
        *count += 1;
        let blank = String::new();
        let fault = Fault {
            code,
            severity,
            place,
            found: blank.clone(),
            expected: blank.clone(),
            hint: blank,
        };
        if *count > MOST_ALIKE {
            return self.unlisted.insert(Box::new(fault));
        }
        let at = self.list.len();
        self.list.push(fault);
        &mut self.list[at]
    }

    /// An error: stops a rebuild.
    pub fn error(&mut self, code: Code, place: Place) -> &mut Fault {
        self.report(code, Severity::Error, place)
    }

    /// A warning: does not stop a rebuild.
    pub fn warn(&mut self, code: Code, place: Place) -> &mut Fault {
        self.report(code, Severity::Warning, place)
    }

    /// A note.
    pub fn note(&mut self, code: Code, place: Place) -> &mut Fault {
        self.report(code, Severity::Note, place)
    }

    /// Takes over the faults of `other`.
    pub fn append(&mut self, mut other: Self) {
        self.list.append(&mut other.list);
        for (alike, count) in other.counts {
            *self.counts.entry(alike).or_default() += count;
        }
    }

    /// Whether any fault stops a rebuild.
    pub fn stop(&self) -> bool {
        self.count(Severity::Error) > 0
    }

    /// How many faults of this severity.
    pub fn count(&self, severity: Severity) -> usize {
        let of_severity = self.counts.iter().filter(|(alike, _)| alike.severity == severity);
        of_severity.map(|(_, count)| count).sum()
    }

    /// What there is more of than is listed, and how many are not.
    pub fn unlisted(&self) -> Vec<(&Alike, usize)> {
        let mut listed: BTreeMap<Alike, usize> = BTreeMap::new();
        for fault in &self.list {
            *listed.entry(fault.alike()).or_default() += 1;
        }
        let more = |(alike, count): (&'_ Alike, &usize)| {
            count.saturating_sub(listed.get(alike).copied().unwrap_or(0))
        };
        let all = self.counts.iter().map(|entry| (entry.0, more(entry)));
        all.filter(|(_, count)| *count > 0).collect()
    }

    /// Whether nothing was found.
    pub fn is_empty(&self) -> bool {
        self.list.is_empty()
    }

    /// The faults, by place, then by code; those of one place and code keep their order.
    pub fn sorted(&self) -> Vec<&Fault> {
        let mut sorted: Vec<&Fault> = self.list.iter().collect();
        sorted.sort_by(|a, b| a.place.order(&b.place).then(a.code.cmp(&b.code)));
        sorted
    }
}

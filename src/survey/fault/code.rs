//! The kinds of fault, each under its stable name.

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
    /// A name that a reader would take for another of its kind.
    NearTwin = "near_twin",
    /// Spellings of one support, plant, observer, sex or age, taken as one.
    TakenAsOne = "taken_as_one",
    /// Names between blanks, which are dropped.
    OuterBlanks = "outer_blanks",
    /// A tape to the first anchor of a trail, which leads from nowhere.
    FirstTape = "first_tape",
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
    /// A trail without the directions that a plan needs.
    ProfileOnly = "profile_only",
    /// A turn on the first leg of a trail.
    FirstTurn = "first_turn",
    /// Turns written with L or R for their side.
    TurnBySide = "turn_by_side",
    /// Legs whose missing directions were carried on.
    CarriedOn = "carried_on",
    /// A position further from others than the thread between them is long.
    PositionOutOfReach = "position_out_of_reach",
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
    /// Metres by support that rest on halves of legs.
    SupportInHalves = "support_in_halves",
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
    /// What is to be compared names a column that no table has.
    UnknownComparison = "unknown_comparison",
}

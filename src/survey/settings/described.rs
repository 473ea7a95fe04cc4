//! Every setting described once: its name, what it takes, what it means. Defaults are those of
//! [`Settings::default`].

use super::Settings;
use super::value::Range::{AboveZero, From};
use super::value::Slot;
use crate::survey::dictionary::HEIGHT_METHODS;
use std::fmt;
use toml::Value;

/// One setting of `survey.toml`.
#[derive(Clone, Copy)]
pub struct Setting {
    /// Its dotted path. A part in capitals stands for a name that the survey gives.
    pub path: &'static str,
    /// What it means, in the words of the field.
    pub meaning: &'static str,
    /// The names that the part in capitals may be; any where there are none.
    names: &'static [&'static str],
    slot: Slot,
}

impl fmt::Debug for Setting {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.path)
    }
}

impl Setting {
    /// What it takes, in words: a number in its range, one of some words, text.
    pub fn accepts(&self) -> String {
        self.slot.accepts()
    }

    /// The words it may be, where it is one of a few.
    pub fn words(&self) -> &'static [&'static str] {
        self.slot.words()
    }

    /// Its default as `survey.toml` would say it; `None` where it has none.
    pub fn default(&self) -> Option<String> {
        let value = self.slot.value(&mut Settings::default(), "");
        value.map(|value| value.to_string())
    }

    /// Its value in `settings` as `survey.toml` would say it; `None` where it is not stated. `name`
    /// is that which stands for the part in capitals.
    pub(super) fn value_in(&self, settings: &mut Settings, name: &str) -> Option<String> {
        self.slot.value(settings, name).map(|value| value.to_string())
    }

    /// Its path with `name` for the part in capitals.
    pub(super) fn path_of(&self, name: &str) -> String {
        let around = self.around_name();
        around.map_or(self.path.to_owned(), |(before, after)| format!("{before}{name}{after}"))
    }

    /// Sets it in `settings`; `None`, and nothing set, where it does not take `value`.
    pub(super) fn set(&self, settings: &mut Settings, name: &str, value: &Value) -> Option<()> {
        self.slot.set(settings, name, value)
    }

    /// The name that `path` holds where the part in capitals stands, if it is this setting's path;
    /// blank for a path without such a part.
    pub(super) fn name_in<'p>(&self, path: &'p str) -> Option<&'p str> {
        let Some((before, after)) = self.around_name() else {
            return (path == self.path).then_some("");
        };
        let name = path.strip_prefix(before)?.strip_suffix(after)?;
        let known = self.names.is_empty() || self.names.contains(&name);
        (known && !name.is_empty()).then_some(name)
    }

    /// The paths it may have, for a guess at what was meant.
    pub(super) fn paths(&self) -> Vec<String> {
        match self.around_name() {
            Some((before, after)) if !self.names.is_empty() => {
                self.names.iter().map(|name| format!("{before}{name}{after}")).collect()
            }
            _ => vec![self.path.to_owned()],
        }
    }

    /// What stands before and after the part in capitals.
    fn around_name(&self) -> Option<(&'static str, &'static str)> {
        let is_capital = |c: char| c.is_ascii_uppercase();
        let (start, end) = (self.path.find(is_capital)?, self.path.rfind(is_capital)?);
        self.path.get(..start).zip(self.path.get(end + 1..))
    }
}

const fn setting(path: &'static str, slot: Slot, meaning: &'static str) -> Setting {
    Setting { path, meaning, names: &[], slot }
}

const fn by_method(path: &'static str, slot: Slot, meaning: &'static str) -> Setting {
    Setting { path, meaning, names: HEIGHT_METHODS, slot }
}

/// A standard deviation, metres or degrees: no instrument is off by more than this and still used.
const SD: super::value::Range = AboveZero(1000.0);
/// One that may be nothing at all.
const SD_OR_NONE: super::value::Range = From(0.0, 1000.0);
/// A scale off by more than this is no instrument's.
const COMMON_SCALE: super::value::Range = From(0.0, 0.2);
const CIRCLE: super::value::Range = From(-360.0, 360.0);
/// No tree is taller.
const HEIGHT: super::value::Range = From(0.0, 130.0);

const HOUR: super::value::Range = From(0.0, 24.0);

/// Every setting, in the order of a commented `survey.toml`.
pub const SETTINGS: &[Setting] = &[
    setting("name", Slot::Text(|s, _| &mut s.name), "name of the study"),
    setting("site", Slot::Text(|s, _| &mut s.site), "where it was done"),
    setting(
        "date",
        Slot::Date(|s, _| &mut s.date),
        "date of the survey, for trails that have none of their own",
    ),
    setting("permit", Slot::Text(|s, _| &mut s.permit), "number of the permit"),
    setting("marked_when", Slot::Text(|s, _| &mut s.marked_when), "the marking rule, in words"),
    setting(
        "licence",
        Slot::Text(|s, _| &mut s.licence),
        "under which others may use the data, like CC-BY-4.0",
    ),
    setting(
        "missing_bearing",
        Slot::Word(|s| &mut s.missing_bearing),
        "what to do with legs that have no direction and are not plumb: `few` carries the direction of the leg before on as long as no more than one leg in five lacks one, else the trail has a profile only",
    ),
    setting(
        "origin.latitude",
        Slot::Optional(From(-90.0, 90.0), |s, _| &mut s.origin_latitude),
        "origin of the local frame, degrees north (WGS 84)",
    ),
    setting(
        "origin.longitude",
        Slot::Optional(From(-180.0, 180.0), |s, _| &mut s.origin_longitude),
        "origin of the local frame, degrees east (WGS 84)",
    ),
    setting(
        "origin.elevation_m",
        Slot::Optional(From(-500.0, 9000.0), |s, _| &mut s.origin_elevation_m),
        "elevation of the ground at the origin",
    ),
    setting("bearings.north", Slot::Word(|s| &mut s.north), "the north that bearings count from"),
    setting(
        "bearings.declination",
        Slot::Declination(|s, _| &mut s.declination),
        "of the needle, degrees, east positive; \"model\" takes it from the reference field",
    ),
    setting(
        "bearings.correction_deg",
        Slot::Number(CIRCLE, |s, _| &mut s.correction_deg),
        "added to every bearing",
    ),
    setting(
        "precision.tape_m",
        Slot::Number(SD_OR_NONE, |s, _| &mut s.precision.tape_m),
        "tape, constant part",
    ),
    setting(
        "precision.tape_per_m",
        Slot::Number(SD_OR_NONE, |s, _| &mut s.precision.tape_per_m),
        "tape, part for each metre",
    ),
    setting(
        "precision.bearing_deg",
        Slot::Number(SD, |s, _| &mut s.precision.bearing_deg),
        "compass read in degrees or gon",
    ),
    setting(
        "precision.bearing_point_deg",
        Slot::Number(SD, |s, _| &mut s.precision.bearing_point_deg),
        "compass read as one of 16 points",
    ),
    setting(
        "precision.turn_deg",
        Slot::Number(SD, |s, _| &mut s.precision.turn_deg),
        "turning angle",
    ),
    setting(
        "precision.incline_deg",
        Slot::Number(SD, |s, _| &mut s.precision.incline_deg),
        "clinometer along a leg",
    ),
    setting(
        "precision.height_m",
        Slot::Number(SD_OR_NONE, |s, _| &mut s.precision.height_m),
        "height above ground, constant part",
    ),
    setting(
        "precision.height_per_m",
        Slot::Number(SD_OR_NONE, |s, _| &mut s.precision.height_per_m),
        "height above ground, part for each metre",
    ),
    setting("precision.rise_m", Slot::Number(SD, |s, _| &mut s.precision.rise_m), "rise of a tie"),
    setting(
        "precision.control_m",
        Slot::Number(SD, |s, _| &mut s.precision.control_m),
        "position of a control that states none",
    ),
    setting(
        "precision.anchor_m",
        Slot::Number(SD_OR_NONE, |s, _| &mut s.precision.anchor_m),
        "how well an anchor is met again",
    ),
    setting(
        "precision.plumb_m",
        Slot::Number(SD, |s, _| &mut s.precision.plumb_m),
        "how far a plumb leg may lean",
    ),
    setting(
        "precision.ground_m",
        Slot::Number(SD_OR_NONE, |s, _| &mut s.precision.ground_m),
        "roughness of the ground about its model; 0 makes it exact",
    ),
    by_method(
        "precision.height_by.METHOD.height_m",
        Slot::Optional(From(0.0, 100.0), |s, method| {
            &mut s.precision.height_by.entry(method.to_owned()).or_default().height_m
        }),
        "a height measured in this way, constant part",
    ),
    by_method(
        "precision.height_by.METHOD.height_per_m",
        Slot::Optional(From(0.0, 1.0), |s, method| {
            &mut s.precision.height_by.entry(method.to_owned()).or_default().height_per_m
        }),
        "a height measured in this way, part for each metre",
    ),
    setting(
        "common.tape_scale",
        Slot::Number(COMMON_SCALE, |s, _| &mut s.precision.common.tape_scale),
        "scale error of a tape, shared by all its readings, one standard deviation; 0 allows for none",
    ),
    setting(
        "common.bearing_deg",
        Slot::Number(From(0.0, 45.0), |s, _| &mut s.precision.common.bearing_deg),
        "error of a compass, shared by all its readings, one standard deviation; 0 allows for none",
    ),
    setting(
        "common.height_scale",
        Slot::Number(COMMON_SCALE, |s, _| &mut s.precision.common.height_scale),
        "scale error of heights, shared by all of one observer, one standard deviation; 0 allows for \
         none",
    ),
    setting("ground.model", Slot::Word(|s| &mut s.ground), "the ground under the survey"),
    setting(
        "ground.angle_deg",
        Slot::Number(From(-80.0, 80.0), |s, _| &mut s.ground_angle_deg),
        "steepness of the slope",
    ),
    setting(
        "ground.direction_deg",
        Slot::Number(CIRCLE, |s, _| &mut s.ground_direction_deg),
        "bearing in which the slope falls",
    ),
    setting("ground.file", Slot::Text(|s, _| &mut s.ground_file), "raster of elevations"),
    setting(
        "strata.edges_m",
        Slot::Edges(HEIGHT, |s, _| &mut s.strata_edges_m),
        "edges of the height bands, rising",
    ),
    setting(
        "support.of_leg",
        Slot::Word(|s| &mut s.support_of_leg),
        "the anchor whose support, plant and diameter a leg has where leg_support is blank: half of \
         each end, or all of the one it arrives at or departs from",
    ),
    setting(
        "supports.diameter_edges_cm",
        Slot::Edges(From(0.0, 1000.0), |s, _| &mut s.diameter_edges_cm),
        "edges of the diameter classes, rising",
    ),
    setting(
        "supports.incline_edges_deg",
        Slot::Edges(From(0.0, 90.0), |s, _| &mut s.incline_edges_deg),
        "edges of the classes of steepness, 0 level to 90 upright, rising",
    ),
    setting(
        "perches.day_from_h",
        Slot::Number(HOUR, |s, _| &mut s.day_hours[0]),
        "hour from which a perch is by day",
    ),
    setting(
        "perches.day_to_h",
        Slot::Number(HOUR, |s, _| &mut s.day_hours[1]),
        "hour up to which a perch is by day",
    ),
    setting(
        "escape.metres",
        Slot::Optional(From(0.0, 1000.0), |s, _| &mut s.escape_metres),
        "metres after release that are escape run",
    ),
    setting(
        "escape.rule",
        Slot::Word(|s| &mut s.escape_rule),
        "how the end of the escape run is found where nothing else tells",
    ),
    setting(
        "bouts.above_m",
        Slot::Optional(HEIGHT, |s, _| &mut s.bouts_above_m),
        "height above which the animal is off the ground; else the lowest edge",
    ),
    setting(
        "steps.step_m",
        Slot::Optional(From(0.01, 1000.0), |s, _| &mut s.step_m),
        "one equal step in plan; else the median run of the legs",
    ),
    setting(
        "bobbin.thread_g_per_m",
        Slot::Optional(From(1e-5, 1.0), |s, _| &mut s.thread_g_per_m),
        "weight of a metre of thread",
    ),
    setting(
        "compare.by",
        Slot::Headings(|s, _| &mut s.compare.by),
        "the columns of animals or trails whose groups are compared; nothing else is tested",
    ),
    setting(
        "compare.with",
        Slot::Headings(|s, _| &mut s.compare.with),
        "the columns of numbers that metrics are held against",
    ),
    setting(
        "compare.pairs",
        Slot::Text(|s, _| &mut s.compare.pairs),
        "the column whose two states the same animals are compared in, or COLUMN=A,B",
    ),
    setting(
        "compare.within",
        Slot::Text(|s, _| &mut s.compare.within),
        "the column within whose levels labels are shuffled, such as the stand",
    ),
    setting(
        "compare.direction_deg",
        Slot::Optional(CIRCLE, |s, _| &mut s.compare.direction_deg),
        "the direction in which animals were expected to head, from true north",
    ),
    setting(
        "limits.load_percent",
        Slot::Number(From(0.0, 100.0), |s, _| &mut s.limit_load_percent),
        "device, per cent of body mass",
    ),
    setting(
        "limits.days",
        Slot::Number(From(0.0, 1000.0), |s, _| &mut s.limit_days),
        "days a device may be carried",
    ),
    setting("limits.rows", Slot::Count(|s, _| &mut s.limit_rows), "rows of a table"),
    setting("limits.bytes", Slot::Count(|s, _| &mut s.limit_bytes), "bytes of a file"),
    setting(
        "limits.unpacked_bytes",
        Slot::Count(|s, _| &mut s.limit_unpacked_bytes),
        "bytes to which a workbook may unpack",
    ),
    setting(
        "columns.HEADING",
        Slot::Heading(|s, heading| s.columns.entry(heading.to_owned()).or_default()),
        "your own heading of this column",
    ),
    setting(
        "words.LETTERS",
        Slot::Point(|s, word| s.words.entry(word.to_uppercase()).or_default()),
        "what these letters, or this word, mean under `bearing_point`",
    ),
    setting(
        "places.PLACE",
        Slot::Heading(|s, place| s.places.entry(place.to_owned()).or_default()),
        "the control at a place that animals may have headed for, such as water",
    ),
    setting(
        "observer.NAME.bearing_deg",
        Slot::Number(CIRCLE, |s, name| {
            &mut s.observers.entry(name.to_owned()).or_default().bearing_deg
        }),
        "added to each bearing of this observer",
    ),
    setting(
        "observer.NAME.incline_deg",
        Slot::Number(From(-90.0, 90.0), |s, name| {
            &mut s.observers.entry(name.to_owned()).or_default().incline_deg
        }),
        "added to each incline of this observer",
    ),
    setting(
        "observer.NAME.tape_scale",
        Slot::Number(From(0.5, 2.0), |s, name| {
            &mut s.observers.entry(name.to_owned()).or_default().tape_scale
        }),
        "multiplies each tape reading of this observer",
    ),
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_default_is_a_value_that_its_setting_takes() {
        let mut stated = 0;
        for setting in SETTINGS {
            let Some(default) = setting.default() else { continue };
            let value = default.parse::<Value>().unwrap();
            let mut settings = Settings::default();
            assert!(setting.set(&mut settings, "", &value).is_some(), "{setting:?} {default}");
            let shown = setting.slot.value(&mut settings, "").map(|value| value.to_string());
            assert_eq!(shown, Some(default), "{setting:?}");
            stated += 1;
        }
        assert_eq!(stated, 38);
    }

    #[test]
    fn no_setting_takes_everything_and_none_is_described_twice() {
        for (at, setting) in SETTINGS.iter().enumerate() {
            let mut settings = Settings::default();
            assert!(setting.set(&mut settings, "", &Value::Boolean(true)).is_none(), "{setting:?}");
            let first = SETTINGS.iter().position(|other| other.path == setting.path);
            assert_eq!(first, Some(at), "{setting:?}");
            assert!(!setting.accepts().is_empty() && !setting.meaning.is_empty());
        }
    }

    #[test]
    fn a_name_may_hold_points_and_a_method_must_be_known() {
        let of = |path: &str| {
            SETTINGS.iter().find_map(|s| s.name_in(path).map(|name| (s.path, name.to_owned())))
        };
        let scale = ("observer.NAME.tape_scale", "O.J.".to_owned());
        assert_eq!(of("observer.O.J..tape_scale"), Some(scale));
        assert_eq!(of("precision.height_by.stick.height_m"), None);
        assert!(of("precision.height_by.pole.height_m").is_some());
        assert_eq!(of("observer..tape_scale"), None);
    }
}

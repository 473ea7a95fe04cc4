//! Everything that `survey.toml` can say, with its defaults; `--set` uses the same names.

use super::names::Names;
use super::reading::nearest;
use super::rows::HeightMethod;
use crate::fault::{Code, Faults, Place};
use jiff::civil::Date;
use serde::Serialize;
use std::collections::BTreeMap;
use toml::Value;
use toml::de::{DeTable, DeValue};

/// What the needle's north is.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum North {
    /// As the needle shows it.
    #[default]
    Magnetic,
    /// Corrected before it was written.
    True,
    /// The grid of the UTM zone.
    Grid,
}

/// Where the declination comes from.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Declination {
    /// The geomagnetic reference field at place and date.
    #[default]
    Model,
    /// Stated, degrees, magnetic north east of true north positive.
    #[serde(untagged)]
    Stated(f64),
}

/// What to do with a leg that has no bearing and is not plumb.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum MissingBearing {
    /// The trail is followed in profile only.
    #[default]
    ProfileOnly,
    /// The direction of the leg before is carried on, with a wide standard deviation.
    StraightOn,
}

/// The ground under the survey.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum GroundModel {
    /// Level.
    #[default]
    Flat,
    /// A plane.
    Slope,
    /// Interpolated between the stated elevations of controls.
    Points,
    /// A grid of elevations in a file.
    Raster,
}

/// How the end of the escape run is found where nothing else tells.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum EscapeRule {
    /// Until the first return below the lowest edge after the first climb.
    #[default]
    FirstReturn,
    /// It is not looked for.
    None,
}

/// One standard deviation of each kind of reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[expect(missing_docs, reason = "the names are those of the keys; units are in the names")]
pub struct Precision {
    pub tape_m: f64,
    pub tape_per_m: f64,
    pub bearing_deg: f64,
    pub bearing_point_deg: f64,
    pub turn_deg: f64,
    pub incline_deg: f64,
    pub height_m: f64,
    pub height_per_m: f64,
    pub rise_m: f64,
    pub control_m: f64,
    pub anchor_m: f64,
    pub plumb_m: f64,
    pub ground_m: f64,
    /// By method of measuring a height: at the ground, and for each metre above it.
    pub height_by: BTreeMap<&'static str, HeightPrecision>,
}

/// One standard deviation of a height: `height_m` ⊕ `height_per_m` × height.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
pub struct HeightPrecision {
    /// Constant part, metres.
    pub height_m: Option<f64>,
    /// Part that grows with the height.
    pub height_per_m: Option<f64>,
}

impl Default for Precision {
    fn default() -> Self {
        Self {
            tape_m: 0.03,
            tape_per_m: 0.002,
            bearing_deg: 2.0,
            bearing_point_deg: 6.5, // a sector of 22.5° read evenly: 22.5° / √12
            turn_deg: 3.0,
            incline_deg: 1.5,
            height_m: 0.05,
            height_per_m: 0.02,
            rise_m: 0.05,
            control_m: 5.0,
            anchor_m: 0.03,
            plumb_m: 0.15,
            ground_m: 0.10,
            height_by: BTreeMap::new(),
        }
    }
}

impl Precision {
    /// One standard deviation of a tape reading of `metres`.
    pub fn tape(&self, metres: f64) -> f64 {
        self.tape_m.hypot(self.tape_per_m * metres)
    }

    /// One standard deviation of a height of `metres`, measured `by`.
    pub fn height(&self, metres: f64, by: Option<HeightMethod>) -> f64 {
        let word = HeightMethod::ALL.iter().find(|(method, _)| Some(*method) == by);
        let own = word.and_then(|(_, word)| self.height_by.get(word)).copied().unwrap_or_default();
        let constant = own.height_m.unwrap_or(self.height_m);
        constant.hypot(own.height_per_m.unwrap_or(self.height_per_m) * metres)
    }
}

/// What one observer's instruments need added or multiplied.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Observer {
    /// Added to each bearing, degrees.
    pub bearing_deg: f64,
    /// Added to each incline, degrees.
    pub incline_deg: f64,
    /// Multiplies each tape reading.
    pub tape_scale: f64,
}

impl Default for Observer {
    fn default() -> Self {
        Self { bearing_deg: 0.0, incline_deg: 0.0, tape_scale: 1.0 }
    }
}

/// All settings of a survey.
#[derive(Clone, Debug, Serialize)]
#[expect(missing_docs, reason = "the names are those of the keys, explained in KEYS")]
pub struct Settings {
    pub name: Option<String>,
    pub site: Option<String>,
    #[serde(serialize_with = "date_text")]
    pub date: Option<Date>,
    pub permit: Option<String>,
    pub marked_when: Option<String>,
    pub missing_bearing: MissingBearing,
    pub origin_latitude: Option<f64>,
    pub origin_longitude: Option<f64>,
    pub origin_elevation_m: Option<f64>,
    pub north: North,
    pub declination: Declination,
    pub correction_deg: f64,
    pub precision: Precision,
    pub ground: GroundModel,
    pub ground_angle_deg: f64,
    pub ground_direction_deg: f64,
    pub ground_file: Option<String>,
    pub strata_edges_m: Vec<f64>,
    pub escape_metres: Option<f64>,
    pub escape_rule: EscapeRule,
    pub bouts_above_m: Option<f64>,
    pub step_m: Option<f64>,
    pub thread_g_per_m: Option<f64>,
    pub limit_load_percent: f64,
    pub limit_days: f64,
    pub limit_rows: usize,
    pub limit_bytes: u64,
    pub columns: BTreeMap<String, String>,
    pub observers: BTreeMap<String, Observer>,
}

#[expect(clippy::ref_option, clippy::trivially_copy_pass_by_ref, reason = "serde's signature")]
fn date_text<S: serde::Serializer>(date: &Option<Date>, out: S) -> Result<S::Ok, S::Error> {
    match date {
        Some(date) => out.collect_str(date),
        None => out.serialize_none(),
    }
}

impl Default for Settings {
    fn default() -> Self {
        Self {
            name: None,
            site: None,
            date: None,
            permit: None,
            marked_when: None,
            missing_bearing: MissingBearing::default(),
            origin_latitude: None,
            origin_longitude: None,
            origin_elevation_m: None,
            north: North::default(),
            declination: Declination::default(),
            correction_deg: 0.0,
            precision: Precision::default(),
            ground: GroundModel::default(),
            ground_angle_deg: 0.0,
            ground_direction_deg: 0.0,
            ground_file: None,
            strata_edges_m: vec![0.3, 1.0, 5.0, 10.0],
            escape_metres: None,
            escape_rule: EscapeRule::default(),
            bouts_above_m: None,
            step_m: None,
            thread_g_per_m: None,
            limit_load_percent: 5.0,
            limit_days: 14.0,
            limit_rows: 2_000_000,
            limit_bytes: 512 << 20,
            columns: BTreeMap::new(),
            observers: BTreeMap::new(),
        }
    }
}

impl Settings {
    /// The height above which the animal is off the ground: stated, or the lowest edge.
    pub fn above_ground_m(&self) -> f64 {
        let lowest = self.strata_edges_m.first().copied().unwrap_or(0.0);
        self.bouts_above_m.unwrap_or(lowest)
    }

    /// The corrections of the observer called `name`.
    pub fn observer(&self, names: &Names, name: Option<super::names::Name>) -> Observer {
        let own = name.and_then(|name| self.observers.get(names.text(name)));
        own.copied().unwrap_or_default()
    }
}

/// The keys with what each means; the order is that of a commented `survey.toml`.
pub const KEYS: &[(&str, &str)] = &[
    ("name", "name of the study"),
    ("site", "where it was done"),
    ("date", "date of the survey, for trails that have none of their own"),
    ("permit", "number of the permit"),
    ("marked_when", "the marking rule, in words"),
    ("missing_bearing", "profile_only or straight_on"),
    ("origin.latitude", "origin of the local frame, degrees north (WGS 84)"),
    ("origin.longitude", "origin of the local frame, degrees east (WGS 84)"),
    ("origin.elevation_m", "elevation of the ground at the origin"),
    ("bearings.north", "magnetic, true or grid"),
    ("bearings.declination", "\"model\" or degrees, east positive"),
    ("bearings.correction_deg", "added to every bearing"),
    ("precision.tape_m", "tape, constant part"),
    ("precision.tape_per_m", "tape, part for each metre"),
    ("precision.bearing_deg", "compass read in degrees or gon"),
    ("precision.bearing_point_deg", "compass read as one of 16 points"),
    ("precision.turn_deg", "turning angle"),
    ("precision.incline_deg", "clinometer along a leg"),
    ("precision.height_m", "height above ground, constant part"),
    ("precision.height_per_m", "height above ground, part for each metre"),
    ("precision.rise_m", "rise of a tie"),
    ("precision.control_m", "position of a control that states none"),
    ("precision.anchor_m", "how well an anchor is met again"),
    ("precision.plumb_m", "how far a plumb leg may lean"),
    ("precision.ground_m", "roughness of the ground about its model; 0 makes it exact"),
    ("ground.model", "flat, slope, points or raster"),
    ("ground.angle_deg", "steepness of the slope"),
    ("ground.direction_deg", "bearing in which the slope falls"),
    ("ground.file", "raster of elevations"),
    ("strata.edges_m", "edges of the height bands, rising"),
    ("escape.metres", "metres after release that are escape run"),
    ("escape.rule", "first_return or none"),
    ("bouts.above_m", "height above which the animal is off the ground"),
    ("steps.step_m", "step of the equally stepped path; default the median leg"),
    ("bobbin.thread_g_per_m", "weight of a metre of thread"),
    ("limits.load_percent", "device, per cent of body mass"),
    ("limits.days", "days a device may be carried"),
    ("limits.rows", "rows of a table"),
    ("limits.bytes", "bytes of a file"),
];

/// Reads the text of `survey.toml`, then the `KEY=VALUE` pairs of the command line.
pub fn read(file: &str, text: &str, overrides: &[(String, String)]) -> (Settings, Faults) {
    let (mut settings, mut faults) = (Settings::default(), Faults::default());
    match DeTable::parse(text) {
        Ok(table) => {
            for (path, value, at) in flatten(text, table.get_ref()) {
                let place = Place::file(file).row(at).column(&path);
                apply(&mut settings, &path, &value, place, &mut faults);
            }
        }
        Err(error) => {
            let at = error.span().map_or(1, |span| line_of(text, span.start));
            faults
                .error(Code::UnreadableSettings, Place::file(file).row(at))
                .found(error.message())
                .expected("TOML: one `key = value` a line, words in quotes");
        }
    }
    for (key, value) in overrides {
        // A word may come bare: a shell eats the quotes, and `true` is a north as well.
        let parsed = format!("v={value}").parse::<toml::Table>().ok();
        let parsed = parsed.and_then(|mut table| table.remove("v"));
        let value = parsed.filter(|v| !v.is_bool()).unwrap_or_else(|| value.clone().into());
        let place = Place::file("--set").column(key);
        apply(&mut settings, &dotted(key), &value, place, &mut faults);
    }
    (settings, faults)
}

/// The dotted path of a key given by its last name, where that is unique; else the key itself.
pub fn dotted(key: &str) -> String {
    let ends_so = |path: &&str| path.rsplit('.').next() == Some(key);
    let mut found = KEYS.iter().map(|(path, _)| *path).filter(ends_so);
    match (found.next(), found.next()) {
        (Some(path), None) => path.to_owned(),
        _ => key.to_owned(),
    }
}

fn line_of(text: &str, at: usize) -> usize {
    1 + text.bytes().take(at).filter(|&byte| byte == b'\n').count()
}

/// Every value of a table with its dotted path and its line.
fn flatten(text: &str, table: &DeTable<'_>) -> Vec<(String, Value, usize)> {
    let mut found = Vec::new();
    for (key, value) in table {
        let line = line_of(text, key.span().start);
        match value.get_ref() {
            DeValue::Table(inner) if key.get_ref() != "columns" => {
                for (path, value, line) in flatten(text, inner) {
                    found.push((format!("{}.{path}", key.get_ref()), value, line));
                }
            }
            _ => {
                let source = text.get(value.span()).unwrap_or("");
                let parsed = format!("v = {source}").parse::<toml::Table>();
                let inner = match value.get_ref() {
                    DeValue::Table(inner) => Some(column_map(inner)),
                    _ => parsed.ok().and_then(|mut table| table.remove("v")),
                };
                found.extend(inner.map(|value| (key.get_ref().to_string(), value, line)));
            }
        }
    }
    found.sort_by_key(|(_, _, line)| *line);
    found
}

fn column_map(table: &DeTable<'_>) -> Value {
    let pair =
        |(key, value): (&toml::Spanned<std::borrow::Cow<'_, str>>, &toml::Spanned<DeValue<'_>>)| {
            let value = value.get_ref().as_str().unwrap_or("").to_owned();
            (key.get_ref().to_string(), Value::String(value))
        };
    Value::Table(table.iter().map(pair).collect())
}

/// What a setting may be, for the message when it is something else.
type Expected = &'static str;

fn apply(settings: &mut Settings, path: &str, value: &Value, place: Place, faults: &mut Faults) {
    let outcome = assign(settings, path, value).or_else(|unknown| match unknown {
        Refused::Unknown => assign_named(settings, path, value),
        bad @ Refused::Bad(_) => Err(bad),
    });
    match outcome {
        Ok(()) => {}
        Err(Refused::Bad(expected)) => {
            faults.error(Code::BadSetting, place).found(value.to_string()).expected(expected);
        }
        Err(Refused::Unknown) => {
            let keys = KEYS.iter().map(|(path, _)| *path);
            let last = |path: &str| path.rsplit('.').next().unwrap_or(path).to_owned();
            let same = keys.clone().find(|key| last(key) == last(path));
            let near = same.or_else(|| nearest(path, keys));
            let hint = near.map_or_else(
                || "the setting has no effect".to_owned(),
                |key| format!("did you mean {key}? the setting has no effect as it stands"),
            );
            faults
                .warn(Code::UnknownSetting, place)
                .found(path)
                .expected("a setting of survey.toml")
                .hint(hint);
        }
    }
}

enum Refused {
    Unknown,
    Bad(Expected),
}

/// Sets the setting at `path`.
fn assign(s: &mut Settings, path: &str, value: &Value) -> Result<(), Refused> {
    if let Some(key) = path.strip_prefix("precision.") {
        return assign_precision(&mut s.precision, key, value);
    }
    match path {
        "name" => s.name = Some(words(value)?),
        "site" => s.site = Some(words(value)?),
        "date" => s.date = Some(date(value)?),
        "permit" => s.permit = Some(words(value)?),
        "marked_when" => s.marked_when = Some(words(value)?),
        "missing_bearing" => s.missing_bearing = one_of(value, MISSING_BEARING)?,
        "origin.latitude" => s.origin_latitude = Some(number(value, -90.0..=90.0)?),
        "origin.longitude" => s.origin_longitude = Some(number(value, -180.0..=180.0)?),
        "origin.elevation_m" => s.origin_elevation_m = Some(number(value, -500.0..=9000.0)?),
        "bearings.north" => s.north = one_of(value, NORTH)?,
        "bearings.declination" => s.declination = declination(value)?,
        "bearings.correction_deg" => s.correction_deg = number(value, -360.0..=360.0)?,
        "ground.model" => s.ground = one_of(value, GROUND)?,
        "ground.angle_deg" => s.ground_angle_deg = number(value, -80.0..=80.0)?,
        "ground.direction_deg" => s.ground_direction_deg = number(value, -360.0..=360.0)?,
        "ground.file" => s.ground_file = Some(words(value)?),
        "strata.edges_m" => s.strata_edges_m = edges(value)?,
        "escape.metres" => s.escape_metres = Some(number(value, 0.0..=1000.0)?),
        "escape.rule" => s.escape_rule = one_of(value, ESCAPE)?,
        "bouts.above_m" => s.bouts_above_m = Some(number(value, 0.0..=100.0)?),
        "steps.step_m" => s.step_m = Some(number(value, 0.01..=1000.0)?),
        "bobbin.thread_g_per_m" => s.thread_g_per_m = Some(number(value, 1e-5..=1.0)?),
        "limits.load_percent" => s.limit_load_percent = number(value, 0.0..=100.0)?,
        "limits.days" => s.limit_days = number(value, 0.0..=1000.0)?,
        "limits.rows" => s.limit_rows = whole(value)?,
        "limits.bytes" => s.limit_bytes = whole(value)? as u64,
        "columns" => s.columns = map(value)?,
        _ => return Err(Refused::Unknown),
    }
    Ok(())
}

fn assign_precision(p: &mut Precision, key: &str, value: &Value) -> Result<(), Refused> {
    let known = match key {
        "tape_m" => &mut p.tape_m,
        "tape_per_m" => &mut p.tape_per_m,
        "bearing_deg" => &mut p.bearing_deg,
        "bearing_point_deg" => &mut p.bearing_point_deg,
        "turn_deg" => &mut p.turn_deg,
        "incline_deg" => &mut p.incline_deg,
        "height_m" => &mut p.height_m,
        "height_per_m" => &mut p.height_per_m,
        "rise_m" => &mut p.rise_m,
        "control_m" => &mut p.control_m,
        "anchor_m" => &mut p.anchor_m,
        "plumb_m" => &mut p.plumb_m,
        "ground_m" => &mut p.ground_m,
        _ => return Err(Refused::Unknown),
    };
    let may_be_zero = matches!(
        key,
        "tape_per_m" | "height_per_m" | "anchor_m" | "ground_m" | "height_m" | "tape_m"
    );
    *known = number(value, 0.0..=1000.0)?;
    if *known > 0.0 || may_be_zero { Ok(()) } else { Err(Refused::Bad("a number above 0")) }
}

/// Settings whose path holds a name: `observer.NAME.*`, `precision.height_by.METHOD.*`.
fn assign_named(s: &mut Settings, path: &str, value: &Value) -> Result<(), Refused> {
    if let Some(rest) = path.strip_prefix("precision.height_by.") {
        let (method, key) = rest.split_once('.').ok_or(Refused::Unknown)?;
        let known = HeightMethod::ALL.iter().find(|(_, word)| *word == method);
        let own = s.precision.height_by.entry(known.ok_or(Refused::Unknown)?.1).or_default();
        match key {
            "height_m" => own.height_m = Some(number(value, 0.0..=100.0)?),
            "height_per_m" => own.height_per_m = Some(number(value, 0.0..=1.0)?),
            _ => return Err(Refused::Unknown),
        }
        return Ok(());
    }
    let rest = path.strip_prefix("observer.").ok_or(Refused::Unknown)?;
    let (name, key) = rest.rsplit_once('.').ok_or(Refused::Unknown)?;
    let own = s.observers.entry(name.to_owned()).or_default();
    match key {
        "bearing_deg" => own.bearing_deg = number(value, -360.0..=360.0)?,
        "incline_deg" => own.incline_deg = number(value, -90.0..=90.0)?,
        "tape_scale" => own.tape_scale = number(value, 0.5..=2.0)?,
        _ => return Err(Refused::Unknown),
    }
    Ok(())
}

const MISSING_BEARING: &[(&str, MissingBearing)] =
    &[("profile_only", MissingBearing::ProfileOnly), ("straight_on", MissingBearing::StraightOn)];
const NORTH: &[(&str, North)] =
    &[("magnetic", North::Magnetic), ("true", North::True), ("grid", North::Grid)];
const GROUND: &[(&str, GroundModel)] = &[
    ("flat", GroundModel::Flat),
    ("slope", GroundModel::Slope),
    ("points", GroundModel::Points),
    ("raster", GroundModel::Raster),
];
const ESCAPE: &[(&str, EscapeRule)] =
    &[("first_return", EscapeRule::FirstReturn), ("none", EscapeRule::None)];

fn one_of<T: Copy>(value: &Value, words: &[(&str, T)]) -> Result<T, Refused> {
    let text = value.as_str().ok_or(Refused::Bad("a word in quotes"))?;
    let known = words.iter().find(|(word, _)| *word == text);
    known.map(|(_, meaning)| *meaning).ok_or(Refused::Bad("one of the words of this setting"))
}

fn words(value: &Value) -> Result<String, Refused> {
    value.as_str().map(str::to_owned).ok_or(Refused::Bad("text in quotes"))
}

fn number(value: &Value, range: std::ops::RangeInclusive<f64>) -> Result<f64, Refused> {
    let number = value.as_float().or_else(|| value.as_integer().map(|whole| whole as f64));
    let number = number.ok_or(Refused::Bad("a number, with a point for decimals"))?;
    if range.contains(&number) { Ok(number) } else { Err(Refused::Bad("a number in its range")) }
}

fn whole(value: &Value) -> Result<usize, Refused> {
    let whole = value.as_integer().and_then(|whole| usize::try_from(whole).ok());
    whole.filter(|&whole| whole > 0).ok_or(Refused::Bad("a whole number above 0"))
}

fn date(value: &Value) -> Result<Date, Refused> {
    let text = match value {
        Value::Datetime(date) => date.to_string(),
        other => words(other)?,
    };
    let day = text.get(..10).unwrap_or(&text);
    day.parse().map_err(|_| Refused::Bad("a date like 2026-06-30"))
}

fn declination(value: &Value) -> Result<Declination, Refused> {
    match value.as_str() {
        Some("model") => Ok(Declination::Model),
        Some(_) => Err(Refused::Bad("\"model\" or a number of degrees")),
        None => number(value, -180.0..=180.0).map(Declination::Stated),
    }
}

fn edges(value: &Value) -> Result<Vec<f64>, Refused> {
    let list = value.as_array().ok_or(Refused::Bad("a list of heights, like [0.3, 1, 5]"))?;
    let edges = list.iter().map(|v| number(v, 0.0..=130.0)).collect::<Result<Vec<_>, _>>()?;
    let rising = !edges.is_empty() && edges.windows(2).all(|pair| pair[0] < pair[1]);
    if rising { Ok(edges) } else { Err(Refused::Bad("heights that rise from one to the next")) }
}

fn map(value: &Value) -> Result<BTreeMap<String, String>, Refused> {
    let table = value.as_table().ok_or(Refused::Bad("lines like bearing_deg = \"azimute\""))?;
    table.iter().map(|(key, value)| Ok((key.clone(), words(value)?))).collect()
}

/// The settings' file name within a survey.
pub const FILE: &str = "survey.toml";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_key_is_found_by_its_last_name_where_that_is_unique() {
        assert_eq!(dotted("ground_m"), "precision.ground_m");
        assert_eq!(dotted("limits.rows"), "limits.rows");
    }

    #[test]
    fn every_key_in_the_list_is_known() {
        let mut settings = Settings::default();
        for (key, _) in KEYS {
            let outcome = assign(&mut settings, key, &Value::Boolean(true));
            assert!(matches!(outcome, Err(Refused::Bad(_))), "{key}");
        }
    }

    #[test]
    fn bare_words_are_taken_and_the_last_of_one_key_holds() {
        let pair = |key: &str, value: &str| (key.to_owned(), value.to_owned());
        let given = [pair("name", "Alpha"), pair("name", "Beta"), pair("north", "true")];
        let (settings, faults) = read(FILE, "", &given);
        assert!(faults.is_empty(), "{:?}", faults.sorted());
        assert_eq!(settings.name.as_deref(), Some("Beta"));
        assert_eq!(settings.north, North::True);
    }

    #[test]
    fn values_arrive_with_their_lines() {
        let text = "name = 'A'\n[bearings]\nnorth = \"true\"\n[precision]\ntape_m = -1\n\
                    [precision.height_by.pole]\nheight_m = 0.1\n[observer.\"Ana K.\"]\ntape_scale = 1.01\n[collumns]\na='b'";
        let (settings, faults) = read(FILE, text, &[("ground_m".into(), "0".into())]);
        assert_eq!(settings.north, North::True);
        assert!(settings.precision.ground_m.abs() < 1e-15);
        assert_eq!(settings.precision.height_by["pole"].height_m, Some(0.1));
        assert!((settings.observers["Ana K."].tape_scale - 1.01).abs() < 1e-12);
        let sorted = faults.sorted();
        assert_eq!(sorted[0].code, Code::BadSetting);
        assert_eq!(sorted[0].place.row, Some(5));
        assert_eq!(sorted[1].code, Code::UnknownSetting);
    }
}

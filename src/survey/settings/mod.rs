//! Everything that `survey.toml` can say, with its defaults; `--set` uses the same names.
//!
//! In: the text of `survey.toml` and pairs from the command line. Out: [`Settings`], and a fault
//! for each that cannot be used, which then keeps its default. [`SETTINGS`] describes every
//! setting once, for readers, messages and templates alike.

mod asked;
mod choices;
mod described;
mod precision;
mod read;
mod value;
mod written;

use super::names::{Name, Names};
use jiff::civil::Date;
use serde::Serialize;
use std::collections::BTreeMap;

pub use asked::Asked;
pub use choices::{Declination, EscapeRule, GroundModel, MissingBearing, North, SupportOfLeg};
pub use described::{SETTINGS, Setting};
pub use precision::{CommonErrors, HeightPrecision, Precision};
pub use read::read;
pub use written::written;

/// The settings' file name within a survey.
pub const FILE: &str = "survey.toml";

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
#[expect(missing_docs, reason = "each is explained in SETTINGS; units are in the names")]
pub struct Settings {
    pub name: Option<String>,
    pub site: Option<String>,
    #[serde(serialize_with = "date_text")]
    pub date: Option<Date>,
    pub permit: Option<String>,
    pub marked_when: Option<String>,
    pub licence: Option<String>,
    pub missing_bearing: MissingBearing,
    pub origin_latitude: Option<f64>,
    pub origin_longitude: Option<f64>,
    pub origin_elevation_m: Option<f64>,
    pub north: North,
    pub declination: Declination,
    pub correction_deg: f64,
    #[serde(flatten, serialize_with = "precision::beside_common")]
    pub precision: Precision,
    pub ground: GroundModel,
    pub ground_angle_deg: f64,
    pub ground_direction_deg: f64,
    pub ground_file: Option<String>,
    pub strata_edges_m: Vec<f64>,
    pub support_of_leg: SupportOfLeg,
    pub diameter_edges_cm: Vec<f64>,
    pub incline_edges_deg: Vec<f64>,
    pub day_hours: [f64; 2],
    pub escape_metres: Option<f64>,
    pub escape_rule: EscapeRule,
    pub bouts_above_m: Option<f64>,
    pub step_m: Option<f64>,
    pub thread_g_per_m: Option<f64>,
    pub compare: Asked,
    pub limit_load_percent: f64,
    pub limit_days: f64,
    pub limit_rows: usize,
    pub limit_bytes: usize,
    pub limit_unpacked_bytes: usize,
    pub columns: BTreeMap<String, String>,
    pub words: BTreeMap<String, String>,
    pub observers: BTreeMap<String, Observer>,
    /// Controls that animals may have headed for, by what they are.
    pub places: BTreeMap<String, String>,
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
            licence: None,
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
            support_of_leg: SupportOfLeg::default(),
            diameter_edges_cm: vec![2.0, 5.0, 10.0, 20.0], // common practice, no source
            incline_edges_deg: vec![30.0, 60.0],           // common practice, no source
            day_hours: [6.0, 18.0],                        // common practice, no source
            escape_metres: None,
            escape_rule: EscapeRule::default(),
            bouts_above_m: None,
            step_m: None,
            thread_g_per_m: None,
            compare: Asked::default(),
            limit_load_percent: 5.0,
            limit_days: 14.0,
            limit_rows: 2_000_000,
            limit_bytes: 512 << 20,
            limit_unpacked_bytes: 256 << 20,
            columns: BTreeMap::new(),
            words: BTreeMap::new(),
            observers: BTreeMap::new(),
            places: BTreeMap::new(),
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
    pub fn observer(&self, names: &Names, name: Option<Name>) -> Observer {
        let own = name.and_then(|name| self.observers.get(names.text(name)));
        own.copied().unwrap_or_default()
    }
}

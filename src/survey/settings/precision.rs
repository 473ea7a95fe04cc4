//! How precise readings are: one standard deviation of each kind, and of what many readings share.

use crate::survey::rows::HeightMethod;
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// One standard deviation of each kind of reading.
#[derive(Clone, Debug, PartialEq, Serialize)]
#[expect(missing_docs, reason = "each is explained in SETTINGS; units are in the names")]
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
    pub height_by: BTreeMap<String, HeightPrecision>,
    /// Of what all readings of one instrument share; settings say it beside the precisions.
    #[serde(skip)]
    pub common: CommonErrors,
}

/// One standard deviation of how far an observer's instruments are off for a whole study; nothing
/// where none is allowed for.
#[derive(Clone, Copy, Debug, Default, PartialEq, Serialize)]
#[expect(missing_docs, reason = "each is explained in SETTINGS; units are in the names")]
pub struct CommonErrors {
    pub tape_scale: f64,
    pub bearing_deg: f64,
    pub height_scale: f64,
}

/// Precisions and common errors side by side, as `survey.toml` has them.
pub(super) fn beside_common<S: Serializer>(
    precision: &Precision,
    out: S,
) -> Result<S::Ok, S::Error> {
    #[derive(Serialize)]
    struct Both<'a> {
        precision: &'a Precision,
        common: CommonErrors,
    }
    Both { precision, common: precision.common }.serialize(out)
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
            common: CommonErrors::default(),
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
        let own = word.and_then(|(_, word)| self.height_by.get(*word)).copied().unwrap_or_default();
        let constant = own.height_m.unwrap_or(self.height_m);
        constant.hypot(own.height_per_m.unwrap_or(self.height_per_m) * metres)
    }
}

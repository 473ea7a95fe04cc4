//! Numbers of a case.

use serde_json::Value;

pub(crate) fn number(value: &Value) -> f64 {
    value.as_f64().unwrap()
}

pub(crate) fn list(value: &Value) -> Vec<f64> {
    value.as_array().unwrap().iter().map(number).collect()
}

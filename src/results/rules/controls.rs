//! Rules of the controls table.

use crate::survey::Survey;
use crate::survey::fault::{Code, Faults};
use crate::survey::settings::GroundModel;
use std::collections::HashMap;

pub(super) fn check(survey: &Survey, faults: &mut Faults) {
    named_once(survey, faults);
    level_on_flat_ground(survey, faults);
}

/// Each control has one row.
fn named_once(survey: &Survey, faults: &mut Faults) {
    let mut first = HashMap::new();
    for control in &survey.controls {
        if let Some(&row) = first.get(&control.control) {
            let above = survey.grids.controls.as_ref().map_or(0, |grid| grid.row(row));
            faults
                .error(Code::DuplicateName, survey.control_place(control.row, "control"))
                .found(survey.text(control.control))
                .expected("each control in one row")
                .hint(format!("row {above} has the same name"));
        }
        first.entry(control.control).or_insert(control.row);
    }
}

/// Flat ground has one elevation: controls that differ by more than both say of themselves do not
/// lie on it.
fn level_on_flat_ground(survey: &Survey, faults: &mut Faults) {
    if survey.settings.ground != GroundModel::Flat {
        return;
    }
    let stated =
        || survey.controls.iter().filter_map(|control| Some((control, control.elevation?)));
    let Some((first, level)) = stated().next() else { return };
    for (control, elevation) in stated().skip(1) {
        let off = elevation.to_metres() - level.to_metres();
        // A control in no trail's way is a bench mark: ties may well lead up to it.
        if off.abs() > survey.settings.precision.ground_m.max(0.01)
            && (control.position.is_some() || first.position.is_some())
        {
            faults
                .warn(Code::FlatGroundControls, survey.control_place(control.row, "elevation_m"))
                .found(format!("{} m", elevation.to_metres()))
                .expected(format!("{} m, as at {}", level.to_metres(), survey.text(first.control)))
                .hint("set [ground] model = \"points\", or \"slope\" with its angle and direction");
        }
    }
}

//! What the tables mean, for machines: CSV on the Web metadata, and the head of `results.json`.

use crate::analysis::Analysis;
use crate::analysis::tables::{Column, Kind, Table};
use crate::quantity::Turn;
use serde_json::{Value, json};

/// The version of this program.
pub(super) const VERSION: &str = env!("CARGO_PKG_VERSION");

/// `csv-metadata.json`: a W3C table group with every column's datatype, unit and meaning.
pub(super) fn csv_metadata(tables: &[Table]) -> Value {
    let column = |column: &Column| {
        let datatype = match column.kind {
            Kind::Text => "string",
            Kind::Number(_) => "number",
            Kind::Count => "integer",
        };
        let mut described = json!({
            "name": column.name, "titles": column.name, "datatype": datatype,
            "dc:description": column.meaning,
        });
        if !column.unit.is_empty() {
            described["schema:unitText"] = Value::from(column.unit);
        }
        described
    };
    let table = |table: &Table| {
        json!({
            "url": format!("{}.csv", table.name),
            "dc:description": table.meaning,
            "dialect": {"delimiter": ",", "header": true, "encoding": "utf-8"},
            "tableSchema": {"columns": table.columns.iter().map(column).collect::<Vec<_>>()},
        })
    };
    json!({
        "@context": ["http://www.w3.org/ns/csvw", {"schema": "http://schema.org/"}],
        "dc:creator": format!("perchline {VERSION}"),
        "tables": tables.iter().map(table).collect::<Vec<_>>(),
    })
}

/// The settings used, those of the command line included.
pub(super) fn settings(analysis: &Analysis) -> Value {
    let mut settings = serde_json::to_value(&analysis.survey.settings).unwrap_or(Value::Null);
    let wanted = &analysis.wanted;
    settings["method"] = Value::from(wanted.method.name());
    settings["draws"] = Value::from(wanted.draws);
    settings["seed"] = Value::from(wanted.seed);
    settings
}

/// The frame: its origin, the declination of the first trail and the grid's convergence.
pub(super) fn frame(analysis: &Analysis) -> Value {
    let network = &analysis.network;
    let origin = network.frame.map(|frame| frame.origin());
    let degrees = |radians: f64| Turn::from_radians(radians).to_degrees();
    let first = network.trails.first().map(|trail| trail.declination);
    json!({
        "latitude": origin.map(|origin| origin.latitude.to_degrees()),
        "longitude": origin.map(|origin| origin.longitude.to_degrees()),
        "elevation_m": origin.map(|origin| origin.elevation.to_metres()),
        "declination_deg": first.map(|(turn, _)| degrees(turn)),
        "declination_source": first.map(|(_, source)| source.words()),
        "convergence_deg": network.convergence.map(degrees),
    })
}

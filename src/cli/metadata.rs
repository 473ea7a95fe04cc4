//! What the tables mean, for machines: CSV on the Web metadata, and the head of `results.json`.

use crate::maths::quantity::{Turn, plain};
use crate::results::Analysis;
use crate::results::hiding::SITE_DECIMALS;
use crate::results::tables::{Column, Kind, Table};
use serde_json::{Value, json};

/// The version of this program.
pub(super) const VERSION: &str = env!("CARGO_PKG_VERSION");

/// A column's name as the standard wants it, a variable of a URI template: what is no letter, digit
/// or underscore is written by its bytes (RFC 6570, 2.3). Underscores may not come first.
fn template_name(name: &str) -> String {
    let byte = |(at, byte): (usize, u8)| match byte {
        b'_' if at > 0 => "_".to_owned(),
        byte if byte.is_ascii_alphanumeric() => char::from(byte).to_string(),
        byte => format!("%{byte:02X}"),
    };
    name.bytes().enumerate().map(byte).collect()
}

/// `csv-metadata.json`: a W3C table group with every column's datatype, unit and meaning; the
/// tables lie in `folder`.
pub(super) fn csv_metadata(tables: &[Table], folder: &str) -> Value {
    let column = |column: &Column| {
        let datatype = match column.kind {
            Kind::Text => "string",
            Kind::Number(_) => "number",
            Kind::Count => "integer",
        };
        let mut described = json!({
            "name": template_name(&column.name), "titles": column.name, "datatype": datatype,
            "dc:description": column.meaning,
        });
        if !column.unit.is_empty() {
            described["schema:unitText"] = Value::from(column.unit);
        }
        described
    };
    let table = |table: &Table| {
        json!({
            "url": format!("{folder}{}.csv", table.name),
            "dc:description": table.meaning,
            "dialect": {"delimiter": ",", "header": true, "encoding": "utf-8"},
            "tableSchema": {"columns": table.columns.iter().map(column).collect::<Vec<_>>()},
        })
    };
    json!({
        "@context": "http://www.w3.org/ns/csvw",
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
    // A declination to the last digit is a line on the map, and so is a convergence.
    let hidden = analysis.wanted.hide_location;
    let cut = |degrees: f64| plain(degrees, SITE_DECIMALS).parse().unwrap_or(0.0);
    let rounded = |degrees: f64| if hidden { cut(degrees) } else { degrees };
    let degrees = |radians: f64| rounded(Turn::from_radians(radians).to_degrees());
    let first = network.trails.first().map(|trail| trail.declination);
    json!({
        "latitude": origin.map(|origin| rounded(origin.latitude.to_degrees())),
        "longitude": origin.map(|origin| rounded(origin.longitude.to_degrees())),
        "elevation_m": origin.map(|origin| origin.elevation.to_metres()),
        "declination_deg": first.map(|(turn, _)| degrees(turn)),
        "declination_source": first.map(|(_, source)| source.words()),
        "convergence_deg": network.convergence.map(degrees),
    })
}

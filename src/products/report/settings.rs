//! Every setting with its value, as `survey.toml` would name it, and the frame.

use super::html::Html;
use super::{Report, tables};
use serde_json::Value;

pub(super) fn section(report: &Report<'_>, html: &mut Html) {
    let table = |id, title: &str, value: &Value, html: &mut Html| {
        let mut rows = Vec::new();
        flat("", value, &mut rows);
        let caption = [title.to_owned(), String::new()];
        tables::table(id, &caption, &["name", "value"], &rows, html);
    };
    html.within("details", &[], |html| {
        html.element("summary", &[], "All settings and the frame");
        table("settings-table", "Settings used", report.settings, html);
        table("frame-table", "Frame", report.frame, html);
    });
}

/// Every value with its dotted path; what is not set is not told.
fn flat(path: &str, value: &Value, rows: &mut Vec<[String; 2]>) {
    match value {
        Value::Null => {}
        Value::Object(fields) => {
            for (name, value) in fields {
                let path = if path.is_empty() { name.clone() } else { format!("{path}.{name}") };
                flat(&path, value, rows);
            }
        }
        Value::Array(list) => rows.push([path.to_owned(), joined(list)]),
        value => rows.push([path.to_owned(), plain(value)]),
    }
}

fn joined(list: &[Value]) -> String {
    list.iter().map(plain).collect::<Vec<_>>().join(", ")
}

fn plain(value: &Value) -> String {
    value.as_str().map_or_else(|| value.to_string(), str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn values_stand_under_their_dotted_paths() {
        let mut rows = Vec::new();
        flat("", &json!({"a": {"b": 1.5, "c": null}, "d": [1, 2], "e": "text"}), &mut rows);
        let expected = [["a.b", "1.5"], ["d", "1, 2"], ["e", "text"]];
        assert_eq!(rows, expected.map(|row| row.map(str::to_owned)));
    }
}

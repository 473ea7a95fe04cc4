//! Tables that scroll by themselves where they are wide, with heads for screen readers.

use super::html::Html;
use crate::results::printed::Printed;

/// One table of a paper.
pub(super) fn printed(number: usize, table: &Printed, html: &mut Html) {
    let caption = [format!("Table {number}."), table.title.clone()];
    self::table(&format!("table-{number}"), &caption, &table.heads, &table.rows, html);
    for note in &table.notes {
        html.element("p", &[("class", "note")], note);
    }
}

/// A table under its caption; the first cell of a row heads it.
pub(super) fn table<Head: AsRef<str>, Row: AsRef<[String]>>(
    id: &str,
    [label, title]: &[String; 2],
    heads: &[Head],
    rows: &[Row],
    html: &mut Html,
) {
    if rows.is_empty() {
        html.within("p", &[], |html| {
            html.element("strong", &[], label);
            html.text(&format!(" {title} There is nothing to list."));
        });
        return;
    }
    let numbers: Vec<bool> = (0..heads.len()).map(|at| holds_numbers(rows, at)).collect();
    let class = |at: usize| if numbers[at] { "number" } else { "" };
    let caption_id = format!("{id}-caption");
    html.raw("\n");
    let frame = [
        ("class", "wide"),
        ("role", "region"),
        ("tabindex", "0"),
        ("aria-labelledby", &caption_id),
    ];
    html.within("div", &frame, |html| {
        html.within("table", &[("id", id), ("class", "sortable")], |html| {
            html.within("caption", &[("id", &caption_id)], |html| {
                html.element("strong", &[], label);
                html.text(&format!(" {title}"));
            });
            html.within("thead", &[], |html| {
                html.within("tr", &[], |html| {
                    for (at, head) in heads.iter().enumerate() {
                        let attributes = [("scope", "col"), ("class", class(at))];
                        html.element("th", &attributes, head.as_ref());
                    }
                });
            });
            html.within("tbody", &[], |html| {
                for row in rows {
                    html.raw("\n");
                    html.within("tr", &[], |html| cells(row.as_ref(), &class, html));
                }
            });
        });
    });
}

/// More characters than this may be broken into lines.
const FOLDED: usize = 16;
/// More characters than this keep a column wide.
const LONG: usize = 40;

fn cells<'a>(row: &[String], class: &dyn Fn(usize) -> &'a str, html: &mut Html) {
    for (at, cell) in row.iter().enumerate() {
        let cell = &minus(cell);
        let count = cell.chars().count();
        let long = count > FOLDED;
        let breadth = if count > LONG { "long" } else { "fold" };
        let class = [class(at), if long { breadth } else { "" }].join(" ");
        match at {
            0 => html.element("th", &[("scope", "row"), ("dir", "auto"), ("class", &class)], cell),
            _ if class.starts_with("number") && long => {
                html.within("td", &[("class", &class)], |html| spread(cell, html));
            }
            _ => html.element("td", &[("dir", "auto"), ("class", &class)], cell),
        }
    }
}

/// Hyphens before a number that begins a word or a bracket are minus signs.
fn minus(cell: &str) -> String {
    let signed = |(at, c): (usize, char)| {
        let begins = cell[..at].chars().next_back().is_none_or(|before| " (".contains(before));
        let number = cell[at + c.len_utf8()..].starts_with(|next: char| next.is_ascii_digit());
        if c == '-' && begins && number { '−' } else { c }
    };
    cell.char_indices().map(signed).collect()
}

/// A number with what follows it; a line may end before a bracket or after a comma only.
fn spread(cell: &str, html: &mut Html) {
    let breaks =
        |(at, _): &(usize, char)| cell[at + 1..].starts_with('(') || cell[..*at].ends_with(',');
    let mut start = 0;
    for (at, _) in cell.char_indices().filter(|(_, c)| *c == ' ').filter(breaks) {
        html.element("span", &[], &cell[start..at]);
        html.text(" ");
        start = at + 1;
    }
    html.element("span", &[], &cell[start..]);
}

/// Whether every filled cell of a column begins with a number, and some does.
fn holds_numbers<Row: AsRef<[String]>>(rows: &[Row], at: usize) -> bool {
    let cells = || rows.iter().filter_map(|row| row.as_ref().get(at));
    let filled = || cells().map(|cell| cell.trim()).filter(|cell| !matches!(*cell, "" | "–"));
    at > 0 && filled().next().is_some() && filled().all(is_number)
}

fn is_number(cell: &str) -> bool {
    let bare = cell.trim_start_matches(['≥', '≤', '<', ' ']).trim_end_matches(['%', '°', ' ', 'm']);
    // A bracket or a spread may follow the number.
    let first = bare.split([' ', '(', '°']).next().unwrap_or(bare);
    first.trim_end_matches(',').parse::<f64>().is_ok_and(f64::is_finite)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_spread_breaks_before_its_bracket_and_after_its_comma() {
        let mut html = Html::default();
        spread("62.4 ± 27.1 (31.1–136.9), n = 13", &mut html);
        let expected = "<span>62.4 ± 27.1</span> <span>(31.1–136.9),</span> <span>n = 13</span>";
        assert_eq!(html.finish(), expected);
    }

    #[test]
    fn a_minus_is_no_hyphen() {
        assert_eq!(minus("-3.0 g (-2.6 %)"), "−3.0 g (−2.6 %)");
        assert_eq!(minus("2025-09-06 to 2025-09-07, x -"), "2025-09-06 to 2025-09-07, x -");
    }

    #[test]
    fn numbers_are_known_with_what_stands_around_them() {
        for cell in ["12", "≥ 60.3", "3.6 %", "62.4 ± 27.1 (31.1–136.9), n = 13", "11.2 (9.1–13.0)"]
        {
            assert!(is_number(cell), "{cell}");
        }
        for cell in ["found ×2", "2025-09-06 to 2025-09-07", "", "beech 12", "inf", "NaN"] {
            assert!(!is_number(cell), "{cell}");
        }
    }
}

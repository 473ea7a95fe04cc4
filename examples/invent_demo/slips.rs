//! Slips of the pencil and of the typing hand, and the tables as first typed.

use crate::study::cells;
use crate::table::{Row, Table};

/// Slips of the pencil and of the typing hand. A row is named by its first cell or its first two;
/// without a name the heading is meant, and without a column the row is there once more, with its
/// names only.
pub(crate) const SLIPS: &str = "\
table    | row     | column           | written    | found by
anchors  | D20 5   |                  | again      | duplicate_anchor at anchor
anchors  | D11 24  | tape_m           | 2..86      | unreadable_number
anchors  | D12 19  | bearing_deg      | 335°       | unreadable_number
anchors  | D15 42  | bearing_deg      | 412        | out_of_range
anchors  | D02 24  | tape_m           | 1,420      | ambiguous_number
anchors  | D05 20  | height_by        | eys        | unknown_word
anchors  | D18 14  | height_m         | 14.1       | unit_slip; tape_shorter_than_climb at tape_m (the height is in feet)
anchors  | D03 8   | back_bearing_deg | 27         | back_bearing_not_opposite (the forward one was copied)
anchors  | D09 16  | bearing_deg      | 164        | suspect reversed_needle, by the ties of D09
anchors  | D14 16  | tape_m           | 33.7       | suspect decimal_slip, by the ties of D14; thread_against_tape at trails bobbin_after_g
anchors  | D01 41  | bearing_deg      | 27         | suspect swapped_digits, by the second tie of D01
anchors  | D19 30  | from             | 27         | suspect wrong_from, by the last tie of D19
anchors  | D04 20  | anchor           |            | blank_cell
anchors  | D08 9   | tape_m           | 1.63       | cannot be found from the tables: D08 has no tie
ties     | D16 8   | to               | 62         | unknown_anchor
controls |         | accuracy_m       | accuracy   | near_miss_heading at accuracy
trails   | D13     | date             | 1825-09-13 | date_outside_model
trails   | D10     | animal           | Wisk       | unknown_animal
trails   | D17     | bobbin_after_g   | 0.53       | thread_against_tape
animals  | Cobnut  | body_mass_g      | 69         | device_over_load at device_mass_g
animals  | Thimble | sex              | m          | cannot be found from the tables";

/// Makes the slip of one line of [`SLIPS`] and returns its line of the readme; `None` where it
/// finds no place.
pub(crate) fn make(slip: &'static str, tables: &mut [Table]) -> Option<String> {
    let cells = cells(slip);
    let [name, row, column, written, found_by] = cells[..] else { return None };
    let table = tables.iter_mut().find(|table| table.name == name)?;
    let (at, was) = if row.is_empty() {
        (1, rename(table, column, written)?)
    } else {
        let at = table.rows.iter().position(|known| is_called(known, &table.columns, row))?;
        if column.is_empty() {
            (at + 3, repeat(table, at))
        } else {
            (at + 2, write(table, at, [column, written])?)
        }
    };
    let shown = |cell: &str| if cell.is_empty() { String::new() } else { format!("`{cell}`") };
    let [written, was] = match column {
        "" => ["(its names again, nothing measured)".to_owned(), shown(&was)],
        _ => [written, &was].map(shown),
    };
    Some(format!("| {name} | {at} | {row} | {column} | {written} | {was} | {found_by} |"))
}

/// Whether the row's first cell, or its first two, are `name`.
fn is_called(row: &Row, columns: &[&str], name: &str) -> bool {
    let cell = |at: usize| row.get(columns[at]).map_or("", |text| text);
    cell(0) == name || format!("{} {}", cell(0), cell(1)) == name
}

/// Writes into row `at` and returns what stood there.
fn write(table: &mut Table, at: usize, [heading, written]: [&str; 2]) -> Option<String> {
    let column = table.columns.iter().find(|column| **column == heading)?;
    Some(table.rows[at].insert(column, written.to_owned()).unwrap_or_default())
}

/// Types the names of row `at` once more below it.
fn repeat(table: &mut Table, at: usize) -> String {
    let names = &table.columns[..2];
    let again = names.iter().map(|&name| (name, table.rows[at][name].clone())).collect();
    table.rows.insert(at + 1, again);
    String::new()
}

fn rename(table: &mut Table, heading: &str, written: &'static str) -> Option<String> {
    let at = table.columns.iter().position(|column| *column == heading)?;
    for row in &mut table.rows {
        if let Some(cell) = row.remove(heading) {
            row.insert(written, cell);
        }
    }
    table.columns[at] = written;
    Some(heading.to_owned())
}

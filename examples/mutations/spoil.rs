//! A sound survey, and what hands, spreadsheets and disks do to one. By number: the same number
//! spoils in the same way.

use super::dice::Dice;
use std::collections::BTreeMap;
use std::{fs, io};

/// The files of a survey by name.
pub(crate) type Files = BTreeMap<String, Vec<u8>>;

/// The trails of the demo that are spoilt: ties, a tie less, a broken thread, no bearings.
const TRAILS: [&str; 4] = ["D01", "D09", "D12", "D13"];
/// Anchors kept of each, so that a hundred thousand surveys take no day.
const ANCHORS: usize = 18;

/// What stands where a number or a word should.
const CELLS: [&str; 46] = [
    "",
    " ",
    "0",
    "-0",
    "1",
    "-1",
    "360",
    "361",
    "-0.0001",
    "1e308",
    "-1e308",
    "1e-320",
    "1e999",
    "NaN",
    "inf",
    "-inf",
    "12..5",
    "1,5",
    "1,234",
    "1.234,5",
    "12\u{a0}°",
    "١٢",
    "½",
    "0x1F",
    "+3",
    "--2",
    "1e",
    "yes",
    "no",
    "found",
    "lost",
    "out_of_reach",
    "D01",
    "D09",
    "1",
    "18",
    "2025-02-30",
    "25:61",
    "2025-09-06 21:11",
    "9999-12-31",
    "=1+1",
    "@x",
    "<script>",
    "../../x",
    "a\u{202e}b",
    "\u{0}",
];

/// What stands behind `=` in the settings.
const SETTINGS: [&str; 18] = [
    "0",
    "-1",
    "1e308",
    "1e-320",
    "nan",
    "inf",
    "\"\"",
    "\"model\"",
    "\"x\"",
    "true",
    "[]",
    "[1, 2, 0.5]",
    "[nan]",
    "{}",
    "[[]]",
    "2025-02-30",
    "1000000000000000000000",
    "'''",
];

/// What is set that a survey may never have said.
const KEYS: [&str; 24] = [
    "precision.tape_m",
    "precision.tape_per_m",
    "precision.bearing_deg",
    "precision.turn_deg",
    "precision.incline_deg",
    "precision.height_m",
    "precision.height_per_m",
    "precision.plumb_m",
    "precision.ground_m",
    "precision.anchor_m",
    "precision.control_m",
    "precision.rise_m",
    "strata.edges_m",
    "bouts.above_m",
    "escape.metres",
    "escape.rule",
    "missing_bearing",
    "ground.model",
    "ground.angle_deg",
    "origin.latitude",
    "bearings.north",
    "bearings.declination",
    "limits.rows",
    "steps.step_m",
];

/// A part of the demo, every table of it.
pub(crate) fn sound() -> io::Result<Files> {
    let demo = format!("{}/demo/dormice", env!("CARGO_MANIFEST_DIR"));
    let mut files = Files::new();
    for entry in fs::read_dir(demo)? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        let text = fs::read_to_string(entry.path())?;
        let by_trail = text.starts_with("trail,");
        let mut kept = BTreeMap::new();
        let keep = |line: &&str| {
            let trail = line.split(',').next().unwrap_or("");
            let count: &mut usize = kept.entry(trail.to_owned()).or_default();
            *count += 1;
            !by_trail || trail == "trail" || TRAILS.contains(&trail) && *count <= ANCHORS
        };
        let mut lines: Vec<&str> = text.lines().filter(keep).collect();
        if name == "ties.csv" {
            let near = |line: &&str| {
                let ends = line.split(',').skip(1).take(2);
                ends.flat_map(str::parse::<usize>).all(|anchor| anchor <= ANCHORS)
            };
            lines.retain(near);
        }
        files.insert(name, (lines.join("\n") + "\n").into_bytes());
    }
    Ok(files)
}

/// The survey spoilt once to four times, and how.
pub(crate) fn spoilt(sound: &Files, number: u64) -> (Files, Vec<String>) {
    let mut dice = Dice::of(number);
    let mut files = sound.clone();
    let how = (0..=dice.below(4)).map(|_| dice.spoil(&mut files)).collect();
    (files, how)
}

impl Dice {
    fn spoil(&mut self, files: &mut Files) -> String {
        let names: Vec<String> = files.keys().cloned().collect();
        if names.is_empty() {
            return "nothing is left".into();
        }
        // Half of all harm comes to the one table that is needed.
        let anchors = "anchors.csv".to_owned();
        let at_random = names[self.below(names.len())].clone();
        let name =
            if files.contains_key(&anchors) && self.below(2) == 0 { anchors } else { at_random };
        let bytes = files.get_mut(&name).map(std::mem::take).unwrap_or_default();
        let (how, bytes) = match self.below(10) {
            0 => self.bytes(bytes),
            1 => self.encoding(&bytes),
            2 if self.below(4) == 0 => {
                files.remove(&name);
                return format!("{name}: gone");
            }
            _ if name == "survey.toml" => self.settings(&bytes),
            _ => self.table(&bytes),
        };
        files.insert(name.clone(), bytes);
        format!("{name}: {how}")
    }

    /// What a disk does.
    fn bytes(&mut self, mut bytes: Vec<u8>) -> (String, Vec<u8>) {
        let at = self.below(bytes.len());
        match self.below(5) {
            0 => {
                bytes.truncate(at);
                (format!("cut at byte {at}"), bytes)
            }
            1 => {
                let noise: Vec<u8> = (0..self.below(40)).map(|_| self.byte()).collect();
                bytes.splice(at..at, noise);
                (format!("noise at byte {at}"), bytes)
            }
            2 => {
                bytes.splice(at..at, vec![b'\0'; self.below(3000)]);
                (format!("zeros at byte {at}"), bytes)
            }
            _ if bytes.is_empty() => ("empty".into(), bytes),
            _ => {
                bytes[at] ^= 1 << self.below(8);
                (format!("a bit of byte {at}"), bytes)
            }
        }
    }

    /// What another program saves.
    fn encoding(&mut self, bytes: &[u8]) -> (String, Vec<u8>) {
        let text = String::from_utf8_lossy(bytes).into_owned();
        let (how, bytes) = match self.below(8) {
            0 => ("a byte order mark", format!("\u{feff}{text}").into_bytes()),
            1 => ("semicolons", text.replace(',', ";").into_bytes()),
            2 => ("semicolons and commas", text.replace(',', ";").replace('.', ",").into_bytes()),
            3 => ("tabs", text.replace(',', "\t").into_bytes()),
            4 => ("other line breaks", text.replace('\n', "\r\n").into_bytes()),
            5 => ("old line breaks", text.replace('\n', "\r").into_bytes()),
            6 => ("two bytes a letter", text.encode_utf16().flat_map(u16::to_le_bytes).collect()),
            _ => (
                "an umlaut of Windows",
                text.replace('e', "\u{1}").bytes().map(|b| if b == 1 { 0xfc } else { b }).collect(),
            ),
        };
        (how.into(), bytes)
    }

    /// What a hand does to a table.
    fn table(&mut self, bytes: &[u8]) -> (String, Vec<u8>) {
        let text = String::from_utf8_lossy(bytes).into_owned();
        let mut rows: Vec<Vec<String>> =
            text.lines().map(|line| line.split(',').map(str::to_owned).collect()).collect();
        let how = self.rows(&mut rows);
        let lines: Vec<String> = rows.iter().map(|cells| cells.join(",")).collect();
        (how, (lines.join("\n") + "\n").into_bytes())
    }

    fn rows(&mut self, rows: &mut Vec<Vec<String>>) -> String {
        if rows.len() < 2 {
            return "left alone, too short".into();
        }
        match self.below(10) {
            0..3 => self.whole_rows(rows),
            3..5 => self.whole_column(rows),
            _ => self.cell(rows),
        }
    }

    fn whole_rows(&mut self, rows: &mut Vec<Vec<String>>) -> String {
        let (a, b) = (1 + self.below(rows.len() - 1), 1 + self.below(rows.len() - 1));
        match self.below(4) {
            0 => {
                rows.remove(a);
                format!("row {} gone", a + 1)
            }
            1 => {
                let row = rows[a].clone();
                rows.insert(b, row);
                format!("row {} again at {}", a + 1, b + 1)
            }
            2 => {
                rows.swap(a, b);
                format!("rows {} and {} swapped", a + 1, b + 1)
            }
            _ => {
                let times = self.below(2000);
                let row = rows[a].clone();
                rows.splice(a..a, vec![row; times]);
                format!("row {} {times} times more", a + 1)
            }
        }
    }

    fn whole_column(&mut self, rows: &mut [Vec<String>]) -> String {
        let columns = rows[0].len();
        let (column, other) = (self.below(columns), self.below(columns));
        let text = self.one(&CELLS);
        match self.below(4) {
            0 => {
                for row in rows.iter_mut().filter(|row| column < row.len()) {
                    row.remove(column);
                }
                format!("column {} gone", column + 1)
            }
            1 => {
                for row in rows.iter_mut() {
                    let again = row.get(column).cloned().unwrap_or_default();
                    row.push(again);
                }
                format!("column {} again", column + 1)
            }
            2 => {
                rows[0].swap(column, other);
                format!("headings {} and {} swapped", column + 1, other + 1)
            }
            _ => {
                for cell in rows.iter_mut().skip(1).filter_map(|row| row.get_mut(column)) {
                    text.clone_into(cell);
                }
                format!("{text:?} all down column {}", column + 1)
            }
        }
    }

    fn cell(&mut self, rows: &mut [Vec<String>]) -> String {
        let (row, other) = (1 + self.below(rows.len() - 1), 1 + self.below(rows.len() - 1));
        let column = self.below(rows[0].len());
        let place = format!("row {}, column {}", row + 1, column + 1);
        let of_other = rows[other].get(column).cloned();
        let Some(cell) = rows[row].get_mut(column) else { return "left alone".into() };
        let written = match self.below(7) {
            0 => of_other.unwrap_or_default(),
            1 | 2 => {
                let factor = self.one(&[&-1.0, &0.1, &10.0, &100.0, &3.2808, &1e6, &1e-6]);
                cell.parse().map_or(String::new(), |value: f64| (value * factor).to_string())
            }
            3 => self.one(&["x", "\"", "9", "é"]).repeat(1 + self.below(20_000)),
            _ => self.one(&CELLS).to_owned(),
        };
        let told: String = written.chars().take(40).collect();
        *cell = written;
        format!("{place}: {told:?}")
    }

    /// What a hand does to the settings.
    fn settings(&mut self, bytes: &[u8]) -> (String, Vec<u8>) {
        let text = String::from_utf8_lossy(bytes).into_owned();
        let mut lines: Vec<String> = text.lines().map(str::to_owned).collect();
        let at = self.below(lines.len());
        let value = self.one(&SETTINGS);
        let how = match self.below(5) {
            0 if !lines.is_empty() => {
                lines.remove(at);
                format!("line {} gone", at + 1)
            }
            1 if !lines.is_empty() => {
                let line = lines[at].clone();
                lines.push(line);
                format!("line {} again", at + 1)
            }
            2 if !lines.is_empty() => {
                let key = lines[at].split('=').next().unwrap_or("").to_owned();
                lines[at] = format!("{key} = {value}");
                format!("line {}: {value}", at + 1)
            }
            _ => {
                let key = self.one(&KEYS);
                lines.insert(0, format!("{key} = {value}"));
                format!("{key} = {value}")
            }
        };
        (how, (lines.join("\n") + "\n").into_bytes())
    }
}

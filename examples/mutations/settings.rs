//! Settings spoilt by what TOML is made of: every key with every kind of value, in every way to
//! write a key, twice, within others, beyond all measure. By number, as surveys are.

use super::dice::Dice;
use super::spoil::Files;
use perchline::survey::settings::SETTINGS;

/// Values of every kind; among the numbers the ends of what settings take.
const VALUES: [&str; 76] = [
    "0",
    "-0.0",
    "1",
    "-1",
    "2",
    "0.5",
    "1e-320",
    "1e-12",
    "1e-5",
    "0.01",
    "24",
    "-80",
    "80",
    "90",
    "-90",
    "100",
    "130",
    "180",
    "-180",
    "-360",
    "360",
    "361",
    "1000",
    "1000.0000001",
    "9000",
    "-500",
    "2000000",
    "9223372036854775807",
    "-9223372036854775808",
    "9223372036854775808",
    "1_000",
    "1__0",
    "0x7f",
    "0o17",
    "0b11",
    "+5",
    "05",
    ".5",
    "5.",
    "1e308",
    "1e309",
    "-1e308",
    "nan",
    "-inf",
    "inf",
    "true",
    "false",
    "\"\"",
    "\"model\"",
    "\"true\"",
    "\"grid\"",
    "\"slope\"",
    "\"points\"",
    "\"raster\"",
    "\"straight_on\"",
    "\"none\"",
    "\"first_return\"",
    "\"blank\"",
    "\"\\u0000\"",
    "\"\\ud800\"",
    "\"../../x\"",
    "'''\n'''",
    "2025-09-06",
    "2025-02-30",
    "-0001-01-01",
    "9999-12-31T23:59:60Z",
    "0000-01-01",
    "05:40:00",
    "[0.3, 1, 5, 10]",
    "[0, 1e-300, 130]",
    "[5, 1]",
    "[nan]",
    "[]",
    "[[1], {a = 2}, \"x\", 2025-01-01]",
    "{}",
    "{height_m = 1, a.b.c = [1, 2]}",
];

/// Names that stand where a path has a part in capitals.
const NAMES: [&str; 9] =
    ["pole", "eye", "stick", "\"O.J.\"", "\"\"", "tape_m", "trail", "\"a\\nb\"", "\"é山\""];

/// How often something is written that is written beyond all measure.
const WITHOUT_MEASURE: usize = 20_000;

/// The survey with other settings, and how they are written.
pub(crate) fn with_settings(sound: &Files, number: u64) -> (Files, Vec<String>) {
    let mut dice = Dice::of(number);
    let mut text = String::new();
    if dice.below(2) == 0 {
        let own = sound.get("survey.toml").map(Vec::as_slice).unwrap_or_default();
        text = String::from_utf8_lossy(own).into_owned();
    }
    let mut how = Vec::new();
    for _ in 0..=dice.below(6) {
        let statement = dice.statement();
        how.push(statement.chars().take(80).collect());
        // what stands before the tables is at the top; what stands behind is in the last of them
        text = if dice.below(2) == 0 {
            format!("{statement}\n{text}")
        } else {
            format!("{text}\n{statement}\n")
        };
    }
    let mut files = sound.clone();
    files.insert("survey.toml".into(), text.into_bytes());
    (files, how)
}

impl Dice {
    /// The path of some setting, its name filled in, and the last part by itself.
    fn path(&mut self) -> (String, String) {
        let setting = &SETTINGS[self.below(SETTINGS.len())];
        let is_capital = |part: &str| part.bytes().all(|letter| letter.is_ascii_uppercase());
        let name = self.one(&NAMES);
        let parts: Vec<&str> = setting
            .path
            .split('.')
            .map(|part| if is_capital(part) { name } else { part })
            .collect();
        (parts[..parts.len() - 1].join("."), parts[parts.len() - 1].to_owned())
    }

    fn value(&mut self) -> String {
        match self.below(30) {
            0 => format!("\"{}\"", "x".repeat(self.below(WITHOUT_MEASURE))),
            1 => {
                let edge = |at| format!("{}", f64::from(at) * 0.005);
                let edges: Vec<String> = (0..2000).map(edge).collect();
                format!("[{}]", edges.join(", "))
            }
            2 => format!("{}1{}", "[".repeat(WITHOUT_MEASURE), "]".repeat(WITHOUT_MEASURE)),
            3 => format!("{}1{}", "{a = ".repeat(300), "}".repeat(300)),
            4 => "9".repeat(1 + self.below(2000)),
            5 => format!("0.{}1", "0".repeat(self.below(2000))),
            _ => self.one(&VALUES).to_owned(),
        }
    }

    /// A key with a value, in one of the ways to write it.
    fn statement(&mut self) -> String {
        let ((table, key), value) = (self.path(), self.value());
        let whole = if table.is_empty() { key.clone() } else { format!("{table}.{key}") };
        match self.below(14) {
            0 if !table.is_empty() => format!("[{table}]\n{key} = {value}"),
            1 if !table.is_empty() => format!("[[{table}]]\n{key} = {value}"),
            2 if !table.is_empty() => format!("{table} = {{{key} = {value}}}"),
            3 if !table.is_empty() => format!("{table} = {value}"),
            4 => format!("{whole} = {value}\n{whole} = {value}"),
            5 => format!("[{whole}]\n{key} = {value}"),
            6 => format!("\"{}\" = {value}", whole.replace('"', "")),
            7 => format!("{whole}.{key} = {value}"),
            8 => format!("{whole}{} = {value}", ".a".repeat(self.below(400))),
            9 => format!("{whole}_ = {value} # {}", self.one(&NAMES)),
            10 => format!("{whole} {value}"),
            _ => format!("{whole} = {value}"),
        }
    }
}

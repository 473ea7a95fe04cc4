//! The text of `survey.toml`, then the pairs of the command line, into settings and faults.

use super::described::{SETTINGS, Setting};
use super::{FILE, Settings};
use crate::survey::fault::{Code, Faults, Place};
use crate::survey::nearest;
use serde::Deserialize;
use std::sync::LazyLock;
use toml::de::{DeTable, DeValue, ValueDeserializer};
use toml::{Spanned, Value};

/// No path of a setting is longer, however long the name of an observer: tables within tables
/// would otherwise be spelt out again for every key in them.
const LONGEST_PATH: usize = 200;

/// Reads the text of `survey.toml`, then the `KEY=VALUE` pairs of the command line. What cannot be
/// used is reported and keeps its default.
pub fn read(file: &str, text: &str, overrides: &[(String, String)]) -> (Settings, Faults) {
    let (mut settings, mut faults) = (Settings::default(), Faults::default());
    let lines = Lines::of(text);
    match DeTable::parse(text) {
        Ok(table) => {
            let mut leaves = Vec::new();
            gather(table.get_ref(), &mut String::new(), &mut leaves);
            leaves.sort_by_key(|leaf| leaf.at); // a table is given by key, a fault by line
            for Leaf { path, value, at } in leaves {
                let place = Place::file(file).row(lines.line(at)).column(&path);
                apply(&mut settings, &path, value.as_ref(), place, &mut faults);
            }
        }
        Err(error) => {
            let row = error.span().map_or(1, |span| lines.line(span.start));
            faults
                .error(Code::UnreadableSettings, Place::file(file).row(row))
                .found(error.message())
                .expected("TOML: one `key = value` a line, words in quotes")
                .hint(
                    "words stand in quotes, decimals after a point, remarks after #; until then \
                     nothing of this file holds",
                );
        }
    }
    for (key, value) in overrides {
        // A word may come bare: a shell eats the quotes, and `true` is a north as well.
        let parsed = value.parse::<Value>().ok().filter(|value| !value.is_bool());
        let value = parsed.unwrap_or_else(|| value.clone().into());
        let place = Place::file("--set").column(key);
        apply(&mut settings, &dotted(key), Some(&value), place, &mut faults);
    }
    (settings, faults)
}

/// The dotted path of a key given by its last name, where that is unique; else the key itself.
fn dotted(key: &str) -> String {
    let ends_so = |setting: &&Setting| {
        setting.name_in(setting.path) == Some("") && last_name(setting.path) == key
    };
    let mut found = SETTINGS.iter().filter(ends_so);
    match (found.next(), found.next()) {
        (Some(setting), None) => setting.path.to_owned(),
        // What is shared has the names of the precisions, which were here first.
        (Some(setting), Some(other)) if other.path.starts_with("common.") => {
            setting.path.to_owned()
        }
        _ => key.to_owned(),
    }
}

fn last_name(path: &str) -> &str {
    path.rsplit('.').next().unwrap_or(path)
}

/// Where the lines of a text begin.
struct Lines(Vec<usize>);

impl Lines {
    fn of(text: &str) -> Self {
        Self(text.match_indices('\n').map(|(at, _)| at + 1).collect())
    }

    /// The line in which the byte at `at` stands, from 1.
    fn line(&self, at: usize) -> usize {
        1 + self.0.partition_point(|&start| start <= at)
    }
}

/// One value of a file, with its dotted path and where its key stands.
struct Leaf {
    path: String,
    /// `None` for a number that no setting can be.
    value: Option<Value>,
    at: usize,
}

/// Adds every value of a table, whose own path is `path`.
fn gather(table: &DeTable<'_>, path: &mut String, leaves: &mut Vec<Leaf>) {
    let length = path.len();
    for (key, value) in table {
        if length > 0 {
            path.push('.');
        }
        path.push_str(key.get_ref());
        match value.get_ref() {
            DeValue::Table(inner) if path.len() <= LONGEST_PATH => gather(inner, path, leaves),
            _ => leaves.push(Leaf {
                path: shortened(path),
                value: plain(value),
                at: key.span().start,
            }),
        }
        path.truncate(length);
    }
}

fn shortened(path: &str) -> String {
    match path.char_indices().nth(LONGEST_PATH) {
        Some((end, _)) => format!("{}…", path.get(..end).unwrap_or("")),
        None => path.to_owned(),
    }
}

fn plain(value: &Spanned<DeValue<'_>>) -> Option<Value> {
    match value.get_ref() {
        DeValue::Table(_) => None,
        _ => Value::deserialize(ValueDeserializer::from(value.clone())).ok(),
    }
}

/// Sets the setting at `path`, or reports why not.
fn apply(
    settings: &mut Settings,
    path: &str,
    value: Option<&Value>,
    place: Place,
    faults: &mut Faults,
) {
    let known = SETTINGS.iter().find_map(|setting| Some((setting, setting.name_in(path)?)));
    let Some((setting, name)) = known else { return tell_unknown(path, place, faults) };
    if value.and_then(|value| setting.set(settings, name, value)).is_none() {
        tell_bad(setting, value, place, faults);
    }
}

/// The paths that settings may have.
static PATHS: LazyLock<Vec<String>> =
    LazyLock::new(|| SETTINGS.iter().flat_map(Setting::paths).collect());

fn tell_unknown(path: &str, place: Place, faults: &mut Faults) {
    let paths = PATHS.iter().map(String::as_str);
    let last = last_name(path);
    let same = || paths.clone().find(|known| last_name(known) == last);
    let hint = nearest(path, paths.clone()).or_else(same).map_or_else(
        || "the setting has no effect".to_owned(),
        |known| format!("did you mean {known}? the setting has no effect as it stands"),
    );
    faults
        .warn(Code::UnknownSetting, place)
        .found(path)
        .expected(format!("a setting of {FILE}"))
        .hint(hint);
}

fn tell_bad(setting: &Setting, value: Option<&Value>, place: Place, faults: &mut Faults) {
    let found = value.map_or_else(|| "a value that no setting has".to_owned(), Value::to_string);
    faults
        .error(Code::BadSetting, place)
        .found(shortened(&found))
        .expected(setting.accepts())
        .hint(remedy(setting, value));
}

/// What is likely to cure a value that a setting does not take.
fn remedy(setting: &Setting, value: Option<&Value>) -> String {
    let text = value.and_then(Value::as_str);
    if let Some(near) = text.and_then(|text| nearest(text, setting.words().iter().copied())) {
        return format!("did you mean \"{near}\"?");
    }
    let bare = text.map(|text| text.replace(',', ".")).filter(|text| text.parse::<f64>().is_ok());
    if let Some(number) = bare {
        return format!("write it without quotes and with a decimal point: {number}");
    }
    let meaning = setting.meaning;
    match setting.default() {
        Some(default) => format!("{meaning}; without this line it is {default}"),
        None => format!("{meaning}; leave the line out where there is none"),
    }
}

#[cfg(test)]
mod tests {
    use super::super::North;
    use super::*;
    use std::time::{Duration, Instant};

    #[test]
    fn a_key_is_found_by_its_last_name_where_that_is_unique() {
        assert_eq!(dotted("ground_m"), "precision.ground_m");
        assert_eq!(dotted("limits.rows"), "limits.rows");
        assert_eq!(dotted("tape_m"), "precision.tape_m");
        assert_eq!(dotted("bearing_deg"), "precision.bearing_deg");
        assert_eq!(dotted("height_scale"), "common.height_scale");
    }

    #[test]
    fn bare_words_are_taken_and_the_last_of_one_key_holds() {
        let pair = |key: &str, value: &str| (key.to_owned(), value.to_owned());
        let given = [
            pair("name", "Alpha"),
            pair("name", "Beta"),
            pair("north", "true"),
            pair("columns.tape_m", "trak"),
            pair("edges_m", "[1, 2]"),
        ];
        let (settings, faults) = read(FILE, "", &given);
        assert!(faults.is_empty(), "{:?}", faults.sorted());
        assert_eq!(settings.name.as_deref(), Some("Beta"));
        assert_eq!(settings.north, North::True);
        assert_eq!(settings.columns["tape_m"], "trak");
        assert_eq!(settings.strata_edges_m, [1.0, 2.0]);
    }

    #[test]
    fn values_arrive_with_their_lines() {
        let text = "name = 'A'\n[bearings]\nnorth = \"true\"\n[precision]\ntape_m = -1\n\
                    [precision.height_by.pole]\nheight_m = 0.1\n[observer.\"Ana K.\"]\ntape_scale = 1.01\n[collumns]\na='b'";
        let (settings, faults) = read(FILE, text, &[("ground_m".into(), "0".into())]);
        assert_eq!(settings.north, North::True);
        assert!(settings.precision.ground_m.abs() < 1e-15);
        assert_eq!(settings.precision.height_by["pole"].height_m, Some(0.1));
        assert!((settings.observers["Ana K."].tape_scale - 1.01).abs() < 1e-12);
        let sorted = faults.sorted();
        assert_eq!(sorted[0].code, Code::BadSetting);
        assert_eq!(sorted[0].place.row, Some(5));
        assert_eq!(sorted[1].code, Code::UnknownSetting);
        assert_eq!(sorted[1].place.row, Some(11));
    }

    #[test]
    fn a_setting_that_is_not_taken_says_what_would_be() {
        for (text, expected, hint) in [
            ("bearings.north = 'magnetik'", "one of magnetic, true, grid", "did you mean"),
            ("precision.tape_m = '0,02'", "a number from 0 to 1000", "without quotes"),
            ("precision.bearing_deg = 0", "a number above 0, at most 1000", "it is 2.0"),
            ("precision.turn_deg = nan", "a number above 0, at most 1000", "it is 3.0"),
            ("strata.edges_m = [1, 1]", "a list of numbers", "it is [0.3, 1.0, 5.0, 10.0]"),
            ("date = 05:40:00", "a date like 2026-06-30", "leave the line out"),
            ("limits.rows = 99999999999999999999", "a whole number", "it is 2000000"),
            ("columns.tape_m = 3", "the heading as it stands", "your own heading"),
            ("[observer.Ana]\ntape_scale = 20", "a number from 0.5 to 2", "it is 1.0"),
        ] {
            let (_, faults) = read(FILE, text, &[]);
            let sorted = faults.sorted();
            assert_eq!((sorted.len(), sorted[0].code), (1, Code::BadSetting), "{text}");
            assert!(sorted[0].expected.starts_with(expected), "{text}: {}", sorted[0].expected);
            assert!(sorted[0].hint.contains(hint), "{text}: {}", sorted[0].hint);
        }
    }

    #[test]
    fn a_setting_nobody_knows_is_met_with_a_guess() {
        for (text, guess) in [
            ("precision.tape_n = 1", "did you mean precision.tape_m?"),
            ("precision.height_by.pol.height_m = 1", "did you mean precision.height_by.pole.h"),
            ("tape_m = 1", "did you mean precision.tape_m?"),
            ("something.else = 1", "no effect"),
        ] {
            let (_, faults) = read(FILE, text, &[]);
            let sorted = faults.sorted();
            assert_eq!((sorted.len(), sorted[0].code), (1, Code::UnknownSetting), "{text}");
            assert!(sorted[0].hint.contains(guess), "{text}: {}", sorted[0].hint);
        }
    }

    #[test]
    fn settings_that_are_not_toml_are_refused_with_their_line() {
        let (settings, faults) = read(FILE, "name = 'A'\nsite = Long Hollow\n", &[]);
        let sorted = faults.sorted();
        assert_eq!((sorted.len(), sorted[0].code), (1, Code::UnreadableSettings));
        assert_eq!(sorted[0].place.row, Some(2));
        assert!(!sorted[0].found.is_empty() && sorted[0].hint.contains("quotes"));
        assert_eq!(settings.name, None);
    }

    /// A megabyte is the longest file; each of these took minutes or gigabytes in some way.
    #[test]
    fn a_hostile_file_of_settings_is_read_quickly() {
        let many = many_keys(30_000);
        let wide = format!("[{}]\n{}", "w".repeat(500_000), many_keys(30_000));
        let deep = format!("{}b = 1", "a.".repeat(500_000));
        let nested = format!("x = {}", "[".repeat(1_000_000));
        for text in [many, wide, deep, nested] {
            let start = Instant::now();
            let (_, faults) = read(FILE, &text, &[]);
            assert!(!faults.is_empty());
            let took = start.elapsed();
            assert!(took < Duration::from_secs(60), "{took:?} for {}", &text[..20]);
        }
    }

    fn many_keys(count: usize) -> String {
        (0..count).map(|at| format!("k{at}=1")).collect::<Vec<_>>().join("\n")
    }
}

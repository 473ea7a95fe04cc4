//! What may be typed: commands and options as the program itself lists them, with values that they
//! take and values that nothing takes, doubled, without their values, out of order, as bytes that
//! are no text, without end. By number, as surveys are.

use super::dice::Dice;
use super::spoil::Files;
use perchline::cli;
use perchline::survey::settings::SETTINGS;
use std::ffi::OsString;

/// What one option or place of a command takes.
struct Taken {
    command: String,
    /// `--draws`; blank for what stands by its place.
    flag: String,
    /// What clap calls it: `survey`, `out`, `draws`.
    id: String,
    takes_value: bool,
    /// The words it takes, where it is one of a few.
    words: Vec<String>,
}

/// Everything that can be typed.
pub(crate) struct Vocabulary {
    commands: Vec<String>,
    taken: Vec<Taken>,
}

/// Numbers and words that few places take.
const ODD: [&str; 44] = [
    "",
    " ",
    "-",
    "--",
    "---",
    "-1",
    "0",
    "1",
    "2",
    "7",
    " 5",
    "0.5",
    "1e3",
    "1e308",
    "-1e308",
    "1e-320",
    "nan",
    "inf",
    "-inf",
    "0x10",
    "1_000",
    "٣",
    "20001",
    "1000001",
    "4294967296",
    "9223372036854775808",
    "18446744073709551615",
    "18446744073709551616",
    "1000000000 legs of 3 m",
    "12 legs of 3 m, 40 of them up a trunk",
    "-5 legs of 1e308 m",
    "=",
    "a=b=c",
    "tape_m=",
    "=1",
    "60-200",
    "200-60",
    "0x0",
    "99999x99999",
    "*",
    "%s%n",
    "\u{1b}[31m",
    "a\nb",
    "\u{202e}x",
];

/// Paths that a command may meet, and places that are none of its business.
const PATHS: [&str; 24] = [
    "survey",
    "survey/",
    "survey/anchors.csv",
    "survey/../survey",
    "book.xlsx",
    "plan.txt",
    "notes.txt",
    "folder",
    "results",
    "new",
    "new/deeper",
    "notes.txt/x",
    "nowhere",
    "nowhere/x.svg",
    ".",
    "..",
    "/",
    "/dev/null",
    "/dev/zero",
    "/dev/full",
    "/proc/self/environ",
    ".csv",
    "x.",
    "survey/new.csv",
];

/// Files to write, one for every format.
const OUT: [&str; 14] = [
    "out.svg",
    "out.pdf",
    "out.png",
    "out.gpkg",
    "out.geojson",
    "out.kml",
    "out.gpx",
    "out.csv",
    "out.glb",
    "out.zip",
    "OUT.SVG",
    "survey/out.svg",
    "folder/out.csv",
    "results",
];

/// What lies in the folder in which a command is tried, besides old results.
pub(crate) fn around(survey: &Files, workbook: Vec<u8>) -> Files {
    let inside = survey.iter().map(|(name, bytes)| (format!("survey/{name}"), bytes.clone()));
    let plan = "legs,length_m,on\n8,3,ground\n2,4,trunk_up\n1,2.5,branch\n2,4,trunk_down\n";
    inside
        .chain([
            ("book.xlsx".to_owned(), workbook),
            ("plan.txt".to_owned(), plan.into()),
            ("notes.txt".to_owned(), b"mine".to_vec()),
            ("folder/thesis.txt".to_owned(), b"mine as well".to_vec()),
        ])
        .collect()
}

impl Vocabulary {
    pub(crate) fn new() -> Self {
        let program = cli::command();
        let mut commands = Vec::new();
        let mut taken = Vec::new();
        for command in program.get_subcommands() {
            commands.push(command.get_name().to_owned());
            for argument in command.get_arguments() {
                let words = argument.get_possible_values();
                taken.push(Taken {
                    command: command.get_name().to_owned(),
                    flag: argument.get_long().map_or(String::new(), |long| format!("--{long}")),
                    id: argument.get_id().to_string(),
                    takes_value: argument.get_action().takes_values(),
                    words: words.iter().map(|word| word.get_name().to_owned()).collect(),
                });
            }
        }
        Self { commands, taken }
    }

    /// What is typed, by number.
    pub(crate) fn typed(&self, number: u64) -> Vec<OsString> {
        let mut dice = Dice::of(number);
        let command = &self.commands[dice.below(self.commands.len())];
        let own = |taken: &&Taken| taken.command == *command;
        let mut words = vec![command.clone()];
        for place in self.taken.iter().filter(own).filter(|taken| taken.flag.is_empty()) {
            if dice.below(12) > 0 {
                words.push(dice.typed_value(place));
            }
        }
        let flags: Vec<&Taken> =
            self.taken.iter().filter(own).filter(|taken| !taken.flag.is_empty()).collect();
        // Most figures, exports and archives need a place to be written to.
        if let Some(out) = flags.iter().find(|taken| taken.id == "out")
            && dice.below(8) > 0
        {
            words.extend([out.flag.clone(), dice.typed_value(out)]);
        }
        for _ in 0..dice.below(5) {
            let any = &self.taken[dice.below(self.taken.len())];
            let taken = match dice.below(10) {
                0 => any,
                _ if flags.is_empty() => any,
                _ => flags[dice.below(flags.len())],
            };
            words.extend(dice.option(taken));
        }
        for _ in 0..dice.below(3).saturating_sub(1) {
            dice.disorder(&mut words);
        }
        words.into_iter().map(|word| dice.bytes_of(word)).collect()
    }
}

impl Dice {
    /// A value that this place may take, or one that it never takes.
    fn typed_value(&mut self, taken: &Taken) -> String {
        if self.below(10) == 0 {
            let odd: &[&str] = if self.below(2) == 0 { &ODD } else { &PATHS };
            return self.one(odd).to_owned();
        }
        if !taken.words.is_empty() {
            return taken.words[self.below(taken.words.len())].clone();
        }
        let usual: &[&str] = match taken.id.as_str() {
            "survey" => &["survey", "survey", "survey", "book.xlsx"],
            "dir" => &["new", "new/deeper", "results", "folder"],
            "plan" => &["plan.txt", "plan.txt", "survey/anchors.csv"],
            "out" if taken.command == "rebuild" => &["results", "results", "new", "folder"],
            "out" => &OUT,
            "snapshot" => &["out.png"],
            "size" => &["200x200", "0x0", "8192x8193"],
            "trails" if taken.command != "simulate" => &["D01", "D09", "D12", "D13", "d01"],
            "trails" | "anchors" | "ties" => &["1", "2", "3", "8"],
            "draws" | "surveys" => &["0", "2", "5", "100"],
            "seed" => &["0", "2", "18446744073709551615"],
            "sketch" => &["12 legs of 3 m, 4 of them up a trunk", "1 leg of 1 m"],
            "codes" => &["support=log,trunk", "plant=beech", "nothing=x", "support="],
            "columns" => &["+plant", "-from", "tape_ft,height_ft", "+trails.rain_mm", "+x.y"],
            "by" | "with" | "within" => &["sex", "stand", "rain_mm", "body_mass_g", "night"],
            "pairs" => &["night=1,2", "night", "sex=f,m", "night=1,1"],
            "licence" => &["CC-BY-4.0", ""],
            "set" => return self.setting(),
            _ => &["0", "0.5", "5", "40", "110", "140"],
        };
        self.one(usual).to_owned()
    }

    fn setting(&mut self) -> String {
        let path = SETTINGS[self.below(SETTINGS.len())].path;
        let key = if self.below(2) == 0 { path } else { path.rsplit('.').next().unwrap_or(path) };
        let usual = ["0", "0.5", "2", "80", "true", "slope", "grid", "[0.5, 2]", "2025-09-06", ""];
        let values: &[&str] = if self.below(4) == 0 { &ODD } else { &usual };
        let value = self.one(values);
        format!("{key}={value}")
    }

    /// An option as it may be typed.
    fn option(&mut self, taken: &Taken) -> Vec<String> {
        let (flag, value) = (taken.flag.clone(), self.typed_value(taken));
        match self.below(12) {
            0 => vec![flag],
            1 => vec![flag, value.clone(), value],
            2 => vec![flag.clone(), value.clone(), flag, value],
            3 => vec![flag.get(..flag.len().min(5)).unwrap_or("").to_owned(), value],
            4 => vec![flag.replacen("--", "-", 1), value],
            5 if taken.takes_value => vec![format!("{flag}={value}")],
            _ if taken.takes_value => vec![flag, value],
            _ => vec![flag],
        }
    }

    /// What haste does to a line.
    fn disorder(&mut self, words: &mut Vec<String>) {
        let (a, b) = (self.below(words.len()), self.below(words.len()));
        let odd = self.one(&ODD).to_owned();
        match self.below(5) {
            0 => words.swap(a, b),
            1 => words.insert(a, odd),
            2 => drop(words.remove(a)),
            3 => words.insert(a, words[b].clone()),
            _ => words[a] = odd.repeat(1 + self.below(2000)),
        }
        if words.is_empty() {
            words.push(String::new());
        }
    }

    /// A word as the system hands it over, now and then with bytes that are no text.
    fn bytes_of(&mut self, word: String) -> OsString {
        if self.below(60) > 0 {
            return word.into();
        }
        let mut bytes = word.into_bytes();
        let at = self.below(bytes.len() + 1);
        bytes.splice(at..at, [0xff, 0xc3, 0x28, 0xed, 0xa0, 0x80]);
        of_bytes(bytes)
    }
}

#[cfg(unix)]
fn of_bytes(bytes: Vec<u8>) -> OsString {
    use std::os::unix::ffi::OsStringExt;
    OsString::from_vec(bytes)
}

#[cfg(not(unix))]
fn of_bytes(bytes: Vec<u8>) -> OsString {
    String::from_utf8_lossy(&bytes).into_owned().into()
}

//! `load`: what share of its body mass an animal carries, and how much thread it may.

use super::args::LoadArgs;
use super::options::{self, LoadTable};
use super::terminal::{Terminal, Tone};
use super::{Failure, check};
use crate::maths::quantity::{count_of, percent, plain, short};
use crate::survey::Survey;
use crate::survey::fault::{Faults, Severity};
use crate::survey::input::source::read_survey;
use crate::survey::load::{
    ASSUMED_THREAD_G_PER_M, CAUTIONS, Carrier, Limits, Load, Verdict, WHO_DECIDES, carriers,
    masses, thread_m,
};
use crate::survey::sources::Source;
use serde_json::{Value, json};

/// Shares of the table beside the limit: common practice, no source.
const SHARES: [f64; 4] = [0.03, 0.05, 0.075, 0.10];
/// The tables of a survey that a load does not need.
const NOT_NEEDED: [&str; 4] = ["anchors.csv", "ties.csv", "controls.csv", "available.csv"];

/// Everything that is printed.
struct Told {
    survey: Survey,
    limits: Limits,
    weighed: bool,
    carriers: Vec<Carrier>,
    wanted_m: Option<f64>,
    masses: Vec<f64>,
    shares: Vec<f64>,
    /// The heaviest device without its thread, grams.
    rest_g: Option<f64>,
}

pub(super) fn run(args: &LoadArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let table = options::load_table(args)?;
    let survey = survey(args, terminal)?;
    let carriers = match args.body {
        Some(body_g) => {
            let &LoadArgs { device: device_g, bobbin: thread_g, days, .. } = args;
            vec![Carrier { animal: None, body_g, device_g, thread_g, days }]
        }
        None => carriers(&survey),
    };
    if carriers.is_empty() {
        let why = "no animal of this survey has a body_mass_g; give one animal by --body";
        return Err(Failure::Usage(why.to_owned()));
    }
    let told = Told::new(survey, carriers, table, args.metres)?;
    if args.print.json {
        terminal.print(&format!("{:#}\n", told.json()))?;
    } else if !args.print.quiet {
        terminal.print(&told.words(terminal))?;
    }
    terminal.flush()
}

/// The survey, of which only animals, trails and settings count; without one, stated settings.
fn survey(args: &LoadArgs, terminal: &mut Terminal) -> Result<Survey, Failure> {
    let Some(path) = &args.survey else {
        return Ok(Survey { settings: options::stated(&args.set)?, ..Survey::default() });
    };
    let (survey, faults) = read_survey(path, &options::overrides(&args.set)?)
        .map_err(|error| Failure::Machine(error.to_string()))?;
    if !stops(&faults) {
        return Ok(survey);
    }
    if args.print.json {
        terminal.print(&format!("{:#}\n", check::faults_json(&faults)))?;
    } else {
        terminal.print(&check::faults_words(&faults, terminal))?;
    }
    terminal.flush()?;
    Err(Failure::Survey)
}

fn stops(faults: &Faults) -> bool {
    let sorted = faults.sorted();
    let mut errors = sorted.iter().filter(|fault| fault.severity == Severity::Error);
    errors.any(|fault| !NOT_NEEDED.contains(&&*fault.place.file))
}

impl Told {
    fn new(
        survey: Survey,
        carriers: Vec<Carrier>,
        table: LoadTable,
        wanted_m: Option<f64>,
    ) -> Result<Self, Failure> {
        let s = &survey.settings;
        let limits = Limits {
            share: s.limit_load_percent / 100.0,
            days: s.limit_days,
            thread_g_per_m: s.thread_g_per_m.unwrap_or(ASSUMED_THREAD_G_PER_M),
        };
        if limits.share <= 0.0 {
            return Err(Failure::Usage("limits.load_percent must be above 0 here".to_owned()));
        }
        let mut shares = if table.shares.is_empty() { SHARES.to_vec() } else { table.shares };
        shares.push(limits.share);
        shares.sort_by(f64::total_cmp);
        shares.dedup_by(|a, b| (*a - *b).abs() < 1e-9);
        let bodies = || carriers.iter().map(|carrier| carrier.body_g);
        let (low, high) =
            (bodies().fold(f64::INFINITY, f64::min), bodies().fold(0.0_f64, f64::max));
        // One animal says nothing of the others: half as light and half as heavy again.
        let span = if carriers.len() == 1 { [0.5 * low, 1.5 * high] } else { [low, high] };
        let [low, high] = table.masses.unwrap_or(span);
        Ok(Self {
            weighed: s.thread_g_per_m.is_some(),
            limits,
            wanted_m,
            masses: masses(low, high),
            shares,
            rest_g: carriers.iter().filter_map(Carrier::rest_g).reduce(f64::max),
            survey,
            carriers,
        })
    }

    fn name(&self, carrier: &Carrier) -> &str {
        carrier.animal.map_or("this animal", |animal| self.survey.text(animal))
    }

    fn words(&self, terminal: &Terminal) -> String {
        let Limits { share, days, thread_g_per_m } = self.limits;
        let mut text = format!(
            "Limits: {} of body mass, {} days; a metre of thread weighs {} mg{}.\n\n",
            percent(share),
            short(days, 3),
            short(1000.0 * thread_g_per_m, 3),
            if self.weighed { "" } else { " (assumed, common practice, no source: weigh yours)" },
        );
        let head = format!(
            "{:<14} {:>8} {:>9} {:>7} {:>7} {:>11} {:>7}  {}",
            "animal", "body g", "device g", "full", "empty", "may carry", "days", "verdict"
        );
        text += &format!("{}\n", terminal.toned(Tone::Strong, &head));
        for carrier in &self.carriers {
            text += &self.line(carrier, terminal);
        }
        text += &self.wanted_words();
        text += &self.table_words(terminal);
        text.push('\n');
        for (caution, source) in &CAUTIONS {
            let source =
                source.map_or_else(|| "common practice, no source".into(), |s| s.in_text());
            text += &format!("- {caution} ({source})\n");
        }
        text + &format!("{}\n", terminal.toned(Tone::Strong, WHO_DECIDES))
    }

    fn line(&self, carrier: &Carrier, terminal: &Terminal) -> String {
        let load = carrier.load(&self.limits);
        let shown = |value: Option<f64>, shown: &dyn Fn(f64) -> String| {
            value.map_or_else(|| "–".to_owned(), shown)
        };
        format!(
            "{:<14} {:>8} {:>9} {:>7} {:>7} {:>11} {:>7}  {}\n",
            self.name(carrier),
            short(carrier.body_g, 4),
            shown(carrier.device_g, &|device| short(device, 3)),
            shown(load.full, &percent),
            shown(load.empty, &percent),
            shown(load.may_carry_m, &|m| format!("{} m", m.floor())),
            shown(carrier.days, &|days| short(days, 3)),
            self.verdict(&load, terminal),
        )
    }

    fn verdict(&self, load: &Load, terminal: &Terminal) -> String {
        let limit = percent(self.limits.share);
        let (tone, words) = match load.verdict {
            None => {
                (Tone::Faint, format!("no device mass; at most {} g", short(load.allowed_g, 3)))
            }
            Some(Verdict::Within) => (Tone::Good, format!("within {limit}")),
            Some(Verdict::UntilRunOut(metres)) => {
                (Tone::Bad, format!("over {limit} until {} m have run out", metres.ceil()))
            }
            Some(Verdict::Over) => (Tone::Bad, format!("over {limit}, even with an empty bobbin")),
            Some(Verdict::OverFull) => (Tone::Bad, format!("over {limit} with a full bobbin")),
        };
        let days = match load.days_within {
            Some(false) => format!(", and over {} days", short(self.limits.days, 3)),
            _ => String::new(),
        };
        terminal.toned(tone, &(words + &days))
    }

    /// What the wanted metres weigh, and what they make of each load.
    fn wanted_words(&self) -> String {
        let Some(metres) = self.wanted_m else { return String::new() };
        let bobbin = short(metres * self.limits.thread_g_per_m, 3);
        let mut text = format!("\n{} m of thread weigh {bobbin} g.\n", short(metres, 4));
        let wanted = self.carriers.iter().map(|carrier| carrier.with_thread(metres, &self.limits));
        let known: Vec<Carrier> = wanted.filter(|carrier| carrier.device_g.is_some()).collect();
        let over = |carrier: &&Carrier| {
            carrier.load(&self.limits).full.is_some_and(|full| full > self.limits.share)
        };
        let names: Vec<&str> =
            known.iter().filter(over).map(|carrier| self.name(carrier)).collect();
        if known.is_empty() {
            text += "The device without its thread is not known: its share cannot be told.\n";
        } else if names.is_empty() {
            text += &format!(
                "With such a bobbin {} within the limit.\n",
                if known.len() == 1 {
                    "it is".into()
                } else {
                    count_of(known.len(), "animal") + " are"
                }
            );
        } else {
            text += &format!("With such a bobbin over the limit: {}.\n", names.join(", "));
        }
        text
    }

    fn table_words(&self, terminal: &Terminal) -> String {
        let (title, rest) = match self.rest_g {
            Some(rest) => (
                format!(
                    "Metres of thread beside a device of {} g without thread{}, for a share of",
                    short(rest, 3),
                    if self.carriers.len() > 1 { " (the heaviest here)" } else { "" },
                ),
                rest,
            ),
            None => ("Heaviest device, g, for a share of".to_owned(), 0.0),
        };
        let mut text = format!("\n{}\n{:<10}", terminal.toned(Tone::Strong, &title), "body g");
        for share in &self.shares {
            text += &format!("{:>9}", format!("{} %", short(100.0 * share, 3)));
        }
        text.push('\n');
        for &body in &self.masses {
            text += &format!("{:<10}", short(body, 4));
            for &share in &self.shares {
                text += &match self.rest_g {
                    Some(_) => format!("{:>9}", thread_m(share, body, rest, &self.limits).floor()),
                    None => format!("{:>9}", plain(share * body, 2)),
                };
            }
            text.push('\n');
        }
        text
    }

    fn json(&self) -> Value {
        let one = |carrier: &Carrier| {
            let load = carrier.load(&self.limits);
            let wanted = self.wanted_m.map(|metres| {
                let wanted = carrier.with_thread(metres, &self.limits);
                let full = wanted.load(&self.limits).full;
                json!({"metres": metres, "bobbin_g": wanted.thread_g, "device_g": wanted.device_g,
                       "share": full, "within": full.map(|full| full <= self.limits.share)})
            });
            json!({
                "animal": carrier.animal.map(|animal| self.survey.text(animal)),
                "body_mass_g": carrier.body_g, "device_mass_g": carrier.device_g,
                "bobbin_g": carrier.thread_g, "share_full": load.full, "share_empty": load.empty,
                "allowed_g": load.allowed_g, "thread_held_m": load.holds_m,
                "thread_allowed_m": load.may_carry_m, "lightest_body_g": load.lightest_g,
                "verdict": load.verdict.map(Verdict::word), "days": carrier.days,
                "days_within": load.days_within, "wanted": wanted,
            })
        };
        let row = |&body: &f64| {
            let column = |&share: &f64| {
                let thread = self.rest_g.map(|rest| thread_m(share, body, rest, &self.limits));
                json!({"percent": 100.0 * share, "device_g": share * body, "thread_m": thread})
            };
            let shares: Vec<Value> = self.shares.iter().map(column).collect();
            json!({"body_mass_g": body, "shares": shares})
        };
        let caution = |(text, source): &(&str, Option<Source>)| json!({"text": text, "source": source.map(|source| source.citation())});
        let Limits { share, days, thread_g_per_m } = self.limits;
        json!({
            "limits": {"load_percent": 100.0 * share, "days": days,
                       "thread_g_per_m": thread_g_per_m, "thread_weighed": self.weighed},
            "animals": self.carriers.iter().map(one).collect::<Vec<_>>(),
            "device_without_thread_g": self.rest_g,
            "table": self.masses.iter().map(row).collect::<Vec<_>>(),
            "cautions": CAUTIONS.iter().map(caution).collect::<Vec<_>>(),
            "decides": WHO_DECIDES,
        })
    }
}

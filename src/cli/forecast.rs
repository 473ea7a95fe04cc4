//! `forecast`: how precise a planned survey will be, and what ties and animals buy.

use super::args::ForecastArgs;
use super::terminal::{Terminal, Tone};
use super::{Failure, options};
use crate::input::source::read_text;
use crate::metrics::{METRICS, Metric};
use crate::planning::forecast::{Variant, forecast};
use crate::planning::plan::{sketched, tabled};
use crate::quantity::{count_of, metres, significant};
use crate::statistics::interval::student_975;
use serde_json::{Map, Value, json};

/// The metrics of the table that is printed; all are in the JSON.
const PRINTED: [Metric; 12] = [
    Metric::PathLength,
    Metric::HorizontalLength,
    Metric::NetDisplacement,
    Metric::MaxDistance,
    Metric::Ascent,
    Metric::HeightMax,
    Metric::HeightMean,
    Metric::AboveGroundShare,
    Metric::Straightness,
    Metric::Sinuosity,
    Metric::DailyHomeRange,
    Metric::IntensityOfUse,
];
/// Numbers of animals that are compared.
const ANIMALS: [usize; 5] = [5, 10, 15, 20, 40];

pub(super) fn run(args: &ForecastArgs, terminal: &mut Terminal) -> Result<(), Failure> {
    let legs = match (&args.sketch, &args.plan) {
        (Some(sketch), _) => sketched(sketch).map_err(Failure::Usage)?,
        (None, Some(plan)) => {
            let shown = plan.display();
            let text = read_text(plan).map_err(|e| Failure::Machine(format!("{shown}: {e}")))?;
            tabled(&text).map_err(|fault| Failure::Usage(format!("{shown}, {fault}")))?
        }
        (None, None) => return Err(Failure::Usage("a plan or a --sketch is needed".to_owned())),
    };
    let length: f64 = legs.iter().map(|leg| leg.length).sum();
    let count = legs.len();
    let question = options::planned(args, legs)?;
    let total = question.surveys * question.ties.len();
    let made = terminal.with_progress(args.print.quiet, |progress| {
        progress.set_total(total);
        forecast(&question, &mut || progress.step())
    });
    let variants = made.map_err(Failure::Usage)?;
    if args.print.json {
        terminal.print(&format!("{:#}\n", as_json(&variants)))?;
    } else if !args.print.quiet {
        terminal.print(&format!(
            "A trail of {}, {} along the thread; {} made up for each number of ties.\n",
            count_of(count, "leg"),
            metres(length),
            count_of(args.surveys, "survey"),
        ))?;
        terminal.print(&closures(&variants, terminal))?;
        terminal.print(&errors(&variants, terminal))?;
        terminal.print(&animals(&variants, args.spread, terminal))?;
    }
    terminal.flush()
}

/// Expected misclosures and the end point.
fn closures(variants: &[Variant], terminal: &Terminal) -> String {
    let mut text = format!("\n{}\n", terminal.toned(Tone::Strong, "Closure and end point"));
    for variant in variants {
        let [longer, shorter, bearing] = variant.ellipse;
        text += &format!(
            "  {}: end point known to {} by {} in plan (longer way toward {bearing:.0}°), {} in height",
            count_of(variant.ties, "tie"),
            metres(longer),
            metres(shorter),
            metres(variant.sd_up),
        );
        let ties: Vec<String> = variant
            .ends
            .iter()
            .zip(&variant.expected)
            .map(|([a, b], expected)| format!("{a} to {b} about {}", metres(*expected)))
            .collect();
        text += &if ties.is_empty() {
            "; nothing would show a slip\n".to_owned()
        } else {
            format!("; expected misclosure {}\n", ties.join(", "))
        };
    }
    text
}

/// Standard errors of the printed metrics, a column for each number of ties.
fn errors(variants: &[Variant], terminal: &Terminal) -> String {
    let mut head = format!("\n{:<24} {:>10} {:<8}", "standard error of", "as planned", "");
    for variant in variants {
        head += &format!("{:>10}", count_of(variant.ties, "tie"));
    }
    let mut text = format!("{}\n", terminal.toned(Tone::Strong, &head));
    for (at, entry) in METRICS.iter().enumerate().filter(|(_, e)| PRINTED.contains(&e.metric)) {
        let Some([planned, _]) = variants.first().and_then(|v| v.metrics[at]) else { continue };
        let unit = if entry.unit == "1" { "" } else { entry.unit };
        text += &format!("{:<24} {:>10} {unit:<8}", entry.name, significant(planned, 3));
        for variant in variants {
            let se = variant.metrics[at].map_or(String::new(), |[_, se]| significant(se, 2));
            text += &format!("{se:>10}");
        }
        text.push('\n');
    }
    text
}

/// How well the mean of so many animals would be known, with and without measurement error.
fn animals(variants: &[Variant], spread: f64, terminal: &Terminal) -> String {
    let at = METRICS.iter().position(|entry| entry.metric == Metric::PathLength);
    let percent = |variant: &Variant| {
        let [planned, se] = variant.metrics.get(at?).copied().flatten()?;
        Some(100.0 * se / planned)
    };
    let head = format!(
        "\nMean path length of so many animals, ± per cent (95 %), if they differ by {spread} % (SD)"
    );
    let mut text = format!("{}\n", terminal.toned(Tone::Strong, &head));
    text += &format!("{:<24} {:>10}", "animals", "no error");
    for variant in variants {
        text += &format!("{:>10}", count_of(variant.ties, "tie"));
    }
    text.push('\n');
    for animals in ANIMALS {
        let half =
            |error: f64| student_975(animals - 1) * spread.hypot(error) / (animals as f64).sqrt();
        text += &format!("{animals:<24} {:>10.1}", half(0.0));
        for variant in variants {
            text += &percent(variant).map_or(String::new(), |e| format!("{:>10.1}", half(e)));
        }
        text.push('\n');
    }
    text + "Ties show slips and pin the end point; animals narrow the mean. Where two columns agree, \
            a tie buys certainty that no slip is left, not precision.\n"
}

fn as_json(variants: &[Variant]) -> Value {
    let one = |variant: &Variant| {
        let mut metrics = Map::new();
        for (entry, value) in METRICS.iter().zip(&variant.metrics) {
            if let Some([planned, se]) = value {
                let row = json!({"planned": planned, "se": se, "unit": entry.unit});
                metrics.insert(entry.name.to_owned(), row);
            }
        }
        let [longer, shorter, bearing] = variant.ellipse;
        json!({
            "ties": variant.ties, "ends": variant.ends, "expected_m": variant.expected,
            "end_point": {
                "semi_axes_m": [longer, shorter], "bearing_deg": bearing, "sd_up_m": variant.sd_up
            },
            "metrics": metrics,
        })
    };
    json!({"variants": variants.iter().map(one).collect::<Vec<_>>()})
}

//! `forecast`: how precise a planned survey will be, and what ties and animals buy.

use super::args::ForecastArgs;
use super::terminal::{Terminal, Tone};
use super::{Failure, options, study};
use crate::maths::quantity::{count_of, metres, plain, significant};
use crate::maths::statistics::power::{Spread, width_of_mean};
use crate::measures::metrics::{METRICS, Metric};
use crate::planning::forecast::{Variant, forecast};
use crate::planning::plan::{PlannedLeg, sketched, tabled};
use crate::survey::input::source::read_text;
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
    if args.study.is_asked() {
        return study::run(args, terminal);
    }
    let legs = legs(args)?;
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
        terminal.print(&animals(&variants, args.spread, args.seed, terminal))?;
    }
    terminal.flush()
}

/// The planned legs.
fn legs(args: &ForecastArgs) -> Result<Vec<PlannedLeg>, Failure> {
    let Some(plan) = &args.plan else {
        let sketch = args.sketch.as_deref().ok_or_else(|| {
            Failure::Usage(
                "forecast wants a plan of legs or a --sketch of it; or, for numbers of animals, a \
                 --pilot or --sd-animals"
                    .to_owned(),
            )
        })?;
        return sketched(sketch).map_err(Failure::Usage);
    };
    let shown = plan.display();
    if plan.is_dir() {
        return Err(Failure::Usage(format!(
            "{shown} is a folder and no plan of legs; --pilot {shown} forecasts by a survey how many \
             animals a difference takes"
        )));
    }
    let text = read_text(plan).map_err(|e| Failure::Machine(format!("{shown}: {e}")))?;
    tabled(&text).map_err(|fault| Failure::Usage(format!("{shown}, {fault}")))
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

/// How wide the interval of the mean of so many animals would be, with and without measurement error.
fn animals(variants: &[Variant], spread: f64, seed: u64, terminal: &Terminal) -> String {
    let at = METRICS.iter().position(|entry| entry.metric == Metric::PathLength);
    let percent = |variant: &Variant| {
        let [planned, se] = variant.metrics.get(at?).copied().flatten()?;
        Some(100.0 * se / planned)
    };
    let head = format!(
        "\nMean path length of so many animals that differ by {spread} % (SD): width of its 95 % interval, \
         per cent of the mean,\non average, in brackets what 9 of 10 studies stay below"
    );
    let mut text = format!("{}\n", terminal.toned(Tone::Strong, &head));
    text += &format!("{:<24} {:>12}", "animals", "no error");
    for variant in variants {
        text += &format!("{:>14}", count_of(variant.ties, "tie"));
    }
    text.push('\n');
    for animals in ANIMALS {
        let unit = Spread { animal: 1.0, night: Some(0.0), measurement: 0.0 };
        let Some(width) = width_of_mean(animals, &unit, 1, seed) else { continue };
        let wide = |error: f64| {
            let [mean, most] = [width.mean, width.ninetieth].map(|w| w * spread.hypot(error));
            format!("{} ({})", plain(mean, 0), plain(most, 0))
        };
        text += &format!("{animals:<24} {:>12}", wide(0.0));
        for variant in variants {
            text += &percent(variant).map_or(String::new(), |e| format!("{:>14}", wide(e)));
        }
        text.push('\n');
    }
    text + "Ties show slips and pin the end point; animals narrow the mean. Where two columns agree, \
            a tie buys certainty that no slip is left, not precision. How many animals a difference \
            takes: --sd-animals or --pilot.\n"
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

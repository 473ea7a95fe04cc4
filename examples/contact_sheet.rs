//! All figures of a survey on one sheet: `cargo run --example contact_sheet -- SURVEY FILE.png`.

#![expect(
    clippy::print_stderr,
    clippy::disallowed_methods,
    reason = "an example has a terminal and writes one file"
)]

use perchline::adjustment::network::build;
use perchline::products::figure::encode::{Format, encode};
use perchline::products::figure::{Drawing, Letters, all};
use perchline::results::progress::Progress;
use perchline::results::{Analysis, Wanted, analyse};
use perchline::survey::input::source::read_survey;
use std::env::args_os;
use std::path::Path;
use std::process::ExitCode;

/// Millimetres of the sheet, of its columns and between them.
const WIDE: f64 = 190.0;
const COLUMNS: usize = 3;
const GAP: f64 = 4.0;

fn main() -> ExitCode {
    let arguments: Vec<_> = args_os().skip(1).collect();
    let [survey, out] = arguments.as_slice() else {
        eprintln!("usage: contact_sheet SURVEY FILE.png");
        return ExitCode::from(2);
    };
    let made = analysed(Path::new(survey))
        .and_then(|analysis| encode(&sheet(&analysis), Format::Png))
        .and_then(|png| std::fs::write(out, png).map_err(|error| error.to_string()));
    match made {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("contact_sheet: {why}");
            ExitCode::FAILURE
        }
    }
}

fn analysed(folder: &Path) -> Result<Analysis, String> {
    let (survey, faults) = read_survey(folder, &[]).map_err(|error| error.to_string())?;
    if faults.stop() {
        return Err("the survey has errors".to_owned());
    }
    let network = build(&survey);
    analyse(survey, network, Wanted::default(), &Progress::default())
        .map_err(|_| "no trail settled".to_owned())
}

/// Each figure goes where the sheet is shortest.
fn sheet(analysis: &Analysis) -> Drawing {
    let column = (WIDE - GAP * (COLUMNS as f64 + 1.0)) / COLUMNS as f64;
    let mut ends = [GAP; COLUMNS];
    let mut body = String::new();
    for drawing in all(analysis).into_iter().filter_map(|(_, drawn)| drawn.ok()) {
        let shortest = (0..COLUMNS).min_by(|a, b| ends[*a].total_cmp(&ends[*b])).unwrap_or(0);
        let x = GAP + shortest as f64 * (column + GAP);
        let scale = column / drawing.width_mm;
        let y = ends[shortest];
        let inner = drawing.svg.split_once('\n').map_or("", |(_, rest)| rest);
        let inner = inner.trim_end().trim_end_matches("</svg>");
        body += &format!("<g transform=\"translate({x:.2} {y:.2}) scale({scale:.5})\">{inner}</g>");
        ends[shortest] += drawing.height_mm * scale + GAP;
    }
    let high = ends.into_iter().fold(0.0, f64::max);
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{WIDE}mm\" height=\"{high:.2}mm\" \
         viewBox=\"0 0 {WIDE} {high:.2}\" font-family=\"DejaVu Sans\" font-stretch=\"condensed\">\
         <rect width=\"{WIDE}\" height=\"{high:.2}\" fill=\"#fff\"/>{body}</svg>"
    );
    let alt = "All figures of a survey.".to_owned();
    let (caption, letters) = (String::new(), Letters::default());
    Drawing { svg, caption, letters, alt, width_mm: WIDE, height_mm: high }
}

//! How long a picture of the view takes while the onlooker turns, against one with the metre grid
//! alone, and against one with grid and words. The four take turns, so that other work on the machine
//! weighs on all.
//!
//!     cargo run --release --example frames -- demo/dormice 1280x720 10

#![expect(clippy::print_stdout, reason = "a measuring program")]

use perchline::adjustment::network::build;
use perchline::products::scene::palette::FAINT;
use perchline::products::scene::space;
use perchline::results::progress::Progress;
use perchline::results::{Wanted, analyse};
use perchline::survey::input::source::read_survey;
use perchline::viewer::camera::Look;
use perchline::viewer::marks::Marks;
use perchline::viewer::view::View;
use perchline::viewer::{Rebuilt, framed, turning};
use std::error::Error;
use std::path::Path;
use std::time::Instant;

/// Pictures of each kind in a round; the first ones, which set everything up, are not counted.
const PICTURES: usize = 20;
const FIRST: usize = 5;

/// What is drawn: its name, which marks are kept, and whether words stand beside them.
type Kind = (&'static str, fn(&mut Marks), bool);

fn all(_: &mut Marks) {}

fn nothing(marks: &mut Marks) {
    *marks = Marks::default();
}

fn grid_alone(marks: &mut Marks) {
    marks.tubes.clear();
    marks.beads.clear();
    marks.clouds.clear();
    marks.lines.retain(|line| line.colour == FAINT);
}

fn main() -> Result<(), Box<dyn Error>> {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    let usage = "usage: frames SURVEY WxH ROUNDS";
    let [survey, size, rounds] = arguments.as_slice() else { return Err(usage.into()) };
    let (wide, high) = size.split_once('x').ok_or(usage)?;
    let size: [u32; 2] = [wide.parse()?, high.parse()?];
    let (survey, _) = read_survey(Path::new(survey), &[])?;
    let network = build(&survey);
    let wanted = Wanted { draws: 0, ..Wanted::default() };
    let analysis = analyse(survey, network, wanted, &Progress::default())
        .map_err(|_| "the survey cannot be rebuilt")?;
    let rebuilt = Rebuilt { space: space(&analysis), suspicions: Vec::new(), warnings: Vec::new() };
    let view = framed(&rebuilt, &View::of(Look::Oblique), size.map(f64::from), 0.0);
    let kinds: [Kind; 4] = [
        ("nothing", nothing, false),
        ("grid alone", grid_alone, false),
        ("grid and words", grid_alone, true),
        ("everything", all, true),
    ];
    let mut seconds = kinds.map(|_| Vec::new());
    for _ in 0..rounds.parse()? {
        for ((_, keep, words), seconds) in kinds.into_iter().zip(&mut seconds) {
            let mut ends = Vec::new();
            let next = || {
                ends.push(Instant::now());
                ends.len() <= PICTURES + FIRST
            };
            turning(&rebuilt, &view, size, (keep, words), next)
                .map_err(|refused| refused.to_string())?;
            let steady = ends[FIRST..].windows(2);
            seconds.extend(steady.map(|pair| (pair[1] - pair[0]).as_secs_f64()));
        }
    }
    let medians = seconds.map(|mut all| {
        all.sort_by(f64::total_cmp);
        all[all.len() / 2]
    });
    for ((kind, ..), median) in kinds.iter().zip(medians) {
        println!("{kind}: {:.1} ms a picture, {:.2} times", 1e3 * median, median / medians[1]);
    }
    Ok(())
}

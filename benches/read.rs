//! Reading a table of anchors and checking it, by length and by how it was written: time a row, so
//! that a lost O(n) shows at once.

use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use perchline::adjustment::network::build;
use perchline::results::rules::check;
use perchline::survey::dictionary::ANCHORS;
use perchline::survey::fault::Faults;
use perchline::survey::input::csv::read_grid;
use perchline::survey::settings::Settings;
use perchline::survey::{Grids, Survey, read_tables};
use std::fmt::Write;
use std::hint::black_box;

/// Trails of forty anchors with everything that is usually written down, a note in quotes on every
/// tenth row.
fn table(rows: usize) -> String {
    let mut text = String::from(
        "trail,anchor,tape_m,bearing_deg,height_m,height_by,support,plant,tree,diameter_cm,note\n",
    );
    for row in 0..rows {
        let (trail, anchor) = (row / 40, row % 40);
        let wave = (row as f64 * 0.31).sin();
        let [tape, bearing] = match anchor {
            0 => [String::new(), String::new()],
            _ => [format!("{:.2}", 2.0 + wave), format!("{:.0}", 180.0 + 179.0 * wave)],
        };
        let height = 0.3 + 0.3 * wave;
        let note = if row % 10 == 0 { "\"wet, and \"\"slippery\"\"\"" } else { "" };
        let _written = writeln!(
            text,
            "T{trail},{anchor},{tape},{bearing},{height:.2},pole,log,Fagus sylvatica,{row},12,{note}"
        );
    }
    text
}

/// The same with semicolons and decimal commas.
fn with_semicolons(table: &str) -> String {
    let quoted = |cell: &str| cell.contains('"');
    let line = |line: &str| match line.split_once(",\"").filter(|_| quoted(line)) {
        Some((cells, note)) => format!("{};\"{note}", cells.replace(',', ";").replace('.', ",")),
        None => line.replace(',', ";").replace('.', ","),
    };
    table.lines().map(line).collect::<Vec<_>>().join("\n")
}

fn read(text: &str) -> (Survey, Faults) {
    let mut faults = Faults::default();
    let anchors = read_grid("anchors.csv", text.as_bytes(), &ANCHORS, usize::MAX, &mut faults);
    let (survey, more) = read_tables(Settings::default(), Grids { anchors, ..Grids::default() });
    faults.append(more);
    (survey, faults)
}

fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("read");
    group.sample_size(10);
    for rows in [100, 1_000, 10_000, 100_000] {
        group.throughput(Throughput::Elements(rows as u64));
        let commas = table(rows);
        for (written, text) in
            [("semicolons", with_semicolons(&commas)), ("commas", commas.clone())]
        {
            assert!(!read(&text).1.stop(), "a table with errors would time their telling");
            group.bench_function(BenchmarkId::new(written, rows), |bencher| {
                bencher.iter(|| black_box(read(black_box(&text))));
            });
        }
        let (survey, _) = read(&commas);
        assert_eq!(survey.anchors.len(), rows);
        group.bench_function(BenchmarkId::new("build and check", rows), |bencher| {
            bencher.iter(|| black_box(check(&survey, &build(&survey))));
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);

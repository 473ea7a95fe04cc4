//! Exact tests between groups of animals, and their intervals, by group size.

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use perchline::maths::statistics::bootstrap::{RESAMPLES, Resamples};
use perchline::maths::statistics::describe::mean;
use perchline::maths::statistics::permutation::{difference_of_means, studentised};
use perchline::maths::statistics::rank::mann_whitney;

/// Values without ties, the same at each run.
fn values(n: usize, first: f64) -> Vec<f64> {
    (0..n).map(|k| first + (k as f64 * 0.618_034).fract() * 40.0).collect()
}

fn tests(c: &mut Criterion) {
    let mut group = c.benchmark_group("compare");
    for (n1, n2) in [(4, 10), (5, 9), (8, 8), (9, 9)] {
        let (a, b) = (values(n1, 1.0), values(n2, 3.0));
        let name = format!("{n1}+{n2}");
        group.bench_function(BenchmarkId::new("means", &name), |bench| {
            bench.iter(|| difference_of_means(&a, &b, 1));
        });
        group.bench_function(BenchmarkId::new("welch", &name), |bench| {
            bench.iter(|| studentised(&a, &b, 1));
        });
        group.bench_function(BenchmarkId::new("ranks", &name), |bench| {
            bench.iter(|| mann_whitney(&a, &b, 1));
        });
    }
    let (sample, resamples) = (values(13, 1.0), Resamples::new(13, RESAMPLES, 1));
    group.bench_function("interval of a mean of 13", |bench| {
        bench.iter(|| resamples.interval(&sample, |x| mean(x).unwrap_or(0.0)));
    });
    group.finish();
}

criterion_group!(benches, tests);
criterion_main!(benches);

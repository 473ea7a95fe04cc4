//! The adjustment of a chain with ties, by length: time a leg, so that a lost O(n) shows at once.

mod chain;

use chain::chain;
use criterion::{BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use perchline::adjustment::{Method, adjust};
use perchline::maths::ground::Ground;
use std::hint::black_box;

fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("adjust");
    group.sample_size(10);
    for legs in [100, 1_000, 10_000, 100_000] {
        let (survey, network) = chain(legs);
        group.throughput(Throughput::Elements(legs as u64));
        group.bench_function(BenchmarkId::from_parameter(legs), |bencher| {
            bencher.iter(|| {
                let precision = &survey.settings.precision;
                let ground = Ground::flat();
                black_box(adjust(&network, precision, &ground, Method::LeastSquares, false))
            });
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);

//! Draws of a trail with all their metrics, by length: time a leg and draw.

mod chain;

use chain::chain;
use criterion::{BatchSize, BenchmarkId, Criterion, Throughput, criterion_group, criterion_main};
use perchline::results::progress::Progress;
use perchline::results::{Wanted, analyse};
use std::hint::black_box;

const DRAWS: usize = 512;

fn bench(criterion: &mut Criterion) {
    let mut group = criterion.benchmark_group("draws");
    group.sample_size(10);
    for legs in [40, 400, 4_000] {
        group.throughput(Throughput::Elements((legs * DRAWS) as u64));
        group.bench_function(BenchmarkId::from_parameter(legs), |bencher| {
            bencher.iter_batched(
                || chain(legs),
                |(survey, network)| {
                    let wanted = Wanted { draws: DRAWS, ..Wanted::default() };
                    black_box(analyse(survey, network, wanted, &Progress::default()).is_ok())
                },
                BatchSize::LargeInput,
            );
        });
    }
    group.finish();
}

criterion_group!(benches, bench);
criterion_main!(benches);

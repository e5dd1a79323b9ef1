//! Speed of the whole way from bytes to records, beside two rivals written for one link each.
//!
//! `cargo bench -p wheeltap-parsers --bench decoding`

#[path = "decoding/rivals.rs"]
mod rivals;
#[path = "decoding/run.rs"]
mod run;
#[path = "../tests/links/wagon.rs"]
mod wagon;
#[path = "decoding/wires.rs"]
mod wires;

use std::hint::black_box;
use std::sync::Arc;

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use wheeltap_parsers::{Decoder, Profile, Wire};

/// Bytes of a wire: more than the first caches of a processor hold.
const LEN: usize = 1 << 20;

fn decode(profile: &Arc<Profile>, wire: &[u8], len: usize) -> i64 {
    run::decode(Decoder::new(Wire::ToDrive, Arc::clone(profile)), wire, len).1
}

fn links(c: &mut Criterion) {
    let links =
        [("cue", wagon::cue()), ("stave", wagon::stave()), ("bead", wagon::bead()), ("ladder", wagon::ladder())];
    for (name, profile) in links {
        let (clean, damaged) = (wires::clean(&profile, LEN), wires::damaged(&profile, LEN));
        let mut group = c.benchmark_group(name);
        group.throughput(Throughput::Bytes(clean.len() as u64)).sample_size(20);
        group.bench_function("whole", |b| b.iter(|| decode(&profile, black_box(&clean), 1 << 16)));
        group.bench_function("one in twenty damaged", |b| b.iter(|| decode(&profile, black_box(&damaged), 1 << 16)));
        group.bench_function("reads of 62 bytes", |b| b.iter(|| decode(&profile, black_box(&clean), 62)));
        group.bench_function("reads of one byte", |b| b.iter(|| decode(&profile, black_box(&clean), 1)));
        group.finish();
    }
}

fn rivals_of_the_cue_line(c: &mut Criterion) {
    let profile = wagon::cue();
    let (wire, check) = (wires::clean(&profile, LEN), &profile.kinds[0].check);
    assert_eq!(rivals::cue_read(&wire, check), decode(&profile, &wire, 1 << 16), "the rival reads the same");
    let mut group = c.benchmark_group("cue");
    group.throughput(Throughput::Bytes(wire.len() as u64)).sample_size(20);
    group.bench_function("rival: find and check", |b| b.iter(|| rivals::cue_checked(black_box(&wire), check)));
    group.bench_function("rival: all fields", |b| b.iter(|| rivals::cue_read(black_box(&wire), check)));
    group.finish();
}

fn rivals_of_the_stave(c: &mut Criterion) {
    let profile = wagon::stave();
    let (wire, check) = (wires::clean(&profile, LEN), &profile.kinds[0].check);
    assert_eq!(rivals::stave_read(&wire, check), decode(&profile, &wire, 1 << 16), "the rival reads the same");
    let mut group = c.benchmark_group("stave");
    group.throughput(Throughput::Bytes(wire.len() as u64)).sample_size(20);
    group.bench_function("rival: find and check", |b| b.iter(|| rivals::stave_checked(black_box(&wire), check)));
    group.bench_function("rival: all fields", |b| b.iter(|| rivals::stave_read(black_box(&wire), check)));
    group.finish();
}

criterion_group! {
    name = speed;
    config = Criterion::default().warm_up_time(std::time::Duration::from_millis(500)).measurement_time(std::time::Duration::from_secs(2));
    targets = links, rivals_of_the_cue_line, rivals_of_the_stave
}
criterion_main!(speed);

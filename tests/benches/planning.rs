//! How long the computations of one rug and of a class take. `cargo bench` prints each with its spread.
//!
//! What must hold: a full plan of one rug under 2 ms, a class of 30 under 50 ms, the textbook cutting example under 1 s.
#![allow(missing_docs, clippy::unwrap_used, reason = "benchmarks")]
use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use std::time::Duration;
use thrumhall::optimize::bins::{Budget, Job, Piece, Stock, fewest_bars};
use thrumhall::optimize::cutting::{Sheet, Way};
use thrumhall::optimize::panels::{Size, USUAL_EASE, Wanted, piece_together};
use thrumhall::optimize::sheets::{Lot, Wish, choose};
use thrumhall::planning::{Band, Frame, FrameSizes, Kind, Plan, RugSpec};
use thrumhall::units::{Length, Units};

/// The two usual frames, width, span and nails per end. Common practice, no source.
const FRAMES: [(f64, f64, u32); 2] = [(18.0, 33.0, 33), (24.0, 44.0, 43)];

/// A rug of five bands in three colours; each of the class a little different.
fn rug(n: u32) -> RugSpec {
    let (width, span, nails) = FRAMES[n as usize % 2];
    let sizes = FrameSizes {
        span: Length::inches(span),
        width: Length::inches(width),
        nails,
        pitch: None,
        nail_diameter: None,
    };
    let frame = Frame::new(sizes, Units::Inches).unwrap();
    let part = (span - 1.0) / 16.0;
    let band = |parts: f64, colours| Band {
        height: Length::inches(part * parts),
        colours,
        strip: None,
        chart: None,
    };
    RugSpec {
        bands: vec![
            band(3.0, [0, 1]),
            band(2.0, [1, 1]),
            band(6.0, [1, 2]),
            band(2.0, [1, 1]),
            band(3.0, [0, 1]),
        ],
        warp_kind: Kind::Percale,
        weft_kind: [Kind::Percale, Kind::Flannel, Kind::Poplin][n as usize % 3],
        fringe: n.is_multiple_of(4).then(|| Length::inches(3.0)),
        backing: n.is_multiple_of(5).then(|| Length::inches(1.0)),
        rugs_before: Some(n % 6),
        ..RugSpec::plain(frame)
    }
}

fn plans(c: &mut Criterion) {
    let one = rug(0);
    c.bench_function("plan of one rug (< 2 ms)", |b| {
        b.iter(|| Plan::of(black_box(&one), Units::Inches).unwrap());
    });
    let class: Vec<RugSpec> = (0..30).map(rug).collect();
    c.bench_function("plans of a class of 30 (< 50 ms)", |b| {
        b.iter(|| {
            class.iter().map(|rug| Plan::of(black_box(rug), Units::Inches).unwrap()).collect::<Vec<_>>()
        });
    });
}

/// A much-reprinted worked example of the cutting stock problem, from memory: 73 bars.
const WIDTHS: [(f64, u32); 13] = [
    (1380.0, 22),
    (1520.0, 25),
    (1560.0, 12),
    (1710.0, 14),
    (1820.0, 18),
    (1880.0, 18),
    (1930.0, 20),
    (2000.0, 10),
    (2050.0, 12),
    (2100.0, 14),
    (2140.0, 16),
    (2150.0, 18),
    (2200.0, 20),
];

fn cutting(c: &mut Criterion) {
    let mm = Length::millimetres;
    let job = Job {
        stock: vec![Stock { length: mm(5600.0), count: None }],
        pieces: WIDTHS.iter().map(|&(width, count)| Piece { length: mm(width), count }).collect(),
        kerf: Length::ZERO,
    };
    assert_eq!(fewest_bars(&job, Budget::USUAL).unwrap().used, 73);
    c.bench_function("the textbook cutting example (< 1 s)", |b| {
        b.iter(|| fewest_bars(black_box(&job), Budget::USUAL).unwrap());
    });
    let twins = Lot { sheet: Sheet::flat(mm(2438.0), mm(1676.0), mm(25.0)), count: 6 };
    let wish = Wish {
        length: mm(250_000.0),
        width: mm(38.1),
        join: mm(50.8),
        least: mm(305.0),
        ways: vec![Way::Straight],
    };
    c.bench_function("which of six sheets to cut", |b| {
        b.iter(|| choose(black_box(std::slice::from_ref(&twins)), &wish).unwrap());
    });
}

fn panels(c: &mut Criterion) {
    let size = |width, length| Size { width: Length::inches(width), length: Length::inches(length) };
    let sizes: Vec<Size> = FRAMES.iter().map(|&(width, span, _)| size(width, span - 1.0)).collect();
    for (name, width, length, narrower) in [
        ("panels: 36 × 64 in, full sizes", 36.0, 64.0, false),
        ("panels: 100 × 130 in, full sizes", 100.0, 130.0, false),
        ("panels: 70 × 96 in, also narrower", 70.0, 96.0, true),
    ] {
        let wanted = Wanted {
            size: size(width, length),
            tolerance: Length::inches(2.0),
            ease: USUAL_EASE,
            most: 12,
            narrower,
        };
        c.bench_function(name, |b| b.iter(|| piece_together(black_box(&sizes), &wanted, Units::Inches)));
    }
}

criterion_group! {
    name = benches;
    config = Criterion::default().warm_up_time(Duration::from_secs(1)).measurement_time(Duration::from_secs(3)).sample_size(20);
    targets = plans, cutting, panels
}
criterion_main!(benches);

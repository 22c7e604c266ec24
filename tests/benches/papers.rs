//! How long papers take. `cargo bench --bench papers` prints each with its spread.
//!
//! What must hold: a warp card as PDF under 20 ms, 30 of them in one file under 300 ms.
#![allow(missing_docs, clippy::unwrap_used, reason = "benchmarks")]
#[path = "../it/support/papers.rs"]
mod papers;

use criterion::{Criterion, criterion_group, criterion_main};
use std::hint::black_box;
use std::time::Duration;
use thrumhall::drawing::wall::Turn;
use thrumhall::pdf::{ChangeTape, NailRow, NailTemplate, Size, Target, WallSheet, WarpCard};
use thrumhall::units::{Length, Units};

fn cards(c: &mut Criterion) {
    let one = papers::usual(1);
    c.bench_function("a warp card (< 20 ms)", |b| {
        b.iter(|| black_box(one.card()).pdf(Size::A4, false).unwrap());
    });
    let class: Vec<_> = (0..30).map(papers::usual).collect();
    let cards: Vec<WarpCard<'_>> = class.iter().map(papers::Sample::card).collect();
    c.bench_function("30 warp cards in one file (< 300 ms)", |b| {
        b.iter(|| WarpCard::all(black_box(&cards), "Warp cards", Size::A4).unwrap());
    });
}

fn full_size(c: &mut Criterion) {
    let one = papers::usual(1);
    let tape = ChangeTape {
        name: "Tide",
        foot: "Change tape.",
        plan: &one.plan,
        colours: &one.colours,
        hatches: &[],
        targets: &Target::of(&one.plan, &[0, 24, 61, 98, one.plan.weft.rows], |slot| {
            format!("meeting {slot}")
        }),
        link: Some("https://rugs.example/rugs/1"),
        units: Units::Inches,
    };
    c.bench_function("a change tape", |b| b.iter(|| black_box(&tape).pdf(Size::A4).unwrap()));
    let places: Vec<Length> = (1..=141).map(|n| Length::inches(9.0 / 16.0) * n).collect();
    let rows = [NailRow { name: "Both rows".into(), places }];
    let template = NailTemplate {
        name: "a frame of two metres",
        rows: &rows,
        long: Length::inches(81.0),
        begins: "the left end",
        span: Length::inches(33.0),
        diagonals: None,
        nail: Length::inches(0.1),
        foot: "Nail template.",
        units: Units::Inches,
    };
    c.bench_function("a nail template of two metres", |b| {
        b.iter(|| black_box(&template).pdf(Size::A4).unwrap());
    });
}

fn walls(c: &mut Criterion) {
    let frames: Vec<String> = (1..=14).map(|n| format!("S{n}")).collect();
    let meetings: Vec<(String, bool)> = (7..17).map(|n| (format!("Wed {n} Oct"), false)).collect();
    let turn = |n: usize| Turn {
        frame: n,
        from: n % 7,
        to: n % 7 + 2,
        label: "Nessa Thole".into(),
        out: n.is_multiple_of(4),
        changed: n.is_multiple_of(3),
    };
    let turns: Vec<Turn> = (0..14).map(turn).collect();
    let wall = WallSheet {
        workroom: "Saltern Row Workroom",
        term: "Ebb to Flood",
        frames: &frames,
        meetings: &meetings,
        without: &[],
        holds: true,
        turns: &turns,
        link: "https://rugs.example/terms/1/timetable",
        printed: "Timetable 3.",
    };
    c.bench_function("a wall sheet", |b| b.iter(|| black_box(&wall).pdf(Size::A4).unwrap()));
}

criterion_group! {
    name = benches;
    config = Criterion::default().warm_up_time(Duration::from_secs(1)).measurement_time(Duration::from_secs(3)).sample_size(20);
    targets = cards, full_size, walls
}
criterion_main!(benches);

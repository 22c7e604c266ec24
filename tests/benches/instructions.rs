//! How many instructions the computations of the pure rooms take, which a busy machine doesn't change: `cargo bench --bench
//! instructions` runs each under callgrind, once and eleven times, and tells a tenth of the difference. It needs valgrind from the
//! system's packages, and says so where there is none.
//!
//! `instructions.txt` beside this file holds what they took; a computation that takes a tenth more fails. `RENEW=1` writes it again.
#![allow(
    missing_docs,
    clippy::unwrap_used,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "benchmarks"
)]
use std::collections::BTreeMap;
use std::fmt::Write as _;
use std::hint::black_box;
use std::process::{Command, ExitCode, Stdio};

use thrumhall::drawing::rug_face::{Ink, Picture, Swatch};
use thrumhall::optimize::bins::{Budget, Job, Piece, Stock, fewest_bars};
use thrumhall::optimize::panels::{Size, USUAL_EASE, Wanted, piece_together};
use thrumhall::planning::colour::Hex;
use thrumhall::planning::learn::{Class, Finished, Outcome};
use thrumhall::planning::pattern::Face;
use thrumhall::planning::progress::{Entry, Progress};
use thrumhall::planning::{Band, Frame, FrameSizes, Plan, RugSpec};
use thrumhall::units::{Length, Mass, Minutes, Units};

const KEPT: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/benches/instructions.txt");

fn rug() -> RugSpec {
    // 18 × 33 in, 33 nails. Common practice, no source.
    let sizes = FrameSizes {
        span: Length::inches(33.0),
        width: Length::inches(18.0),
        nails: 33,
        pitch: None,
        nail_diameter: None,
    };
    let band = |height, colours| Band { height: Length::inches(height), colours, strip: None, chart: None };
    RugSpec {
        bands: vec![band(8.0, [0, 1]), band(16.0, [1, 2]), band(8.0, [0, 1])],
        ..RugSpec::plain(Frame::new(sizes, Units::Inches).unwrap())
    }
}

fn plan() {
    black_box(Plan::of(black_box(&rug()), Units::Inches).unwrap());
}

fn progress() {
    let spec = rug();
    let plan = Plan::of(&spec, Units::Inches).unwrap();
    let entry = Entry {
        rows: Some(40),
        woven: Some(Length::inches(9.5)),
        minutes: Some(Minutes::new(120.0)),
        left: Vec::new(),
    };
    let progress = Progress::of(&spec, &plan, &[entry], Units::Inches).unwrap();
    black_box(progress.chance(Minutes::new(black_box(300.0))));
}

fn learning() {
    let finished: Vec<Finished> = (0..120)
        .map(|n| Finished {
            spec: rug(),
            weaver: format!("weaver {}", n % 22),
            outcome: Outcome {
                rows: Some(130 + n % 12),
                woven: Some(Length::inches(32.0)),
                weft: Some(Mass::from_mg(820_000 + i64::from(n) * 500)),
                weaving: Some(Minutes::new(330.0 + f64::from(n))),
                preparing: Some(Minutes::new(70.0)),
                warp: Some(Length::inches(58.0 * 36.0)),
                ..Outcome::default()
            },
        })
        .collect();
    black_box(Class::of(black_box(&finished), Units::Inches));
}

fn picture() {
    let plan = Plan::of(&rug(), Units::Inches).unwrap();
    let palette: Vec<Swatch> =
        ["Navy", "White", "Grey"].map(|name| Swatch { name: name.into(), hex: Hex::rgb(0x0025_335c) }).into();
    let (pattern, length, width) = (&plan.pattern, plan.length, plan.width);
    let picture = Picture {
        pattern,
        length,
        width,
        palette: &palette,
        face: Face::Front,
        ink: Ink::Colour,
        id: "front",
    };
    black_box(picture.svg().unwrap());
}

fn bars() {
    let mm = Length::millimetres;
    let piece = |length, count| Piece { length: mm(length), count };
    let job = Job {
        stock: vec![Stock { length: mm(2438.4), count: None }],
        pieces: vec![piece(838.2, 8), piece(457.2, 8), piece(1117.6, 4), piece(609.6, 4)],
        kerf: mm(3.0),
    };
    black_box(fewest_bars(black_box(&job), Budget::USUAL).unwrap());
}

fn panels() {
    let size = |width, length| Size { width: Length::inches(width), length: Length::inches(length) };
    let wanted = Wanted {
        size: size(36.0, 64.0),
        tolerance: Length::inches(2.0),
        ease: USUAL_EASE,
        most: 12,
        narrower: false,
    };
    let _ =
        black_box(piece_together(black_box(&[size(18.0, 32.0), size(24.0, 43.0)]), &wanted, Units::Inches));
}

const CASES: [(&str, fn()); 6] = [
    ("plan of a rug", plan),
    ("plan, progress and chance of a rug", progress),
    ("what 120 rugs teach", learning),
    ("plan and picture of a rug", picture),
    ("bars of four frames", bars),
    ("panels of 36 by 64 in", panels),
];

/// What callgrind counts of this program doing a case so many times.
fn counted(case: usize, times: u32) -> Option<u64> {
    let told = Command::new("valgrind")
        .args(["--tool=callgrind", "--callgrind-out-file=/dev/null"])
        .arg(std::env::current_exe().unwrap())
        .args(["--do", &case.to_string(), &times.to_string()])
        .stdout(Stdio::null())
        .output()
        .ok()?;
    let told = String::from_utf8_lossy(&told.stderr).into_owned();
    told.lines().find_map(|line| line.split_once("Collected : ")?.1.trim().parse().ok())
}

fn kept() -> BTreeMap<String, u64> {
    let text = std::fs::read_to_string(KEPT).unwrap_or_default();
    let line = |line: &str| {
        line.rsplit_once(": ").and_then(|(name, count)| Some((name.to_owned(), count.parse().ok()?)))
    };
    text.lines().filter_map(line).collect()
}

fn main() -> ExitCode {
    let arguments: Vec<String> = std::env::args().skip(1).collect();
    if let [what, case, times] = arguments.as_slice()
        && what == "--do"
    {
        let (case, times): (usize, u32) = (case.parse().unwrap(), times.parse().unwrap());
        (0..times).for_each(|_| CASES[case].1());
        return ExitCode::SUCCESS;
    }
    let (known, renew) = (kept(), std::env::var_os("RENEW").is_some());
    let (mut text, mut more) = (String::new(), 0);
    for (case, (name, _)) in CASES.iter().enumerate() {
        let (Some(once), Some(often)) = (counted(case, 1), counted(case, 11)) else {
            eprintln!("SKIPPED: valgrind isn’t here, or doesn’t know this machine’s instructions");
            return ExitCode::SUCCESS;
        };
        let count = often.saturating_sub(once) / 10;
        let before = known.get(*name).copied();
        let part = before.map_or(1.0, |before| count as f64 / before as f64);
        println!("{name}: {count} instructions, {part:.3} of what is kept");
        more += u32::from(part > 1.1);
        let _ = writeln!(text, "{name}: {count}");
    }
    if renew {
        std::fs::write(KEPT, text).unwrap();
        return ExitCode::SUCCESS;
    }
    if more > 0 { ExitCode::FAILURE } else { ExitCode::SUCCESS }
}

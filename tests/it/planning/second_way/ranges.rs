//! Low and take by simulation: thousands of rugs drawn from the figures' own ranges and computed apart; one in ten must need
//! less than low, nine in ten no more than take.
use super::book::{Book, Figure};
use super::close;
use super::contact::{Asked, Stripe, range, reckon};
use super::rug::{Count, METRES, Rug};
use crate::planning::estimate::{NINTH_DECILE, Uniform};

/// A figure whose first and ninth deciles are its low and high: lognormal on each side; straight where it begins at nothing.
fn drawn(figure: Figure, z: f64) -> f64 {
    let [low, usual, high] = figure;
    let (end, steps) = (if z < 0.0 { low } else { high }, z.abs() / NINTH_DECILE);
    if low > 0.0 { usual * (end / usual).powf(steps) } else { usual + (end - usual) * steps }
}

fn draw(book: &Book, chance: &mut Uniform) -> Book {
    let mut book = *book;
    for figure in book.figures() {
        *figure = [drawn(*figure, chance.normal()); 3];
    }
    book
}

const NAMES: [&str; 12] = [
    "/warp/length_mm",
    "/weft/length_mm",
    "/weft/cut_mm",
    "/cloth/warp_g",
    "/cloth/weft_g",
    "/cloth/mass_g",
    "/minutes_range/prepare",
    "/minutes_range/weave",
    "/minutes_range/finish",
    "/finishing/fringe_mm",
    "/finishing/thread_mm",
    "rows",
];

fn figures(rug: &Rug) -> [f64; 12] {
    let mm = METRES * 1e3;
    [
        rug.warp * mm,
        rug.weft * mm,
        rug.weft_cut * mm,
        rug.warp_grams,
        rug.weft_grams,
        rug.grams(),
        rug.prepare(),
        rug.weave_time,
        rug.finish(),
        rug.fringe * mm,
        rug.thread * mm,
        rug.rows,
    ]
}

/// The deciles of so many rugs.
fn simulated(asked: &Asked, rugs: usize) -> [[f64; 2]; 12] {
    let mut chance = Uniform(20_270_401);
    let book = asked.book();
    let all: Vec<[f64; 12]> = (0..rugs)
        .map(|_| figures(&Rug::of(asked, &draw(&book, &mut chance), |figure| figure[1], Count::Smooth)))
        .collect();
    std::array::from_fn(|i| {
        let mut of: Vec<f64> = all.iter().map(|figures| figures[i]).collect();
        of.sort_by(f64::total_cmp);
        [of[rugs / 10], of[rugs - rugs / 10 - 1]]
    })
}

fn checked(asked: &Asked) {
    let told = reckon(asked);
    let expected = figures(&Rug::expected(asked));
    for (i, (name, [low, high])) in NAMES.iter().zip(simulated(asked, 6000)).enumerate() {
        let [told_low, told_expected, told_take] = if *name == "rows" {
            let rows = super::contact::worked(&told)["weft.rows"].clone();
            ["low", "expected", "take"].map(|end| rows["range"][end]["value"].as_f64().unwrap())
        } else {
            range(&told, name)
        };
        close(name, told_expected, expected[i], 1e-3);
        // A range is never on one side of what is expected.
        let [low, high] = [low.min(expected[i]), high.max(expected[i])];
        close(&format!("low of {name}"), told_low, low, 0.02);
        close(&format!("take of {name}"), told_take, high, 0.02);
    }
}

#[test]
fn low_and_take_are_the_deciles_of_simulated_rugs() {
    let finished = Asked { fringe: Some(3.0), backing: Some(1.0), ..Asked::small() };
    checked(&finished);
    let bands = vec![
        Stripe { height: 2.0, colours: [0, 0], strip: Some(0.75) },
        Stripe { height: 30.0, colours: [0, 1], strip: None },
    ];
    checked(&Asked {
        bands,
        kind: "denim",
        warp_kind: "jersey",
        strip: 1.0,
        nail: Some(0.11),
        before: Some(3),
        ..finished.clone()
    });
    checked(&Asked {
        sample: Some((4.0, 15, None)),
        warp_gsm: Some(120.0),
        weft_gsm: Some(140.0),
        ..finished.clone()
    });
    checked(&Asked { sample: Some((3.0, 14, Some(80.0))), weft_gsm: Some(140.0), ..finished.clone() });
    checked(&Asked { sample: Some((6.0, 25, Some(150.0))), ..finished });
}

/// The median of a figure of simulated rugs, and the standard deviation of its logarithm that its deciles have.
pub fn log_sd(asked: &Asked, figure: impl Fn(&Rug) -> f64) -> (f64, f64) {
    let mut chance = Uniform(20_270_402);
    let book = asked.book();
    let rug = |chance: &mut Uniform| Rug::of(asked, &draw(&book, chance), |figure| figure[1], Count::Smooth);
    let mut of: Vec<f64> = (0..20_000).map(|_| figure(&rug(&mut chance))).collect();
    of.sort_by(f64::total_cmp);
    (of[10_000], (of[18_000] / of[2_000]).ln() / 2.0 / NINTH_DECILE)
}

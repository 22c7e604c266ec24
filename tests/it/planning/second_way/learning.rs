//! What a class's finished rugs teach, by solving the normal equations of the stated model for this rug: how each figure
//! moves with each doubtful input is found by moving that input in the rug computed apart.
use super::book::{Book, Figure};
use super::close;
use super::contact::Asked;
use super::contact_class::{Done, Learnt, learn};
use super::rug::{Count, Rug};

const DECILE: f64 = 1.281_551_565_545;
/// How much two rugs have in common whatever they are, by frame, by cloth, by weaver: for what depends on cloth, frame, hand.
/// Reasoned estimates, no source.
const CLOTH: [f64; 4] = [0.15, 0.0, 0.25, 0.10];
const FRAME: [f64; 4] = [0.20, 0.40, 0.0, 0.0];
const HAND: [f64; 4] = [0.30, 0.10, 0.10, 0.30];
const PACE: [f64; 4] = [0.70, 0.0, 0.0, 0.20];

/// The inputs in the book's order, each with what it depends on.
fn shares(at: usize) -> [f64; 4] {
    // The order of `Book::figures`.
    match at {
        0 | 1 => FRAME,
        30 => PACE,
        2 | 4 | 9 | 10 | 12 => CLOTH,
        _ => HAND,
    }
}

/// Where inputs stand in the book: those that only weaving, preparing or the warp's figure takes over.
const WEAVING: [usize; 7] = [15, 18, 19, 20, 21, 22, 30];
const PREPARING: [usize; 4] = [13, 14, 16, 17];
const GIVE: [usize; 1] = [4];

/// A figure of a rug that is looked at.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Of {
    Rows,
    Grams,
    Weaving,
    Preparing,
    Warp,
}

impl Of {
    fn of(self, rug: &Rug) -> f64 {
        match self {
            Self::Rows => rug.rows_per_inch,
            Self::Grams => rug.weft_grams / rug.rows,
            Self::Weaving => rug.weave_time / rug.rows,
            Self::Preparing => rug.prepare(),
            Self::Warp => rug.warp * 25.4,
        }
    }

    /// As it turned out, and how far measuring it may be off, on the logarithm.
    fn seen(self, done: &Done) -> Option<(f64, f64)> {
        let rows = done.rows.map(f64::from);
        Some(match self {
            Self::Rows => (rows? / done.woven?, (0.5 / rows?).hypot(0.125 / done.woven?)),
            Self::Grams => (
                done.grams? / rows?,
                ((0.5 / rows?).powi(2) + (15.0 / done.grams?).powi(2) + 0.03_f64.powi(2)).sqrt(),
            ),
            Self::Weaving => (done.weaving? / rows?, 0.1),
            Self::Preparing => (done.preparing?, 0.1),
            Self::Warp => (done.warp? * 25.4, 0.01),
        })
    }

    fn own(self) -> Option<&'static [usize]> {
        match self {
            Self::Rows | Self::Grams => None,
            Self::Weaving => Some(&WEAVING),
            Self::Preparing => Some(&PREPARING),
            Self::Warp => Some(&GIVE),
        }
    }
}

/// How one figure of one rug moves: its usual logarithm, and for each input how far its skewness shifts the middle and by
/// how much one standard deviation moves it.
struct Moves {
    plain: f64,
    shift: Vec<f64>,
    load: Vec<f64>,
}

fn moves(asked: &Asked, of: Of) -> Moves {
    let usual = |figure: Figure| figure[1];
    let value = |book: &Book| of.of(&Rug::of(asked, book, usual, Count::Smooth));
    let book = asked.book();
    let base = value(&book);
    let mut told = Moves { plain: base.ln(), shift: Vec::new(), load: Vec::new() };
    let mut copy = book;
    for at in 0..copy.figures().len() {
        let ends = [0, 2].map(|end| {
            let mut moved = book;
            let list = moved.figures();
            *list[at] = [list[at][end]; 3];
            (value(&moved) / base).ln()
        });
        // A change straight on each side: down at the first decile, up at the ninth. Half of all lie on each side.
        let [down, up] = ends.map(|end| end / DECILE);
        // E|z| over one side is 1/√(2π), E z² is 1/2.
        let mean = (down + up) / (2.0 * std::f64::consts::PI).sqrt();
        let variance = (down * down + up * up) / 2.0 - mean * mean;
        told.shift.push(mean);
        told.load.push(if up < down { -variance.sqrt() } else { variance.sqrt() });
    }
    told
}

fn together(a: &Moves, b: &Moves, common: impl Fn(usize) -> f64, own: Option<&[usize]>) -> f64 {
    (0..a.load.len())
        .filter(|at| own.is_none_or(|own| own.contains(at)))
        .map(|at| a.load[at] * b.load[at] * common(at))
        .sum()
}

/// How much an input has in common in two different rugs.
fn common(one: (&Asked, &str), other: (&Asked, &str), at: usize) -> f64 {
    let size = |asked: &Asked| (asked.span, asked.width, asked.nails);
    let same = [true, size(one.0) == size(other.0), one.0.kind == other.0.kind, one.1 == other.1];
    shares(at).into_iter().zip(same).filter(|(_, same)| *same).map(|(share, _)| share).sum()
}

/// Solves a small linear system by elimination with pivots.
fn solve(mut rows: Vec<Vec<f64>>) -> Vec<f64> {
    let n = rows.len();
    for i in 0..n {
        let pivot = (i..n).max_by(|&a, &b| rows[a][i].abs().total_cmp(&rows[b][i].abs())).unwrap();
        rows.swap(i, pivot);
        for j in 0..n {
            if j != i {
                let factor = rows[j][i] / rows[i][i];
                for k in i..=n {
                    rows[j][k] -= factor * rows[i][k];
                }
            }
        }
    }
    (0..n).map(|i| rows[i][n] / rows[i][i]).collect()
}

/// Ratio to what is usual and its doubt, for each figure of the group that was seen; and how the last two go together.
fn wanted(asked: &Asked, weaver: &str, finished: &[Done], group: &[Of]) -> Vec<(Of, f64, f64, f64)> {
    let mut seen = Vec::new();
    for (i, done) in finished.iter().enumerate() {
        for &of in group {
            if let Some((value, noise)) = of.seen(done) {
                let moves = moves(&done.asked, of);
                let off = value.ln() - moves.plain - moves.shift.iter().sum::<f64>();
                seen.push((i, of, moves, off, noise));
            }
        }
    }
    let covariance = |a: usize, b: usize| {
        let ((i, _, one, _, noise), (j, _, other, _, _)) = (&seen[a], &seen[b]);
        let who = |i: usize| (&finished[i].asked, finished[i].weaver.as_str());
        let along = |at: usize| if i == j { 1.0 } else { common(who(*i), who(*j), at) };
        together(one, other, along, None) + if a == b { noise * noise } else { 0.0 }
    };
    let n = seen.len();
    let matrix = |right: &dyn Fn(usize) -> f64| {
        let row = |a: usize| (0..n).map(|b| covariance(a, b)).chain([right(a)]).collect();
        solve((0..n).map(row).collect())
    };
    let weights = matrix(&|a| seen[a].3);
    let mut told: Vec<(Of, f64, f64, f64)> = Vec::new();
    let mut before: Option<(Moves, Vec<f64>)> = None;
    for &of in group.iter().filter(|of| seen.iter().any(|seen| seen.1 == **of)) {
        let own = moves(asked, of);
        let with: Vec<f64> = (0..n)
            .map(|a| {
                let (i, _, moves, ..) = &seen[a];
                let done = &finished[*i];
                together(&own, moves, |at| common((asked, weaver), (&done.asked, &done.weaver), at), of.own())
            })
            .collect();
        let explained = matrix(&|a| with[a]);
        let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
        let variance = together(&own, &own, |_| 1.0, of.own()) - dot(&with, &explained);
        let counted = |at: &usize| of.own().is_none_or(|own| own.contains(at));
        let shift: f64 = (0..own.shift.len()).filter(counted).map(|at| own.shift[at]).sum();
        let covary = before
            .as_ref()
            .map_or(0.0, |(moves, with)| together(&own, moves, |_| 1.0, None) - dot(with, &explained));
        told.push((of, (dot(&with, &weights) + shift).exp(), variance.sqrt(), covary));
        before = Some((own, with));
    }
    told
}

fn done(asked: &Asked, weaver: &str) -> Done {
    Done { asked: asked.clone(), weaver: weaver.to_owned(), ..Done::default() }
}

/// A class of four rugs: two frames, two cloths, three weavers.
fn class() -> Vec<Done> {
    let large = Asked { span: 44.0, width: 24.0, nails: 43, ..Asked::small() };
    let denim = Asked { kind: "denim", strip: 1.0, ..Asked::small() };
    vec![
        Done {
            rows: Some(140),
            woven: Some(32.0),
            grams: Some(880.0),
            weaving: Some(430.0),
            ..done(&Asked::small(), "a")
        },
        Done {
            rows: Some(190),
            woven: Some(43.0),
            preparing: Some(75.0),
            weaving: Some(800.0),
            warp: Some(3900.0),
            ..done(&large, "b")
        },
        Done {
            rows: Some(120),
            woven: Some(32.0),
            grams: Some(1400.0),
            preparing: Some(50.0),
            ..done(&denim, "b")
        },
        Done { warp: Some(2090.0), preparing: Some(90.0), grams: Some(800.0), ..done(&Asked::small(), "c") },
    ]
}

fn find(told: &[Learnt], of: Of) -> &Learnt {
    let name = format!("{of:?}").to_lowercase();
    told.iter()
        .find(|told| told.figure == name)
        .unwrap_or_else(|| panic!("nothing learnt of {name}: {told:?}"))
}

#[test]
fn the_class_teaches_what_the_model_says() {
    let large = Asked { span: 44.0, width: 24.0, nails: 43, before: Some(2), ..Asked::small() };
    for asked in [Asked::small(), large, Asked { kind: "denim", warp_kind: "sateen", ..Asked::small() }] {
        for weaver in ["a", "b", "nobody"] {
            for rugs in 1..=4 {
                let finished = &class()[..rugs];
                let (told, _) = learn(&asked, weaver, finished, &[]);
                let groups: [&[Of]; 4] =
                    [&[Of::Rows, Of::Grams], &[Of::Weaving], &[Of::Preparing], &[Of::Warp]];
                let wanted: Vec<_> =
                    groups.iter().flat_map(|group| wanted(&asked, weaver, finished, group)).collect();
                assert_eq!(told.len(), wanted.len());
                for (of, ratio, sd, _) in wanted {
                    let told = find(&told, of);
                    let what = format!("{of:?} of {} for {weaver} from {rugs}", asked.kind);
                    close(&format!("{what}: ratio"), told.ratio, ratio, 1e-4);
                    close(&format!("{what}: doubt"), told.sd, sd, 1e-3);
                    let seen = || finished.iter().filter(|done| of.seen(done).is_some());
                    let count = |is: &dyn Fn(&Done) -> bool| seen().filter(|done| is(done)).count() as u32;
                    let size = |asked: &Asked| (asked.span, asked.width, asked.nails);
                    let wanted = [
                        count(&|_| true),
                        count(&|done| size(&done.asked) == size(&asked)),
                        count(&|done| done.asked.kind == asked.kind),
                        count(&|done| done.weaver == weaver),
                    ];
                    assert_eq!(told.evidence, wanted, "{what}: evidence");
                }
            }
        }
    }
}

/// What is learnt becomes figures of the next plan, with the doubt that is left, and what it takes over is doubted no more.
#[test]
fn what_is_learnt_is_planned_with() {
    let asked = Asked { before: Some(1), ..Asked::small() };
    let finished = class();
    let (learnt, settings) = learn(&asked, "a", &finished, &[]);
    let rug = Rug::of(&asked, &asked.book(), |figure| figure[1], Count::Smooth);
    let get = |name: &str| {
        settings
            .iter()
            .find(|one| one.0 == name)
            .copied()
            .unwrap_or_else(|| panic!("no {name} in {settings:?}"))
    };
    let doubt = |[low, value, high]: [f64; 3]| {
        close("an even range", low * high, value * value, 1e-3);
        (high / value).ln() / DECILE
    };
    let covary = wanted(&asked, "a", &finished, &[Of::Rows, Of::Grams])[1].3;
    assert!(covary < 0.0, "closer rows are lighter rows");
    let [rows, grams] = [Of::Rows, Of::Grams].map(|of| find(&learnt, of));
    let packing = get("closer rows, which are lighter rows");
    close("what both have in common", doubt(packing.1), (-covary).sqrt(), 1e-3);
    close("packing", packing.1[1], 1.0, 1e-9);
    for (name, told, usual) in
        [("rows per inch", rows, rug.rows_per_inch), ("weight of one row", grams, rug.weft_grams / rug.rows)]
    {
        let setting = get(name);
        close(name, setting.1[1], usual * told.ratio, 1e-3);
        close(
            &format!("doubt of {name}, with what is in common"),
            doubt(setting.1).hypot((-covary).sqrt()),
            told.sd,
            2e-3,
        );
        assert_eq!(setting.2, "learnt");
    }
    for (name, of, over) in [
        (
            "weaving time against the sum of its acts",
            Of::Weaving,
            &[
                "one twist of the weft",
                "one turn at the rod",
                "one join at the frame",
                "last stretch, with no room for the hand",
                "times as slow in the last stretch",
                "time left at each doubling of rugs made",
            ][..],
        ),
        (
            "preparing time against the sum of its acts",
            Of::Preparing,
            &[
                "cutting or tearing one strip",
                "one join at the table",
                "winding one yard into a ball",
                "winding on, for each nail",
            ],
        ),
    ] {
        let setting = get(name);
        close(name, setting.1[1], find(&learnt, of).ratio, 1e-9);
        close(name, doubt(setting.1), find(&learnt, of).sd, 1e-9);
        for name in over {
            let taken = get(name);
            assert!(taken.1[0] == taken.1[1] && taken.1[1] == taken.1[2], "{name} is still in doubt");
            assert_eq!(taken.2, "default");
        }
    }
    // A warp that takes so many times as much gives so much less.
    let (give, told) = (get("give of the warp strip under tension"), find(&learnt, Of::Warp));
    for (value, z) in give.1.into_iter().zip([DECILE, 0.0, -DECILE]) {
        close("give", 1.0 + value, 1.02 / (told.ratio * (z * told.sd).exp()), 1e-6);
    }
    assert_eq!(settings.len(), 4 + 7 + 5);
    // What was measured of the rug itself stays.
    let give = "give of the warp strip under tension";
    let (_, planned) = learn(&asked, "a", &finished, &[(give, 0.03)]);
    assert!(planned.len() == 15 && planned.iter().all(|one| one.0 != give), "{planned:?}");
}

/// Nothing written down, or nothing that can be, teaches nothing.
#[test]
fn what_can_not_be_teaches_nothing() {
    let small = Asked::small();
    for empty in [
        done(&small, "a"),
        Done {
            rows: Some(0),
            woven: Some(32.0),
            grams: Some(800.0),
            weaving: Some(400.0),
            ..done(&small, "a")
        },
        Done { rows: Some(128), ..done(&small, "a") },
        Done { woven: Some(32.0), grams: Some(800.0), weaving: Some(300.0), ..done(&small, "a") },
        Done {
            rows: Some(128),
            woven: Some(0.0),
            grams: Some(0.0),
            weaving: Some(0.0),
            preparing: Some(0.0),
            warp: Some(0.0),
            ..done(&small, "a")
        },
    ] {
        assert!(learn(&small, "a", std::slice::from_ref(&empty), &[]).0.is_empty(), "{empty:?}");
    }
}

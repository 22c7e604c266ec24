//! The guide's drawings, shape by shape: over and under as the rows give it, the turn at the rod, and no word under or over a strip.
use proptest::prelude::*;
use thrumhall::drawing::figure::{Figure, Part, Shape};
use thrumhall::drawing::guide::Drawings;
use thrumhall::drawing::rug_face::Swatch;
use thrumhall::pdf::{Weight, width};
use thrumhall::planning::colour::Hex;
use thrumhall::planning::locking::stepping::{BeginAt, row};
use thrumhall::planning::warp::nail_rows::NailRows;
use thrumhall::planning::warp::winding::Winding;
use thrumhall::planning::{AtRod, Band, Plan, RugSpec, WovenFrom};
use thrumhall::units::Units;

use crate::planning::{inches, plan, small};

fn any_rug() -> impl Strategy<Value = RugSpec> {
    (1_u32..5, any::<bool>(), 0_usize..3, 31_u32..35, any::<bool>(), any::<bool>()).prop_map(
        |(unit_size, keep, from, far_nails, doubled, alike)| RugSpec {
            rows: NailRows::SetOff { far_nails, by: None },
            winding: Winding { doubled, ..Winding::default() },
            warp_strip_width: Some(inches(0.5)),
            bands: vec![
                Band::plain(inches(9.0), if alike { [1, 1] } else { [0, 1] }),
                Band::plain(inches(7.0), [1, 2]),
            ],
            length: None,
            unit_size,
            at_rod: if keep { AtRod::Keep } else { AtRod::Trade },
            from: [WovenFrom::OneEnd, WovenFrom::BothEnds, WovenFrom::BothEndsOtherFirst][from],
            ..RugSpec::plain(small())
        },
    )
}

fn palette() -> Vec<Swatch> {
    let colours = [("cream", "#e9dcc3"), ("a navy with a very long name", "#22305a"), ("rust", "#a6541a")];
    colours.map(|(name, hex)| Swatch { name: name.into(), hex: Hex::parse(hex).unwrap() }).to_vec()
}

/// Every drawing of a rug, with its name.
fn all(plan: &Plan, palette: &[Swatch], begin: BeginAt, afar: bool) -> Vec<(&'static str, Figure)> {
    let drawn = Drawings { plan, palette, begin, afar };
    let last = plan.weft.rows - 1;
    let says = ["1½ in".to_owned(), "96 in".to_owned()];
    let mut figures = vec![
        ("first", drawn.locking(0)),
        ("last", drawn.locking(last)),
        ("second half", drawn.locking(plan.pattern.first_half().min(last))),
        ("rod turn", drawn.rod_turn()),
    ];
    if !afar {
        figures.extend([
            ("strips", drawn.strips(inches(1.5), inches(96.0), &says)),
            ("join", drawn.join(Units::Inches)),
            ("ball", drawn.ball("60 yd")),
            ("winding", drawn.winding()),
            ("rods", drawn.rods(3, "6 in")),
            ("crossing", drawn.crossing()),
            ("second row", drawn.second_row()),
            ("counted", drawn.counted(16.0, "4 in")),
            ("new length", drawn.new_length()),
            ("bands", drawn.changes(false)),
            ("turned", drawn.changes(true)),
            ("off", drawn.off_the_nails()),
            ("ends", drawn.ends(0)),
            ("fringe", drawn.ends(64)),
            ("panels", drawn.panels()),
            ("backing", drawn.backing()),
            ("washing", drawn.washing()),
        ]);
    }
    figures
}

/// Whether a strip so wide, cut off square at its ends, lies on a box.
fn touches(from: [f64; 2], to: [f64; 2], [left, top, right, bottom]: [f64; 4], wide: f64) -> bool {
    let along = [to[0] - from[0], to[1] - from[1]];
    let long = along[0].hypot(along[1]).max(1e-9);
    (0..=60).any(|k| {
        (-4..=4).any(|side| {
            let (t, off) = (f64::from(k) / 60.0, f64::from(side) / 8.0 * wide / long);
            let [x, y] = [from[0] + along[0] * t - along[1] * off, from[1] + along[1] * t + along[0] * off];
            x > left && x < right && y > top && y < bottom
        })
    })
}

/// The boxes of a figure's words, by the width that they have on paper.
fn boxes(figure: &Figure) -> Vec<(String, [f64; 4])> {
    use thrumhall::drawing::figure::Anchor;
    let of = |word: &thrumhall::drawing::figure::Word| {
        let (wide, em) = (width(&word.says, word.points, Weight::Regular), word.points * 25.4 / 72.0);
        let left = match word.anchor {
            Anchor::Start => word.at[0],
            Anchor::Middle => word.at[0] - wide / 2.0,
            Anchor::End => word.at[0] - wide,
        };
        (word.says.clone(), [left, word.at[1] - 0.72 * em, left + wide, word.at[1]])
    };
    figure.words.iter().map(of).collect()
}

fn no_word_is_covered(name: &str, figure: &Figure) {
    let boxes = boxes(figure);
    for (at, (says, area)) in boxes.iter().enumerate() {
        assert!(
            area[0] >= -0.3
                && area[1] >= -0.3
                && area[2] <= figure.wide + 0.3
                && area[3] <= figure.high + 0.3,
            "{name}: {says:?} at {area:?} leaves the drawing"
        );
        for (other, there) in &boxes[at + 1..] {
            let across = area[2].min(there[2]) - area[0].max(there[0]);
            let down = area[3].min(there[3]) - area[1].max(there[1]);
            assert!(across <= 0.0 || down <= 0.0, "{name}: {says:?} lies on {other:?}");
        }
        for shape in &figure.shapes {
            let hit = match shape {
                Shape::Strip { way, wide, .. } => {
                    way.windows(2).any(|pair| touches(pair[0], pair[1], *area, *wide))
                }
                Shape::Disc { at, radius, .. } => {
                    touches([at[0] - radius, at[1]], [at[0] + radius, at[1]], *area, 2.0 * radius)
                }
            };
            assert!(!hit, "{name}: {says:?} at {area:?} lies on {shape:?}");
        }
        let lines = figure.lines.iter().chain(&figure.marks);
        for [x1, y1, x2, y2] in lines.flat_map(|lines| &lines.lines) {
            assert!(!touches([*x1, *y1], [*x2, *y2], *area, 0.0), "{name}: a line crosses {says:?}");
        }
    }
}

/// What lies behind comes before the warp, what lies in front after it, by the rows as they are stepped through.
fn over_and_under(name: &str, figure: &Figure, plan: &Plan, begin: BeginAt) {
    let parts: Vec<Part> = figure
        .shapes
        .iter()
        .map(|shape| match shape {
            Shape::Strip { part, .. } | Shape::Disc { part, .. } => *part,
        })
        .collect();
    let warp: Vec<usize> = (0..parts.len()).filter(|at| matches!(parts[*at], Part::Warp(_))).collect();
    let rod = parts.iter().rposition(|part| *part == Part::Rod);
    let mut wefts = 0;
    for (at, part) in parts.iter().enumerate() {
        match *part {
            Part::Weft(woven, unit, strand, front) => {
                wefts += 1;
                let steps = row(&plan.pattern, &plan.warp.locking, woven, begin).unwrap();
                let crossing = steps.crossings.iter().find(|crossing| crossing.unit == unit).unwrap();
                assert_eq!(strand == crossing.front, front, "{name}: row {woven}, unit {unit}");
                let in_order =
                    if front { warp.iter().all(|w| *w < at) } else { warp.iter().all(|w| *w > at) };
                assert!(in_order, "{name}: row {woven}, unit {unit}, front {front}");
            }
            Part::Turn(_, front) => assert_eq!(rod.is_some_and(|rod| rod < at), front, "{name}: the turn"),
            _ => {}
        }
    }
    // Each strand of a row that is drawn at a unit is drawn once.
    let mut seen: Vec<Part> = parts.iter().copied().filter(|part| matches!(part, Part::Weft(..))).collect();
    let count = seen.len();
    seen.dedup();
    assert_eq!(seen.len(), count);
    let woven = [
        "first",
        "last",
        "second half",
        "rod turn",
        "crossing",
        "second row",
        "new length",
        "off",
        "ends",
        "fringe",
    ];
    assert_eq!(wefts > 0, woven.contains(&name), "{name} has {wefts} pieces of weft");
    assert_eq!(wefts % 2, 0, "{name}: each unit has a strand on either side");
}

/// Round the rod: the strand that the next row begins with in front is the one that the last half of its turn leads there.
fn turn_leads_on(figure: &Figure, plan: &Plan, begin: BeginAt) {
    let [first, second] = [0, 1].map(|woven| row(&plan.pattern, &plan.warp.locking, woven, begin).unwrap());
    let turns: Vec<(usize, bool, [f64; 2], [f64; 2])> = figure
        .shapes
        .iter()
        .filter_map(|shape| match shape {
            Shape::Strip { part: Part::Turn(strand, over), way, .. } => {
                Some((*strand, *over, way[0], *way.last().unwrap()))
            }
            _ => None,
        })
        .collect();
    assert_eq!(turns.len(), 4);
    for strand in [0, 1] {
        let own: Vec<_> = turns.iter().filter(|turn| turn.0 == strand).collect();
        assert!(
            own[0].1 != own[1].1,
            "a strand goes round the rod: out on one side of it, back on the other"
        );
        let out = own.iter().find(|turn| {
            turn.2[1] > turn.3[1] && (turn.1 == (strand == first.crossings.last().unwrap().front))
        });
        assert!(out.is_some(), "out on the side where it lay");
        let back = own.iter().min_by(|a, b| a.3[1].total_cmp(&b.3[1])).unwrap();
        let other =
            turns.iter().filter(|turn| turn.0 != strand).min_by(|a, b| a.3[1].total_cmp(&b.3[1])).unwrap();
        // What goes in front of the next unit comes in above.
        assert_eq!(back.3[1] < other.3[1], second.crossings[0].front == strand);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn every_drawing_keeps_over_and_under_and_its_words_are_free(spec in any_rug(), right: bool) {
        let begin = if right { BeginAt::Right } else { BeginAt::Left };
        let (plan, palette) = (plan(&spec), palette());
        for afar in [false, true] {
            for (name, figure) in all(&plan, &palette, begin, afar) {
                prop_assert!(!figure.told.is_empty(), "{} says nothing", name);
                no_word_is_covered(name, &figure);
                over_and_under(name, &figure, &plan, begin);
                let svg = figure.svg("x");
                prop_assert!(!svg.contains("NaN") && !svg.contains("inf") && !svg.contains(" style="));
                if name == "rod turn" {
                    turn_leads_on(&figure, &plan, begin);
                }
            }
        }
    }
}

/// In black and white: the second strand has its line, and the two greys are the lightness of the colours.
#[test]
fn without_colours_the_two_strands_are_told_apart() {
    let plan = plan(&RugSpec { bands: vec![Band::plain(inches(32.0), [0, 1])], ..RugSpec::plain(small()) });
    let palette = palette();
    let drawn = Drawings { plan: &plan, palette: &palette, begin: BeginAt::Left, afar: false };
    for shape in drawn.locking(0).shapes {
        if let Shape::Strip { part: Part::Weft(_, _, strand, _), second, .. } = shape {
            assert_eq!(second, strand == 1);
        }
    }
    let grey = |hex: &str| thrumhall::drawing::figure::grey(Hex::parse(hex).unwrap());
    // CIE 1976: white has L* 100, black 0; sRGB #777777 has L* 50.03.
    assert_eq!((grey("#ffffff"), grey("#000000"), grey("#777777")), (255, 0, 128));
}

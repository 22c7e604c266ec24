//! One row crossing by crossing, against the pattern cell by cell, and its drawing against the order of over and under.
use super::{inches, plan, small};
use proptest::prelude::*;
use scraper::{Html, Selector};
use thrumhall::drawing::rug_face::Swatch;
use thrumhall::drawing::stepper::RowPicture;
use thrumhall::planning::colour::Hex;
use thrumhall::planning::locking::stepping::{BeginAt, LastCrossing, RowSteps, place, row, small_piece};
use thrumhall::planning::pattern::{AtRod, Band, Face};
use thrumhall::planning::warp::nail_rows::NailRows;
use thrumhall::planning::warp::winding::Winding;
use thrumhall::planning::{Plan, RugSpec, WovenFrom};

fn any_rug() -> impl Strategy<Value = RugSpec> {
    let bands = prop::collection::vec((2_u32..9, 0_u16..4, 0_u16..4), 1..4);
    (1_u32..4, any::<bool>(), 0_usize..3, bands, 31_u32..35, any::<bool>()).prop_map(
        |(unit_size, keep, from, bands, far_nails, doubled)| RugSpec {
            rows: NailRows::SetOff { far_nails, by: None },
            winding: Winding { doubled, ..Winding::default() },
            warp_strip_width: Some(inches(0.5)),
            bands: bands
                .into_iter()
                .map(|(high, a, b)| Band::plain(inches(f64::from(high)), [a, b]))
                .collect(),
            length: None,
            unit_size,
            at_rod: if keep { AtRod::Keep } else { AtRod::Trade },
            from: [WovenFrom::OneEnd, WovenFrom::BothEnds, WovenFrom::BothEndsOtherFirst][from],
            ..RugSpec::plain(small())
        },
    )
}

fn steps(plan: &Plan, woven: u32, begin: BeginAt) -> Option<RowSteps> {
    row(&plan.pattern, &plan.warp.locking, woven, begin)
}

/// The row's place in the rug, by the half it belongs to.
fn lies_at(plan: &Plan, woven: u32) -> u32 {
    let half = plan.pattern.first_half();
    if woven < half { woven } else { plan.weft.rows - 1 - (woven - half) }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(40))]

    #[test]
    fn the_face_is_the_patterns_cell_by_cell(spec in any_rug(), right: bool) {
        let begin = if right { BeginAt::Right } else { BeginAt::Left };
        let plan = plan(&spec);
        let mut front_before: Option<(bool, usize, Option<AtRod>)> = None;
        for woven in 0..plan.weft.rows {
            let told = steps(&plan, woven, begin).unwrap();
            let at = lies_at(&plan, woven);
            let count = plan.pattern.row_units(at).units();
            prop_assert_eq!(told.crossings.len() as u32, count);
            let mut taken = vec![0; told.strands as usize];
            for (i, crossing) in told.crossings.iter().enumerate() {
                // Made in one direction, without a gap.
                let wanted = if told.to_right { i as u32 } else { count - 1 - i as u32 };
                prop_assert_eq!(crossing.unit, wanted);
                let unit = if told.turned { count - 1 - crossing.unit } else { crossing.unit };
                prop_assert_eq!(Some(crossing.colours[0]), plan.pattern.colour(at, unit, Face::Front), "row {} unit {}", at, unit);
                let behind = plan.pattern.colour(at, count - 1 - unit, Face::Back);
                prop_assert_eq!(Some(crossing.colours[1]), behind, "behind");
                for strand in crossing.strands[0]..=crossing.strands[1] {
                    taken[strand as usize - 1] += 1;
                }
            }
            prop_assert!(taken.iter().all(|times| *times == 1), "each strand once");
            // At the rod: what the row before said of it is what this row begins with.
            if let Some((to_right, front, then)) = front_before {
                if let Some(then) = then {
                    prop_assert_ne!(to_right, told.to_right);
                    prop_assert_eq!(told.crossings[0].front == front, then == AtRod::Keep);
                    if count == told.units.len() as u32 && !told.shifted {
                        prop_assert_eq!(then, plan.pattern.at_rod);
                    }
                } else {
                    prop_assert!(told.turned && told.number.number == 1);
                }
            }
            front_before = Some((told.to_right, told.crossings[count as usize - 1].front, told.then));
        }
        prop_assert!(steps(&plan, plan.weft.rows, begin).is_none());
    }
}

#[test]
fn rows_next_to_the_nails_go_through_every_loop() {
    let bands = vec![Band::plain(inches(32.0), [0, 1])];
    for (from, far) in [(WovenFrom::OneEnd, 127), (WovenFrom::BothEnds, 64)] {
        let plan = plan(&RugSpec { bands: bands.clone(), from, ..RugSpec::plain(small()) });
        for begin in [BeginAt::Left, BeginAt::Right] {
            let through = |woven: u32| -> Vec<u32> {
                let told = steps(&plan, woven, begin).unwrap();
                told.crossings
                    .iter()
                    .flat_map(|crossing| crossing.through.iter().map(|held| held.nail.number))
                    .collect()
            };
            let mut near = through(0);
            near.sort_unstable();
            assert_eq!(near, (2..=33).collect::<Vec<_>>());
            let mut beyond = through(far);
            beyond.sort_unstable();
            assert_eq!(beyond, (1..=32).collect::<Vec<_>>(), "{from:?}");
            assert!(through(1).is_empty() && through(far - 1).is_empty());
        }
        let far = steps(&plan, far, BeginAt::Left).unwrap();
        // Turned, the weaver has a whole unit at her left; unturned the last row begins with one strand.
        assert_eq!(far.units[0], if far.turned { [1, 2] } else { [1, 1] });
        assert_eq!((far.nails.len(), far.nails_beyond, far.shifted), (32, !far.turned, true));
    }
}

/// Woven right: 1 cream over 1–2, navy behind; 2 the other way round. By hand, two by two on five strands.
#[test]
fn crossings_in_words_and_finding_ones_place() {
    let (pattern, locking) = small_piece(3, 2, AtRod::Trade).unwrap();
    let names = ["cream", "navy"];
    let first = row(&pattern, &locking, 0, BeginAt::Left).unwrap();
    let said: Vec<String> = first.crossings.iter().enumerate().map(|(i, c)| c.text(names, i == 0)).collect();
    assert_eq!(
        said,
        [
            "Cream goes in front of strands 1 and 2, navy behind them.",
            "Cream goes down behind strands 3 and 4, navy comes up in front of them. Between strands 2 and 3 lies near nail 2: this \
             crossing goes through its loop.",
            "Navy goes down behind strand 5, cream comes up in front of it. Between strands 4 and 5 lies near nail 3: this crossing \
             goes through its loop.",
        ]
    );
    assert_eq!(
        first.crossings[0].text(["cream", "cream"], true),
        "The first strand goes in front of strands 1 and 2, the other strand behind them."
    );
    // The second row comes back from the right and, traded, begins with navy over strand 5.
    let second = row(&pattern, &locking, 1, BeginAt::Left).unwrap();
    assert_eq!((second.to_right, second.crossings[0].front, second.crossings[0].strands), (false, 1, [5, 5]));
    let at = |colour, unit, to_right| {
        place(&pattern, &locking, 3, BeginAt::Left, LastCrossing { colour, unit, to_right })
    };
    // Row 4, index 3, runs left: cells 1 0 1 from the left. The last over unit 2 is colour 0, after two crossings.
    assert_eq!(at(0, 2, false), Some((3, 2)));
    // To the right it is a row beside it: index 2, whose cells are 0 1 0.
    assert_eq!(at(1, 2, true), Some((2, 2)));
    assert_eq!(at(1, 2, false), None, "no row to the left shows it");
    assert_eq!(at(0, 4, true), None, "there is no fourth unit");
    assert!(first.open.is_empty() && small_piece(2, 2, AtRod::Trade).is_none());
    // By hand, three by three on seven strands: 123|456|7 goes through 6|7 and leaves 2|3 and 4|5 open.
    let (pattern, locking) = small_piece(4, 3, AtRod::Trade).unwrap();
    let open = |woven| row(&pattern, &locking, woven, BeginAt::Left).unwrap().open;
    assert_eq!(open(0).iter().map(|held| held.nail.number).collect::<Vec<_>>(), [2, 3]);
    assert!(open(1).is_empty(), "only the row next to the nails locks");
}

/// What lies behind comes before the warp in the drawing, what lies in front after it; and each unit has the strand in front that the
/// row says.
#[test]
fn the_drawing_keeps_the_order_of_over_and_under() {
    let swatch = |name: &str, hex| Swatch { name: name.into(), hex: Hex::parse(hex).unwrap() };
    let strands = [swatch("Cream <b>", "#e9dcc3"), swatch("Navy", "#22305a")];
    for (nails, unit, woven, begin) in
        [(9, 2, 0, BeginAt::Left), (9, 3, 1, BeginAt::Right), (5, 1, 7, BeginAt::Left)]
    {
        let (pattern, locking) = small_piece(nails, unit, AtRod::Trade).unwrap();
        let told = row(&pattern, &locking, woven, begin).unwrap();
        let below = woven.checked_sub(1).and_then(|before| row(&pattern, &locking, before, begin));
        let made = told.crossings.len() - 1;
        let picture = |whole| {
            RowPicture {
                row: &told,
                strands: [&strands[0], &strands[1]],
                below: below.as_ref().map(|row| (row, [&strands[0], &strands[1]])),
                made,
                wide: 30,
                whole,
                id: "row",
            }
            .svg()
        };
        let drawn = Html::parse_fragment(&picture(true));
        let parts = Selector::parse("[data-part]").unwrap();
        let parts: Vec<_> = drawn.select(&parts).map(|part| part.value()).collect();
        let place = |name: &str| {
            let found: Vec<usize> =
                (0..parts.len()).filter(|&i| parts[i].attr("data-part") == Some(name)).collect();
            (found[0], *found.last().unwrap(), found.len())
        };
        let (behind, warp, front) = (place("behind"), place("warp"), place("front"));
        assert!(behind.1 < warp.0 && warp.1 < front.0, "{behind:?} {warp:?} {front:?}");
        assert_eq!((behind.2, front.2, warp.2), (made + 1, made + 1, told.strands as usize));
        for part in parts.iter().filter(|part| matches!(part.attr("data-part"), Some("front" | "behind"))) {
            let number = |name: &str| part.attr(name).unwrap().parse::<usize>().unwrap();
            let crossing = &told.crossings[number("data-at") - 1];
            let strand =
                if part.attr("data-part") == Some("front") { crossing.front } else { 1 - crossing.front };
            assert_eq!((number("data-strand"), number("data-unit") as u32), (strand, crossing.unit));
            assert_eq!(part.attr("display").is_some(), number("data-at") > made);
        }
        // Round the rod: two halves under it, two over it; only where a row lies below.
        let rod = parts.iter().position(|part| part.attr("data-part") == Some("rod")).unwrap();
        let halves = |name: &str| -> Vec<usize> {
            (0..parts.len()).filter(|&i| parts[i].attr("data-part") == Some(name)).collect()
        };
        let (under, over) = (halves("turn-under"), halves("turn-over"));
        let turns = if below.is_some() { 2 } else { 0 };
        assert_eq!((under.len(), over.len()), (turns, turns));
        assert!(under.iter().all(|at| *at < rod) && over.iter().all(|at| *at > rod));
        let nails = parts.iter().filter(|part| part.attr("data-part") == Some("nail")).count();
        assert_eq!(nails, told.nails.len());
        let rings = parts.iter().filter(|part| part.attr("data-part") == Some("ring")).count();
        assert_eq!(rings, told.crossings.iter().filter(|crossing| !crossing.through.is_empty()).count());
        // A picture of the strip has only what is made.
        let alone = picture(false);
        assert!(!alone.contains("display") && alone.len() < picture(true).len());
        assert!(!alone.contains("<b>") && alone.contains(&told.crossings[made - 1].taken()));
    }
}

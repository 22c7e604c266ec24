//! Cutting round blocked places, choosing among sheets, and the drawing of the cuts.
use crate::planning::inches;
use proptest::prelude::*;
use thrumhall::drawing::cuts::CutPicture;
use thrumhall::optimize::cutting::{Blocked, Run, Sheet, Strip, Way};
use thrumhall::optimize::sheets::{Choice, Lot, SheetsError, Wish, choose};
use thrumhall::units::{Length, Units};

use crate::support::named::assert_names;

fn wish(length: f64, ways: &[Way]) -> Wish {
    Wish {
        length: inches(length),
        width: inches(1.5),
        join: inches(2.0),
        least: inches(12.0),
        ways: ways.to_vec(),
    }
}

fn flat(along: f64, across: f64, count: u32) -> Lot {
    Lot { sheet: Sheet::flat(inches(along), inches(across), inches(1.0)), count }
}

fn stained() -> Sheet {
    let middle = Blocked { along: (inches(40.0), inches(50.0)), across: (inches(30.0), inches(33.0)) };
    Sheet { stains: vec![middle], ..Sheet::flat(inches(96.0), inches(66.0), inches(1.0)) }
}

fn runs(strips: &[Strip]) -> Vec<Run> {
    strips.iter().flat_map(|strip| strip.runs.clone()).collect()
}

fn overlap(a: (Length, Length), b: (Length, Length)) -> bool {
    a.0 < b.1 && b.0 < a.1
}

/// No run lies on another, on a blocked place or on a hem, and the runs of a strip lie side by side.
fn lies_clear(sheet: &Sheet, strips: &[Strip], width: Length) {
    let all = runs(strips);
    for (at, run) in all.iter().enumerate() {
        assert_eq!(run.across.1 - run.across.0, width);
        for (from, to, side) in
            [(run.along.0, run.along.1, sheet.along), (run.across.0, run.across.1, sheet.across)]
        {
            assert!(sheet.hem <= from && from < to && to <= side - sheet.hem);
        }
        assert!(!all[..at].iter().any(|o| overlap(o.along, run.along) && overlap(o.across, run.across)));
        let spoilt = sheet.blocked();
        assert!(!spoilt.iter().any(|b| overlap(b.along, run.along) && overlap(b.across, run.across)));
    }
    for strip in strips {
        for pair in strip.runs.windows(2) {
            assert_eq!((pair[0].along, pair[0].across.1), (pair[1].along, pair[1].across.0));
        }
    }
}

#[test]
fn a_stained_sheet_becomes_four_continuous_strips() {
    let sheet = stained();
    let cut = sheet.continuous(inches(1.5), inches(12.0));
    lies_clear(&sheet, &cut.strips, inches(1.5));
    // Three lanes touch the stain: 39 in before it and 45 in after it; 19 lanes lie before them, 20 after.
    let mut told: Vec<_> =
        cut.strips.iter().map(|s| (s.runs.len(), s.runs[0].length().in_inches())).collect();
    told.sort_by_key(|told| told.0);
    assert_eq!(told, [(3, 39.0), (3, 45.0), (19, 94.0), (20, 94.0)]);
    assert_eq!(cut.total, sheet.straight(inches(1.5), inches(12.0)).total);
}

#[test]
fn the_fewest_joins_come_from_the_longest_strips() {
    // 700 in of 1½ in strip: a king sheet gives 106 in lengths, a twin 94 in; seven joined strips lose 12 in.
    let lots = [flat(96.0, 66.0, 3), flat(108.0, 102.0, 1)];
    let choice = choose(&lots, &wish(700.0, &[Way::Straight])).unwrap();
    assert!(choice.proven);
    assert_eq!((choice.joins, choice.opened.len(), choice.opened[0].lot), (6, 1, 1));
    assert_eq!((choice.total, choice.spare, choice.waste), (inches(742.0), inches(30.0), Length::ZERO));
    // Cut to and fro it is one strip of seven runs, without a join.
    let choice = choose(&lots, &wish(700.0, &[Way::Straight, Way::Continuous])).unwrap();
    assert_eq!((choice.joins, choice.opened.len()), (0, 1));
    assert!(choice.opened[0].strips[0].runs.len() == 7 && choice.spare < inches(106.0));
}

#[test]
fn too_little_cloth_says_how_much_there_is() {
    let told = choose(&[flat(96.0, 66.0, 1)], &wish(9_000.0, &[Way::Straight])).unwrap_err();
    // 42 strips of 94 in less 41 joins of 2 in are 3866 in.
    assert_eq!(told, SheetsError::TooLittle { gives: inches(3_866.0), wanted: inches(9_000.0) });
    assert_names(&told.to_string(), &["98196 mm", "228600 mm"]);
    let none = choose(&[], &wish(10.0, &[Way::Straight])).unwrap_err();
    assert_eq!(none, SheetsError::Count { what: "Sheets", given: 0, min: 1, max: 120 });
    let upside_down = Blocked { along: (inches(9.0), inches(5.0)), across: (inches(1.0), inches(2.0)) };
    let lot = Lot { sheet: Sheet { stains: vec![upside_down], ..stained() }, count: 1 };
    assert!(matches!(
        choose(&[lot], &wish(10.0, &[Way::Straight])),
        Err(SheetsError::Size { what: "Blocked, to", .. })
    ));
}

#[test]
fn the_drawing_has_every_line_and_number_and_no_style() {
    let sheet = stained();
    let strips = sheet.continuous(inches(1.5), inches(12.0)).strips;
    let picture = CutPicture {
        sheet: &sheet,
        strips: &strips,
        width: inches(1.5),
        first: 5,
        name: "Bundle 7 & <8>",
        units: Units::Inches,
        id: "sheet 1",
    };
    let svg = picture.svg();
    let page = scraper::Html::parse_fragment(&svg);
    let all = |what: &str| {
        let found: Vec<_> = page
            .select(&scraper::Selector::parse(what).unwrap())
            .map(|e| e.text().collect::<String>())
            .collect();
        found
    };
    assert_eq!(all("text"), ["5", "6", "7", "8"]);
    assert_eq!(all("title"), ["Bundle 7 & <8>"]);
    assert!(
        all("desc")[0]
            .starts_with("96 in × 66 in, strips run from left to right: 4 strips of 1 1/2 in width")
    );
    // Each strip is outlined, and each turn leaves a cut.
    let turns: usize = strips.iter().map(|strip| strip.runs.len() - 1).sum();
    let lines =
        page.select(&scraper::Selector::parse("svg > path").unwrap()).next().unwrap().attr("d").unwrap();
    assert_eq!((lines.matches('z').count(), lines.matches('M').count()), (4, 4 + turns));
    assert!(!svg.contains("style") && !svg.contains("script") && svg.contains(r#"id="sheet1-t""#));
}

/// For flat sheets cut straight: every number of strips from every sheet, either way round.
fn tried(sheets: &[(f64, f64)], wish: &Wish) -> Option<(u32, i64, u32)> {
    let (width, join) = (wish.width.in_inches(), wish.join.in_inches());
    // A straight strip takes its whole lane, so that the edge is all that is wasted; no sheet is opened to spare it.
    let mut so_far = vec![(0_u32, 0.0, 0_i64, 0_u32)];
    for &(along, across) in sheets {
        let mut next = so_far.clone();
        for (long, deep) in [(along - 2.0, across - 2.0), (across - 2.0, along - 2.0)] {
            let lanes = ((deep / width) + 1e-9).floor();
            let edge = inches(long).scale((deep - lanes * width).max(0.0) / width).nm();
            for taken in 1..=lanes as u32 {
                let waste = if taken == lanes as u32 { edge } else { 0 };
                next.extend(so_far.iter().map(|&(strips, length, spoilt, opened)| {
                    (strips + taken, length + f64::from(taken) * long, spoilt + waste, opened + 1)
                }));
            }
        }
        so_far = next;
    }
    let enough = |&(strips, length, _, _): &(u32, f64, i64, u32)| {
        strips > 0 && length - f64::from(strips - 1) * join >= wish.length.in_inches() - 1e-9
    };
    so_far
        .iter()
        .filter(|choice| enough(choice))
        .map(|&(strips, _, waste, opened)| (strips, opened, waste))
        .min()
        .map(|(strips, opened, waste)| (strips, waste, opened))
}

fn key(choice: &Choice) -> (u32, i64, u32) {
    (choice.joins + 1, choice.waste.nm(), choice.opened.len() as u32)
}

#[test]
fn no_second_sheet_is_opened_to_spare_a_sliver() {
    // 94 in by 64 in clear, in lanes of 1½ in: 42 lanes and an edge of 1 in. All 42 are wanted.
    let lot = flat(96.0, 66.0, 12);
    let wish = Wish { join: inches(2.0), ..wish(94.0 * 42.0 - 2.0 * 41.0, &[Way::Straight]) };
    let choice = choose(&[lot], &wish).unwrap();
    assert_eq!((choice.opened.len(), choice.joins), (1, 41));
    assert!(choice.proven && choice.waste > Length::ZERO, "the sliver is told");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn flat_sheets_agree_with_trying_everything(
        sizes in prop::collection::vec((14..40_i32, 14..40_i32), 1..4), wanted in 20.0..900.0_f64,
    ) {
        let sheets: Vec<_> = sizes.iter().map(|&(a, b)| (f64::from(a), f64::from(b))).collect();
        let lots: Vec<_> = sheets.iter().map(|&(a, b)| flat(a, b, 1)).collect();
        let wish = Wish { least: inches(2.0), ..wish(wanted, &[Way::Straight]) };
        match (choose(&lots, &wish), tried(&sheets, &wish)) {
            (Ok(choice), Some((strips, waste, opened))) => {
                let told = key(&choice);
                prop_assert_eq!((told.0, told.2), (strips, opened));
                prop_assert!((told.1 - waste).abs() < 1_000, "{} is wasted instead of {}", told.1, waste);
                prop_assert!(choice.proven);
            }
            (Err(SheetsError::TooLittle { .. }), None) => {}
            (told, wanted) => prop_assert!(false, "{:?} against {:?}", told, wanted),
        }
    }

    #[test]
    fn any_choice_suffices_and_lies_clear(
        along in 30.0..110.0_f64, across in 30.0..110.0_f64, hem in 0.0..2.0_f64, corners in 0.0..12.0_f64,
        stain in (0.0..20.0_f64, 1.0..9.0_f64, 0.0..20.0_f64, 1.0..9.0_f64), count in 1..4_u32, wanted in 50.0..4000.0_f64,
    ) {
        let (x, dx, y, dy) = stain;
        let blocked = Blocked { along: (inches(x), inches(x + dx)), across: (inches(y), inches(y + dy)) };
        let sheet = Sheet {
            along: inches(along), across: inches(across), hem: inches(hem), corners: inches(corners), stains: vec![blocked],
        };
        let lots = [Lot { sheet, count }, flat(60.0, 40.0, 1)];
        let wish = wish(wanted, &[Way::Straight, Way::Continuous]);
        if let Ok(choice) = choose(&lots, &wish) {
            let strips: usize = choice.opened.iter().map(|opened| opened.strips.len()).sum();
            prop_assert_eq!(strips, choice.joins as usize + 1);
            prop_assert_eq!(choice.total - wish.join * i64::from(choice.joins), wish.length + choice.spare);
            prop_assert!(choice.spare >= Length::ZERO && choice.waste >= Length::ZERO);
            for opened in &choice.opened {
                lies_clear(&opened.sheet, &opened.strips, wish.width);
            }
            let straight = choose(&lots, &Wish { ways: vec![Way::Straight], ..wish });
            // Straight strips alone may lose too much in joins.
            prop_assert!(straight.ok().is_none_or(|straight| straight.joins >= choice.joins));
        }
    }
}

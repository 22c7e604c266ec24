//! Frames to build, and the rods to buy for several.
use crate::planning::{inches, near};
use proptest::prelude::*;
use thrumhall::optimize::bins::{CutError, Piece};
use thrumhall::optimize::new_frame::{Corner, NewFrame, NewFrameError, Wish};
use thrumhall::optimize::rods::to_buy;
use thrumhall::planning::rods::stock_for;
use thrumhall::units::{Length, Units};

fn frame(wish: &Wish) -> NewFrame {
    NewFrame::of(wish, Units::Inches).unwrap_or_else(|e| panic!("{e}"))
}

/// Common practice, no source: 18 × 33 in has 33 nails per end and takes 36 in rods.
#[test]
fn the_usual_small_frame() {
    let built = frame(&Wish::usual(inches(18.0), inches(33.0)));
    assert_eq!((built.nails(), built.pitch), (66, inches(9.0 / 16.0)));
    assert_eq!(built.rod, inches(36.0));
    assert_eq!(built.rods.buy, [(inches(72.0), 1)]);
    // 1½ in of timber and 1½ in of clearance on each side.
    assert_eq!((built.end_member, built.side_member), (inches(24.0), inches(34.5)));
    assert_eq!((built.rows[0][0], built.rows[0][32]), (inches(3.0), inches(21.0)));
    near(built.diagonal.in_inches(), 24.0_f64.hypot(34.5), 1e-6);
    // 117 in of members and three cuts don't come from one board of 96 in.
    assert_eq!((built.boards.used, built.boards.bound), (2, 2));
}

#[test]
fn a_staggered_row_stands_between_the_other_ones_nails() {
    let wish = Wish { staggered: true, corner: Corner::Butt, ..Wish::usual(inches(24.0), inches(44.0)) };
    let built = frame(&wish);
    let [first, second] = &built.rows;
    assert_eq!(second.len(), first.len() - 1);
    for (pair, between) in first.windows(2).zip(second) {
        let middle = Length::from_nm(i64::midpoint(pair[0].nm(), pair[1].nm()));
        assert!((middle - *between).abs() <= Length::from_nm(1));
    }
    assert_eq!(built.side_member, inches(42.5));
}

#[test]
fn what_can_not_be_built_is_told() {
    let told = |wish: &Wish| NewFrame::of(wish, Units::Inches).unwrap_err();
    let usual = Wish::usual(inches(18.0), inches(33.0));
    let [given, min, max] = ["0 in", "1/8 in", "4 in"].map(String::from);
    assert_eq!(told(&Wish { pitch: Length::ZERO, ..usual }), NewFrameError::Pitch { given, min, max });
    assert!(matches!(told(&Wish { span: inches(200.0), ..usual }), NewFrameError::Frame(_)));
    let why = CutError::TooLong { piece_mm: 876.3, bar_mm: 762.0 };
    assert_eq!(told(&Wish { board: inches(30.0), ..usual }), NewFrameError::Cutting { what: "Members", why });
    assert!(matches!(
        told(&Wish { span: inches(80.0), ..usual }),
        NewFrameError::Cutting { what: "Rods", why: CutError::TooLong { .. } }
    ));
}

/// Arithmetic: rods of 48 and 24 in share bars of 72 in, and what fills one 72 in bar isn't bought as two of 36 in.
#[test]
fn rods_of_several_frames_share_bars() {
    let rods = |wanted: &[(f64, u32)]| {
        let pieces: Vec<_> =
            wanted.iter().map(|&(length, count)| Piece { length: inches(length), count }).collect();
        let bought = to_buy(&pieces, Length::ZERO).unwrap();
        let told: Vec<_> = bought.buy.iter().map(|&(bar, n)| (bar.in_inches(), n)).collect();
        (told, bought.cutting.used.in_inches(), bought.cutting.is_proven())
    };
    assert_eq!(rods(&[(48.0, 2), (24.0, 2)]), (vec![(72.0, 2)], 144.0, true));
    assert_eq!(rods(&[(36.0, 2)]), (vec![(72.0, 1)], 72.0, true));
    assert_eq!(rods(&[(47.0, 2), (30.0, 1)]), (vec![(48.0, 2), (36.0, 1)], 132.0, true));
    assert_eq!(rods(&[]), (vec![], 0.0, true));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn any_frame_has_even_places_inside_its_members(
        width in 6.0..60.0_f64, span in 8.0..69.0_f64, pitch in 0.3..1.5_f64, staggered: bool,
    ) {
        let wish = Wish { pitch: inches(pitch), staggered, ..Wish::usual(inches(width), inches(span)) };
        let built = frame(&wish);
        prop_assert!(built.rod <= built.rods.buy[0].0);
        for row in &built.rows {
            for pair in row.windows(2) {
                prop_assert!((pair[1] - pair[0] - built.pitch).abs() <= Length::from_nm(2));
            }
            let [first, last] = [row[0], row[row.len() - 1]];
            prop_assert!((first + last - built.end_member).abs() <= Length::from_nm(2));
        }
        prop_assert!((built.pitch.in_inches() - pitch).abs() <= pitch * pitch / width);
    }

    #[test]
    fn mixed_bars_are_never_longer_than_equal_ones(least in 5.0..72.0_f64, count in 1..12_u32) {
        let bought = to_buy(&[Piece { length: inches(least), count }], Length::ZERO).unwrap();
        let equal = stock_for(inches(least), count).unwrap();
        prop_assert!(bought.cutting.used <= equal.bar * i64::from(equal.bars));
        prop_assert!(bought.cutting.bound <= bought.cutting.used);
        let sum: Length = bought.buy.iter().map(|&(bar, n)| bar * i64::from(n)).sum();
        prop_assert_eq!(sum, bought.cutting.used);
    }
}

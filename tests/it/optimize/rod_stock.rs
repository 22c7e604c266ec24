//! Rods needed against rods owned.
use crate::planning::inches;
use proptest::prelude::*;
use thrumhall::drawing::bars as bar_picture;
use thrumhall::optimize::bins::Piece;
use thrumhall::optimize::rod_stock::{Served, serve};
use thrumhall::units::{Length, Units};

fn need(length: f64, count: u32) -> Piece {
    Piece { length: inches(length), count }
}

fn served(needs: &[Piece], owned: &[(f64, u32)]) -> Served {
    let owned: Vec<(Length, u32)> = owned.iter().map(|&(length, count)| (inches(length), count)).collect();
    serve(needs, &owned)
}

/// Common practice, no source: a 33 in span takes 36 in rods, a 44 in span 48 in ones.
#[test]
fn the_longest_needs_are_served_first_by_the_shortest_rod_that_will_do() {
    let told = served(&[need(36.0, 4), need(47.0, 2)], &[(36.0, 3), (48.0, 2), (72.0, 1)]);
    assert_eq!(
        told.served,
        [(inches(47.0), inches(48.0), 2), (inches(36.0), inches(36.0), 3), (inches(36.0), inches(72.0), 1)]
    );
    assert!(told.missing.is_empty() && told.left.is_empty());
    let told = served(&[need(36.0, 4), need(47.0, 2)], &[(48.0, 1)]);
    assert_eq!(told.missing, [need(47.0, 1), need(36.0, 4)]);
    let told = served(&[need(36.0, 1)], &[(35.9, 7), (36.0, 2)]);
    assert_eq!(told.left, [(inches(36.0), 1), (inches(35.9), 7)]);
}

/// The most rods that can serve at all, by trying every way.
fn most(needs: &[u32], rods: &[u32]) -> usize {
    let Some((&need, rest)) = needs.split_first() else { return 0 };
    let without = most(rest, rods);
    let with = (0..rods.len()).filter(|&at| rods[at] >= need).map(|at| {
        let mut others = rods.to_vec();
        others.remove(at);
        1 + most(rest, &others)
    });
    with.max().unwrap_or(0).max(without)
}

proptest! {
    /// Nothing serves more than the greedy way, against every other way; and no rod is counted twice.
    #[test]
    fn nothing_serves_more(needs in prop::collection::vec(30_u32..40, 0..5), rods in prop::collection::vec(30_u32..40, 0..5)) {
        let pieces: Vec<Piece> = needs.iter().map(|&length| need(f64::from(length), 1)).collect();
        let owned: Vec<(f64, u32)> = rods.iter().map(|&length| (f64::from(length), 1)).collect();
        let told = served(&pieces, &owned);
        let count: u32 = told.served.iter().map(|served| served.2).sum();
        prop_assert_eq!(count as usize, most(&needs, &rods));
        prop_assert!(told.served.iter().all(|(least, rod, _)| rod >= least));
        let missing: u32 = told.missing.iter().map(|piece| piece.count).sum();
        let left: u32 = told.left.iter().map(|left| left.1).sum();
        prop_assert_eq!((count + missing) as usize, needs.len());
        prop_assert_eq!((count + left) as usize, rods.len());
    }
}

#[test]
fn bars_are_drawn_with_their_cuts_and_said_in_words() {
    let bars =
        [thrumhall::optimize::bins::Bars { stock: 0, count: 3, cuts: vec![inches(36.0), inches(30.0)] }];
    let svg = bar_picture::svg(&bars, &[inches(72.0)], Length::ZERO, Units::Inches, "bars\"><x");
    assert!(svg.contains("3 of 72 in: 36 in, 30 in."), "{svg}");
    // The first cut is half the bar, which is 1000 wide.
    assert!(svg.contains(r#"width="500.0""#), "{svg}");
    assert!(!svg.contains("\"><x"));
}

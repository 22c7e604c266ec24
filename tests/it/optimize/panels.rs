//! Rugs pieced together from panels, their seams and their drawing.
use crate::planning::{inches, near};
use proptest::prelude::*;
use thrumhall::drawing::panels as panel_picture;
use thrumhall::optimize::panels::{
    Arrangement, PanelsError, Size, Stitch, USUAL_EASE, Wanted, piece_together,
};
use thrumhall::units::{Length, Units};

fn size(width: f64, length: f64) -> Size {
    Size { width: inches(width), length: inches(length) }
}

/// The rugs of the usual frames, an inch shorter than their spans. Common practice, no source.
fn usual() -> [Size; 2] {
    [size(18.0, 32.0), size(24.0, 43.0)]
}

fn wanted(width: f64, length: f64) -> Wanted {
    Wanted { size: size(width, length), tolerance: inches(1.0), ease: USUAL_EASE, most: 12, narrower: false }
}

fn arrangement(sizes: &[Size], wanted: &Wanted) -> Arrangement {
    let arrangement = piece_together(sizes, wanted, Units::Inches).unwrap_or_else(|e| panic!("{e}"));
    covers(sizes, wanted, &arrangement);
    arrangement
}

/// The panels tile the rug, which is the wanted size within the tolerance; each is its frame's size within the ease.
fn covers(sizes: &[Size], wanted: &Wanted, arrangement: &Arrangement) {
    let area = |w: Length, l: Length| i128::from(w.nm()) * i128::from(l.nm());
    let sum: i128 = arrangement.panels.iter().map(|p| area(p.width, p.length)).sum();
    assert_eq!(sum, area(arrangement.size.width, arrangement.size.length));
    for (at, p) in arrangement.panels.iter().enumerate() {
        assert!(p.left >= Length::ZERO && p.left + p.width <= arrangement.size.width);
        assert!(p.top >= Length::ZERO && p.top + p.length <= arrangement.size.length);
        let apart = |o: &thrumhall::optimize::panels::Panel| {
            o.left + o.width <= p.left
                || p.left + p.width <= o.left
                || o.top + o.length <= p.top
                || p.top + p.length <= o.top
        };
        assert!(arrangement.panels[..at].iter().all(apart));
        let (width, length) = if p.turned { (p.length, p.width) } else { (p.width, p.length) };
        let frame = sizes[p.size];
        assert!((length - frame.length).abs() <= wanted.ease);
        let over = width - frame.width;
        assert!(over <= wanted.ease && (wanted.narrower || over.abs() <= wanted.ease));
    }
    let off = [arrangement.size.width - wanted.size.width, arrangement.size.length - wanted.size.length]
        .map(Length::abs);
    assert!(off.iter().all(|&off| off <= wanted.tolerance));
    assert_eq!(off[0] + off[1], arrangement.off);
    // Every seam is an edge of two panels; the outer edge belongs to one.
    let around = |w: Length, l: Length| (w + l) * 2;
    let edges: Length = arrangement.panels.iter().map(|p| around(p.width, p.length)).sum();
    assert_eq!(arrangement.seam * 2, edges - around(arrangement.size.width, arrangement.size.length));
}

#[test]
fn two_panels_side_by_side_and_two_end_to_end() {
    let beside = arrangement(&usual(), &wanted(36.0, 32.0));
    assert_eq!((beside.panels.len(), beside.seam, beside.off), (2, inches(32.0), Length::ZERO));
    let along = arrangement(&usual(), &wanted(24.0, 86.0));
    assert_eq!((along.panels.len(), along.seam), (2, inches(24.0)));
    assert_eq!(arrangement(&usual(), &wanted(18.5, 32.5)).panels.len(), 1);
}

#[test]
fn panels_may_lie_turned() {
    // Two 18 × 32 panels turned and laid end to end are 32 × 36.
    let turned = arrangement(&usual(), &wanted(32.0, 36.0));
    assert_eq!((turned.panels.len(), turned.seam), (2, inches(32.0)));
    assert!(turned.panels.iter().all(|panel| panel.turned && panel.size == 0));
    // A row of 18 × 32 turned above two 16 × 24: both ways in one rug.
    let mixed = arrangement(&[size(18.0, 32.0), size(16.0, 24.0)], &wanted(32.0, 42.0));
    assert_eq!(mixed.panels.len(), 3);
    assert_eq!(mixed.panels.iter().filter(|panel| panel.turned).count(), 1);
}

#[test]
fn fewest_panels_come_before_the_nearest_size() {
    // Four of the small ones would be just right, two of the large ones are an inch off.
    let sizes = [size(18.0, 32.0), size(18.0, 63.0)];
    let told = arrangement(&sizes, &wanted(36.0, 64.0));
    assert_eq!((told.panels.len(), told.off), (2, inches(1.0)));
    let exact = Wanted { tolerance: Length::ZERO, ..wanted(36.0, 64.0) };
    assert_eq!(arrangement(&sizes, &exact).panels.len(), 4);
}

#[test]
fn near_sides_are_eased_together() {
    let sizes = [size(18.0, 32.0), size(18.125, 32.125)];
    let eased = arrangement(&sizes, &wanted(36.25, 32.0));
    assert_eq!((eased.panels.len(), eased.size.length), (2, inches(32.125)));
    let narrow = Wanted { narrower: true, ..wanted(30.0, 32.0) };
    let shares = arrangement(&usual(), &narrow);
    assert_eq!((shares.panels.len(), shares.off), (2, Length::ZERO));
    assert!(shares.panels.iter().all(|panel| panel.width == inches(15.0)));
}

#[test]
fn what_does_not_fit_says_what_comes_nearest() {
    let told =
        piece_together(&usual(), &Wanted { most: 4, ..wanted(40.0, 32.0) }, Units::Inches).unwrap_err();
    assert_eq!(
        told.to_string(),
        "No 4 or fewer panels of these sizes come within 1 in of 40 in × 32 in. The nearest is 36 in × 32 in."
    );
    let none = piece_together(&[], &wanted(40.0, 32.0), Units::Inches);
    assert!(matches!(none, Err(PanelsError::Range { what: "Sizes", .. })));
    let flat = piece_together(&[size(18.0, 0.0)], &wanted(40.0, 32.0), Units::Inches).unwrap_err();
    let [given, min, max] = ["0 in", "4 in", "144 in"].map(String::from);
    assert_eq!(flat, PanelsError::Range { what: "Panel length", given, min, max });
}

/// A helix round the seam: √(pitch² + (4·bite + 2·thickness)²)/pitch times the seam, and tails.
#[test]
fn sewing_follows_the_helix() {
    let beside = arrangement(&usual(), &wanted(36.0, 32.0));
    near(beside.sewing(Stitch::STRIP).in_inches(), 32.0 * 0.75_f64.hypot(1.75) / 0.75 + 8.0, 1e-6);
    near(beside.sewing(Stitch::THREAD).in_inches(), 32.0 * 0.25_f64.hypot(1.75) / 0.25 + 6.0, 1e-6);
    assert_eq!(arrangement(&usual(), &wanted(18.0, 32.0)).sewing(Stitch::STRIP), Length::ZERO);
}

#[test]
fn the_drawing_numbers_each_panel() {
    let rug = arrangement(&usual(), &wanted(32.0, 36.0));
    let svg =
        panel_picture::svg(&rug, &["Small <A>".to_owned(), "Large".to_owned()], Units::Inches, "rug\"1");
    let page = scraper::Html::parse_fragment(&svg);
    let texts = |what: &str| {
        let what = scraper::Selector::parse(what).unwrap();
        page.select(&what).map(|e| e.text().collect::<String>()).collect::<Vec<_>>()
    };
    assert_eq!(texts("text"), ["1", "2"]);
    assert_eq!(
        texts("desc"),
        [
            "32 in × 36 in, 32 in of seam. 1: Small <A>, 32 in × 18 in, turned. 2: Small <A>, 32 in × 18 in, turned."
        ]
    );
    assert!(svg.contains(r#"id="rug1-t""#) && !svg.contains("style"));
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(24))]

    #[test]
    fn any_layout_covers_and_no_plain_grid_needs_fewer(
        sizes in prop::collection::vec((8..30_i32, 12..50_i32), 1..5), width in 20..80_i32, length in 20..80_i32,
        tolerance in 0..4_i32, narrower: bool,
    ) {
        let sizes: Vec<_> = sizes.iter().map(|&(w, l)| size(f64::from(w), f64::from(l))).collect();
        let wanted = Wanted {
            tolerance: inches(f64::from(tolerance)), most: 6, narrower, ..wanted(f64::from(width), f64::from(length))
        };
        let near = |made: Length, side: Length| (made - side).abs() <= wanted.tolerance;
        let mut grid: Option<usize> = None;
        for size in &sizes {
            for (w, l) in [(size.width, size.length), (size.length, size.width)] {
                for (beside, along) in (1..=6_i64).flat_map(|b| (1..=6 / b).map(move |a| (b, a))) {
                    if near(w * beside, wanted.size.width) && near(l * along, wanted.size.length) {
                        grid = grid.into_iter().chain([(beside * along) as usize]).min();
                    }
                }
            }
        }
        if let Ok(arrangement) = piece_together(&sizes, &wanted, Units::Inches) {
            covers(&sizes, &wanted, &arrangement);
            prop_assert!(arrangement.proven && arrangement.panels.len() <= 6);
            prop_assert!(grid.is_none_or(|grid| arrangement.panels.len() <= grid));
        } else {
            prop_assert_eq!(grid, None);
        }
    }
}

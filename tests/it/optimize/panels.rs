//! Rugs pieced together from panels, their seams and their drawing.
use crate::planning::{inches, near};
use proptest::prelude::*;
use thrumhall::drawing::panels as panel_picture;
use thrumhall::optimize::panels::order::{Runs, seams};
use thrumhall::optimize::panels::{
    Among, Arrangement, PanelsError, Size, Stitch, USUAL_EASE, Wanted, piece_together, piece_together_within,
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

/// By hand: four panels of 20 × 30 in round one of 10 × 10 in are 50 × 50 in, and nothing that is cut edge to edge is, with so few.
#[test]
fn four_panels_round_a_fifth() {
    let sizes = [size(20.0, 30.0), size(10.0, 10.0)];
    let exact = Wanted { tolerance: Length::ZERO, ..wanted(50.0, 50.0) };
    let told = arrangement(&sizes, &exact);
    assert_eq!((told.panels.len(), told.off, told.seam), (5, Length::ZERO, inches(120.0)));
    assert!(told.proven && told.among == Among::All);
    assert_eq!(told.panels.iter().filter(|panel| panel.size == 1).count(), 1);
    let middle = told.panels.iter().find(|panel| panel.size == 1).unwrap();
    assert_eq!((middle.left, middle.top), (inches(20.0), inches(20.0)));
    // A part of 10 in, then 30 in along, 30 in across, and 30 + 20 in round the corner.
    let order = seams(&told).unwrap();
    let told_of: Vec<_> = order.iter().map(|seam| (seam.length.in_inches(), seam.runs)).collect();
    let wanted = [(10.0, Runs::Across), (30.0, Runs::Along), (30.0, Runs::Across), (50.0, Runs::Corner)];
    assert_eq!(told_of, wanted);
    assert_eq!(order.last().unwrap().one.len(), 4);
    let sum: Length = order.iter().map(|seam| seam.length).sum();
    assert_eq!(sum, told.seam);
}

/// By hand: the same square beside a panel of 50 × 12 in, and as the middle of a larger pinwheel of four panels of 60 × 110 in.
#[test]
fn pinwheels_are_parts_of_rugs_and_of_one_another() {
    let exact = |width, length| Wanted { tolerance: Length::ZERO, ..wanted(width, length) };
    let sizes = [size(20.0, 30.0), size(10.0, 10.0), size(12.0, 50.0)];
    let beside = arrangement(&sizes, &exact(62.0, 50.0));
    assert_eq!((beside.panels.len(), beside.among), (6, Among::All));
    let sizes = [size(20.0, 30.0), size(10.0, 10.0), size(60.0, 110.0)];
    let nested = arrangement(&sizes, &exact(170.0, 170.0));
    assert_eq!((nested.panels.len(), nested.among, nested.proven), (9, Among::Turned, true));
    let order = seams(&nested).unwrap();
    assert_eq!(order.len(), 8);
    assert_eq!(order.iter().map(|seam| seam.length).sum::<Length>(), nested.seam);
    assert_eq!(order.iter().filter(|seam| seam.runs == Runs::Corner).count(), 2);
}

/// A search that is cut short says what it has and claims less: without pinwheels, and then nothing.
#[test]
fn what_could_not_be_looked_at_is_not_proven() {
    let sizes = [size(20.0, 30.0), size(10.0, 10.0)];
    let exact = Wanted { tolerance: Length::ZERO, ..wanted(50.0, 50.0) };
    let told = |tries| piece_together_within(&sizes, &exact, Units::Inches, tries);
    assert!(matches!(told(40), Err(PanelsError::NoFit { proven: false, .. })));
    let mut claims = Vec::new();
    for tries in (100..6000).step_by(100) {
        let claim = match told(tries) {
            Ok(found) => {
                covers(&sizes, &exact, &found);
                (found.panels.len(), found.proven, found.among)
            }
            Err(PanelsError::NoFit { proven, among, .. }) => (usize::MAX, proven, among),
            Err(other) => panic!("{other}"),
        };
        if claims.last() != Some(&claim) {
            claims.push(claim);
        }
    }
    assert!(claims.contains(&(5, true, Among::All)), "{claims:?}");
    assert!(claims.iter().all(|claim| !claim.1 || claim.0 == 5 || claim.2 == Among::Cut), "{claims:?}");
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

    #[test]
    fn weaving_narrower_or_easing_more_is_never_worse(
        sizes in prop::collection::vec((32..120_i32, 48..200_i32), 1..4), width in 80..320_i32, length in 80..320_i32,
        tolerance in 0..8_i32,
    ) {
        // In quarter inches, so that sides are within the ease of each other and still differ.
        let quarter = |n: i32| f64::from(n) / 4.0;
        let sizes: Vec<_> = sizes.iter().map(|&(w, l)| size(quarter(w), quarter(l))).collect();
        let plain = Wanted { tolerance: inches(quarter(tolerance)), most: 5, ..wanted(quarter(width), quarter(length)) };
        let found = |wanted: &Wanted| {
            let found = piece_together(&sizes, wanted, Units::Inches).ok()?;
            assert!(found.proven);
            Some((found.panels.len(), found.off))
        };
        let fewest = |one: Option<(usize, Length)>| one.unwrap_or((usize::MAX, Length::ZERO));
        let best = fewest(found(&plain));
        let narrower = fewest(found(&Wanted { narrower: true, ..plain }));
        let uneased = fewest(found(&Wanted { ease: Length::ZERO, ..plain }));
        prop_assert!(narrower <= best && best <= uneased);
    }
}

/// By hand: two by three panels of 8 × 49 in, turned, are 49 × 48 in off by nothing, also where 48 in in six shares could be woven on a
/// frame of 9 × 12 in, whose sides would be eased together with these.
#[test]
fn easing_takes_no_exact_side_away() {
    let exact = Wanted { tolerance: Length::ZERO, most: 6, ..wanted(49.0, 48.0) };
    for narrower in [false, true] {
        let told = arrangement(&[size(9.0, 12.0), size(8.0, 49.0)], &Wanted { narrower, ..exact });
        assert_eq!((told.panels.len(), told.off), (6, Length::ZERO), "narrower: {narrower}");
    }
}

//! Which nails a warp takes, and the way of the strip round them.
use super::{frame, inches, near};
use proptest::prelude::*;
use thrumhall::drawing::warp_path::PathPicture;
use thrumhall::planning::Frame;
use thrumhall::planning::pattern::Face;
use thrumhall::planning::warp::nail_rows::{NailRows, Places, RowsError};
use thrumhall::planning::warp::path::WarpPath;
use thrumhall::planning::warp::winding::{Middle, Nail, Turn, Winding, WindingError};
use thrumhall::planning::warp::{self, Wrap};
use thrumhall::units::{Length, Units};

fn usual() -> Wrap {
    Wrap { nail_diameter: inches(0.1), strip_thickness: inches(0.06), tail: inches(6.0) }
}

fn small() -> Frame {
    frame(18.0, 33.0, 33)
}

fn places(rows: &NailRows) -> Places {
    rows.places(&small(), Units::Inches).unwrap()
}

fn wound(rows: &NailRows, winding: &Winding) -> WarpPath {
    winding.path(&places(rows), &Middle::Whole).unwrap()
}

/// The length on the small frame as for any winding, also where a plain one has its closed form.
fn nail_by_nail(path: &WarpPath) -> Length {
    WarpPath { evenly: None, ..path.clone() }.length(inches(33.0), &usual())
}

fn nails(path: &WarpPath) -> Vec<String> {
    path.turns.iter().map(|turn| turn.nail.to_string()).collect()
}

#[test]
fn a_plain_warp_goes_from_row_to_row_over_every_nail() {
    let path = wound(&NailRows::Facing, &Winding::default());
    assert_eq!(nails(&path)[..4], ["near 1", "far 1", "near 2", "far 2"]);
    assert_eq!((path.strands(), path.nails(), path.nails_per_end()), (65, 66, 33));
    assert_eq!(path.evenly, Some((33, inches(0.5625))));
    assert_eq!(path.idle, []);
    assert_eq!(path.rule_of_thumb(inches(33.0)), inches(2.0 * 33.0 * 33.0));
    let closed = warp::path(inches(33.0), inches(0.5625), 33, &usual());
    assert_eq!(path.length(inches(33.0), &usual()), closed);
    // By tangents and arcs instead of half circles: the same to a hundredth of a part in a thousand.
    near(nail_by_nail(&path).ratio(closed), 1.0, 1e-4);
}

/// Source: geometry of a belt round two equal pulleys (from memory): an open belt has tangents of the distance between
/// the centres and turns half a circle at each, a crossed belt has tangents of √(D² − 4ρ²) and turns π + 2·asin(2ρ/D) at
/// each.
#[test]
fn taut_strips_lie_as_belts_do() {
    let turn = |far, number, at: f64| Turn { nail: Nail { far, number }, at: inches(at) };
    let path =
        |turns: Vec<Turn>| WarpPath { turns, idle: Vec::new(), evenly: None, doubled: false, extra_wraps: 0 };
    let bare = Wrap { tail: Length::ZERO, ..usual() };
    let (rho, span) = (0.08_f64, 10.0_f64);
    // Across, along the far row, and back: an open belt turns a quarter at each of the two far nails.
    let open = path(vec![turn(false, 1, 0.0), turn(true, 1, 0.0), turn(true, 2, 3.0), turn(false, 2, 3.0)]);
    let crossed = (span.powi(2) - 4.0 * rho.powi(2)).sqrt();
    let lean = (2.0 * rho / span).asin();
    let by_hand = 2.0 * crossed + 3.0 + rho * 2.0 * (std::f64::consts::FRAC_PI_2 + lean);
    near(open.length(inches(span), &bare).in_inches(), by_hand, 1e-6);
    let there_and_back = path(vec![turn(false, 1, 0.0), turn(true, 1, 0.0), turn(false, 1, 0.0)]);
    let by_hand = 2.0 * crossed + rho * (std::f64::consts::PI + 2.0 * lean);
    near(there_and_back.length(inches(span), &bare).in_inches(), by_hand, 1e-6);
    assert_eq!(there_and_back.strand_lengths(inches(span), &bare).len(), 2);
}

#[test]
fn doubled_strands_further_turns_and_skipped_nails() {
    let plain = wound(&NailRows::Facing, &Winding::default());
    let length = |path: &WarpPath| path.length(inches(33.0), &usual());
    let doubled = wound(&NailRows::Facing, &Winding { doubled: true, ..Winding::default() });
    assert_eq!((doubled.strands(), doubled.nails()), (130, 66));
    assert_eq!(length(&doubled), length(&plain) * 2);
    let wrapped = wound(&NailRows::Facing, &Winding { extra_wraps: 1, ..Winding::default() });
    near((length(&wrapped) - length(&plain)).in_inches(), 64.0 * 2.0 * std::f64::consts::PI * 0.08, 1e-5);
    let second = wound(&NailRows::Facing, &Winding { every: 2, ..Winding::default() });
    assert_eq!(nails(&second)[..4], ["near 1", "far 1", "near 3", "far 3"]);
    assert_eq!(second.evenly, Some((17, inches(1.125))));
    let bent = Nail { far: false, number: 12 };
    let passed = wound(&NailRows::Facing, &Winding { left_out: vec![bent], ..Winding::default() });
    assert!(!passed.turns.iter().any(|turn| turn.nail == bent));
    // The far row has one more nail than the near row then, and the strip begins and ends there.
    assert_eq!((nails(&passed)[0].as_str(), passed.strands(), passed.evenly), ("far 1", 64, None));
    near((length(&plain) - length(&passed)).in_inches(), 33.0, 1.0);
}

#[test]
fn a_row_with_nails_to_spare_leaves_out_the_ones_that_make_the_strip_shortest() {
    let rows = NailRows::SetOff { far_nails: 30, by: None };
    let path = wound(&rows, &Winding::default());
    assert_eq!((path.nails(), path.idle.len(), nails(&path)[0].as_str()), (61, 2, "near 2"));
    // Any other choice of two nails is longer.
    let all = places(&rows);
    let best = path.length(inches(33.0), &usual());
    for left_out in [[1, 2], [32, 33], [10, 20], [16, 17]] {
        let left_out = left_out.map(|number| Nail { far: false, number }).to_vec();
        let other = Winding { left_out, ..Winding::default() }.path(&all, &Middle::Whole).unwrap();
        assert!(other.length(inches(33.0), &usual()) >= best);
    }
    let half = wound(&NailRows::SetOff { far_nails: 32, by: None }, &Winding::default());
    assert_eq!((half.idle.len(), half.strands(), nails(&half)[0].as_str()), (0, 64, "near 1"));
    assert_eq!(half.turns[1].at, inches(0.5625 / 2.0));
    let lengths = half.strand_lengths(inches(33.0), &usual());
    assert!(lengths.iter().all(|l| (*l - lengths[0]).abs() < Length::from_nm(2)), "all strands slant alike");
}

#[test]
fn a_narrower_rug_takes_the_middle_nails() {
    let path = Winding::default().path(&places(&NailRows::Facing), &Middle::Nails(21)).unwrap();
    assert_eq!((path.nails_per_end(), nails(&path)[0].as_str()), (21, "near 7"));
    assert_eq!(path.turns.last().unwrap().nail, Nail { far: true, number: 27 });
}

#[test]
fn nails_measured_one_by_one_count_as_they_stand() {
    let even = places(&NailRows::Facing);
    let mut near_row = even.near.clone();
    near_row[5] += inches(0.2);
    let measured = wound(&NailRows::Measured { near: near_row, far: even.far.clone() }, &Winding::default());
    assert_eq!(measured.evenly, None);
    let plain = wound(&NailRows::Facing, &Winding::default());
    let [uneven, plain] = [measured, plain].map(|path| nail_by_nail(&path));
    assert!(uneven != plain && (uneven - plain).abs() < inches(0.1));
}

fn rows_refused(rows: &NailRows) -> RowsError {
    rows.places(&small(), Units::Inches).expect_err("the rows were taken")
}

#[test]
fn rows_that_do_not_belong_to_the_frame_are_refused() {
    let even = places(&NailRows::Facing).near;
    let far = NailRows::SetOff { far_nails: 33, by: Some(inches(40.0)) };
    assert_eq!(
        rows_refused(&far).to_string(),
        "The far row is set off by 40 in, but the frame is only 18 in wide."
    );
    assert!(matches!(rows_refused(&NailRows::SetOff { far_nails: 1, by: None }), RowsError::Nails { .. }));
    let few = NailRows::Measured { near: even[..5].to_vec(), far: even.clone() };
    assert_eq!(
        rows_refused(&few).to_string(),
        "Near row: 5 places are listed, but the frame has 33 nails per end."
    );
    let mut swapped = even.clone();
    swapped.swap(3, 4);
    let swapped = NailRows::Measured { near: even.clone(), far: swapped };
    assert!(rows_refused(&swapped).to_string().starts_with("Far row: nail 5 is at 1 11/16 in"));
    let mut outside = even.clone();
    outside[32] = inches(70.0);
    let outside = NailRows::Measured { near: outside, far: even };
    assert!(matches!(rows_refused(&outside), RowsError::Outside { row: "Near", .. }));
}

/// What is just allowed is taken, and a nanometre or a nail beyond it isn't.
#[test]
fn rows_at_their_limits_are_taken() {
    let even = places(&NailRows::Facing).near;
    let beyond = Length::from_nm(1);
    let set_off = |far_nails, by| NailRows::SetOff { far_nails, by };
    for far in [3, 600] {
        assert_eq!(places(&set_off(far, Some(Length::ZERO))).far.len(), far as usize);
    }
    for far in [2, 601] {
        assert!(
            matches!(rows_refused(&set_off(far, None)), RowsError::Nails { nails, min: 3, max: 600 } if nails == far as usize)
        );
    }
    for by in [inches(18.0), inches(-18.0)] {
        assert_eq!(places(&set_off(33, Some(by))).far[0], by);
        let over = if by > Length::ZERO { by + beyond } else { by - beyond };
        assert!(matches!(rows_refused(&set_off(33, Some(over))), RowsError::SetOff { .. }));
    }
    // Centred on each other: a far row of 31 begins one pitch further on, one of 35 one pitch before.
    assert_eq!(places(&set_off(31, None)).far[0], inches(9.0 / 16.0));
    assert_eq!(places(&set_off(35, None)).far[0], inches(-9.0 / 16.0));

    let measured = |far: Vec<Length>| NailRows::Measured { near: even.clone(), far };
    let close = vec![Length::ZERO, inches(1.0 / 16.0), inches(1.0)];
    assert_eq!(places(&measured(close.clone())).far, close);
    let closer = vec![Length::ZERO, inches(1.0 / 16.0) - beyond, inches(1.0)];
    assert!(matches!(rows_refused(&measured(closer)), RowsError::Order { row: "Far", number: 2, .. }));
    // A quarter of the frame's width beside it, on both sides.
    let wide = vec![inches(-4.5), inches(9.0), inches(22.5)];
    assert_eq!(places(&measured(wide.clone())).far, wide);
    for outside in [
        vec![inches(-4.5) - beyond, inches(9.0), inches(22.5)],
        vec![inches(-4.5), inches(9.0), inches(22.5) + beyond],
    ] {
        assert!(matches!(rows_refused(&measured(outside)), RowsError::Outside { row: "Far", .. }));
    }
}

#[test]
fn two_nails_of_each_row_are_wound_round_and_fewer_are_not() {
    let all = places(&NailRows::Facing);
    let without = |far: bool, from: u32| (from..=33).map(move |number| Nail { far, number });
    let left = |near: u32, far: u32| Winding {
        left_out: without(false, near + 1).chain(without(true, far + 1)).collect(),
        ..Winding::default()
    };
    let path = wound(&NailRows::Facing, &left(2, 2));
    assert_eq!(
        (nails(&path), path.strands()),
        (["near 1", "far 1", "near 2", "far 2"].map(str::to_owned).to_vec(), 3)
    );
    assert_eq!(left(1, 2).path(&all, &Middle::Whole), Err(WindingError::TooFew { near: 1, far: 2 }));
    assert_eq!(left(2, 1).path(&all, &Middle::Whole), Err(WindingError::TooFew { near: 2, far: 1 }));
    let [most_every, most_wraps] = [
        Winding { every: Winding::MOST_EVERY, ..Winding::default() },
        Winding { extra_wraps: Winding::MOST_WRAPS, ..Winding::default() },
    ];
    assert_eq!(nails(&wound(&NailRows::Facing, &most_every))[..3], ["near 1", "far 1", "near 7"]);
    assert_eq!(wound(&NailRows::Facing, &most_wraps).strands(), 65);
    let every = Winding { every: Winding::MOST_EVERY + 1, ..Winding::default() };
    assert_eq!(every.path(&all, &Middle::Whole), Err(WindingError::Every { given: 7 }));
    let wraps = Winding { extra_wraps: Winding::MOST_WRAPS + 1, ..Winding::default() };
    assert_eq!(wraps.path(&all, &Middle::Whole), Err(WindingError::Wraps { given: 4 }));
}

#[test]
fn windings_that_cannot_be_are_refused() {
    let all = places(&NailRows::Facing);
    let refused =
        |winding: Winding| winding.path(&all, &Middle::Whole).expect_err("it was wound").to_string();
    let no_such = Winding { left_out: vec![Nail { far: true, number: 34 }], ..Winding::default() };
    assert_eq!(refused(no_such), "There is no nail “far 34”: that row has 33.");
    assert!(refused(Winding { every: 0, ..Winding::default() }).starts_with("Every 0th nail"));
    assert!(refused(Winding { extra_wraps: 9, ..Winding::default() }).contains("3 are the most"));
    let bare = Winding {
        left_out: (2..=33).map(|number| Nail { far: true, number }).collect(),
        ..Winding::default()
    };
    assert_eq!(bare.path(&all, &Middle::Whole), Err(WindingError::TooFew { near: 33, far: 1 }));
}

#[test]
fn nails_are_written_and_read_by_row_and_number() {
    let nail = Nail { far: true, number: 12 };
    assert_eq!((nail.to_string().parse(), " Near5 ".parse()), (Ok(nail), Ok(Nail { far: false, number: 5 })));
    for wrong in ["", "12", "far", "far -1", "middle 3"] {
        assert!(wrong.parse::<Nail>().is_err(), "{wrong}");
    }
}

#[test]
fn the_way_is_drawn_with_its_numbers_and_empty_nails_crossed_out() {
    let winding =
        Winding { left_out: vec![Nail { far: false, number: 12 }], doubled: true, ..Winding::default() };
    let (path, all) = (wound(&NailRows::Facing, &winding), places(&NailRows::Facing));
    let draw = |face| PathPicture { path: &path, places: &all, span: inches(33.0), face, id: "way" }.svg();
    let front = draw(Face::Front);
    assert_eq!(front.matches("<circle").count(), 65);
    assert!(front.contains("128 strands, two strips together: tied at far 1"), "{front:.500}");
    assert!(front.contains("tie: begin") && front.contains("tie: end") && front.contains(">10</text>"));
    assert_ne!(front, draw(Face::Back));
    assert!(!front.contains("style") && !front.contains("NaN"));
}

proptest! {
    /// Any winding is at least a span for each strand and the tails, and leaving out a nail never makes the same strands shorter.
    #[test]
    fn a_way_is_never_shorter_than_its_spans(
        far in 3_u32..80, near_nails in 17_u32..80, every in 1_u32..4, skip in 1_u32..3, pitch in 0.25..1.5_f64,
    ) {
        let frame = frame(f64::from(near_nails - 1) * pitch, 33.0, near_nails);
        let far = far.clamp(3, near_nails + 8);
        let rows = NailRows::SetOff { far_nails: far, by: None };
        let Ok(all) = rows.places(&frame, Units::Inches) else { return Ok(()) };
        let winding = Winding { every, ..Winding::default() };
        let Ok(path) = winding.path(&all, &Middle::Whole) else { return Ok(()) };
        let length = path.length(inches(33.0), &usual());
        let straight = (33.0_f64.powi(2) - 0.0256).sqrt() * f64::from(path.strands()) + 12.0;
        prop_assert!(length.in_inches() > straight - 1e-6, "{} {straight}", length.in_inches());
        prop_assert_eq!(path.strand_lengths(inches(33.0), &usual()).len() as u32, path.strands());
        let less = Winding { left_out: vec![Nail { far: false, number: skip }], ..winding };
        if let Ok(less) = less.path(&all, &Middle::Whole) {
            // With as many strands as before, the choice of nails before was the better one.
            let shorter = less.length(inches(33.0), &usual()) < length - inches(0.01);
            prop_assert!(!shorter || less.strands() < path.strands());
        }
        prop_assert!(path.turns.windows(2).all(|pair| pair[0].nail.far != pair[1].nail.far));
    }
}

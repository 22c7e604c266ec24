//! The warp's path, its strips and joins, and the frame it is wound on.
use super::{frame, inches, near, plan, small};
use thrumhall::planning::frame::{Frame, FrameError, FrameSizes};
use thrumhall::planning::warp::{Wrap, ball, ball_of_strips, joined, path, strands};
use thrumhall::planning::{Plan, RugSpec};
use thrumhall::units::{Length, RangeError, Units};

fn small_rug() -> Plan {
    plan(&RugSpec::plain(small()))
}

fn usual() -> Wrap {
    Wrap { nail_diameter: inches(0.1), strip_thickness: inches(0.06), tail: inches(6.0) }
}

/// Common practice, no source: 33 nails per end on a 33 in span take 2·33·33 = 2178 in, about 60½ yd; the exact path for
/// a pitch of 9/16 in lies within 2 % of it.
#[test]
fn the_path_agrees_with_the_rule_of_thumb() {
    let thumb = small_rug().warp.rule_of_thumb;
    near(thumb.mm(), 55_321.2, 0.0);
    near(thumb.yards(), 60.5, 1e-9);
    near(small().pitch().in_inches(), 0.5625, 1e-9);
    let exact = path(inches(33.0), inches(0.5625), 33, &usual());
    assert_eq!(strands(33), 65);
    near(exact.ratio(thumb), 1.0, 0.02);
    // The closed form by hand: 33·√(33² − 0.16²) + 32·√(33² + 0.5625² − 0.16²) + 64·π·0.08 + 12 in.
    near(exact.in_inches(), 2_173.212_9, 0.001);
}

/// Source: geometry of a continuous warp, passes + steps along the nail rows (published check 3.17): 25 passes of
/// 36 in at 1 in give 924 in, 24 of 48 in at ¾ in give 1169.25 in. Our slanted strands are between that and straight.
#[test]
fn the_path_lies_between_straight_strands_and_square_steps() {
    let none = Wrap { nail_diameter: Length::ZERO, strip_thickness: Length::ZERO, tail: Length::ZERO };
    for (nails, span, pitch, square) in [(13, 36.0, 1.0, 924.0), (12, 48.0, 0.75, 23.0 * 48.0 + 22.0 * 0.75)]
    {
        let length = path(inches(span), inches(pitch), nails, &none).in_inches();
        let straight = f64::from(strands(nails)) * span;
        assert!(straight < length && length < square, "{straight} {length} {square}");
    }
}

/// Source: Wheeler, How to Make Rugs, 1902, ch. I, on laps: n pieces of p with lap s give n·p − (n − 1)·s, so ten of
/// 18 in with ½ in give 175.5 in.
#[test]
fn joined_strips_lose_a_lap_at_each_join() {
    assert_eq!(ball(&[inches(18.0); 10], inches(0.5)), inches(175.5));
    assert_eq!(ball(&[], inches(0.5)), Length::ZERO);
    let made = joined(inches(175.5), inches(18.0), inches(0.5)).unwrap();
    assert_eq!((made.strips, made.joins, made.left_over), (10, 9, Length::ZERO));
    let more = joined(inches(175.6), inches(18.0), inches(0.5)).unwrap();
    assert_eq!(more.strips, 11);
    assert_eq!(ball(&[inches(18.0); 11], inches(0.5)) - more.left_over, inches(175.6));
    assert_eq!(joined(inches(10.0), inches(2.0), inches(2.0)), None);
    assert_eq!(joined(inches(10.0), inches(20.0), inches(2.0)).unwrap().strips, 1);
}

#[test]
fn a_ball_from_strips_that_are_cut_takes_the_fewest() {
    let strips = [60.0, 20.0, 90.0, 30.0, 90.0].map(inches);
    let of = |wanted: f64| {
        let ball = ball_of_strips(&strips, inches(wanted), inches(2.0));
        (ball.strips, ball.joins, ball.length)
    };
    assert_eq!(of(15.0), (1, 0, inches(20.0)), "the shortest that does");
    assert_eq!(of(100.0), (2, 1, inches(108.0)), "90 in and the shortest that ends it");
    assert_eq!(of(200.0), (3, 2, inches(206.0)));
    assert_eq!(of(500.0), (5, 4, inches(282.0)), "all of them are too short");
    assert_eq!(ball_of_strips(&[], inches(1.0), inches(2.0)).strips, 0);
}

fn refused(span: f64, width: f64, nails: u32, pitch: Option<f64>) -> FrameError {
    let sizes = FrameSizes {
        span: inches(span),
        width: inches(width),
        nails,
        pitch: pitch.map(inches),
        nail_diameter: None,
    };
    match Frame::new(sizes, Units::Inches) {
        Ok(frame) => panic!("{frame:?} was taken"),
        Err(error) => error,
    }
}

#[test]
fn a_frame_that_cannot_be_is_refused_with_the_reason() {
    let [value, min, max] = ["63360 in", "4 in", "144 in"].map(String::from);
    assert_eq!(refused(63_360.0, 18.0, 33, None), FrameError::Span(RangeError::Outside { value, min, max }));
    assert!(matches!(refused(0.0, 18.0, 33, None), FrameError::Span(_)));
    assert!(matches!(refused(33.0, -18.0, 33, None), FrameError::Width(_)));
    assert!(matches!(refused(33.0, 18.0, 0, None), FrameError::Nails { nails: 0, .. }));
    assert!(matches!(refused(33.0, 18.0, u32::MAX, None), FrameError::Nails { .. }));
    assert!(matches!(refused(33.0, 18.0, 600, None), FrameError::Pitch(_)), "nails closer than 1/8 in");
    let [pitch, row, width] = ["1 in", "32 in", "18 in"].map(String::from);
    assert_eq!(refused(33.0, 18.0, 33, Some(1.0)), FrameError::RowMisfit { nails: 33, pitch, row, width });
    let thick = FrameSizes {
        span: inches(33.0),
        width: inches(18.0),
        nails: 33,
        pitch: None,
        nail_diameter: Some(inches(0.5)),
    };
    assert!(matches!(Frame::new(thick, Units::Metric), Err(FrameError::NailDiameter(_))));
}

#[test]
fn a_narrower_rug_takes_fewer_nails() {
    let frame = frame(24.0, 44.0, 44);
    assert_eq!(frame.nails_for(inches(24.0)), 44);
    assert_eq!(frame.nails_for(inches(12.0)), 23);
    assert_eq!(frame.nails_for(inches(0.1)), 2);
}

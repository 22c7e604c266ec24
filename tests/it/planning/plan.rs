//! Whole plans: the trade's figures, and what must hold for any rug.
use super::{frame, inches, near, plan, small};
use proptest::prelude::*;
use std::collections::HashSet;
use thrumhall::planning::notices::Remark;
use thrumhall::planning::pattern::Band;
use thrumhall::planning::reading;
use thrumhall::planning::settings::{Estimate, Parameter, Provenance, Sample, Settings};
use thrumhall::planning::spec::SpecError;
use thrumhall::planning::steps::StepKind;
use thrumhall::planning::warp::nail_rows::NailRows;
use thrumhall::planning::warp::winding::Winding;
use thrumhall::planning::workings::Origin;
use thrumhall::planning::{Kind, Plan, Range, RugSpec, WovenFrom};
use thrumhall::units::{Areal, Length, Mass, Quantity, RangeError, Units};

fn striped() -> RugSpec {
    let bands = [(10.0, [0, 1]), (8.5, [1, 1]), (13.5, [2, 0])];
    let bands = bands.map(|(height, colours)| Band::plain(inches(height), colours)).to_vec();
    RugSpec { bands, fringe: Some(inches(3.0)), backing: Some(inches(1.0)), ..RugSpec::plain(small()) }
}

/// Common practice, no source: an 18 × 33 in rug takes about 6 h to weave and about 1 h to cut and join.
#[test]
fn the_small_frame_takes_its_usual_time() {
    let plan = plan(&RugSpec::plain(small()));
    let hours = |range: Range<_>| thrumhall::units::Minutes::hours(range.expected);
    assert!((5.1..=6.9).contains(&hours(plan.minutes.weave)), "{}", hours(plan.minutes.weave));
    assert!((0.75..=1.25).contains(&hours(plan.minutes.prepare)), "{}", hours(plan.minutes.prepare));
}

#[test]
fn the_small_frame_in_figures() {
    let plan = plan(&RugSpec::plain(small()));
    assert_eq!((plan.warp.strands, plan.warp.units, plan.weft.rows), (65, 33, 128));
    // 2 · 128 · (18 · 1.28 + 0.75) in.
    near(plan.weft.length.expected.in_inches(), 6_090.24, 1e-6);
    near(plan.warp.rule_of_thumb.mm(), 55_321.2, 0.0);
    // Bundles of 0.1398 in, as thick as the weft's: 33 · √(33² − 4ρ²) + 32 · √(33² + (9/16)² − 4ρ²) + 64πρ + 12 in, ρ = 0.1199
    // in. It was 2,173.2 while the warp was taken to be 0.06 in thick.
    near(plan.warp.path.in_inches(), 2_181.206_1, 0.001);
    assert_eq!(plan.weft.twists, 128 * 33);
}

/// Source: C. Wheeler, How to Make Rugs, 1902, ch. II: 1.5 lb of cotton rags to the square yard on a loom, one strand a row.
/// Two strands a row on a rag warp must come out two to five times as heavy.
#[test]
fn a_twined_rug_is_two_to_five_times_as_heavy_as_a_loom_woven_one() {
    for frame in [small(), frame(24.0, 44.0, 44)] {
        let plan = plan(&RugSpec::plain(frame));
        let square_yards = plan.length.yards() * plan.width.yards();
        let heavier = plan.cloth.total.expected.pounds() / square_yards / 1.5;
        assert!((2.0..=5.0).contains(&heavier), "{heavier}");
    }
}

/// Common practice, no source: the other usual frame is 24 × 44 in.
#[test]
fn the_larger_frame_needs_more_of_everything() {
    let (small, large) = (plan(&RugSpec::plain(small())), plan(&RugSpec::plain(frame(24.0, 44.0, 44))));
    for (less, more) in needs(&small).into_iter().zip(needs(&large)) {
        assert!(less.1 < more.1, "{}: {} {}", less.0, less.1, more.1);
    }
}

#[test]
fn the_take_of_the_warp_covers_the_path() {
    let plan = plan(&striped());
    assert!(plan.warp.length.p90 >= plan.warp.path, "a strip that doesn't give still reaches");
    let made = plan.warp.strip * i64::from(plan.warp.strips) - inches(2.0) * i64::from(plan.warp.joins);
    assert_eq!(made - plan.warp.left_over, plan.warp.length.p90);
}

#[test]
fn colours_add_up_to_the_weft() {
    let plan = plan(&striped());
    assert_eq!(plan.weft.colours.iter().map(|c| c.colour).collect::<Vec<_>>(), [0, 1, 2]);
    let lengths: Length = plan.weft.colours.iter().map(|c| c.length.expected).sum();
    assert_eq!(lengths, plan.weft.length.expected);
    let (cut, joins) = plan
        .weft
        .colours
        .iter()
        .fold((Length::ZERO, 0), |(c, j), need| (c + need.cut.expected, j + need.joins));
    assert_eq!((cut, joins), (plan.weft.cut.expected, plan.weft.joins));
    let take: Mass = plan.weft.colours.iter().map(|c| c.mass.p90).sum();
    near(take.grams(), plan.cloth.weft.p90.grams(), 0.01);
}

#[test]
fn a_measured_sheet_and_a_sample_narrow_the_range() {
    let wide = plan(&RugSpec::plain(small())).cloth.weft;
    let measured = RugSpec {
        known: vec![(Parameter::WeftAreal, Estimate::measured_areal(Areal::from_gsm(130.0)))],
        ..RugSpec::plain(small())
    };
    let sampled = RugSpec {
        sample: Some(Sample { woven: inches(4.0), rows: 17, mass: Some(Mass::from_grams(98.0)) }),
        ..measured.clone()
    };
    let spread = |r: Range<Mass>| r.p90.ratio(r.low);
    let (middle, narrow) = (plan(&measured).cloth.weft, plan(&sampled));
    assert!(spread(wide) > spread(middle) && spread(middle) > spread(narrow.cloth.weft));
    // 17 rows in 4 in over 32 in are 136 rows, each of 98/17 g.
    assert_eq!(narrow.weft.rows, 136);
    near(narrow.cloth.weft.expected.grams(), 136.0 * 98.0 / 17.0, 0.1);
    let from_weight = Areal::from_gsm(130.0).strip_length(narrow.cloth.weft.expected, inches(1.5)).unwrap();
    near(narrow.weft.cut.expected.ratio(from_weight), 1.0, 0.01);
}

#[test]
fn every_number_can_be_followed_to_its_inputs() {
    let plan = plan(&striped());
    let keys: HashSet<_> = plan.workings.iter().map(|w| w.key.as_str()).collect();
    assert_eq!(keys.len(), plan.workings.len(), "keys are unique");
    for working in &plan.workings {
        assert!(!working.formula.is_empty() && !working.source.is_empty(), "{}", working.key);
        assert!(!working.inputs.is_empty(), "{}", working.key);
        for input in &working.inputs {
            if let Origin::Worked { key } = &input.origin {
                assert!(keys.contains(key.as_str()), "{} uses {key}, which isn't worked out", working.key);
            }
        }
        for units in [Units::Inches, Units::Metric] {
            assert!(!working.result.show(units).contains("NaN"));
        }
    }
    for key in [
        "warp.path",
        "warp.length",
        "weft.length",
        "weft.colour.2.mass",
        "band.2.rows",
        "cloth.total",
        "minutes.weave",
    ] {
        assert!(keys.contains(key), "{key}");
    }
    let path = plan.workings.iter().find(|w| w.key == "warp.path").unwrap();
    let tail = path.inputs.iter().find(|i| i.name == Parameter::Tail.name()).unwrap();
    assert_eq!(tail.value, Quantity::Length(inches(6.0)));
    assert!(matches!(tail.origin, Origin::Default { low, high, .. } if low.number() < high.number()));
}

/// The working's inputs, put into its formula by hand, give its result.
#[test]
fn workings_can_be_worked_again() {
    let plan = plan(&striped());
    let result = |key: &str| plan.workings.iter().find(|w| w.key == key).unwrap().result.number();
    near(result("weft.length"), 2.0 * result("weft.rows") * result("weft.strand"), 1.0);
    near(result("cloth.total"), result("cloth.warp") + result("cloth.weft") + result("cloth.fringe"), 0.0);
    let [near_end, far_end] = ["near", "far"].map(|end| result(&format!("warp.locking.{end}")));
    near(result("weft.twists"), (result("weft.rows") - 1.0) * near_end + far_end, 0.0);
    near(result("warp.length"), result("warp.path") / 1.02, 1.0);
    let bands: f64 = (0..3).map(|i| result(&format!("band.{i}.rows"))).sum();
    near(bands, result("weft.rows"), 0.0);
}

#[test]
fn what_cannot_be_woven_is_refused_with_the_reason() {
    let refused = |spec: RugSpec| Plan::of(&spec, Units::Inches).unwrap_err();
    let plain = || RugSpec::plain(small());
    let misfit = RugSpec { length: Some(inches(30.0)), ..striped() };
    let [bands, length] = ["32 in", "30 in"].map(String::from);
    assert_eq!(refused(misfit), SpecError::BandsMisfit { bands, length });
    let long = RugSpec { length: Some(inches(34.0)), ..plain() };
    let [value, min, max] = ["34 in", "2 in", "33 in"].map(String::from);
    assert_eq!(refused(long), SpecError::Length(RangeError::Outside { value, min, max }));
    assert!(matches!(refused(RugSpec { width: Some(inches(18.1)), ..plain() }), SpecError::Width(_)));
    assert!(matches!(refused(RugSpec { strip_width: Length::ZERO, ..plain() }), SpecError::StripWidth(_)));
    assert!(matches!(refused(RugSpec { unit_size: 0, ..plain() }), SpecError::UnitSize { given: 0 }));
    assert!(matches!(refused(RugSpec { fringe: Some(Length::ZERO), ..plain() }), SpecError::Fringe(_)));
    assert!(matches!(refused(RugSpec { backing: Some(inches(9.0)), ..plain() }), SpecError::Backing(_)));
    let flat = Band::plain(Length::ZERO, [0, 0]);
    assert!(matches!(refused(RugSpec { bands: vec![flat], ..plain() }), SpecError::Band { number: 1, .. }));
    let stripe = Band::plain(inches(0.125), [0, 0]);
    assert!(matches!(
        refused(RugSpec { bands: vec![stripe; 201], ..plain() }),
        SpecError::TooManyBands { .. }
    ));
    let nothing = Sample { woven: inches(4.0), rows: 0, mass: None };
    assert!(matches!(refused(RugSpec { sample: Some(nothing), ..plain() }), SpecError::Known(_)));
    let wrong = Estimate { basis: Provenance::Measured, ..*Settings::default().get(Parameter::Tail) };
    assert!(matches!(
        refused(RugSpec { known: vec![(Parameter::WeftAreal, wrong)], ..plain() }),
        SpecError::Known(_)
    ));
    let heavy = Estimate::measured_areal(Areal::from_gsm(f64::NAN));
    assert!(matches!(
        refused(RugSpec { known: vec![(Parameter::WeftAreal, heavy)], ..plain() }),
        SpecError::Known(_)
    ));
}

#[test]
fn a_stretching_warp_is_pointed_out() {
    let jersey = RugSpec { warp_kind: Kind::Jersey, ..RugSpec::plain(small()) };
    assert!(matches!(plan(&jersey).notices[..], [Remark::WarpUnfit(_)]));
    assert!(plan(&RugSpec::plain(small())).notices.is_empty());
}

fn needs(plan: &Plan) -> Vec<(&'static str, f64)> {
    let ranges = [
        ("warp", plan.warp.length.quantities()),
        ("weft", plan.weft.length.quantities()),
        ("cut", plan.weft.cut.quantities()),
        ("warp cloth", plan.cloth.warp.quantities()),
        ("weft cloth", plan.cloth.weft.quantities()),
        ("all cloth", plan.cloth.total.quantities()),
        ("prepare", plan.minutes.prepare.quantities()),
        ("weave", plan.minutes.weave.quantities()),
    ];
    ranges
        .into_iter()
        .flat_map(|(name, r)| [(name, r.low), (name, r.expected), (name, r.p90)])
        .map(|(n, q)| (n, q.number()))
        .collect()
}

fn any_rug() -> impl Strategy<Value = RugSpec> {
    let sizes = (6.0..60.0_f64, 6.0..60.0_f64, 0.3..1.2_f64, 0.75..2.5_f64, 0..9_usize, 1..4_u32);
    (sizes, prop::collection::vec((0.5..4.0_f64, 0..3_u16, 0..3_u16), 0..6)).prop_map(
        |((width, span, pitch, strip, kind, unit_size), bands)| {
            let frame = frame(width, span, (width / pitch) as u32 + 2);
            let mut left = span;
            let bands = bands
                .into_iter()
                .filter(|(height, ..)| {
                    left -= height;
                    left > 0.0
                })
                .map(|(height, a, b)| Band::plain(inches(height), [a, b]))
                .collect::<Vec<_>>();
            let bands =
                if bands.iter().map(|b| b.height).sum::<Length>() < inches(2.0) { Vec::new() } else { bands };
            let spec = RugSpec {
                bands,
                strip_width: inches(strip),
                warp_kind: Kind::ALL[kind],
                weft_kind: Kind::ALL[kind],
                unit_size,
                ..RugSpec::plain(frame)
            };
            // What has no room is refused with the widest strip that fits, which has its own test: narrow ones do here.
            let jammed = matches!(Plan::of(&spec, Units::Inches), Err(SpecError::Jammed(_)));
            if jammed { RugSpec { strip_width: inches(0.25), ..spec } } else { spec }
        },
    )
}

/// The same with a header of thinner strips, a winding and a way to weave that are not the usual ones.
fn any_unusual_rug() -> impl Strategy<Value = RugSpec> {
    let how = (any::<bool>(), 1_u32..3, 0_u32..2, 0_usize..3, any::<bool>(), prop::option::of(0.4..1.2_f64));
    (any_rug(), how).prop_map(|(mut spec, (doubled, every, extra_wraps, from, header, far))| {
        spec.winding = Winding { doubled, every, extra_wraps, ..Winding::default() };
        spec.from = [WovenFrom::OneEnd, WovenFrom::BothEnds, WovenFrom::BothEndsOtherFirst][from];
        if let Some(first) = spec.bands.first_mut().filter(|_| header) {
            first.strip = Some(spec.strip_width.scale(0.5).max(inches(0.25)));
        }
        if let Some(part) = far {
            let far_nails = ((f64::from(spec.frame.nails()) * part) as u32).max(3);
            spec.rows = NailRows::SetOff { far_nails, by: None };
        }
        spec
    })
}

/// A header is two bands more: of another strip, with closer rows, and with a need of its own.
#[test]
fn a_header_of_thinner_strips_is_counted_apart() {
    let thin = |height: f64| Band { strip: Some(inches(0.75)), ..Band::plain(inches(height), [0, 0]) };
    let middle = Band::plain(inches(30.0), [0, 1]);
    let spec = RugSpec { bands: vec![thin(1.0), middle, thin(1.0)], ..RugSpec::plain(small()) };
    let with = plan(&spec);
    // 4 rows to the inch · √(1.5 / 0.75) = 5.66, for an inch at each end, rounded where a band ends.
    let rows: Vec<_> = with.pattern.bands.iter().map(|band| band.to_row).collect();
    assert_eq!(rows, [6, 126, 131]);
    let needs: Vec<_> =
        with.weft.colours.iter().map(|need| (need.colour, need.strip, need.key.as_str())).collect();
    assert_eq!(needs, [(0, inches(1.5), "0"), (0, inches(0.75), "0-19050000"), (1, inches(1.5), "1")]);
    let sum: Mass = with.weft.colours.iter().map(|need| need.mass.expected).sum();
    assert!((sum - with.cloth.weft.expected).abs() <= Mass::from_mg(3), "the colours add up");
    let plain = |bands: [Band; 3]| plan(&RugSpec { bands: bands.to_vec(), ..RugSpec::plain(small()) });
    let own = |height: f64| Band::plain(inches(height), [0, 0]);
    let without = plain([own(1.0), middle, own(1.0)]);
    assert!(with.weft.rows > without.weft.rows && with.cloth.weft.expected < without.cloth.weft.expected);
    for need in &with.weft.colours {
        let key = format!("weft.colour.{}.mass", need.key);
        assert!(with.workings.iter().any(|working| working.key == key), "{key}");
    }
}

#[test]
fn a_rug_from_both_ends_says_when_its_halves_do_not_match() {
    let bands = vec![Band::plain(inches(32.0), [0, 1])];
    let of = |from| plan(&RugSpec { bands: bands.clone(), from, ..RugSpec::plain(small()) });
    let [same, other] = [WovenFrom::BothEnds, WovenFrom::BothEndsOtherFirst].map(of);
    let warned = |plan: &Plan| plan.notices.contains(&Remark::HalvesDiffer);
    // 128 rows over 33 units: together odd, so the second half has to begin with the other strand.
    assert!(warned(&same) && !warned(&other));
    let one_way = of(WovenFrom::OneEnd);
    assert_eq!(one_way.weft.rows, same.weft.rows);
    // Each half begins with strands of its own.
    assert!(same.weft.joins <= one_way.weft.joins);
    let weave = |plan: &Plan| plan.steps.iter().filter(|s| matches!(s.kind, StepKind::Weave { .. })).count();
    assert_eq!((weave(&one_way), weave(&same)), (1, 2));
}

#[test]
fn a_doubled_warp_on_every_second_nail_weighs_about_the_same() {
    let winding = Winding { doubled: true, every: 2, ..Winding::default() };
    let [plain, doubled] =
        [Winding::default(), winding].map(|winding| plan(&RugSpec { winding, ..RugSpec::plain(small()) }));
    assert_eq!((doubled.warp.strands, doubled.warp.nails), (66, 17));
    near(doubled.warp.path.ratio(plain.warp.path), 1.0, 0.03);
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn unusual_rugs_need_no_less_than_nothing_either(spec in any_unusual_rug()) {
        // Too few nails may be left of every second, but never of all of them.
        let planned = Plan::of(&spec, Units::Inches);
        if matches!(planned, Err(SpecError::Jammed(_))) {
            return Ok(());
        }
        if planned.is_err() {
            let usual = Plan::of(&RugSpec { winding: Winding::default(), ..spec }, Units::Inches);
            // A warp over every nail may be one that has no room.
            let jammed = matches!(usual, Err(SpecError::Jammed(_)));
            prop_assert!(usual.is_ok() || jammed, "{planned:?}");
            return Ok(());
        }
        let plan = plan(&spec);
        for range in needs(&plan).chunks(3) {
            prop_assert!(0.0 <= range[0].1 && range[0].1 <= range[1].1 && range[1].1 <= range[2].1, "{range:?}");
        }
        let rows: u32 = plan.steps.iter().map(|step| match step.kind {
            StepKind::Weave { from_row, to_row, .. } => to_row - from_row,
            _ => 0,
        }).sum();
        prop_assert_eq!(rows, plan.weft.rows, "every row is woven once");
        let lines = reading::lines(&plan.pattern);
        prop_assert_eq!(lines.iter().map(reading::ReadingLine::rows).sum::<u32>(), plan.weft.rows);
        let colours: Mass = plan.weft.colours.iter().map(|need| need.mass.expected).sum();
        prop_assert!((colours - plan.cloth.weft.expected).abs() <= Mass::from_mg(10));
        prop_assert_eq!(Plan::of(&spec, Units::Metric), Ok(plan));
    }

    #[test]
    fn nothing_is_negative_and_ranges_are_in_order(spec in any_rug()) {
        let plan = plan(&spec);
        for range in needs(&plan).chunks(3) {
            prop_assert!(0.0 <= range[0].1 && range[0].1 <= range[1].1 && range[1].1 <= range[2].1, "{range:?}");
        }
        for working in &plan.workings {
            prop_assert!(working.result.number() >= 0.0, "{}", working.key);
        }
    }

    #[test]
    fn a_larger_rug_needs_no_less(spec in any_rug(), longer in 0.0..6.0_f64, wider in 0_u32..8) {
        let plain = RugSpec { bands: Vec::new(), ..spec };
        let f = plain.frame;
        let width = f.width().in_inches() + f.pitch().in_inches() * f64::from(wider);
        let larger = RugSpec { frame: frame(width, f.span().in_inches() + longer, f.nails() + wider), ..plain.clone() };
        let smaller = plan(&plain);
        // One nanometre of rounding is allowed for; the lowest stands below whole rows by a doubt that grows between two of them.
        let slack = |n: usize| if n.is_multiple_of(3) { 1.0 / f64::from(smaller.weft.rows) } else { 0.000_000_1 };
        for (n, (less, more)) in needs(&smaller).into_iter().zip(needs(&plan(&larger))).enumerate() {
            prop_assert!(less.1 <= more.1 * (1.0 + slack(n)), "{}: {} {}", less.0, less.1, more.1);
        }
    }

    #[test]
    fn splitting_a_band_changes_nothing(spec in any_rug(), cut in 0.2..0.8_f64, which in 0..6_usize) {
        prop_assume!(!spec.bands.is_empty());
        let mut split = spec.clone();
        let which = which % spec.bands.len();
        let band = spec.bands[which];
        let first = band.height.scale(cut);
        prop_assume!(first >= inches(0.125) && band.height - first >= inches(0.125));
        split.bands.splice(which..=which, [first, band.height - first].map(|height| Band { height, ..band }));
        let (whole, parts) = (plan(&spec), plan(&split));
        prop_assert_eq!(needs(&whole), needs(&parts));
        prop_assert_eq!(whole.weft, parts.weft);
    }

    #[test]
    fn units_do_not_change_results(spec in any_rug()) {
        prop_assert_eq!(Plan::of(&spec, Units::Inches), Plan::of(&spec, Units::Metric));
    }
}

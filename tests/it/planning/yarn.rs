//! A warp of bought yarn instead of strip: what it takes, weighs and leaves out, by hand.
use super::{inches, near, plan, small};
use std::f64::consts::PI;
use thrumhall::planning::notices::Remark;
use thrumhall::planning::steps::StepKind;
use thrumhall::planning::warp::yarn::Yarn;
use thrumhall::planning::{Plan, RugSpec, SpecError};
use thrumhall::units::{Length, Mass, Units};

fn yarn(metres: f64, grams: f64, thick_mm: Option<f64>) -> Yarn {
    Yarn {
        length: Length::millimetres(metres * 1000.0),
        mass: Mass::from_grams(grams),
        thickness: thick_mm.map(Length::millimetres),
    }
}

fn with(yarn: Yarn) -> RugSpec {
    RugSpec { warp_yarn: Some(yarn), ..RugSpec::plain(small()) }
}

/// Cotton count 1 is 590.5 tex: 840 yd to the pound. ISO 2947 and textile handbooks; from memory.
/// Peirce's diameter of it is 1/28 in, and a quarter of the count is twice as thick: from memory.
#[test]
fn a_ball_s_length_and_weight_give_tex_and_thickness() {
    let count_one = yarn(840.0 * 0.9144, 453.592_37, None);
    near(count_one.tex(), 590.5, 0.05);
    near(count_one.thickness().in_inches(), 1.0 / 28.0, 1e-6);
    near(yarn(840.0 * 0.9144 / 4.0, 453.592_37, None).thickness().in_inches(), 2.0 / 28.0, 1e-6);
    near(yarn(840.0, 453.0, Some(3.0)).thickness().mm(), 3.0, 0.0);
    near(yarn(125.0, 200.0, None).mass_of(Length::millimetres(10_000.0)).grams(), 16.0, 1e-3);
}

#[test]
fn a_warp_of_yarn_takes_no_cloth() {
    let (told, cloth) = (plan(&with(yarn(125.0, 200.0, Some(2.0)))), plan(&RugSpec::plain(small())));
    // 33 straight and 32 slanting strands, 64 half turns on (2.54 + 2)/2 mm, 12 in of tails; 1 % of give.
    let (span, pitch, rho) = (838.2_f64, 457.2 / 32.0, 2.27_f64);
    let strand = |far: f64| (far * far - 4.0 * rho * rho).sqrt();
    let path = 33.0 * strand(span) + 32.0 * strand(span.hypot(pitch)) + 64.0 * PI * rho + 304.8;
    near(told.warp.path.mm(), path, 0.01);
    let ball = path / 1.01;
    near(told.warp.length.expected.mm(), ball, 0.01);
    let taken = told.warp.yarn.unwrap();
    near(taken.mass.expected.grams(), ball / 1000.0 * 1.6, 0.01);
    assert!(taken.mass.low < taken.mass.expected && taken.mass.expected < taken.mass.p90);
    assert_eq!((told.warp.strips, told.warp.joins), (1, 0));
    assert_eq!((told.cloth.warp.low, told.cloth.warp.p90), (Mass::ZERO, Mass::ZERO));
    assert_eq!(told.cloth.total.expected, told.cloth.weft.expected);
    // Nothing is cut for it, and one ball is neither joined nor wound.
    let step = |plan: &Plan, is: StepKind| {
        plan.steps.iter().find(|step| step.kind == is).map(|step| step.minutes.get())
    };
    assert_eq!(step(&told, StepKind::JoinWarp), None);
    assert!(step(&told, StepKind::CutStrips) < step(&cloth, StepKind::CutStrips));
    assert_eq!(told.weft.rows, cloth.weft.rows);
    // The weft goes round a thinner warp, so that it takes less.
    assert!(told.weft.take_up < cloth.weft.take_up);
    let keys: Vec<&str> = told.workings.iter().map(|working| working.key.as_str()).collect();
    assert!(keys.contains(&"warp.yarn") && !keys.contains(&"cloth.warp"));
}

#[test]
fn balls_are_joined_where_one_is_too_short() {
    let told = plan(&with(yarn(20.0, 32.0, Some(2.0))));
    // 55 m and more of balls of 20 m: three, with two joins of 2 in.
    assert_eq!((told.warp.strips, told.warp.joins), (3, 2));
    let taken = told.warp.yarn.unwrap().mass.expected.grams();
    near(taken, (told.warp.length.expected.metres() + 2.0 * 0.0508) * 1.6, 0.01);
    let join = told.steps.iter().find(|step| step.kind == StepKind::JoinWarp).unwrap();
    // 30 s each.
    near(join.minutes.get(), 1.0, 1e-9);
    let made = told.warp.strip * 3 - inches(2.0) * 2;
    assert_eq!(made - told.warp.left_over, told.warp.length.p90);
}

/// By hand: 33 units of two strands packed to one are √2 · 33 times as thick as one, and the rug is 457.2 mm wide.
#[test]
fn yarn_too_thick_for_its_room_is_refused_with_the_thickest_that_fits() {
    let spec = |mm| with(yarn(125.0, 900.0, Some(mm)));
    let refused = Plan::of(&spec(10.0), Units::Metric).unwrap_err();
    assert_eq!(
        refused.to_string(),
        "The warp's yarn is too thick for its room: packed as close as they go, 65 strands of 10.0 mm fill 46.7 cm, and the rug is \
         45.7 cm wide. The thickest that fits is 9.7 mm."
    );
    // Side by side they fill 65 · 7 mm.
    let close = |mm| plan(&spec(mm)).notices.contains(&Remark::YarnClose);
    assert!(close(9.7) && close(7.0) && !close(6.0));
}

#[test]
fn what_is_no_yarn_is_refused() {
    let refused = |yarn| match Plan::of(&with(yarn), Units::Metric).unwrap_err() {
        SpecError::WarpYarn(why) => why.to_string(),
        other => panic!("{other}"),
    };
    assert!(refused(yarn(0.5, 10.0, None)).starts_with("Length of the warp yarn:"));
    assert!(refused(yarn(100.0, 0.1, None)).starts_with("Weight of the warp yarn:"));
    assert!(refused(yarn(100.0, 100.0, Some(30.0))).starts_with("Thickness of the warp yarn:"));
    assert_eq!(
        refused(yarn(5.0, 2000.0, None)),
        "Warp yarn: 400000 g in a kilometre are out of range: from 20 to 100000 are allowed. Is it the weight of that length?"
    );
}

/// A cloth that makes no warp is no matter where none is made of it.
#[test]
fn the_kind_of_cloth_is_not_asked_of_a_warp_of_yarn() {
    use thrumhall::planning::Kind;
    let terry = RugSpec { warp_kind: Kind::Terry, ..with(yarn(125.0, 200.0, None)) };
    let percale = with(yarn(125.0, 200.0, None));
    let (terry, percale) = (plan(&terry), plan(&percale));
    assert_eq!((terry.notices, terry.warp, terry.cloth), (percale.notices, percale.warp, percale.cloth));
}

/// A fringe is of what the warp is of: 65 strands of 2 · 3 in and a knot of 2 in come off the same balls, and no cloth is asked for it.
#[test]
fn the_fringe_of_a_warp_of_yarn_is_of_that_yarn() {
    let bare = with(yarn(125.0, 200.0, Some(2.0)));
    let fringed = RugSpec { fringe: Some(inches(3.0)), ..bare.clone() };
    let (bare, fringed) = (plan(&bare), plan(&fringed));
    assert_eq!(fringed.finish.fringe_strips, 66);
    near(fringed.finish.fringe.expected.in_inches(), 66.0 * 8.0, 1e-6);
    let mass = |plan: &Plan| plan.warp.yarn.unwrap().mass;
    // 1.6 g to the metre.
    let more = mass(&fringed).expected.grams() - mass(&bare).expected.grams();
    near(more, 66.0 * 8.0 * 0.0254 * 1.6, 0.01);
    assert!(mass(&fringed).p90 - mass(&bare).p90 > Mass::from_grams(more));
    assert_eq!((fringed.cloth.fringe.p90, fringed.cloth.total), (Mass::ZERO, bare.cloth.total));
    let step = |plan: &Plan, is: StepKind| {
        plan.steps.iter().find(|step| step.kind == is).map(|step| step.minutes.get())
    };
    assert_eq!(step(&fringed, StepKind::CutStrips), step(&bare, StepKind::CutStrips), "nothing more is cut");
    assert!(step(&fringed, StepKind::Fringe) > Some(0.0));
    let told =
        |key: &str| fringed.workings.iter().find(|working| working.key == key).map(|w| w.title.clone());
    assert_eq!(told("finish.fringe").as_deref(), Some("Yarn for the fringe"));
    assert_eq!(told("cloth.fringe"), None);
    let cloth = plan(&RugSpec { fringe: Some(inches(3.0)), ..RugSpec::plain(small()) });
    assert!(
        cloth.cloth.fringe.expected > Mass::ZERO && cloth.cloth.total.expected > cloth.cloth.weft.expected
    );
}

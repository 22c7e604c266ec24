//! Kinds of cloth, strip from a weight, and cutting one sheet.
use super::{inches, near};
use proptest::prelude::*;
use thrumhall::optimize::cutting::{Blocked, Sheet, Strip};
use thrumhall::planning::Kind;
use thrumhall::planning::cloth::{US_SHEETS, WarpFit};
use thrumhall::units::{Areal, Length, Mass};

/// Source: arithmetic (published check 2.17), 453.592 37/(g/m² · w)/0.9144 yd to the pound; 100.2 yd for 1½ in at
/// 130 g/m².
#[test]
fn strip_from_a_pound() {
    let yards = |gsm: f64, width: f64| {
        Areal::from_gsm(gsm).strip_length(Mass::from_mg(453_592_370), inches(width)).unwrap().yards() / 1000.0
    };
    near(yards(130.0, 1.5), 100.2, 0.05);
    for (gsm, width, wanted) in [
        (120.0, 1.0, 162.748),
        (120.0, 1.5, 108.498),
        (120.0, 2.0, 81.374),
        (150.0, 1.5, 86.799),
        (400.0, 0.75, 65.099),
    ] {
        near(yards(gsm, width), wanted, 0.001);
    }
    assert_eq!(Areal::from_gsm(130.0).strip_length(Mass::from_grams(1.0), Length::ZERO), None);
}

/// Source: US retail sheet sizes, from memory (published check 2.14), with weights at 120 g/m².
#[test]
fn sheets_weigh_their_area() {
    let weights = [490.5, 521.2, 602.0, 710.7, 852.8];
    for (sheet, grams) in US_SHEETS.iter().zip(weights) {
        let (length, width) = sheet.sides();
        near(Areal::from_gsm(120.0).mass_of(length, width).grams(), grams, 0.1);
    }
}

#[test]
fn every_kind_can_be_named_and_its_range_is_in_order() {
    for kind in Kind::ALL {
        assert_eq!(kind.key().parse::<Kind>(), Ok(kind));
        let facts = kind.facts();
        assert!(facts.low < facts.typical && facts.typical < facts.high);
        assert!(facts.stretch >= 0.0 && facts.stretch < 1.0);
        assert_eq!(serde_json::to_value(kind).unwrap(), kind.key());
    }
    assert_eq!(Kind::Percale.facts().warp, WarpFit::Fit);
    assert!(matches!(Kind::Jersey.facts().warp, WarpFit::Unfit(_)));
    assert_eq!(
        "silk".parse::<Kind>().unwrap_err().to_string(),
        "“silk” isn't a kind of cloth: it must be one of percale, muslin, sateen, flannel, poplin, jersey, interlock, denim, \
         fleece, terry."
    );
}

/// Source: geometry (published check 2.16): 66 × 96 at 2 in is 88 yd, 81 × 96 at 1½ in 144 yd, 90 × 102 at 1½ in 170 yd.
#[test]
fn a_whole_sheet_becomes_its_area_in_strip() {
    for (across, along, width, yards) in
        [(66.0, 96.0, 2.0, 88.0), (81.0, 96.0, 1.5, 144.0), (90.0, 102.0, 1.5, 170.0)]
    {
        let sheet = Sheet::flat(inches(along), inches(across), Length::ZERO);
        for cut in
            [sheet.straight(inches(width), inches(12.0)), sheet.continuous(inches(width), inches(12.0))]
        {
            near(cut.total.yards(), yards, 1e-9);
            assert_eq!(cut.offcut, Length::ZERO);
        }
        assert_eq!(sheet.continuous(inches(width), inches(12.0)).strips.len(), 1);
    }
}

#[test]
fn hems_corners_and_stains_cost_strip() {
    let plain = Sheet::flat(inches(96.0), inches(66.0), inches(1.0));
    let cut = plain.straight(inches(1.5), inches(12.0));
    assert_eq!((cut.strips.len(), cut.strips[0].length()), (42, inches(94.0)));
    let fitted = Sheet { corners: inches(9.0), ..plain.clone() };
    let shorter = fitted.straight(inches(1.5), inches(12.0));
    // Six lanes begin within the near corners and five end within the far ones, whose first inch is hem.
    assert_eq!(shorter.strips.iter().filter(|strip| strip.length() == inches(78.0)).count(), 11);
    let stain = Blocked { along: (inches(40.0), inches(50.0)), across: (inches(30.0), inches(33.0)) };
    let stained = Sheet { stains: vec![stain], ..plain.clone() };
    let split = stained.straight(inches(1.5), inches(12.0));
    // Three lanes of 1½ in from 1 in on touch 30 to 33 in; each is split in two.
    assert_eq!(split.strips.len(), 42 + 3);
    assert_eq!(split.total, cut.total - inches(30.0));
    assert_eq!(stained.turned().turned(), stained);
    assert!(plain.straight(Length::ZERO, Length::ZERO).strips.is_empty());
}

proptest! {
    #[test]
    fn no_sheet_gives_more_than_its_area(
        along in 10.0..120.0_f64, across in 10.0..120.0_f64, hem in 0.0..4.0_f64, corners in 0.0..12.0_f64,
        width in 0.25..4.0_f64, from in 0.0..100.0_f64, deep in 0.0..20.0_f64,
    ) {
        let stain = Blocked { along: (inches(from), inches(from + deep)), across: (inches(deep), inches(deep + 3.0)) };
        let sheet = Sheet {
            along: inches(along), across: inches(across), hem: inches(hem), corners: inches(corners), stains: vec![stain],
        };
        let area = (along - 2.0 * hem).max(0.0) * (across - 2.0 * hem).max(0.0);
        for sheet in [sheet.turned(), sheet] {
            let cut = sheet.straight(inches(width), inches(6.0));
            prop_assert!(cut.total.in_inches() * width <= area + 1e-3);
            prop_assert!(cut.strips.iter().all(|strip| strip.length() >= inches(6.0)));
            prop_assert_eq!(cut.strips.iter().map(Strip::length).sum::<Length>(), cut.total);
        }
    }
}

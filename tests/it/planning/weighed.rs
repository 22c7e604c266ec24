//! The areal mass of weighed and measured sheets, and its doubt.
use super::{inches, near};
use thrumhall::planning::settings::{Parameter, Provenance, Settings};
use thrumhall::planning::usable::{Hems, SizeFrom};
use thrumhall::planning::weighed::{USUAL_SCALE, USUAL_TAPE, Weighed, WeighedError};
use thrumhall::units::{Length, Mass, Units};

fn twin(sheets: u32, grams: f64) -> Weighed {
    Weighed {
        mass: Mass::from_grams(grams),
        sheets,
        length: inches(96.0),
        width: inches(66.0),
        scale: USUAL_SCALE,
        tape: USUAL_TAPE,
        hems: Some(NONE),
        size: SizeFrom::Measured,
    }
}

/// Torn at both ends, as a specimen is.
const NONE: Hems = Hems { hem: Length::ZERO, top: None };

/// Source: ISO 3801:1977, ASTM D3776 (from memory): mass over area. A 100 cm² specimen of 1.30 g is 130 g/m².
#[test]
fn the_value_is_mass_over_area() {
    let specimen = Weighed {
        mass: Mass::from_grams(1.30),
        sheets: 1,
        length: Length::millimetres(100.0),
        width: Length::millimetres(100.0),
        scale: Mass::from_grams(0.001),
        tape: Length::millimetres(0.5),
        hems: Some(NONE),
        size: SizeFrom::Measured,
    };
    near(specimen.areal(Units::Metric).unwrap().areal.gsm(), 130.0, 1e-9);
    // Three twin sheets, 66 × 96 in, without hems: 12.263 m².
    near(twin(3, 1_600.0).areal(Units::Inches).unwrap().areal.gsm(), 130.47, 0.01);
}

/// Source: JCGM 100:2008 (GUM) 4.3.7: limits ±a have the standard uncertainty a/√3; 5.1.6: relative variances of a product
/// add. By hand for one sheet of 66 × 96 in and 500 g: scale 14.175/500/√3 = 1.637 %, tape 0.25/96/√3 = 0.150 % and
/// 0.25/66/√3 = 0.219 %, seams and creases 1.5 %: together 2.236 %; the ninth decile lies 1.2816 of them away.
#[test]
fn the_doubt_is_combined_as_the_guide_says() {
    let one = twin(1, 500.0).areal(Units::Inches).unwrap();
    let up = (one.high.gsm() / one.areal.gsm()).ln();
    near(up, 1.281_55 * 0.022_36, 2e-5);
    near((one.areal.gsm() / one.low.gsm()).ln(), up, 1e-12);
    let setting = one.setting();
    assert_eq!(setting.basis, Provenance::Measured);
    Settings::default().set(Parameter::WarpAreal, setting, Units::Inches).unwrap();
}

/// By hand: hems of 1 and 4 in with a quarter inch turned in lie under the face with 5½ in of a sheet 81 in wide and 96 long, so
/// that one of 130 g/m² weighs 689.5 g and not 652.2. By the label it is 96 in of cloth, whatever was folded.
#[test]
fn hem_cloth_is_taken_off_first() {
    let full = |grams: f64, hems, size| {
        let sheet = Weighed { length: inches(96.0), width: inches(81.0), hems, size, ..twin(1, grams) };
        sheet.areal(Units::Inches).unwrap()
    };
    let hems = Some(Hems { hem: inches(1.0), top: Some(inches(4.0)) });
    let cloth = 81.0 * (96.0 + 5.5) * 0.0254 * 0.0254;
    near(full(130.0 * cloth, hems, SizeFrom::Measured).areal.gsm(), 130.0, 1e-4);
    let plain = Some(Hems { hem: inches(1.0), top: None });
    near(full(130.0 * 81.0 * 98.5 * 0.0254 * 0.0254, plain, SizeFrom::Measured).areal.gsm(), 130.0, 1e-4);
    for hems in [None, hems] {
        near(full(130.0 * 5.016_764, hems, SizeFrom::Label).areal.gsm(), 130.0, 1e-3);
    }
}

/// Weighed lots of sheets of 81 × 96 in whose hems nobody measured, of cloth that has 130 g/m²: the range holds it. Weights made up
/// from hems of 1 to 4½ in and scales off by a little.
#[test]
fn unmeasured_hems_leave_their_doubt() {
    for (grams, sheets) in [(691.0, 1), (669.0, 1), (4147.0, 6)] {
        let lot = Weighed { length: inches(96.0), width: inches(81.0), hems: None, ..twin(sheets, grams) };
        let it = lot.areal(Units::Inches).unwrap();
        assert!((it.low.gsm()..=it.high.gsm()).contains(&130.0), "{grams} g: {}", it.show(Units::Metric));
        let measured = Weighed { hems: Some(Hems { hem: inches(1.0), top: None }), ..lot };
        let sure = measured.areal(Units::Inches).unwrap();
        assert!(sure.high.gsm() / sure.low.gsm() < it.high.gsm() / it.low.gsm());
    }
}

#[test]
fn more_sheets_and_a_finer_scale_leave_less_doubt() {
    let doubt = |weighed: Weighed| {
        let it = weighed.areal(Units::Metric).unwrap();
        it.high.gsm() / it.low.gsm()
    };
    assert!(doubt(twin(4, 2_000.0)) < doubt(twin(1, 500.0)));
    let finer = Weighed { scale: Mass::from_grams(1.0), ..twin(1, 500.0) };
    assert!(doubt(finer) < doubt(twin(1, 500.0)));
    let coarser = Weighed { tape: inches(1.0), ..twin(4, 2_000.0) };
    assert!(doubt(coarser) > doubt(twin(4, 2_000.0)));
    // Nothing is measured better than hems and creases allow.
    assert!(doubt(finer) > 1.03);
}

#[test]
fn what_can_not_be_cloth_is_refused() {
    let refused = |weighed: Weighed| weighed.areal(Units::Metric).unwrap_err();
    assert_eq!(refused(twin(0, 500.0)), WeighedError::Nothing);
    assert_eq!(refused(twin(1, 0.0)), WeighedError::Nothing);
    assert_eq!(
        refused(Weighed { scale: Mass::from_grams(900.0), ..twin(1, 500.0) }),
        WeighedError::TooCoarse
    );
    let [given, min, max] = ["2446 g/m²", "15 g/m²", "1400 g/m²"].map(String::from);
    assert_eq!(refused(twin(1, 10_000.0)), WeighedError::NoCloth { given, min, max });
}

/// Every measurement that is taken can stand in a plan: its range lies within what the parameters allow.
#[test]
fn the_lightest_and_heaviest_cloth_can_be_planned_with() {
    for grams in [61.5, 5_700.0] {
        for scale in [0.0, 10.0] {
            let weighed = Weighed { scale: Mass::from_grams(scale), ..twin(1, grams) };
            let setting = weighed.areal(Units::Metric).unwrap().setting();
            for dial in [Parameter::WarpAreal, Parameter::WeftAreal] {
                let set = Settings::default().set(dial, setting, Units::Metric);
                assert!(set.is_ok(), "{grams} g, scale {scale} g: {set:?}");
            }
        }
    }
}

//! The drawings, as they were: each is kept as a picture that can be opened and looked at, in `vectors/kept/`.
use thrumhall::drawing::cuts::CutPicture;
use thrumhall::drawing::flows::Sums;
use thrumhall::drawing::hatch::{COUNT, TONES, by_lightness};
use thrumhall::drawing::rug_face::{Ink, Picture, Swatch};
use thrumhall::drawing::wall::Turn;
use thrumhall::drawing::warp_path::PathPicture;
use thrumhall::drawing::{bars, flows, frame, panels, qr, wall};
use thrumhall::optimize::bins::Piece;
use thrumhall::optimize::cutting::{Blocked, Sheet, Way};
use thrumhall::optimize::new_frame::{Corner, NewFrame, Wish};
use thrumhall::optimize::panels::{Size, USUAL_EASE, Wanted, piece_together};
use thrumhall::optimize::rods::to_buy;
use thrumhall::planning::colour::Hex;
use thrumhall::planning::pattern::Face;
use thrumhall::planning::warp::nail_rows::NailRows;
use thrumhall::planning::warp::winding::{Nail, Winding};
use thrumhall::planning::{AtRod, Band, Plan, RugSpec, WovenFrom};
use thrumhall::units::{Length, Mass, Units};

use crate::planning::{frame as nails, inches, plan, small};
use crate::support::kept::same_text;

fn same(name: &str, svg: &str) {
    same_text(&format!("{name}.svg"), svg);
}

fn palette() -> Vec<Swatch> {
    let colours = [
        ("Cream", "#f4ead5"),
        ("Rust & red", "#a6431f"),
        ("Navy", "#1d2b53"),
        ("Moss", "#5b6b3a"),
        ("Sand", "#d9c39a"),
        ("Slate", "#556270"),
        ("Plum", "#5d3a5a"),
        ("White", "#ffffff"),
        ("Black", "#111111"),
    ];
    colours.map(|(name, hex)| Swatch { name: name.to_owned(), hex: Hex::parse(hex).unwrap() }).to_vec()
}

fn band(height: f64, colours: [u16; 2], strip: Option<f64>) -> Band {
    Band { height: inches(height), colours, strip: strip.map(inches), chart: None }
}

fn drawn(plan: &Plan, face: Face, ink: Ink) -> String {
    let palette = palette();
    let (pattern, length, width) = (&plan.pattern, plan.length, plan.width);
    Picture { pattern, length, width, palette: &palette, face, ink, id: "rug" }.svg().unwrap()
}

fn face(name: &str, plan: &Plan, face: Face, ink: Ink) {
    same(name, &drawn(plan, face, ink));
}

/// Lightness by CIELAB (ISO/CIE 11664-4): what is lighter on the rug is never darker in black and white, on the page nor on paper.
#[test]
fn hatches_follow_the_lightness_of_the_cloth() {
    let hexes = |colours: &[u32]| colours.iter().map(|hex| Hex::rgb(*hex)).collect::<Vec<_>>();
    let all = palette().iter().map(|swatch| swatch.hex).collect::<Vec<_>>();
    let many = (0..40).map(|n| Hex::rgb(0x06_05_04 * ((n * 17) % 40))).collect::<Vec<_>>();
    for colours in [
        all,
        hexes(&[0xff_ff_ff, 0]),
        hexes(&[0x80_80_80]),
        hexes(&[0x11_11_11, 0x12_12_12, 0x13_13_13]),
        many,
        vec![],
    ] {
        let taken = by_lightness(&colours);
        assert_eq!(taken.len(), colours.len());
        for (one, first) in colours.iter().zip(&taken) {
            for (other, second) in colours.iter().zip(&taken) {
                if one.lab().parts()[0] > other.lab().parts()[0] {
                    assert!(TONES[*first] <= TONES[*second], "{one} takes {first}, {other} takes {second}");
                }
            }
        }
        let mut apart = taken.clone();
        apart.sort_unstable();
        apart.dedup();
        assert_eq!(apart.len(), colours.len().min(COUNT), "as many hatches as there can be");
    }
    let ends = by_lightness(&hexes(&[0xff_ff_ff, 0]));
    assert_eq!((TONES[ends[0]], TONES[ends[1]]), (0.0, 1.0), "white is left white, black is all black");
}

#[test]
fn rug_faces() {
    let striped = RugSpec {
        bands: vec![
            band(1.0, [2, 2], Some(0.75)),
            band(12.0, [0, 1], None),
            band(6.0, [1, 2], None),
            band(12.0, [2, 0], None),
        ],
        ..RugSpec::plain(small())
    };
    let figured = RugSpec {
        bands: vec![band(14.0, [7, 8], None), band(15.0, [3, 4], None)],
        at_rod: AtRod::Trade,
        unit_size: 3,
        from: WovenFrom::BothEnds,
        ..RugSpec::plain(small())
    };
    let kept = RugSpec { at_rod: AtRod::Keep, ..figured.clone() };
    // A strip so fine on a rug so large that not every row can be drawn.
    let fine = RugSpec {
        bands: vec![band(50.0, [5, 6], None), band(54.0, [6, 0], None)],
        strip_width: inches(0.5),
        unit_size: 1,
        ..RugSpec::plain(nails(60.0, 106.0, 200))
    };
    let [striped, figured, kept, fine] = [striped, figured, kept, fine].map(|spec| plan(&spec));
    face("striped-front", &striped, Face::Front, Ink::Colour);
    face("striped-back", &striped, Face::Back, Ink::Colour);
    face("striped-hatched", &striped, Face::Front, Ink::Hatch);
    face("figured-front", &figured, Face::Front, Ink::Colour);
    face("figured-hatched", &figured, Face::Back, Ink::Hatch);
    face("kept-front", &kept, Face::Front, Ink::Hatch);
    // Too large to keep: its length and its SHA-256.
    let svg = drawn(&fine, Face::Front, Ink::Colour);
    same_text("fine-front.txt", &format!("{} {}\n", svg.len(), thrumhall::secrets::secret_hash(&svg)));
}

#[test]
fn warp_paths() {
    let left_out = vec![Nail { far: false, number: 5 }, Nail { far: true, number: 9 }];
    let cases = [
        ("plain", small(), NailRows::Facing, Winding::default()),
        (
            "doubled",
            small(),
            NailRows::Facing,
            Winding { doubled: true, extra_wraps: 1, ..Winding::default() },
        ),
        ("second", small(), NailRows::Facing, Winding { every: 2, left_out, ..Winding::default() }),
        (
            "set-off",
            nails(24.0, 16.0, 25),
            NailRows::SetOff { far_nails: 24, by: Some(inches(0.5)) },
            Winding::default(),
        ),
    ];
    let cases = cases.into_iter().chain([
        ("many", nails(60.0, 16.0, 180), NailRows::Facing, Winding::default()),
        ("few", nails(12.0, 14.0, 10), NailRows::Facing, Winding::default()),
    ]);
    for (name, frame, rows, winding) in cases {
        let spec = RugSpec { rows: rows.clone(), winding, ..RugSpec::plain(frame) };
        let planned = plan(&spec);
        let places = rows.places(&spec.frame, Units::Inches).unwrap();
        for (side, face) in [("front", Face::Front), ("back", Face::Back)] {
            let (path, span) = (&planned.warp.way, planned.warp.span);
            let picture = PathPicture { path, places: &places, span, face, id: "way" };
            same(&format!("way-{name}-{side}"), &picture.svg());
        }
    }
}

#[test]
fn frames_bars_and_panels() {
    let usual = Wish::usual(inches(18.0), inches(33.0));
    let staggered = Wish { staggered: true, corner: Corner::Butt, ..Wish::usual(inches(24.0), inches(44.0)) };
    for (name, wish) in [("frame", usual), ("frame-staggered", staggered)] {
        let built = NewFrame::of(&wish, Units::Inches).unwrap();
        same(name, &frame::svg(&built, &wish, Units::Inches, "frame"));
    }
    let piece = |length: f64, count| Piece { length: inches(length), count };
    let kerf = Length::millimetres(2.0);
    let buy = to_buy(&[piece(36.0, 4), piece(21.5, 5), piece(47.0, 2)], kerf).unwrap();
    same("bars", &bars::svg(&buy.cutting.bars, &buy.stock, kerf, Units::Metric, "bars"));

    let size = |width: f64, length: f64| Size { width: inches(width), length: inches(length) };
    for (name, wide, long) in [("panels", 54.0, 64.0), ("panels-two", 36.0, 32.0)] {
        let wanted = Wanted {
            size: size(wide, long),
            tolerance: inches(1.0),
            ease: USUAL_EASE,
            most: 12,
            narrower: false,
        };
        let arrangement =
            piece_together(&[size(18.0, 32.0), size(24.0, 43.0)], &wanted, Units::Inches).unwrap();
        let names = ["S < small".to_owned(), "L & large".to_owned()];
        same(name, &panels::svg(&arrangement, &names, Units::Inches, "panels"));
    }
}

#[test]
fn cuts() {
    let stain = |along: (f64, f64), across: (f64, f64)| Blocked {
        along: (inches(along.0), inches(along.1)),
        across: (inches(across.0), inches(across.1)),
    };
    let flat = Sheet::flat(inches(96.0), inches(66.0), inches(1.0));
    let fitted = Sheet {
        corners: inches(9.0),
        stains: vec![stain((40.0, 50.0), (30.0, 33.0)), stain((5.0, 9.0), (50.0, 60.0))],
        ..Sheet::flat(inches(92.0), inches(72.0), inches(0.5))
    };
    for (name, sheet, way) in [
        ("cut-straight", &flat, Way::Straight),
        ("cut-on", &flat, Way::Continuous),
        ("cut-fitted", &fitted, Way::Straight),
        ("cut-fitted-on", &fitted, Way::Continuous),
    ] {
        let width = inches(3.0);
        let strips = sheet.cut(way, width, inches(12.0)).strips;
        let picture = CutPicture {
            sheet,
            strips: &strips,
            width,
            first: 7,
            name: "Sheet 3 < 4",
            units: Units::Inches,
            id: "cut",
        };
        same(name, &picture.svg());
    }
}

#[test]
fn the_class() {
    let named = |names: &[&str]| names.iter().map(|name| (*name).to_owned()).collect::<Vec<_>>();
    let turn = |frame, (from, to), label: &str, out, changed| Turn {
        frame,
        from,
        to,
        label: label.to_owned(),
        out,
        changed,
    };
    let turns = [
        turn(0, (0, 1), "Ana Reed: Low tide", true, false),
        turn(0, (2, 3), "Ben", false, true),
        turn(1, (1, 1), "Somebody of a very long name: Breakwater at night", false, true),
        turn(2, (0, 3), "Cleo <&> Dee", true, true),
    ];
    let svg = wall::svg(
        &named(&["S1, 18 in", "S2 & more", "L1"]),
        &named(&["Wed 7 Oct", "Wed 14 Oct", "Wed 21 Oct", "Wed 28 Oct"]),
        &turns,
        "the-wall 1",
    );
    same("wall", &svg);
    let grams = |grams: f64| Mass::from_grams(grams);
    let sums = |came, rugs, wash, scrap, counted| Sums {
        came: grams(came),
        rugs: grams(rugs),
        wash: grams(wash),
        scrap: grams(scrap),
        counted: grams(counted),
    };
    let lines = [
        ("Harbour hotel".to_owned(), sums(9_000.0, 2_500.0, 400.0, 150.0, 50.0)),
        ("Attic & cellar".to_owned(), sums(4_000.0, 0.0, 0.0, 0.0, -120.0)),
        ("Nothing".to_owned(), sums(0.0, 0.0, 0.0, 0.0, 0.0)),
    ];
    same("flows", &flows::svg(&lines, Units::Inches, "flows"));
    same("code", &qr::svg("http://rugs.example/loans/1").unwrap());
}

//! What must hold of every paper: no text over another, none in the margin, whatever the names and however many the bands.
use proptest::prelude::*;
use thrumhall::drawing::wall::Turn;
use thrumhall::optimize::new_frame::Wish;
use thrumhall::pdf::{
    ChangeTape, Coloured, Grid, Label, Labels, MARGIN, NailRow, NailTemplate, Paper, ReadingCard, Size,
    Target, TextBox, WallSheet, WarpCard,
};
use thrumhall::units::{Length, Units};

use crate::support::papers::{Sample, USUAL, sample, usual};

const SIZES: [Size; 2] = [Size::A4, Size::Letter];

/// The longest name that a form takes, one that runs from right to left, one with marks over its letters, and one without
/// a blank to break it at.
fn names() -> [String; 5] {
    [
        "Tide".to_owned(),
        "The rug that everybody calls the one beside the stove in the net loft, though it never was there, by and by so"
            .to_owned(),
        "שטיח של שרה בת־אליעזר מן הנמל הישן".to_owned(),
        "سجادة المرفأ القديم".to_owned(),
        "Ẅëřñẽŕ".repeat(17),
    ]
}

/// No text over another and none outside the margins, on any page.
#[track_caller]
fn in_order(paper: &mut Paper, size: Size, landscape: bool, margin: f64) {
    paper.feet();
    let (short, long) = size.sides();
    let (wide, high) = if landscape { (long, short) } else { (short, long) };
    let texts: Vec<TextBox> =
        paper.sheet.texts().into_iter().filter(|text| !text.says.trim().is_empty()).collect();
    assert!(!texts.is_empty());
    for text in &texts {
        let [left, top, right, bottom] = text.area;
        assert!(
            left >= margin - 0.01
                && top >= margin - 0.6
                && right <= wide - margin + 0.35
                && bottom <= high - margin + 0.01,
            "{text:?} leaves the page of {wide} × {high}"
        );
    }
    for (n, one) in texts.iter().enumerate() {
        for other in texts[n + 1..].iter().filter(|other| other.page == one.page) {
            let (a, b) = (one.area, other.area);
            let across = a[2].min(b[2]) - a[0].max(b[0]);
            let down = a[3].min(b[3]) - a[1].max(b[1]);
            assert!(across <= 0.3 || down <= 0.3, "{one:?} lies over {other:?}");
        }
    }
}

/// A rug of so many bands in as many colours.
fn many(bands: usize, name: &str, weaver: &str) -> Sample {
    let height = 32.0 / bands as f64;
    let colours: Vec<String> = (0..bands).map(|n| format!("{name} {n}")).collect();
    let colours: Vec<&str> = colours.iter().map(String::as_str).collect();
    let bands: Vec<_> = (0..bands as u16).map(|n| (height, [n, (n + 1) % bands as u16])).collect();
    sample((name, weaver), USUAL, &bands, &colours)
}

#[test]
fn a_usual_card_is_one_page_on_either_paper() {
    for size in SIZES {
        let one = usual(1);
        let mut paper = one.card().paper(size, false).unwrap();
        assert_eq!(paper.sheet.pages(), 1);
        in_order(&mut paper, size, false, MARGIN);
        let mut large = one.card().paper(size, true).unwrap();
        assert!(large.sheet.pages() > 1);
        in_order(&mut large, size, false, MARGIN);
    }
}

#[test]
fn names_of_every_kind_and_many_bands_stay_in_order() {
    for size in SIZES {
        for name in names() {
            for bands in [1, 14] {
                let one = many(bands, &name.chars().take(40).collect::<String>(), &name);
                let one = Sample {
                    rug: {
                        let mut rug = one.rug;
                        rug.fields.name.clone_from(&name);
                        rug
                    },
                    ..one
                };
                for large in [false, true] {
                    in_order(&mut one.card().paper(size, large).unwrap(), size, false, MARGIN);
                    let reading = ReadingCard {
                        workroom: &name,
                        rug: &one.rug,
                        coloured: Coloured {
                            plan: &one.plan,
                            colours: &one.colours,
                            hatches: &[],
                            units: Units::Inches,
                        },
                        standing: &one.standing,
                        link: "https://rugs.example/rugs/1",
                        printed: "Wednesday 7 October 2026",
                    };
                    in_order(&mut reading.paper(size, large).unwrap(), size, false, MARGIN);
                }
                in_order(&mut tape(&one, &name).paper(size).unwrap(), size, false, MARGIN);
            }
        }
    }
}

/// Narrow stripes, up to the most bands that a rug may have: far more than a lane or a face has room for labels.
#[test]
fn stripes_stay_in_order() {
    for size in SIZES {
        for bands in [40, 200] {
            let one = many(bands, "sea", "Nessa Thole");
            for large in [false, true] {
                in_order(&mut one.card().paper(size, large).unwrap(), size, false, MARGIN);
            }
            in_order(&mut tape(&one, "Stripes").paper(size).unwrap(), size, false, MARGIN);
        }
        // All of them in a hand's breadth, where one lane has to show them.
        let mut bands: Vec<_> = (0..40_u16).map(|n| (0.125, [n % 2, n % 2])).collect();
        bands.push((27.0, [2, 2]));
        let one = sample(("Stripes", "Nessa Thole"), USUAL, &bands, &["cream", "rust", "navy"]);
        in_order(&mut one.card().paper(size, false).unwrap(), size, false, MARGIN);
        in_order(&mut tape(&one, "Stripes").paper(size).unwrap(), size, false, MARGIN);
    }
}

fn tape<'a>(one: &'a Sample, name: &'a str) -> ChangeTape<'a> {
    ChangeTape {
        name,
        foot: "Saltern Row Workroom. Revision 3 of the plan.",
        plan: &one.plan,
        colours: &one.colours,
        hatches: &[],
        targets: &[],
        link: Some("https://rugs.example/rugs/1"),
        units: Units::Inches,
    }
}

#[test]
fn a_tape_shows_each_band_and_each_meeting_once() {
    let one = usual(1);
    let targets =
        Target::of(&one.plan, &[0, 20, 20, 60, one.plan.weft.rows], |slot| format!("meeting {}", slot + 1));
    assert_eq!(targets.iter().map(|target| target.rows).collect::<Vec<_>>(), [20, 60, one.plan.weft.rows]);
    assert_eq!(targets[2].place, one.plan.length);
    for size in SIZES {
        let mut paper = ChangeTape { targets: &targets, ..tape(&one, "Tide") }.paper(size).unwrap();
        let said: Vec<String> = paper.sheet.texts().into_iter().map(|text| text.says).collect();
        let count = |what: &str| said.iter().filter(|text| text.starts_with(what)).count();
        assert_eq!(count("Band "), 5, "{said:?}");
        assert_eq!(count("End of meeting"), 3, "{said:?}");
        in_order(&mut paper, size, false, MARGIN);
    }
}

#[test]
fn a_template_of_two_metres_has_every_nail_once_and_in_its_place() {
    for size in SIZES {
        let (nails, pitch) = (141, Length::inches(9.0 / 16.0));
        let places: Vec<Length> = (0..nails).map(|n| Length::millimetres(20.0) + pitch * n).collect();
        let long = places[140] + Length::millimetres(20.0);
        assert!(long.mm() > 2000.0);
        let template = NailTemplate {
            name: "78 3/4 in × 33 in, 141 nails per end",
            rows: &[NailRow { name: "Both rows".into(), places }],
            long,
            begins: "the left end",
            span: Length::inches(33.0),
            diagonals: None,
            nail: Wish::usual(Length::inches(18.0), Length::inches(33.0)).nail,
            foot: "Nail template.",
            units: Units::Inches,
        };
        let mut paper = template.paper(size).unwrap();
        let numbers: Vec<usize> =
            paper.sheet.texts().iter().filter_map(|text| text.says.split(':').next()?.parse().ok()).collect();
        assert_eq!(numbers, (1..=141).collect::<Vec<_>>());
        in_order(&mut paper, size, false, MARGIN);
    }
}

#[test]
fn a_wall_of_any_size_keeps_its_names_apart() {
    for size in SIZES {
        for (frames, meetings) in [(1, 1), (14, 10), (30, 12)] {
            let names = names();
            let tags: Vec<String> = (0..frames).map(|n| format!("{} {n}", names[n % 3])).collect();
            let days: Vec<(String, bool)> =
                (0..meetings).map(|n| (format!("Wed {} Oct", n + 1), n == 2)).collect();
            let turns: Vec<Turn> = (0..frames)
                .map(|n| Turn {
                    frame: n,
                    from: n % meetings,
                    to: (n % meetings + 1).min(meetings - 1),
                    label: names[n % 5].clone(),
                    out: n % 2 == 0,
                    changed: n % 3 == 0,
                })
                .collect();
            let sheet = WallSheet {
                workroom: &names[2],
                term: &names[1],
                frames: &tags,
                meetings: &days,
                without: &names[..2],
                holds: frames > 1,
                turns: &turns,
                link: "https://rugs.example/terms/1/timetable",
                printed: "Timetable 3, printed Wednesday 7 October 2026.",
            };
            in_order(&mut sheet.paper(size).unwrap(), size, true, MARGIN);
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 48, ..ProptestConfig::default() })]

    /// Labels on any sheet that holds them stay within themselves, whatever they say.
    #[test]
    fn labels_stay_on_theirs(
        across in 1_u32..6, down in 1_u32..12, wide in 25.0_f64..90.0, high in 12.0_f64..70.0,
        left in 0.0_f64..20.0, top in 0.0_f64..20.0, between in 0.0_f64..5.0, skip in 0_u32..70, name in 0_usize..5,
    ) {
        let grid = Grid { across, down, wide, high, left, top, between, below: between };
        let name = &names()[name];
        let label = Label { big: name.clone(), lines: vec![name.clone(), "Percale".into()], spare: Some(name.clone()), link: Some("https://rugs.example/cloth/1".into()) };
        let labels = vec![label; 5];
        let sheet = Labels { title: "Tags", labels: &labels, grid, skip, edges: false };
        if grid.wrong(Size::A4).is_some() { prop_assert!(sheet.paper(Size::A4).is_err()) } else {
            let paper = sheet.paper(Size::A4).unwrap();
            for text in paper.sheet.texts() {
                let [x1, y1, x2, y2] = text.area;
                let column = ((x1 - left) / (wide + between)).floor();
                let row = ((y1 - top) / (high + between)).floor();
                let (cx, cy) = (left + column * (wide + between), top + row * (high + between));
                prop_assert!(x1 >= cx - 0.01 && x2 <= cx + wide + 0.35, "{:?} leaves its label", text);
                prop_assert!(y1 >= cy - 0.01 && y2 <= cy + high + 0.3, "{:?} leaves its label", text);
            }
        }
    }
}

#[test]
fn the_same_input_gives_the_same_file() {
    let one = usual(1);
    let pdf = one.card().pdf(Size::A4, false).unwrap();
    assert_eq!(pdf, one.card().pdf(Size::A4, false).unwrap());
    assert!(pdf.starts_with(b"%PDF-1.7"));
}

#[test]
fn thirty_cards_in_one_file_are_thirty_pages_and_small() {
    let rugs: Vec<Sample> = (0..30).map(usual).collect();
    let cards: Vec<WarpCard<'_>> = rugs.iter().map(Sample::card).collect();
    let pdf = WarpCard::all(&cards, "Warp cards", Size::Letter).unwrap();
    assert!(pdf.len() < 2_000_000, "{} bytes", pdf.len());
    let pages = String::from_utf8_lossy(&pdf).matches("/Type/Page/").count();
    let whole = cards[0].pdf(Size::Letter, false).unwrap();
    assert_eq!(pages, 30 * String::from_utf8_lossy(&whole).matches("/Type/Page/").count());
    assert!(pages >= 30);
    assert!(WarpCard::all(&[], "Warp cards", Size::A4).is_err());
}

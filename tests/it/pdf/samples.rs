//! One of each paper, of made-up things that never change, left where `tests/outside/paper.py` draws and compares them.
use std::path::Path;

use thrumhall::drawing::wall::Turn;
use thrumhall::pdf::{
    ChangeTape, Coloured, Grid, Label, Labels, LoanSlip, NailRow, NailTemplate, PullSheet, ReadingCard, Size,
    Target, WallSheet, WarpCard,
};
use thrumhall::planning::cloth::Kind;
use thrumhall::store::cloth::bundles::BundleState;
use thrumhall::store::cloth::promises::{Promise, PromiseState};
use thrumhall::store::cloth::share_outs::RugPart;
use thrumhall::store::cloth::yields::{Grown, Yield};
use thrumhall::store::frames::Condition;
use thrumhall::store::loans::Loan;
use thrumhall::store::{
    BundleId, Day, FrameId, Instant, LoanId, PersonId, PromiseId, RodId, RugId, ShareOutId,
};
use thrumhall::units::{Length, Mass, Units};

use crate::support::measures::{OUNCE, grams, mm, shows};
use crate::support::papers::{Sample, USUAL, sample, usual};
use crate::support::pdf::lanes::{bars, strips};
use crate::support::pdf::{Paper, Text};

const LINK: &str = "https://rugs.example/rugs/01a2182c-006c-758c-9350-0024192536ab";
const PRINTED: &str = "Wednesday 7 October 2026";

fn promise(tag: i64, weaver: &str, colour: &str) -> Promise {
    Promise {
        id: PromiseId::new(),
        share_out_id: ShareOutId::new(),
        part: RugPart {
            rug_id: RugId::new(),
            warp: tag % 2 == 0,
            colour_name: colour.into(),
            colour_hex: "#808080".into(),
        },
        rug: "Tide".into(),
        weaver: weaver.into(),
        bundle_id: BundleId::new(),
        tag,
        kind: Kind::Percale,
        bundle_colour: colour.into(),
        bundle_hex: "#808080".parse().unwrap(),
        bundle_state: BundleState::Ready,
        place: format!("Bay {tag}"),
        balance_mg: Mass::from_grams(2000.0),
        promised_mg: Mass::from_grams(250.0),
        state: PromiseState::Standing,
        locked: false,
        pulled_mg: None,
        pulled_at: None,
        back_mg: None,
        through_mg: Mass::from_grams(250.0),
        grown: Grown::default(),
        usable: Yield::default(),
    }
}

fn promises() -> [Promise; 3] {
    [
        promise(4, "Nessa Thole", "Cream"),
        promise(17, "Bram Oakum", "Rust"),
        promise(52, "Alba Netwright", "Navy"),
    ]
}

fn loan() -> Loan {
    Loan {
        id: LoanId::new(),
        frame_id: FrameId::new(),
        frame_tag: "S2".into(),
        span_nm: Length::inches(33.0),
        width_nm: Length::inches(18.0),
        nails: 33,
        frame_note: "One nail was set anew.".into(),
        rug_id: RugId::new(),
        rug: "Tide".into(),
        weaver_id: PersonId::new(),
        weaver: "Nessa Thole".into(),
        rod_id: Some(RodId::new()),
        rod_length_nm: Some(Length::inches(36.0)),
        rod_diameter_nm: Some(Length::inches(0.125)),
        rods: 2,
        due_on: Day("2026-11-25".parse().unwrap()),
        condition_out: Condition::Sound,
        handed_out_at: Instant("2026-10-07T18:30:00Z".parse().unwrap()),
        handed_out_by: "Ines Probe".into(),
        taken_back_at: None,
        taken_back_by: None,
        condition_back: None,
        rods_bent: 0,
        rods_missing: 0,
        note: String::new(),
    }
}

fn coloured(one: &Sample) -> Coloured<'_> {
    Coloured { plan: &one.plan, colours: &one.colours, hatches: &[], units: Units::Inches }
}

/// Fourteen bands of as many colours, and names that are hard to set.
fn hard() -> Sample {
    let colours: Vec<String> = (1..=14).map(|n| format!("sea colour number {n}")).collect();
    let colours: Vec<&str> = colours.iter().map(String::as_str).collect();
    let bands: Vec<_> = (0..14_u16).map(|n| (32.0 / 14.0, [n, (n + 5) % 14])).collect();
    sample(
        ("שטיח הנמל, the harbour rug with the very long name", "Žofie Šťastná-Ǿrsted"),
        USUAL,
        &bands,
        &colours,
    )
}

/// Leaves a paper for the outside checks, and reads it back.
fn write(name: &str, pdf: &[u8]) -> Paper {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("papers");
    std::fs::create_dir_all(&folder).unwrap();
    assert!(pdf.starts_with(b"%PDF-1.7") && pdf.len() < 120_000, "{name}: {} bytes", pdf.len());
    std::fs::write(folder.join(format!("{name}.pdf")), pdf).unwrap();
    Paper::read(pdf)
}

fn codes(paper: &Paper) -> Vec<&str> {
    paper.codes.iter().map(|code| code.says.as_str()).collect()
}

#[test]
fn one_of_each_paper_of_a_rug_is_written() {
    let (one, hard) = (usual(1), hard());
    let promises = promises();
    let card = WarpCard { promises: &promises[..2], ..one.card() };
    let plain = write("warp-card", &card.pdf(Size::A4, false).unwrap());
    let large = write("warp-card-large", &card.pdf(Size::Letter, true).unwrap());
    for paper in [&plain, &large] {
        bars(paper);
        assert_eq!(codes(paper), [card.link]);
        assert_eq!(
            paper.boxed("Warp, joined in one ball").0,
            one.plan.warp.length.p90.show_long(Units::Inches)
        );
        let cloth = paper.reads("Bundle ");
        let (warp, weft) = cloth.split_once("; ").unwrap();
        shows("warp", warp.strip_prefix("Bundle 4, cream, for the warp: ").unwrap(), 250.0, grams, OUNCE);
        let weft = weft.strip_prefix("Bundle 17, rust, for rust: ").unwrap().trim_end_matches('.');
        shows("weft", weft, 250.0, grams, OUNCE);
        assert!(
            paper
                .foot(0)
                .starts_with("Saltern Row Workroom. Revision 3 of the plan, printed Wednesday 7 Oct")
        );
    }
    let colours = |paper: &Paper| -> Vec<String> {
        let tables = paper.tables(&["Colour", "Strip to cut", "Low", "Expected", "Take", "Joins, about"]);
        tables.iter().flat_map(|table| table.column("Colour")).map(str::to_owned).collect()
    };
    assert_eq!(colours(&plain), ["A cream", "B rust", "C navy"]);
    let read = write("warp-card-hard", &hard.card().pdf(Size::Letter, false).unwrap());
    let named: Vec<String> =
        (0_u8..14).map(|n| format!("{} sea colour number {}", char::from(b'A' + n), n + 1)).collect();
    // In the order in which the bands bring them.
    let mut found = colours(&read);
    found.sort();
    assert_eq!(found, named);
    let lone = sample(("One band", "Nessa Thole"), USUAL, &[(32.0, [0, 0])], &["cream"]);
    let read = write("warp-card-one-band", &lone.card().pdf(Size::A4, false).unwrap());
    assert_eq!(colours(&read), ["A cream"]);
    let reading = |one, large| {
        let rug = |one: &Sample| one.rug.clone();
        let rug = rug(one);
        let card = ReadingCard {
            workroom: "Saltern Row Workroom",
            rug: &rug,
            coloured: coloured(one),
            standing: &one.standing,
            link: LINK,
            printed: PRINTED,
        };
        card.pdf(Size::A4, large).unwrap()
    };
    let read = write("reading-card", &reading(&one, false));
    let table = read.table(&["Rows", "First strand", "Other strand", "At your left", "Reaches", "Done"]);
    // Bands of 6, 4, 12, 4 and 6 in at four rows an inch.
    assert_eq!(
        table.column("Rows"),
        ["1–24 (24)", "25–40 (16)", "41–88 (48)", "89–104 (16)", "105–128 (24)"]
    );
    assert_eq!(table.column("First strand"), ["A cream", "B rust", "B rust", "B rust", "A cream"]);
    assert_eq!(table.column("Other strand"), ["B rust", "B rust", "C navy", "B rust", "B rust"]);
    assert_eq!(table.column("Reaches"), ["6 in", "10 in", "22 in", "26 in", "32 in"]);
    let read = write("reading-card-large", &reading(&hard, true));
    assert!(read.pages.len() > 1 && codes(&read) == [LINK]);
    let rows = one.plan.weft.rows;
    let tape = ChangeTape {
        name: "Tide",
        foot: "Saltern Row Workroom: Tide. Revision 3 of the plan.",
        plan: &one.plan,
        colours: &one.colours,
        hatches: &[],
        targets: &Target::of(&one.plan, &[0, 24, 61, 98, rows], |slot| format!("Wed {} Oct", 7 * slot)),
        link: Some(LINK),
        units: Units::Inches,
    };
    let read = write("change-tape", &tape.pdf(Size::A4).unwrap());
    bars(&read);
    assert!((strips(&read)[0].long() - 32.0 * 25.4).abs() < 0.01);
    let ends: Vec<&str> = read.all("End of ").iter().map(|text| text.says.as_str()).collect();
    let days = ["Wed 7 Oct", "Wed 14 Oct", "Wed 21 Oct", "Wed 28 Oct"];
    assert_eq!(ends, days.map(|day| format!("End of {day}")));
    assert_eq!(read.only("at 6 in, row 24").says, "at 6 in, row 24");
}

#[test]
fn one_of_each_paper_of_the_class_is_written() {
    let promises = promises();
    let sheet = PullSheet {
        workroom: "Saltern Row Workroom",
        promises: &promises,
        link: LINK,
        printed: PRINTED,
        units: Units::Inches,
    };
    let read = write("pull-sheet", &sheet.pdf(Size::Letter).unwrap());
    let table = read.table(&["Bundle", "Place", "Colour", "Cloth", "Take", "For", "Weighed", "Done"]);
    assert_eq!(table.column("Bundle"), ["4", "17", "52"]);
    assert_eq!(table.column("Colour"), ["Cream", "Rust", "Navy"]);
    let wanted = ["Nessa Thole, Tide: warp", "Bram Oakum, Tide: rust", "Alba Netwright, Tide: warp"];
    assert_eq!(table.column("For"), wanted);
    table.column("Take").into_iter().for_each(|mass| shows("take", mass, 250.0, grams, OUNCE));
    assert_eq!(codes(&read), [LINK]);
    let slip = LoanSlip {
        workroom: "Saltern Row Workroom",
        loan: &loan(),
        due: "Wednesday 25 November 2026",
        went: "Wed 7 Oct 2026, 18:30",
        came: None,
        link: LINK,
        printed: PRINTED,
        units: Units::Metric,
    };
    let read = write("loan-slip", &slip.pdf(Size::A4).unwrap());
    let (tag, size) = read.boxed("Frame");
    assert_eq!((tag.as_str(), size.as_str()), ("S2", "45.7 cm × 83.8 cm, 33 nails per end"));
    let (count, rods) = read.boxed("Edge rods");
    let (long, thick) = rods.split_once(" × ").unwrap();
    assert_eq!(count, "2");
    shows("rods", long, 914.4, mm, 0.5);
    shows("rods", thick, 3.175, mm, 0.5);
    assert_eq!(read.boxed("Due back on").0, "Wednesday 25 November 2026");
    read.only("Handed out Wed 7 Oct 2026, 18:30, by Ines Probe.");
    let frames: Vec<String> = (1..=14).map(|n| format!("S{n}")).collect();
    let meetings: Vec<(String, bool)> = (0..10).map(|n| (format!("Wed {} Oct", 7 + n), n == 4)).collect();
    let turn = |n: usize| Turn {
        frame: n,
        from: n % 7,
        to: n % 7 + 2,
        label: ["Nessa Thole", "Bram Oakum", "Žofie Šťastná-Ǿrsted the younger"][n % 3].into(),
        out: n.is_multiple_of(4),
        changed: n % 3 == 1,
    };
    let wall = WallSheet {
        workroom: "Saltern Row Workroom",
        term: "Ebb to Flood",
        frames: &frames,
        meetings: &meetings,
        without: &[],
        holds: true,
        turns: &(0..14).map(turn).collect::<Vec<_>>(),
        link: LINK,
        printed: "Timetable 3, printed Wednesday 7 October 2026.",
    };
    let read = write("wall-sheet", &wall.pdf(Size::A4).unwrap());
    let at =
        |says: &String| read.texts.iter().find(|text| text.says == *says).unwrap_or_else(|| panic!("{says}"));
    let down = |says: &String| (at(says).page, at(says).y);
    assert!(frames.windows(2).all(|pair| down(&pair[0]) < down(&pair[1])), "frames from the top down");
    let place = |text: &Text| (text.page, text.x);
    let days: Vec<&Text> = meetings.iter().map(|(day, _)| at(day)).collect();
    assert!(days.windows(2).all(|pair| place(pair[0]) < place(pair[1])), "meetings from left to right");
    // Five turns, and again where one goes on over the edge of a page.
    assert!(read.all("◆ Bram Oakum").len() >= 5);
}

#[test]
fn one_of_each_template_and_label_is_written() {
    let places: Vec<Length> = (0..33).map(|n| Length::inches(3.0) + Length::inches(9.0 / 16.0) * n).collect();
    let template = NailTemplate {
        name: "18 in × 33 in, 33 nails per end",
        rows: &[
            NailRow { name: "Upper row".into(), places: places.clone() },
            NailRow {
                name: "Lower row".into(),
                places: places[..32].iter().map(|p| *p + Length::inches(9.0 / 32.0)).collect(),
            },
        ],
        long: Length::inches(24.0),
        begins: "the left end of the end member",
        span: Length::inches(33.0),
        diagonals: None,
        nail: Length::inches(0.1),
        foot: "Saltern Row Workroom, printed Wednesday 7 October 2026.",
        units: Units::Inches,
    };
    let read = write("nail-template", &template.pdf(Size::Letter).unwrap());
    bars(&read);
    assert_eq!((strips(&read).len(), read.circles.len()), (2, 33 + 32));
    let tags: Vec<Label> = (95..=105)
        .map(|n| Label {
            big: n.to_string(),
            lines: vec!["Rust and cream".into(), "Percale sheet".into(), "2 lb 3½ oz".into()],
            spare: None,
            link: Some(format!("{LINK}{n}")),
        })
        .collect();
    let sheet = Labels {
        title: "Bundle tags",
        labels: &tags,
        grid: Grid::plain(Size::A4, 3, 7),
        skip: 4,
        edges: true,
    };
    let read = write("bundle-tags", &sheet.pdf(Size::A4).unwrap());
    for (tag, code) in tags.iter().zip(&read.codes) {
        assert_eq!(Some(&code.says), tag.link.as_ref());
        let beside = read.texts.iter().find(|text| text.says == tag.big).unwrap();
        let [left, top, side, _] = code.area;
        assert!(
            beside.x > left + side && (top..top + side).contains(&beside.y),
            "{} beside its code",
            tag.big
        );
    }
    assert_eq!(read.codes.len(), 11);
    let label = Label {
        big: "Tide".into(),
        lines: vec![
            "18 in × 32 in. Woven by Nessa Thole.".into(),
            "Rag strips of percale.".into(),
            "Wash delicate and cool, in a bag. Reshape flat, dry on a line.".into(),
        ],
        spare: None,
        link: None,
    };
    let sheet = Labels {
        title: "Care labels",
        labels: &vec![label; 10],
        grid: Grid::plain(Size::Letter, 2, 5),
        skip: 0,
        edges: true,
    };
    let read = write("care-labels", &sheet.pdf(Size::Letter).unwrap());
    assert_eq!(read.all("18 in × 32 in. Woven by Nessa Thole.").len(), 10);
}

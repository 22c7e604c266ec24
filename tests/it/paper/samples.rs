//! One of each paper, of made-up things that never change, left where `tests/outside/paper.py` draws and compares them.
use std::path::Path;

use thrumhall::class::wall_picture::Turn;
use thrumhall::craft::cloth::Kind;
use thrumhall::craft::{Length, Mass, Units};
use thrumhall::paper::{
    ChangeTape, Coloured, Grid, Label, Labels, LoanSlip, NailRow, NailTemplate, PullSheet, ReadingCard, Size,
    Target, WallSheet, WarpCard,
};
use thrumhall::store::bundles::BundleState;
use thrumhall::store::frames::Condition;
use thrumhall::store::loans::Loan;
use thrumhall::store::promises::{Promise, PromiseState};
use thrumhall::store::share_outs::RugPart;
use thrumhall::store::{
    BundleId, Day, FrameId, Instant, LoanId, PersonId, PromiseId, RodId, RugId, ShareOutId,
};

use crate::support::papers::{Sample, USUAL, sample, usual};

const LINK: &str = "https://rugs.example/rugs/01a2182c-006c-758c-9350-0024192536ab";
const PRINTED: &str = "Wednesday 7 October 2026";

fn promise(tag: i64, weaver: &str, colour: &str) -> Promise {
    Promise {
        id: PromiseId::fresh(),
        share_out_id: ShareOutId::fresh(),
        part: RugPart {
            rug_id: RugId::fresh(),
            warp: tag % 2 == 0,
            colour_name: colour.into(),
            colour_hex: "#808080".into(),
        },
        rug: "Tide".into(),
        weaver: weaver.into(),
        bundle_id: BundleId::fresh(),
        tag,
        kind: Kind::Percale,
        bundle_colour: colour.into(),
        bundle_hex: "#808080".parse().unwrap(),
        bundle_state: BundleState::Ready,
        balance_mg: Mass::from_grams(2000.0),
        promised_mg: Mass::from_grams(250.0),
        state: PromiseState::Standing,
        locked: false,
        pulled_mg: None,
        pulled_at: None,
        back_mg: None,
        through_mg: Mass::from_grams(250.0),
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
        id: LoanId::fresh(),
        frame_id: FrameId::fresh(),
        frame_tag: "S2".into(),
        span_nm: Length::inches(33.0),
        width_nm: Length::inches(18.0),
        nails: 33,
        frame_note: "One nail was set anew.".into(),
        rug_id: RugId::fresh(),
        rug: "Tide".into(),
        weaver_id: PersonId::fresh(),
        weaver: "Nessa Thole".into(),
        rod_id: Some(RodId::fresh()),
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
    Coloured { plan: &one.plan, colours: &one.colours, units: Units::Inches }
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

fn write(name: &str, pdf: &[u8]) {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join("papers");
    std::fs::create_dir_all(&folder).unwrap();
    assert!(pdf.starts_with(b"%PDF-1.7") && pdf.len() < 120_000, "{name}: {} bytes", pdf.len());
    std::fs::write(folder.join(format!("{name}.pdf")), pdf).unwrap();
}

#[test]
fn one_of_each_paper_of_a_rug_is_written() {
    let (one, hard) = (usual(1), hard());
    let promises = promises();
    let card = WarpCard { promises: &promises[..2], ..one.card() };
    write("warp-card", &card.pdf(Size::A4, false).unwrap());
    write("warp-card-large", &card.pdf(Size::Letter, true).unwrap());
    write("warp-card-hard", &hard.card().pdf(Size::Letter, false).unwrap());
    let plain = sample(("One band", "Nessa Thole"), USUAL, &[(32.0, [0, 0])], &["cream"]);
    write("warp-card-one-band", &plain.card().pdf(Size::A4, false).unwrap());
    let reading = |one, large| {
        let rug = |one: &Sample| one.rug.clone();
        let rug = rug(one);
        let card = ReadingCard {
            workroom: "Saltern Row Workroom",
            rug: &rug,
            coloured: coloured(one),
            link: LINK,
            printed: PRINTED,
        };
        card.pdf(Size::A4, large).unwrap()
    };
    write("reading-card", &reading(&one, false));
    write("reading-card-large", &reading(&hard, true));
    let rows = one.plan.weft.rows;
    let tape = ChangeTape {
        name: "Tide",
        foot: "Saltern Row Workroom: Tide. Revision 3 of the plan.",
        plan: &one.plan,
        colours: &one.colours,
        targets: &Target::of(&one.plan, &[0, 24, 61, 98, rows], |slot| format!("Wed {} Oct", 7 * slot)),
        link: Some(LINK),
        units: Units::Inches,
    };
    write("change-tape", &tape.pdf(Size::A4).unwrap());
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
    write("pull-sheet", &sheet.pdf(Size::Letter).unwrap());
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
    write("loan-slip", &slip.pdf(Size::A4).unwrap());
    let frames: Vec<String> = (1..=14).map(|n| format!("S{n}")).collect();
    let meetings: Vec<String> = (0..10).map(|n| format!("Wed {} Oct", 7 + n)).collect();
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
        turns: &(0..14).map(turn).collect::<Vec<_>>(),
        link: LINK,
        printed: "Timetable 3, printed Wednesday 7 October 2026.",
    };
    write("wall-sheet", &wall.pdf(Size::A4).unwrap());
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
        diagonal: None,
        nail: Length::inches(0.1),
        foot: "Saltern Row Workroom, printed Wednesday 7 October 2026.",
        units: Units::Inches,
    };
    write("nail-template", &template.pdf(Size::Letter).unwrap());
    let tags: Vec<Label> = (95..=105)
        .map(|n| Label {
            big: n.to_string(),
            lines: vec!["Rust and cream".into(), "Percale or muslin sheet".into(), "2 lb 3½ oz".into()],
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
    write("bundle-tags", &sheet.pdf(Size::A4).unwrap());
    let label = Label {
        big: "Tide".into(),
        lines: vec![
            "18 in × 32 in. Woven by Nessa Thole.".into(),
            "Rag strips of percale.".into(),
            "Wash delicate and cool, in a bag. Reshape flat, dry on a line.".into(),
        ],
        link: None,
    };
    let sheet = Labels {
        title: "Care labels",
        labels: &vec![label; 10],
        grid: Grid::plain(Size::Letter, 2, 5),
        skip: 0,
        edges: true,
    };
    write("care-labels", &sheet.pdf(Size::Letter).unwrap());
}

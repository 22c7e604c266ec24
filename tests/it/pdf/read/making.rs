//! Papers of one rug that go with its making, read back: the row tally, the cutting and the sewing plan, exhibition labels.
use super::class::{Class, ORIGIN};
use super::{AUCKLAND, is_of_size, pages_are_numbered};
use crate::support::measures::{INCH, STRIP, mm, shows};

/// The squares of the tally: four sides of one length.
fn squares(paper: &crate::support::pdf::Paper) -> usize {
    let side = |s: &&crate::support::pdf::Stroke| {
        let [x1, y1, x2, y2] = s.ends;
        (y1 - y2).abs() < 0.01 && ((x2 - x1).abs() - 4.4).abs() < 0.05
    };
    paper.strokes.iter().filter(side).count() / 2
}

#[tokio::test]
async fn the_tally_has_a_box_for_each_row_in_fives_and_those_woven_are_crossed() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    for n in [0, 1] {
        let (path, rows) =
            (class.rugs[n].path.clone(), class.rugs[n].plan()["weft"]["rows"].as_u64().unwrap());
        let paper = class.paper(&format!("{path}/tally.pdf?size=a4")).await;
        is_of_size(&paper, "a4");
        pages_are_numbered(&paper);
        assert_eq!(squares(&paper), rows as usize, "{}", class.rugs[n].name);
        for row in (5..=rows).step_by(5) {
            assert!(paper.texts.iter().any(|text| text.says == row.to_string()), "row {row} has no number");
        }
        let crossed = |paper: &crate::support::pdf::Paper| {
            let slanted = |s: &&crate::support::pdf::Stroke| {
                (s.ends[1] - s.ends[3]).abs() > 4.0 && (s.ends[0] - s.ends[2]).abs() > 4.0
            };
            paper.strokes.iter().filter(slanted).count() / 2
        };
        assert_eq!(crossed(&paper), 0);
        if n == 0 {
            let colours = paper.all("White and Navy: rows 1–48, to 12 in");
            assert_eq!(colours.len(), 1, "{}", paper.said());
            class.hand_out(0, "2026-10-21").await;
            let page = class.staff.get(&format!("{path}/log")).await.is(200);
            let key = page.field("key");
            class.staff.post(&format!("{path}/log"), &[("key", key.as_str()), ("rows", "7")]).await.is(303);
            let paper = class.paper(&format!("{path}/tally.pdf?size=letter")).await;
            assert_eq!(crossed(&paper), 7);
        }
    }
}

#[tokio::test]
async fn the_winding_and_cutting_plan_has_the_ball_the_cuts_and_where_each_tenth_strand_is() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let (path, plan) = (class.rugs[0].path.clone(), class.rugs[0].plan());
    let asked = "asked=yes&part=warp&wanted=60+yd&strip=1.5+in&join=2+in&least=12+in&way=cut&lot-1-count=3&lot-1-length=96+in&lot-1-width=66+in&lot-1-hem=1+in";
    let screen = class.staff.get(&format!("{path}/sheets?{asked}")).await.is(200);
    let pdf = screen.attr("a[href*='sheets.pdf'][href$='size=a4']", "href");
    let paper = class.paper(&pdf).await;
    is_of_size(&paper, "a4");
    pages_are_numbered(&paper);
    paper.only("Ana Reed: Low tide, the warp");
    let (ball, _) = paper.boxed("Warp, joined in one ball");
    shows(
        "ball",
        &ball,
        plan["warp"]["length_mm"]["take"].as_f64().unwrap_or_else(|| panic!("{}", plan["warp"])),
        mm,
        STRIP,
    );
    let heads = ["Strands", "You are at nail", "Of the ball, about", "Done"];
    let rows: Vec<Vec<String>> = paper.tables(&heads).into_iter().flat_map(|table| table.rows).collect();
    let strands = plan["warp"]["strands"].as_u64().unwrap();
    assert_eq!(rows.last().unwrap()[0], strands.to_string());
    assert_eq!(rows.len() as u64, strands.div_ceil(10));
    // Wound to and fro from near 1, strand s ends at a far nail where s is odd; a plain warp takes a nail more every other strand.
    assert_eq!(rows[0][..2], ["10".to_owned(), "near 6".to_owned()]);
    // The numbers of all strips that the page counts stand in the drawings.
    let count: u32 = screen.all(".stat b")[1].parse().unwrap();
    let drawn = paper
        .told
        .iter()
        .filter(|told| told.contains("strips of 1 1/2 in width") || told.contains("strips of 1½ in width"))
        .count();
    assert!(drawn >= 1, "{:?}", paper.told);
    assert!(paper.texts.iter().any(|text| text.says == "1") && count > 10);
    assert!(paper.codes[0].says.starts_with(&format!("{ORIGIN}{path}/sheets?part=warp")));
    // Wrong input is answered by the page, not by a paper.
    let wrong = pdf.replace("lot-1-count=3", "lot-1-count=none");
    class.staff.get(&wrong).await.is(422);
    class.staff.get("/cloth/sheets.pdf").await.is(422);
}

#[tokio::test]
async fn the_sewing_plan_sews_every_panel_in_and_its_seams_add_up() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let asked = "width=36+in&length=64+in&tolerance=1+in&most=12&strip_width=1.5+in&kind=percale";
    let page = class.staff.get(&format!("/rugs/any-size?{asked}")).await.is(200);
    let sewing = page.attr("a[href*='any-size/sewing']", "href");
    class.staff.get(&sewing).await.is(200);
    let paper = class.paper(&sewing.replace("sewing?", "sewing.pdf?size=letter&")).await;
    is_of_size(&paper, "letter");
    let table = paper.table(&["Seam", "Sew", "Runs", "Long", "Strip, with tails", "Done"]);
    // Four rugs of 18 × 32 in: two short seams, then the long one; all together as the page says.
    assert_eq!(table.rows.len(), 3, "{:?}", table.rows);
    let sum: f64 = table.column("Long").iter().map(|text| mm(text)).sum();
    let (all, _) = paper.boxed("Seams");
    assert!((sum - mm(&all)).abs() < INCH, "{sum} and {all}");
    let mut joined: Vec<Vec<usize>> = (1..=4).map(|n| vec![n]).collect();
    for sew in table.column("Sew") {
        let (one, other) = sew.split_once(" to ").unwrap();
        let side = |text: &str| text.split(" + ").map(|n| n.parse().unwrap()).collect::<Vec<usize>>();
        let (one, other) = (side(one), side(other));
        // What is sewn on was sewn together before.
        for part in [&one, &other] {
            let at = joined
                .iter()
                .position(|known| known == part)
                .unwrap_or_else(|| panic!("{part:?} of {joined:?}"));
            joined.remove(at);
        }
        let mut whole = [one, other].concat();
        whole.sort_unstable();
        joined.push(whole);
    }
    assert_eq!(joined, [vec![1, 2, 3, 4]]);
    // What can't be pieced leads back to the page that says so.
    let page = class.staff.get("/rugs/any-size/sewing?width=1+in&length=1+in").await.is(303);
    assert!(page.to().starts_with("/rugs/any-size?"));
}

#[tokio::test]
async fn exhibition_labels_name_the_rug_its_weaver_its_size_and_its_cloth() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    for size in ["a4", "letter"] {
        let paper = class.paper(&format!("{}/exhibition.pdf?size={size}", class.term)).await;
        is_of_size(&paper, size);
        for (rug, says) in class.rugs.iter().zip(["18 in × 32 in", "24 in × 39 in", "18 in × 32 in"]) {
            let name = paper.only(rug.name);
            assert!(name.bold && name.points > 30.0, "{name:?}");
            paper.only(rug.weaver);
            assert!(paper.texts.iter().any(|text| text.says.ends_with(says)), "{}", paper.said());
        }
        paper.only("Second-hand cloth (percale sheet and flannel sheet): grey, navy, rust");
    }
    let (path, name) = (class.rugs[0].path.clone(), class.rugs[0].name);
    let page = class.rugs[0].browser.get(&format!("{path}/exhibition")).await.is(200);
    assert_eq!(page.all(".card-out h2"), [name]);
    let own = crate::support::pdf::Paper::read(
        &class.rugs[0].browser.file(&format!("{path}/exhibition.pdf")).await,
    );
    assert_eq!(own.all("Low tide").len(), 1);
}

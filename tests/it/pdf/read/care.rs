//! Care labels, read back: each of its own rug.
use super::class::Class;
use super::{AUCKLAND, is_of_size};
use crate::support::pdf::{Paper, Text};

/// What stands on each label, in reading order: two across, told apart by the edges to cut along.
fn labels(paper: &Paper) -> Vec<String> {
    let mut areas: Vec<[f64; 4]> = Vec::new();
    for fill in paper.fills.iter().filter(|fill| fill.areas.len() == 4) {
        let [x, y, wide, _] = fill.areas[0];
        areas.push([x, y, x + wide, y + fill.areas[2][3]]);
    }
    let inside = |area: &[f64; 4], text: &&Text| {
        text.x > area[0] && text.right < area[2] && text.y > area[1] && text.y < area[3]
    };
    let said = |area: &[f64; 4]| {
        let texts: Vec<&str> =
            paper.texts.iter().filter(|text| inside(area, text)).map(|text| text.says.trim()).collect();
        texts.join(" ")
    };
    areas.iter().map(said).collect()
}

const WASH: &str = "Wash delicate and cool, in a bag. Reshape flat, dry on a line. No tumble dryer. Keep from fires and heaters.";

#[tokio::test]
async fn each_label_says_the_size_weaver_cloth_and_backing_of_its_rug() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let wanted = [
        format!(
            "Low tide 18 in × 32 in. Woven by Ana Reed. Rag strips of percale sheet warp and weft, second-hand; fibres as far as \
             known. {WASH} Non-slip backing, which may hold latex."
        ),
        format!(
            "High water 24 in × 39 in, fringed. Woven by Bo Lind. Rag strips: warp percale sheet, weft flannel sheet, second-hand; \
             fibres as far as known. {WASH} No backing: it slides on a smooth floor."
        ),
        format!(
            "Slack water 18 in × 32 in. Woven by Cy Marsh. Rag strips of percale sheet warp and weft, second-hand; fibres as far as \
             known. {WASH} No backing: it slides on a smooth floor."
        ),
    ];
    let paper = class.paper(&format!("{}/care.pdf?size=letter", class.term)).await;
    is_of_size(&paper, "letter");
    let mut found = labels(&paper);
    found.sort();
    let mut all = wanted.to_vec();
    all.sort();
    assert_eq!(found, all);
    // A rug alone fills a sheet.
    for (n, label) in wanted.iter().enumerate() {
        let path = class.rugs[n].path.clone();
        let paper = class.paper(&format!("{path}/care.pdf?size=a4")).await;
        is_of_size(&paper, "a4");
        assert_eq!(labels(&paper), vec![label.clone(); 10]);
        // The size is what the rug's own page calls woven.
        let page = class.staff.get(&path).await.is(200).text;
        let size = label.split(". ").next().unwrap().trim_start_matches(class.rugs[n].name);
        assert!(page.contains(size.split(',').next().unwrap().trim()), "{size}");
    }
}

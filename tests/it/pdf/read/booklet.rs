//! The guide's booklet, folded in thought, and the page of the first row for the wall.
use std::collections::BTreeMap;

use thrumhall::pdf::imposition;

use super::class::{Class, ORIGIN};
use super::{AUCKLAND, is_of_size};
use crate::support::pdf::{Paper, Text};

/// What is read page by page once sheets are printed on both sides, turned on the short edge, laid into each other and folded. Of a sheet
/// that lies across, the short edges are at the left and the right: behind the right half of its front is the left half of its back.
fn folded<T: Copy>(sides: &[[T; 2]]) -> Vec<T> {
    let sheets: Vec<&[[T; 2]]> = sides.chunks(2).collect();
    let outwards = sheets.iter().flat_map(|sheet| [sheet[0][1], sheet[1][0]]);
    let back = sheets.iter().rev().flat_map(|sheet| [sheet[1][1], sheet[0][0]]);
    outwards.chain(back).collect()
}

#[test]
fn folded_the_pages_follow_each_other() {
    for pages in 1..=80 {
        let sides = imposition(pages);
        let all = pages.next_multiple_of(4);
        assert_eq!(sides.len(), all / 2, "two half pages a side");
        assert_eq!(folded(&sides), (1..=all).collect::<Vec<_>>(), "{pages} pages");
    }
    // By hand: a sheet has 4 and 1 on its front, 2 and 3 on its back.
    assert_eq!(imposition(4), [[4, 1], [2, 3]]);
    assert!(imposition(0).is_empty());
}

/// What stands on each half of each page, from the top down.
fn halves(paper: &Paper) -> Vec<[Vec<&Text>; 2]> {
    let half = |page: usize, right: bool| {
        let middle = paper.pages[page][0] / 2.0;
        let mut texts: Vec<&Text> =
            paper.texts.iter().filter(|text| text.page == page && (text.x > middle) == right).collect();
        texts.sort_by(|a, b| a.y.total_cmp(&b.y));
        texts
    };
    (0..paper.pages.len()).map(|page| [half(page, false), half(page, true)]).collect()
}

#[tokio::test]
async fn the_booklet_has_a_step_on_each_half_page_in_the_order_that_folding_gives() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    for (n, size) in [(0, "letter"), (1, "a4"), (2, "letter")] {
        let path = class.rugs[n].path.clone();
        let page = class.staff.get(&format!("{path}/booklet")).await.is(200);
        assert!(page.text.contains("turned on the short edge"));
        let paper = class.paper(&format!("{path}/booklet.pdf?size={size}")).await;
        assert_eq!(paper.pages.len(), 10, "twenty half pages, two a side");
        let (long, short) = if size == "a4" { (297.0, 210.0) } else { (279.4, 215.9) };
        for [wide, high] in &paper.pages {
            assert!((wide - long).abs() < 0.01 && (high - short).abs() < 0.01, "{wide} × {high}");
        }
        let sides = halves(&paper);
        let places: Vec<[(usize, usize); 2]> = (0..sides.len()).map(|page| [(page, 0), (page, 1)]).collect();
        for (at, (page, half)) in folded(&places).into_iter().enumerate() {
            let texts = &sides[page][half];
            let middle = paper.pages[page][0] / 2.0;
            let (left, right) = if half == 0 { (0.0, middle) } else { (middle, paper.pages[page][0]) };
            for text in texts {
                assert!(
                    text.x >= left + 9.9 && text.right <= right - 9.5 && text.y < short - 9.9,
                    "{text:?} leaves its half"
                );
            }
            let foot = texts.last().unwrap();
            assert!(foot.says.ends_with(&format!("Page {} of 20.", at + 1)), "{foot:?}");
            if at == 0 {
                assert!(texts.iter().any(|text| text.says == "The guide" && text.bold));
                assert_eq!(texts.iter().filter(|text| text.says.parse::<u32>().is_ok()).count(), 19);
                continue;
            }
            let head = texts.iter().find(|text| text.bold).unwrap();
            assert!(head.says.starts_with(&format!("{at}. ")), "step {at}: {head:?}");
            for word in ["Right", "Wrong"] {
                assert_eq!(
                    texts.iter().filter(|text| text.says == word && text.bold).count(),
                    1,
                    "{word} in step {at}"
                );
            }
            assert!(texts.iter().all(|text| text.points >= 7.4), "step {at} is small");
        }
        assert_eq!(paper.told.iter().filter(|told| !told.starts_with("QR code")).count(), 19);
        assert_eq!(
            paper.codes.iter().map(|code| code.says.clone()).collect::<Vec<_>>(),
            [format!("{ORIGIN}{path}/guide")]
        );
        let crossings = class.rugs[n].plan()["warp"]["locking"]["near"]["units"].to_string();
        assert!(paper.texts.iter().any(|text| text.says == crossings), "{crossings} crossings");
    }
}

/// Source: published check 10.22 (ISO 9241-3, NUREG-0700): what is read from a metre has capitals of 5.8 mm, 23.1 points of Noto Sans.
#[tokio::test]
async fn the_first_row_is_one_page_that_is_read_from_a_metre() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let mut said = BTreeMap::new();
    for n in 0..3 {
        let path = class.rugs[n].path.clone();
        for size in ["letter", "a4"] {
            for begin in ["left", "right"] {
                let paper = class.paper(&format!("{path}/first-row.pdf?size={size}&begin={begin}")).await;
                is_of_size(&paper, size);
                assert_eq!(paper.pages.len(), 1);
                let high = paper.pages[0][1];
                let small: Vec<&Text> =
                    paper.texts.iter().filter(|text| text.points < 23.05 && text.y < high - 18.0).collect();
                assert!(small.is_empty(), "{small:?}");
                assert_eq!(paper.told.iter().filter(|told| told.starts_with("From the front")).count(), 2);
                let all = paper.said();
                assert!(all.contains(&format!("From the {begin} rod")), "{all}");
                let kept = all.contains("keep their places: the");
                said.insert((n, begin), kept);
            }
        }
        class.staff.get(&format!("{path}/first-row")).await.is(200);
    }
    assert!(said.values().any(|kept| *kept) && said.values().any(|kept| !*kept), "{said:?}");
}

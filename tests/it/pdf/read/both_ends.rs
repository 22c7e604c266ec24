//! The papers of a rug that is woven from both ends, with a nail left out: steps, tape, reading card and table name each row by
//! one number, counted from the end that it is woven from.
use super::AUCKLAND;
use super::class::{Class, steps};
use crate::support::forms;
use crate::support::pdf::Paper;

/// Bands of 8, 16 and 8 in, so that the middle one is woven in two halves of 8 in; the usual strip makes four rows an inch
/// (common practice, no source): 128 rows, 64 from each end.
const BANDS: [&str; 3] = ["1–32", "33–64, far end 33–64", "far end 1–32"];

async fn woven(class: &mut Class) -> String {
    let typed = [
        ("name", "Two tides"),
        ("term", class.term[7..].to_owned().leak() as &str),
        ("woven_from", "both ends"),
        ("left_out", "near 5, far 12"),
        ("band-1-height", "8 in"),
        ("band-1-first", "white"),
        ("band-1-other", "navy"),
        ("band-2-height", "16 in"),
        ("band-2-first", "rust"),
        ("band-2-other", "rust"),
        ("band-3-height", "8 in"),
        ("band-3-first", "navy"),
        ("band-3-other", "white"),
    ];
    let made = class.rugs[0].browser.post("/rugs", &forms::rug(&typed)).await;
    made.to().split('?').next().unwrap().to_owned()
}

/// All rows that a text names: `row 12`, `far-end row 12`, `row 12 there`, `row 12 from the far end`.
fn rows_named(texts: impl IntoIterator<Item = String>) -> Vec<(u32, bool)> {
    let mut found = Vec::new();
    for text in texts {
        for (at, _) in text.match_indices("row ") {
            let rest = &text[at + 4..];
            let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
            let Ok(row) = digits.parse() else { continue };
            let after = &rest[digits.len()..];
            let far = text[..at].ends_with("far-end ")
                || after.starts_with(" there")
                || after.starts_with(" from the far end");
            found.push((row, far));
        }
    }
    found
}

/// The texts of a paper, each paragraph's lines joined.
fn whole(paper: &Paper) -> String {
    paper.said().split_whitespace().collect::<Vec<_>>().join(" ")
}

#[tokio::test]
async fn a_row_has_one_number_on_every_paper() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let path = woven(&mut class).await;
    let screen = class.staff.get(&format!("{path}/card")).await.is(200);
    let card = class.paper(&format!("{path}/card.pdf?size=a4")).await;
    let reading = class.paper(&format!("{path}/reading.pdf?size=a4")).await;
    let tape = class.paper(&format!("{path}/tape.pdf?size=a4")).await;

    // The table of bands, on paper and on the page.
    let table = card.table(&["Band", "From", "To", "First strand", "Other strand", "Rows"]);
    assert_eq!(table.column("Rows"), BANDS);
    let on_screen = screen.all("td.num");
    for rows in BANDS {
        assert!(on_screen.iter().any(|cell| cell == rows), "{rows} in {on_screen:?}");
    }

    // The reading card: two halves, each counted from its end.
    let heads = ["Rows", "First strand", "Other strand", "At your left", "Reaches", "Done"];
    let halves = reading.tables(&heads);
    assert_eq!(halves.len(), 2);
    for half in &halves {
        // The first table is read on to the end of the page; each half is two lines.
        assert_eq!(half.column("Rows")[..2], ["1–32 (32)", "33–64 (32)"]);
        assert_eq!(half.column("Reaches")[..2], ["8 in", "16 in"]);
    }
    let said = whole(&reading);
    let halves = ["From the start to the middle", "The frame turned: from the far end to the middle"];
    assert!(halves.iter().all(|half| said.contains(half)), "{said}");

    // The tape: where each band begins as one comes to it, and the middle.
    let said = whole(&tape);
    for wanted in [
        "from 0 in, row 1",
        "from 8 in, row 33",
        "from 24 in, far-end row 33",
        "from 32 in, far-end row 1",
        "The halves meet at 16 in, row 64, far-end row 64",
    ] {
        assert!(said.contains(wanted), "{wanted:?} in {said}");
    }

    // The steps name no row beyond a half, and after the turn only rows from the far end; arrows of the tape agree with them.
    let steps = steps(&screen);
    let of_steps = rows_named(steps.iter().cloned());
    let turn = of_steps.iter().position(|(_, far)| *far).unwrap();
    assert!(of_steps[..turn].contains(&(64, false)), "{steps:?}");
    assert!(of_steps[turn..].iter().all(|(_, far)| *far), "{steps:?}");
    assert!(of_steps.iter().all(|(row, _)| (1..=64).contains(row)), "{steps:?}");
    assert_eq!(of_steps.last(), Some(&(64, true)));
    let arrows = tape.all("End of ");
    assert!(arrows.len() >= 2, "{}", tape.said());
    for arrow in arrows {
        let below: Vec<String> = tape
            .texts
            .iter()
            .filter(|text| text.page == arrow.page && (text.x - arrow.x).abs() < 0.01)
            .filter(|text| text.y > arrow.y && text.y < arrow.y + 7.5)
            .map(|text| text.says.clone())
            .take_while(|says| !says.starts_with("Band ") && !says.starts_with("End of "))
            .collect();
        let named = rows_named(below);
        let day = arrow.says.trim_start_matches("End of ");
        let of_day = rows_named(steps.iter().filter(|step| step.starts_with(day)).cloned());
        assert_eq!(named.first(), of_day.last(), "{day}: {steps:?}");
    }
}

#[tokio::test]
async fn nails_to_pass_by_stand_on_both_cards_and_their_pages() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let path = woven(&mut class).await;
    let wanted =
        "Nails to pass by when winding, counted from the left as seen from the front: near 5, far 12.";
    for paper in ["card", "reading"] {
        for print in ["", "&print=large"] {
            let read = class.paper(&format!("{path}/{paper}.pdf?size=letter{print}")).await;
            assert!(whole(&read).contains(wanted), "{paper}: {}", read.said());
        }
        let page = class.staff.get(&format!("{path}/{paper}")).await.is(200);
        assert!(page.all("article p").iter().any(|says| says == wanted), "{paper}");
    }
    // A rug over all nails has none.
    let plain = class.rugs[0].path.clone();
    assert!(!whole(&class.paper(&format!("{plain}/card.pdf")).await).contains("pass by"));
}

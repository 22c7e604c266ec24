//! The wall sheet, read back: each turn in the row of its frame, across the meetings that it lasts.
use super::class::{Class, ORIGIN};
use super::{AUCKLAND, is_of_size};
use crate::support::days;
use crate::support::pdf::{Paper, Text};

const DAYS: [&str; 7] =
    ["2026-10-14", "2026-10-21", "2026-10-28", "2026-11-04", "2026-11-11", "2026-11-18", "2026-11-25"];

/// A turn as it is drawn: frame, first and last meeting, what it says, whether it is hatched and whether its edge is thick.
#[derive(Debug, PartialEq)]
struct Turn {
    frame: String,
    from: usize,
    to: usize,
    says: String,
    hatched: bool,
    thick: bool,
}

/// The turns on all pages: what goes on over the edge of one is one turn.
fn turns(paper: &Paper, tags: &[&str], days: &[String]) -> Vec<Turn> {
    let middle = |text: &Text| f64::midpoint(text.x, text.right);
    let mut found: Vec<Turn> = Vec::new();
    for fill in paper.fills.iter().filter(|fill| fill.areas.len() == 4 && fill.grey < 0.1) {
        let [x, y, wide, weight] = fill.areas[0];
        let (right, below) = (x + wide, y + fill.areas[2][3]);
        let here = || paper.texts.iter().filter(|text| text.page == fill.page);
        let inside: Vec<&Text> =
            here().filter(|text| text.x > x && text.right <= right && text.y > y && text.y < below).collect();
        if inside.is_empty() {
            continue;
        }
        let names = inside.iter().filter(|text| text.points > 20.0);
        assert!(
            names.clone().count() == 1 && names.clone().all(|text| capitals(text) >= 14.0 - 0.01),
            "{inside:?}"
        );
        let frame =
            tags.iter().find(|tag| here().any(|text| text.says == **tag && (y..below).contains(&text.y)));
        let over = |n: &usize| here().any(|text| text.says == days[*n] && (x..right).contains(&middle(text)));
        let over: Vec<usize> = (0..days.len()).filter(over).collect();
        let small = inside.iter().filter(|text| text.points < 20.0);
        let says = small.map(|text| text.says.trim()).collect::<Vec<_>>().join(" ");
        let lines = paper.strokes.iter().filter(|line| {
            line.page == fill.page
                && line.ends[0] >= x - 0.1
                && line.ends[2] <= right + 0.1
                && line.ends[1] > y - 0.1
                && line.ends[1] < below + 0.1
        });
        let one = Turn {
            frame: (*frame.unwrap()).to_owned(),
            from: *over.first().unwrap(),
            to: *over.last().unwrap(),
            says,
            hatched: lines.filter(|line| !line.level()).count() > 5,
            thick: weight > 0.5,
        };
        match found.iter_mut().find(|turn| (&turn.frame, &turn.says) == (&one.frame, &one.says)) {
            Some(turn) => {
                assert_eq!(turn.to + 1, one.from, "a turn goes on where the page before ended");
                turn.to = one.to;
            }
            None => found.push(one),
        }
    }
    found
}

/// How high the capitals of a text are, in mm: 1462 of 2048 units of the size, by the OS/2 table of
/// Noto Sans (sCapHeight).
fn capitals(text: &Text) -> f64 {
    text.points * 25.4 / 72.0 * 1462.0 / 2048.0
}

#[tokio::test]
async fn each_turn_stands_in_its_frames_row_across_its_meetings() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    class.timetable().await;
    class.hand_out(1, "2026-11-18").await;
    let held = class.staff.get(&format!("{}/timetable", class.term)).await.is(200);
    let held = held.all("#places tbody tr");
    assert_eq!(held.len(), 3, "{held:?}");
    for size in ["a4", "letter"] {
        let paper = class.paper(&format!("{}/wall.pdf?size={size}", class.term)).await;
        let (short, long) = if size == "a4" { (210.0, 297.0) } else { (215.9, 279.4) };
        assert!(
            (paper.pages[0][0] - long).abs() < 0.01 && (paper.pages[0][1] - short).abs() < 0.01,
            "across"
        );
        let titles = paper.texts.iter().filter(|text| text.says == "Ebb to Flood");
        assert_eq!(titles.count(), paper.pages.len(), "the title stands on every page");
        let written = DAYS.map(days::short);
        let days: Vec<&Text> = written.iter().map(|day| paper.only(day)).collect();
        let place = |text: &Text| (text.page, text.x);
        assert!(days.windows(2).all(|pair| place(pair[0]) < place(pair[1])), "in the order of their days");
        assert!(paper.all(&days::short("2026-10-07")).is_empty(), "that meeting is over");
        let turns = turns(&paper, &["A-1", "K-1", "V-7"], &written);
        assert_eq!(turns.len(), held.len(), "{turns:?}");
        for (weaver, rug, out) in [
            ("Ana Reed", "Low tide", false),
            ("Bo Lind", "High water", true),
            ("Cy Marsh", "Slack water", false),
        ] {
            let turn =
                turns.iter().find(|turn| turn.says.ends_with(weaver)).unwrap_or_else(|| panic!("{turns:?}"));
            let line = held.iter().find(|line| line.contains(weaver)).unwrap();
            let wanted =
                format!("{} {weaver} {rug} {} to {}", turn.frame, written[turn.from], written[turn.to]);
            assert!(line.starts_with(&wanted), "{wanted}, but it is {line}");
            assert_eq!(turn.hatched, out, "{weaver}: hatched when the frame is with them");
            // Nobody was told yet; who has the frame needs no telling.
            assert_eq!((turn.thick, turn.says.starts_with("◆ ")), (!out, !out), "{turn:?}");
            let told = format!("{}: {weaver}, {} to {}", turn.frame, written[turn.from], written[turn.to]);
            assert!(paper.told.iter().any(|says| says.contains(&told)), "{told} in {:?}", paper.told);
        }
        assert!(paper.foot(0).starts_with("Tern Loft. Timetable 1, printed Thursday 8 October 2026."));
        assert_eq!(paper.codes[0].says, format!("{ORIGIN}{}/timetable", class.term));
    }
}

#[tokio::test]
async fn without_a_timetable_the_wall_shows_what_is_out_and_who_has_nothing() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    class.hand_out(1, "2026-11-05").await;
    let off = class.staff.get(&class.term.clone()).await.is(200);
    let off = off.attr("tr:nth-child(2) form[action$='/off']", "action");
    class.staff.post(&off, &[]).await.is(303);
    let paper = class.paper(&format!("{}/wall.pdf?size=a4", class.term)).await;
    assert!(paper.foot(0).contains("No timetable yet, printed Thursday 8 October 2026."));
    let says = paper.all("No timetable holds");
    assert!(says.len() == paper.pages.len() && says[0].says.contains("out today"), "{says:?}");
    let written = DAYS.map(days::short);
    let turns = turns(&paper, &["A-1", "K-1", "V-7"], &written);
    let [turn] = &turns[..] else { panic!("{turns:?}") };
    // Due on the Thursday after the meeting of 4 November.
    assert_eq!((turn.says.as_str(), turn.from, turn.to), ("Bo Lind", 0, 3), "{turn:?}");
    assert!(turn.hatched && !turn.thick, "{turn:?}");
    // Those who have none, in names as large; who has a frame isn't among them.
    let without = paper.texts.iter().find(|text| text.says.starts_with("Ana Reed")).unwrap();
    assert!(capitals(without) >= 14.0 - 0.01);
    let said = paper.paragraph(without);
    assert!(said.contains("Cy Marsh") && !said.contains("Bo"), "{said}");
    assert_eq!(paper.all("called off").len(), 1, "the meeting that was called off, once");
    let off = paper.only("called off");
    let day = paper.only(&written[0]);
    assert!((f64::midpoint(off.x, off.right) - f64::midpoint(day.x, day.right)).abs() < 0.1);
    let sides: Vec<[f64; 2]> = paper.pages.iter().map(|page| [page[1], page[0]]).collect();
    is_of_size(&Paper { pages: sides, ..paper }, "a4");
}

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

fn turns(paper: &Paper, frames: &[&Text], days: &[&Text]) -> Vec<Turn> {
    let middle = |text: &Text| f64::midpoint(text.x, text.right);
    let mut found = Vec::new();
    for fill in paper.fills.iter().filter(|fill| fill.areas.len() == 4 && fill.grey < 0.1) {
        let [x, y, wide, weight] = fill.areas[0];
        let (right, below) = (x + wide, y + fill.areas[2][3]);
        let inside: Vec<&Text> = paper
            .texts
            .iter()
            .filter(|text| text.x > x && text.right <= right && text.y > y && text.y < below)
            .collect();
        if inside.is_empty() {
            continue;
        }
        let frame = frames.iter().find(|frame| (y..below).contains(&(frame.y - 1.4))).unwrap();
        let over: Vec<usize> = (0..days.len()).filter(|n| (x..right).contains(&middle(days[*n]))).collect();
        let says = inside.iter().map(|text| text.says.trim()).collect::<Vec<_>>().join(" ");
        let lines = paper.strokes.iter().filter(|line| {
            line.ends[0] >= x - 0.1
                && line.ends[2] <= right + 0.1
                && line.ends[1] > y - 0.1
                && line.ends[1] < below + 0.1
        });
        found.push(Turn {
            frame: frame.says.clone(),
            from: *over.first().unwrap(),
            to: *over.last().unwrap(),
            says,
            hatched: lines.filter(|line| !line.level()).count() > 5,
            thick: weight > 0.5,
        });
    }
    found
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
        assert_eq!(paper.only("Ebb to Flood").says, "Ebb to Flood");
        let written = DAYS.map(days::short);
        let days: Vec<&Text> = written.iter().map(|day| paper.only(day)).collect();
        assert!(days.windows(2).all(|pair| pair[0].right < pair[1].x), "in the order of their days");
        assert!(paper.all(&days::short("2026-10-07")).is_empty(), "that meeting is over");
        let frames: Vec<&Text> = ["A-1", "K-1", "V-7"].iter().map(|tag| paper.only(tag)).collect();
        let turns = turns(&paper, &frames, &days);
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
        assert_eq!(paper.foot(0), "Tern Loft. Timetable 1, printed Thursday 8 October 2026.");
        assert_eq!(paper.codes[0].says, format!("{ORIGIN}{}/timetable", class.term));
    }
}

#[tokio::test]
async fn a_wall_without_a_timetable_says_so() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let paper = class.paper(&format!("{}/wall.pdf?size=a4", class.term)).await;
    assert!(paper.foot(0).contains("No timetable yet, printed Thursday 8 October 2026."));
    let portrait = [paper.pages[0][1], paper.pages[0][0]];
    is_of_size(&Paper { pages: vec![portrait], ..paper }, "a4");
}

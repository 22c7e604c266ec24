//! Loan slips and the tags of frames, read back.
use super::class::{Class, ORIGIN};
use super::cloth::{label, within};
use super::{AUCKLAND, LOS_ANGELES, is_of_size};

const GRID: &str =
    "across=3&down=7&wide=60+mm&high=36+mm&left=11+mm&top=12+mm&between=3+mm&below=2+mm&skip=0&edges=yes";

#[tokio::test]
async fn each_slip_says_whose_frame_with_which_rods_from_when_to_when() {
    for ((zone, now), went, today) in [
        (AUCKLAND, "Thu 8 Oct 2026, 11:30", "Thursday 8 October 2026"),
        (LOS_ANGELES, "Tue 6 Oct 2026, 20:15", "Tuesday 6 October 2026"),
    ] {
        let mut class = Class::new(zone, now).await;
        let loans = [class.hand_out(0, "2026-10-21").await, class.hand_out(1, "2026-11-04").await];
        let csv = class.staff.get("/loans.csv").await.is(200).table();
        for (n, tag, size, rods, due, due_day, note) in [
            (
                0,
                "K-1",
                "18 in × 33 in, 33 nails per end",
                "36 in × 1/8 in",
                "Wednesday 21 October 2026",
                "2026-10-21",
                "One nail was set anew.",
            ),
            (
                1,
                "A-1",
                "24 in × 44 in, 43 nails per end",
                "48 in × 1/8 in",
                "Wednesday 4 November 2026",
                "2026-11-04",
                "The far rail is split.",
            ),
        ] {
            let paper = class.paper(&format!("{}/slip.pdf?size=a4", loans[n])).await;
            let rug = &class.rugs[n];
            is_of_size(&paper, "a4");
            assert_eq!(paper.title, format!("Loan slip, frame {tag}"));
            // In two halves: the upper goes with the frame, the lower stays.
            let high = paper.pages[0][1];
            let half = |lower: bool| move |text: &&&crate::support::pdf::Text| (text.y > high / 2.0) == lower;
            let named = paper.all(rug.weaver);
            let says = |lower: bool| {
                named.iter().filter(half(lower)).map(|text| text.says.as_str()).collect::<Vec<_>>()
            };
            assert_eq!(says(false), [format!("{}, for the rug {}", rug.weaver, rug.name)]);
            assert_eq!(says(true), [format!("{}, for {}", rug.weaver, rug.name)]);
            assert_eq!(paper.pages.len(), 1);
            let below = paper.only(&format!("{tag} is out until {due}"));
            assert!(below.y > high / 2.0);
            assert!(paper.only(&format!("2 rods, {rods}")).y > below.y);
            assert!(paper.only(&format!("{went}, sound")).y > below.y);
            assert_eq!(paper.boxed("Frame"), (tag.to_owned(), size.to_owned()));
            assert_eq!(paper.boxed("Edge rods"), ("2".to_owned(), rods.to_owned()));
            assert_eq!(paper.boxed("Due back on"), (due.to_owned(), String::new()));
            assert_eq!(paper.reads("Handed out T"), format!("Handed out {went}, by Ines Probe."));
            assert_eq!(paper.reads("Condition: "), format!("Condition: sound. {note}"));
            let back = paper.all("Taken back");
            assert!(
                back.iter().all(|text| text.says == "Taken back, on"),
                "it is still out: only the line to write on"
            );
            paper.only("both rods, their ends covered");
            paper.only("Received");
            let codes: Vec<&str> = paper.codes.iter().map(|code| code.says.as_str()).collect();
            assert_eq!(codes, [format!("{ORIGIN}{}", loans[n])]);
            assert_eq!(paper.foot(0), format!("Tern Loft, printed {today}."));
            let row = csv.lines().find(|line| line.starts_with(&format!("{tag},"))).unwrap();
            let cells: Vec<&str> = row.split(',').collect();
            assert_eq!((cells[1], cells[2]), (rug.weaver, rug.name));
            assert_eq!((cells[5], cells[6]), (due_day, format!("2 of {rods}").as_str()));
            // The weaver's own print is the same.
            let path = format!("{}/slip.pdf?size=a4", loans[n]);
            let own = crate::support::pdf::Paper::read(&class.rugs[n].browser.file(&path).await);
            assert_eq!(own.said(), paper.said());
        }

        // Taken back: what came is on it, bent and missing apart.
        let path = format!("{}/take-back", loans[0]);
        let page = class.staff.get(&path).await.is(200);
        let key = page.field("key");
        let typed = [
            ("key", key.as_str()),
            ("condition", "worn"),
            ("rug", "finished"),
            ("rods_bent", "2"),
            ("rods_missing", "0"),
            ("note", ""),
        ];
        class.staff.post(&path, &typed).await.is(303);
        let paper = class.paper(&format!("{}/slip.pdf", loans[0])).await;
        is_of_size(&paper, "letter");
        assert_eq!(paper.reads("Taken back "), format!("Taken back {went}: worn, 2 rods bent, 0 missing."));
    }
}

#[tokio::test]
async fn each_frames_tag_has_its_size_and_its_code() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let paper = class.paper(&format!("/frames/tags.pdf?size=letter&{GRID}")).await;
    is_of_size(&paper, "letter");
    let csv = class.staff.get("/frames.csv").await.is(200).table();
    let order: Vec<&str> = csv.lines().skip(1).map(|line| line.split(',').next().unwrap()).collect();
    assert_eq!((order.len(), paper.codes.len()), (3, 3));
    for (n, tag) in order.into_iter().enumerate() {
        let size = if tag == "A-1" {
            "24 in × 44 in, 43 nails per end"
        } else {
            "18 in × 33 in, 33 nails per end"
        };
        let texts: Vec<_> = paper.texts.iter().filter(|text| within(label(n), text.x, text.y)).collect();
        let said: Vec<&str> = texts.iter().map(|text| text.says.trim()).collect();
        assert_eq!((said[0], said[1..].join(" ")), (tag, format!("{size} Tern Loft")));
        assert!(texts[0].bold && texts[0].points > 2.0 * texts[1].points);
        let code = paper.codes.iter().find(|code| within(label(n), code.area[0], code.area[1])).unwrap();
        let (_, path) = class.frames.iter().find(|frame| frame.0 == tag).unwrap();
        assert_eq!(code.says, format!("{ORIGIN}{path}"), "the code on {tag}");
    }
    let one = class.paper(&format!("/frames/tags.pdf?tag=V-7&size=a4&{GRID}")).await;
    assert_eq!((one.codes.len(), one.only("V-7").says.as_str()), (1, "V-7"));
    let (_, path) = class.frames.iter().find(|frame| frame.0 == "V-7").unwrap();
    assert_eq!(one.codes[0].says, format!("{ORIGIN}{path}"));
}

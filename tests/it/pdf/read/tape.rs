//! The change tape, read back: its lanes joined, each mark where it belongs, each word at its mark.
use super::class::{Class, ORIGIN, printed};
use super::{AUCKLAND, is_of_size, pages_are_numbered};
use crate::support::measures::{INCH, mm, shows};
use crate::support::pdf::lanes::{Strip, bars, strips};
use crate::support::pdf::{Paper, Text};

/// A label: the place that its line leads to, and its lines.
fn labels(paper: &Paper, strip: &Strip, begins: &str) -> Vec<(f64, Vec<String>)> {
    let mut found = Vec::new();
    for head in paper.all(begins) {
        if strip.place(head.page, head.x, head.y).is_none() {
            continue;
        }
        let lead = paper.strokes.iter().find(|line| {
            line.page == head.page
                && (line.ends[2] - head.x + 0.5).abs() < 0.05
                && (line.ends[3] - head.y).abs() < 0.8
                && line.ends[0] < line.ends[2] - 0.2
        });
        let lead = lead.unwrap_or_else(|| panic!("no line leads to {:?}", head.says));
        let place = strip.place(head.page, lead.ends[0], lead.ends[1]).unwrap();
        // Below its head a label goes on in type of the same size.
        let below = |text: &&Text| {
            text.page == head.page
                && (text.x - head.x).abs() < 0.01
                && text.y > head.y
                && text.y < head.y + 8.0
                && !text.says.starts_with("Band ")
                && !text.says.starts_with("End of ")
        };
        let mut lines = vec![head.says.clone()];
        let mut rest: Vec<&Text> = paper.texts.iter().filter(below).collect();
        rest.sort_by(|a, b| a.y.total_cmp(&b.y));
        lines.extend(rest.iter().map(|text| text.says.clone()));
        found.push((place, lines));
    }
    found
}

/// The thick lines at which bands begin.
fn lines(paper: &Paper, strip: &Strip) -> Vec<f64> {
    let thick = paper.fills.iter().filter(|fill| fill.areas.len() == 1);
    let thick =
        thick.filter(|fill| (fill.areas[0][2] - 15.0).abs() < 0.01 && (fill.areas[0][3] - 0.5).abs() < 0.01);
    thick.map(|fill| strip.place(fill.page, fill.areas[0][0], fill.areas[0][1] + 0.25).unwrap()).collect()
}

/// Each figure of the ruler stands at its inch.
fn ruler(paper: &Paper, strip: &Strip) {
    let mut inches = 0;
    for text in paper.texts.iter().filter(|text| (text.points - 7.0).abs() < 0.01) {
        let (Ok(inch), Some(place)) =
            (text.says.parse::<f64>(), strip.place(text.page, text.x, text.y - 0.9))
        else {
            continue;
        };
        assert!((place - inch * 25.4).abs() < 0.05, "the ruler’s {inch} stands at {place:.2} mm");
        let tick = paper.fills.iter().filter(|fill| fill.page == text.page).flat_map(|fill| &fill.areas);
        let mut tick =
            tick.filter(|area| (area[2] - 4.5).abs() < 0.01 && (area[1] + 0.1 - text.y + 0.9).abs() < 0.02);
        assert!(tick.next().is_some(), "no line stands at the ruler’s {inch}");
        inches += 1;
    }
    assert!(inches > 20, "the ruler has {inches} figures");
}

/// How many lines of hatching cross a strand's column of a lane between two heights below its top.
fn hatching(paper: &Paper, strip: &Strip, strand: f64, from: f64, to: f64) -> usize {
    let lane = strip.lanes[0];
    let (left, right) = (lane.left + 11.0 + 7.0 * strand, lane.left + 18.0 + 7.0 * strand);
    let crosses = |line: &&crate::support::pdf::Stroke| {
        let (x, y) =
            (f64::midpoint(line.ends[0], line.ends[2]), f64::midpoint(line.ends[1], line.ends[3]) - lane.top);
        line.page == lane.page && x > left + 0.5 && x < right - 0.5 && (from..to).contains(&y)
    };
    paper.strokes.iter().filter(crosses).count()
}

/// How far the weaving is at the end of each meeting, by the card’s page: the last row that its steps name.
fn rows_by_meeting(steps: &[String]) -> Vec<(String, u32)> {
    let mut found = Vec::new();
    for step in steps {
        let Some((_, row)) = step.rsplit_once("(row ") else { continue };
        let day: Vec<&str> = step.split(' ').take(3).collect();
        found.retain(|(before, _)| *before != day.join(" "));
        found.push((day.join(" "), row.split(')').next().unwrap().parse().unwrap()));
    }
    found
}

#[tokio::test]
async fn bands_and_meetings_stand_on_the_tape_where_they_are_on_the_rug() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    for (n, bands) in [
        (0, vec![(0.0, 1, "A/B", "A White / B Navy"), (12.0, 49, "A", "A White")]),
        (
            1,
            vec![
                (0.0, 1, "A", "A Grey"),
                (10.0, 0, "B/C", "B Navy / C Rust"),
                (30.0, 0, "C/A", "C Rust / A Grey"),
            ],
        ),
    ] {
        let (path, plan) = (class.rugs[n].path.clone(), class.rugs[n].plan());
        let long = [32.0, 39.0][n] * 25.4;
        let rows = plan["weft"]["rows"].as_f64().unwrap();
        let steps = super::class::steps(&class.staff.get(&format!("{path}/card")).await.is(200));
        let meetings = rows_by_meeting(&steps);
        assert!(meetings.len() >= 2, "{steps:?}");
        for size in ["a4", "letter"] {
            let paper = class.paper(&format!("{path}/tape.pdf?size={size}")).await;
            is_of_size(&paper, size);
            bars(&paper);
            pages_are_numbered(&paper);
            let strips = strips(&paper);
            assert_eq!(strips.len(), 1);
            let strip = &strips[0];
            assert!((strip.long() - long).abs() < 0.01, "joined it is {:.2} mm long", strip.long());
            ruler(&paper, strip);

            let found = labels(&paper, strip, "Band ");
            assert_eq!(found.len(), bands.len());
            let drawn = lines(&paper, strip);
            assert_eq!(drawn.len(), bands.len());
            for (at, ((place, says), (inches, row, letters, colours))) in found.iter().zip(&bands).enumerate()
            {
                assert!((place - inches * 25.4).abs() < 0.05, "{says:?} stands at {place:.2} mm");
                assert!(
                    (drawn[at] - inches * 25.4).abs() < 0.05,
                    "band {} begins at {:.2} mm",
                    at + 1,
                    drawn[at]
                );
                assert_eq!(says[0], format!("Band {}, {letters}", at + 1));
                assert_eq!(says[1], *colours);
                let (from, begins) = says[2].strip_prefix("from ").unwrap().split_once(", row ").unwrap();
                shows("where a band begins", from, inches * 25.4, mm, INCH);
                let row = if *row > 0 { *row } else { (inches * 25.4 / long * rows).round() as u32 + 1 };
                assert_eq!(begins, row.to_string(), "{says:?}");
            }

            // White is left white and navy is dense; grey, with which Bo begins in both strands, is between.
            let ruled = [0.0, 1.0].map(|strand| hatching(&paper, strip, strand, 4.0, 30.0));
            let right =
                if n == 0 { ruled[0] == 0 && ruled[1] > 20 } else { ruled[0] > 0 && ruled[0] == ruled[1] };
            assert!(right, "the strands of the first band: {ruled:?}");

            let found = labels(&paper, strip, "End of ");
            assert_eq!(found.len(), meetings.len(), "{found:?}");
            for ((place, says), (day, row)) in found.iter().zip(&meetings) {
                assert_eq!(says[0], format!("End of {day}"));
                let (at, rows_then) = says[1].strip_prefix("at ").unwrap().split_once(", row ").unwrap();
                assert_eq!(rows_then, row.to_string(), "{says:?}");
                shows(&says[0], at, *place, mm, INCH);
                let wanted = long * f64::from(*row) / rows;
                assert!((place - wanted).abs() < 4.0, "row {row} stands at {place:.1} mm, not {wanted:.1}");
            }
            assert!(
                found.windows(2).all(|pair| pair[0].0 < pair[1].0),
                "the tape begins where the weaving does"
            );
            let foot = paper.foot(0);
            let wanted = format!(
                "Tern Loft: {}, {}. Revision 1 of the plan, printed Thursday 8 October 2026.",
                class.rugs[n].name, class.rugs[n].weaver
            );
            assert!(foot.starts_with(&wanted), "{foot}");
            let head = format!("{} in woven, {} bands", [32, 39][n], bands.len());
            assert_eq!(paper.only(&head).says, head);
            let code = &paper.codes[0];
            assert!(code.says.starts_with(&format!("{ORIGIN}{path}?paper=1.")), "{}", code.says);
        }
    }
}

#[test]
fn a_tape_by_the_command_is_as_exact_and_cuts_no_figure_short() {
    for (size, units, rest) in
        [("a4", "metric", "21.1875 in: cream/rust"), ("letter", "inches", "21.1875 in: cream/rust")]
    {
        let pdf = printed(&[
            "paper",
            "change-tape",
            "--span",
            "33 in",
            "--width",
            "18 in",
            "--nails",
            "33",
            "--band",
            "10.8125 in: navy",
            "--band",
            rest,
            "--meetings",
            "5",
            "--units",
            units,
            "--size",
            size,
            "--out",
            "-",
        ]);
        let paper = Paper::read(&pdf);
        is_of_size(&paper, size);
        bars(&paper);
        let strip = &strips(&paper)[0];
        assert!((strip.long() - 32.0 * 25.4).abs() < 0.01, "{:.3}", strip.long());
        let bands = labels(&paper, strip, "Band ");
        assert!((bands[1].0 - 10.8125 * 25.4).abs() < 0.05, "{bands:?}");
        let (from, row) = bands[1].1[2].strip_prefix("from ").unwrap().split_once(", row ").unwrap();
        shows("where the second band begins", from, 10.8125 * 25.4, mm, INCH);
        assert_eq!(row, "44", "{bands:?}");
        assert!(paper.codes.is_empty(), "a plan that is kept nowhere has no page");
        let meetings = labels(&paper, strip, "End of meeting ");
        assert!(
            !meetings.is_empty() && meetings.iter().all(|(_, says)| !says[1].contains('…')),
            "{meetings:?}"
        );
    }
}

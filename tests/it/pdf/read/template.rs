//! Nail templates, read back: every nail of each row where it is to be driven, once the lanes are joined.
use super::class::{Class, printed};
use super::{AUCKLAND, is_of_size, pages_are_numbered};
use crate::support::measures::{mm, shows};
use crate::support::pdf::Paper;
use crate::support::pdf::lanes::{Strip, bars, strips};
use thrumhall::pdf::{NailRow, NailTemplate, Size};
use thrumhall::units::{Length, Units};

/// Where the crosses of a strip stand, each with the circle around it and, where it has one, its number beside.
fn nails(paper: &Paper, strip: &Strip) -> Vec<f64> {
    let mut places = Vec::new();
    for fill in paper.fills.iter().filter(|fill| fill.areas.len() == 2) {
        let [across, down] = [fill.areas[0], fill.areas[1]];
        if (across[2] - 20.0).abs() > 0.01 || (down[3] - 4.0).abs() > 0.01 {
            continue;
        }
        let (x, y) = (across[0] + 10.0, across[1] + 0.1);
        assert!((down[1] + 2.0 - y).abs() < 0.01 && (down[0] + 0.1 - x).abs() < 0.01, "a cross is crossed");
        let Some(place) = strip.place(fill.page, x, y) else { continue };
        let circle = paper.circles.iter().find(|circle| {
            circle.page == fill.page && (circle.x - x).abs() < 0.02 && (circle.y - y).abs() < 0.02
        });
        assert!(
            circle.is_some_and(|circle| circle.radius > 0.59),
            "no circle around a nail at {place:.2} mm"
        );
        places.push(place);
    }
    places.sort_by(f64::total_cmp);
    places
}

/// Each number stands beside its own nail, and the place that it names is that nail's.
fn numbers(paper: &Paper, strip: &Strip, places: &[f64]) -> usize {
    let mut numbered = 0;
    for text in &paper.texts {
        let Some((number, at)) = text.says.split_once(": ") else { continue };
        let Ok(number) = number.parse::<usize>() else { continue };
        assert!((6.99..=10.01).contains(&text.points), "{:?} is in {} points", text.says, text.points);
        // The middle of its figures.
        let middle = text.y - 0.135 * text.points;
        let Some(place) = strip.place(text.page, text.x, middle) else { continue };
        let nail = number.checked_sub(1).and_then(|at| places.get(at));
        let nail = *nail.unwrap_or_else(|| panic!("there is no nail {number}"));
        assert!((place - nail).abs() < 2.5, "{:?} stands at {place:.2} mm, its nail at {nail:.2}", text.says);
        // In 1/32 in or half a millimetre.
        shows(&text.says, at, nail, mm, 25.4 / 64.0 + 0.01);
        numbered += 1;
    }
    numbered
}

/// The centre's mark stands at the middle between the outer nails, and names its place.
fn centre(paper: &Paper, strip: &Strip, wanted: f64) {
    let marks: Vec<f64> = paper
        .fills
        .iter()
        .filter(|fill| fill.areas.len() == 1 && (fill.areas[0][3] - 0.4).abs() < 0.01)
        .filter_map(|fill| strip.place(fill.page, fill.areas[0][0], fill.areas[0][1] + 0.2))
        .collect();
    let [mark] = marks[..] else { panic!("marks of the centre: {marks:?}") };
    assert!((mark - wanted).abs() < 0.02, "the centre is marked at {mark:.2} mm, not {wanted:.2}");
    let named =
        paper.all("centre").into_iter().filter_map(|text| strip.place(text.page, text.x, text.y + 0.8));
    assert_eq!(named.filter(|place| (place - wanted).abs() < 0.05).count(), 1, "the mark is named");
}

/// What stands in a lane keeps away from the edges along which it is cut.
fn clear_of_edges(paper: &Paper, strip: &Strip) {
    for lane in &strip.lanes {
        let within = paper
            .texts
            .iter()
            .filter(|text| text.page == lane.page && text.x > lane.left && text.x < lane.left + 58.0);
        for text in
            within.filter(|text| text.y > lane.top + 1.0 && strip.place(text.page, text.x, text.y).is_some())
        {
            assert!(
                text.x > lane.left + 1.0 && text.right < lane.left + 57.0,
                "{:?} lies on a line to cut",
                text.says
            );
        }
    }
}

#[track_caller]
fn are(found: &[f64], wanted: &[f64]) {
    assert_eq!(found.len(), wanted.len(), "crosses and nails");
    for (n, (found, wanted)) in found.iter().zip(wanted).enumerate() {
        assert!((found - wanted).abs() < 0.02, "nail {} is marked at {found:.3} mm, not {wanted:.3}", n + 1);
    }
}

#[tokio::test]
async fn the_near_and_the_far_row_are_each_where_they_stand() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let pitch = 18.0 * 25.4 / 32.0;
    let near: Vec<f64> = (0..33).map(|n| 20.0 + pitch * f64::from(n)).collect();
    let far: Vec<f64> = (0..32).map(|n| 20.0 + pitch / 2.0 + pitch * f64::from(n)).collect();
    let (_, path) = class.frames.iter().find(|frame| frame.0 == "V-7").unwrap().clone();
    for size in ["a4", "letter"] {
        let paper = class.paper(&format!("{path}/template.pdf?size={size}")).await;
        is_of_size(&paper, size);
        bars(&paper);
        pages_are_numbered(&paper);
        let strips = strips(&paper);
        assert_eq!(strips.len(), 2);
        for ((name, row), strip) in [("Near row", &near), ("Far row", &far)].into_iter().zip(&strips) {
            let head = paper.only(name);
            assert_eq!(head.page, strip.lanes[0].page, "{name} stands over its own lanes");
            let under = format!("Frame V-7, 18 in × 33 in, 33 nails per end; {} nails", row.len());
            assert_eq!(paper.only(&under).page, head.page);
            are(&nails(&paper, strip), row);
            assert!(
                (strip.long() - 40.0 - pitch * 32.0).abs() < 0.02,
                "{name} is {:.2} mm long",
                strip.long()
            );
            assert_eq!(numbers(&paper, strip, row), row.len(), "{name} has its numbers");
            centre(&paper, strip, 20.0 + pitch * 16.0);
            clear_of_edges(&paper, strip);
            let told: Vec<_> =
                paper.all("Print at 100 %").into_iter().filter(|text| text.page == head.page).collect();
            let told = paper.paragraph(told[0]);
            assert!(told.contains("The rows stand 33 in apart"), "{told}");
            // The rows are set off by half a pitch at both ends alike: one diagonal both ways.
            let diagonal = told.split("outer nails measure ").nth(1).unwrap().trim_end_matches('.');
            shows("diagonal", diagonal, (33.0 * 25.4_f64).hypot(pitch * 31.5), mm, 25.4 / 64.0 + 0.01);
            assert!(told.contains("a line 25/32 in before the first nail"), "{told}");
        }
        assert!(
            paper.foot(0).starts_with("Tern Loft, printed Thursday 8 October 2026."),
            "{}",
            paper.foot(0)
        );
    }
}

#[test]
fn a_template_by_the_command_marks_every_nail_at_its_pitch() {
    for (nails_in_row, pitch, size) in [(61, 14.3, "a4"), (23, 19.75, "letter"), (141, 9.525, "a4")] {
        let width = pitch * f64::from(nails_in_row - 1);
        let (typed, row, count) =
            (format!("{:.3} mm", width + 0.4), format!("{pitch} mm"), nails_in_row.to_string());
        let pdf = printed(&[
            "paper",
            "nail-template",
            "--span",
            "840 mm",
            "--width",
            &typed,
            "--nails",
            &count,
            "--pitch",
            &row,
            "--units",
            "metric",
            "--size",
            size,
            "--out",
            "-",
        ]);
        let paper = Paper::read(&pdf);
        is_of_size(&paper, size);
        bars(&paper);
        pages_are_numbered(&paper);
        let wanted: Vec<f64> = (0..nails_in_row).map(|n| 20.0 + pitch * f64::from(n)).collect();
        let strip = &strips(&paper)[0];
        are(&nails(&paper, strip), &wanted);
        assert!(numbers(&paper, strip, &wanted) > 3);
        centre(&paper, strip, 20.0 + width / 2.0);
        clear_of_edges(&paper, strip);
        paper.only("Both rows");
        let told = paper.reads("Print at 100 %");
        assert!(told.contains("The rows stand 840 mm apart"), "{told}");
        let diagonal = told.split("outer nails measure ").nth(1).unwrap().trim_end_matches('.');
        shows("diagonal", diagonal, 840_f64.hypot(width), mm, 0.26);
    }
}

/// A strip that goes on for a hand's breadth beyond its last nail is no reason for another lane, nor for a page.
#[test]
fn no_lane_is_begun_for_wood_without_nails() {
    let rows = [NailRow {
        name: "Both rows".into(),
        places: (0..33).map(|n| Length::millimetres(40.0 + 13.0 * f64::from(n))).collect(),
    }];
    let template = |long: f64| NailTemplate {
        name: "18 in × 33 in, 33 nails per end",
        rows: &rows,
        long: Length::millimetres(long),
        begins: "the left end",
        span: Length::inches(33.0),
        diagonals: None,
        nail: Length::inches(0.1),
        foot: "Nail template.",
        units: Units::Inches,
    };
    let read = |long| Paper::read(&template(long).pdf(Size::A4).unwrap());
    let (short, long) = (read(40.0 + 13.0 * 32.0 + 20.0), read(40.0 + 13.0 * 32.0 + 700.0));
    let lanes = |paper: &Paper| strips(paper).iter().map(|strip| strip.lanes.len()).sum::<usize>();
    assert_eq!((short.pages.len(), lanes(&short)), (long.pages.len(), lanes(&long)));
    assert_eq!(nails(&long, &strips(&long)[0]).len(), 33);
}

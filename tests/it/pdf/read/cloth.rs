//! Papers of the shelf, read back: the pull sheet and the tags of bundles.
use super::class::{Class, ORIGIN};
use super::{AUCKLAND, LOS_ANGELES, is_of_size};
use crate::support::measures::{OUNCE, grams, shows};

const HEADS: [&str; 8] = ["Bundle", "Place", "Colour", "Cloth", "Take", "For", "Weighed", "Done"];

#[tokio::test]
async fn the_pull_sheet_names_each_bundle_its_weight_and_whom_it_is_for() {
    let mut class = Class::new(LOS_ANGELES.0, LOS_ANGELES.1).await;
    let screen = class.staff.get("/pull").await.is(200);
    for (tag, place) in [("1", "Bay 3, left"), ("3", "Attic")] {
        let (before, _) = screen.text.split_once(&format!("\">{tag}</a>")).unwrap();
        let bundle = before.rsplit('"').next().unwrap();
        class.staff.post(&format!("{bundle}/place"), &[("was", ""), ("place", place)]).await.is(303);
    }
    let screen = class.staff.get("/pull").await.is(200);
    for size in ["a4", "letter"] {
        let paper = class.paper(&format!("/pull.pdf?size={size}")).await;
        is_of_size(&paper, size);
        assert!(paper.texts.iter().any(|text| text.says == "Tern Loft"));
        let count = "4 pieces from 3 bundles, in the order of the shelf";
        assert_eq!(paper.only(count).says, count);
        let table = paper.table(&HEADS);
        let mut wanted = vec![
            ("1", "Bay 3, left", "Navy", "Percale sheet", 700.0, "Ana Reed, Low tide: navy"),
            ("1", "Bay 3, left", "Navy", "Percale sheet", 423.0, "Bo Lind, High water: navy"),
            ("2", "", "White", "Percale sheet", 311.0, "Ana Reed, Low tide: white"),
            ("3", "Attic", "Grey", "Flannel sheet", 250.0, "Bo Lind, High water: warp"),
        ];
        assert_eq!(table.rows.len(), wanted.len(), "{:?}", table.rows);
        assert!(table.column("Bundle").is_sorted(), "in the order of the shelf");
        for row in &table.rows {
            let at = wanted
                .iter()
                .position(|one| one.5 == row[5])
                .unwrap_or_else(|| panic!("{row:?} is for nobody"));
            let (tag, place, colour, cloth, mass, _) = wanted.remove(at);
            assert_eq!([&row[0], &row[1], &row[2], &row[3]], [tag, place, colour, cloth], "{row:?}");
            shows(&row[5], &row[4], mass, grams, OUNCE);
            // The weight to be written and the tick are left to a person.
            assert_eq!([&row[6], &row[7]], ["", ""]);
        }
        let on_screen: Vec<String> = screen
            .all("tbody tr")
            .iter()
            .map(|row| row.split(" By itself").next().unwrap().to_owned())
            .collect();
        let on_paper: Vec<String> =
            table.rows.iter().map(|row| row[..6].join(" ").replace("  ", " ")).collect();
        assert_eq!(on_paper, on_screen);
        let boxes = paper.fills.iter().filter(|fill| fill.areas.len() == 4 && fill.areas[0][2] < 5.0).count();
        assert_eq!(boxes, 4, "a box to tick for each");
        assert_eq!(
            paper.codes.iter().map(|code| code.says.as_str()).collect::<Vec<_>>(),
            [format!("{ORIGIN}/pull")]
        );
        assert_eq!(paper.foot(0), "Tern Loft, Tuesday 6 October 2026.");
    }
    // What was pulled is on it no more.
    let pull = screen.attr("td a.button", "href");
    class.staff.post(&format!("{pull}/pull"), &[("pull_weight", "4 oz")]).await.is(303);
    let table = class.paper("/pull.pdf").await.table(&HEADS);
    assert_eq!(table.rows.len(), 3, "{:?}", table.rows);
}

/// Labels of 60 × 36 mm, three across, the first two gone.
const GRID: &str =
    "across=3&down=7&wide=60+mm&high=36+mm&left=11+mm&top=12+mm&between=3+mm&below=2+mm&skip=2&edges=yes";

/// The label at a place, counted from 0: left, top, right, bottom.
pub(super) fn label(place: usize) -> [f64; 4] {
    let (left, top) = (11.0 + 63.0 * (place % 3) as f64, 12.0 + 38.0 * (place / 3) as f64);
    [left, top, left + 60.0, top + 36.0]
}

pub(super) fn within(area: [f64; 4], x: f64, y: f64) -> bool {
    (area[0]..area[2]).contains(&x) && (area[1]..area[3]).contains(&y)
}

#[tokio::test]
async fn each_tag_has_its_bundles_number_cloth_code_and_the_weight_as_it_came() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let paper = class.paper(&format!("/cloth/tags.pdf?state=all&size=a4&{GRID}")).await;
    is_of_size(&paper, "a4");
    let csv = class.staff.get("/cloth.csv").await.is(200).table();
    let came = |tag: &str| {
        let row = csv.lines().find(|line| line.starts_with(&format!("{tag},"))).unwrap();
        let cells: Vec<&str> = row.split(',').collect();
        (cells[6].parse::<f64>().unwrap(), cells[7].parse::<f64>().unwrap())
    };
    let bundles = [
        ("1", "Navy", "Percale sheet", "6 lb 3 oz"),
        ("2", "White", "Percale sheet", "2 lb 8 oz"),
        ("3", "Grey", "Flannel sheet", "1 lb 12 oz"),
        ("4", "Rust", "Denim or other bottom-weight", "3 lb 5 oz"),
    ];
    assert_eq!(paper.codes.len(), bundles.len());
    for (n, (tag, colour, cloth, weight)) in bundles.into_iter().enumerate() {
        let area = label(n + 2);
        let texts: Vec<_> = paper.texts.iter().filter(|text| within(area, text.x, text.y)).collect();
        let said: Vec<&str> = texts.iter().map(|text| text.says.trim()).collect();
        assert!(texts.iter().all(|text| text.right < area[2] && text.x > area[0] + 20.0), "{texts:?}");
        // They came on the class's day.
        assert_eq!(
            said.join(" "),
            format!("{tag} {colour} {cloth} {weight} on Thu 8 Oct"),
            "label {}",
            n + 3
        );
        assert_eq!(said[0], tag);
        assert!(texts[0].bold && texts[0].points > 2.0 * texts[1].points, "its number is big");
        let (now, first) = came(tag);
        shows("as it came", weight, first, grams, OUNCE);
        assert!((n > 1) == ((now - first).abs() < 1.0), "the first two lost some: {csv}");
        let code = paper.codes.iter().find(|code| within(area, code.area[0], code.area[1])).unwrap();
        assert_eq!(code.says, format!("{ORIGIN}/b/{tag}"), "the code on tag {tag}");
        assert_eq!(class.staff.get(&format!("/b/{tag}")).await.is(303).to(), class.bundles[n]);
        let edge = paper.fills.iter().filter(|fill| fill.areas.len() == 4).any(|fill| {
            let [x, y, w, _] = fill.areas[0];
            (x - area[0]).abs() < 0.1 && (y - area[1]).abs() < 0.1 && (w - 60.0).abs() < 0.1
        });
        assert!(edge, "label {} has no edge to cut along", n + 3);
    }
    // Where there is little room a long name is cut short, not the weight.
    let small = GRID.replace("wide=60", "wide=40").replace("high=36", "high=20");
    let paper = class.paper(&format!("/cloth/tags.pdf?state=all&size=a4&{small}")).await;
    for (_, _, _, weight) in bundles {
        assert_eq!(paper.all(weight).len(), 1, "{weight} is lost:\n{}", paper.said());
    }
    for wrong in ["/b/5", "/b/0", "/b/x"] {
        class.staff.get(wrong).await.is(404);
    }
    // Some of them: by number, by state.
    for (asked, tags) in [("from=2&to=3&state=all", ["2", "3"].as_slice()), ("state=arrived", &["4"])] {
        let paper = class.paper(&format!("/cloth/tags.pdf?{asked}&size=a4&{GRID}")).await;
        let big: Vec<&str> =
            paper.texts.iter().filter(|text| text.bold).map(|text| text.says.as_str()).collect();
        assert_eq!(big, tags, "{asked}");
    }
}

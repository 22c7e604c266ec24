//! Papers of an evening and of the shelf, read back: tonight's sheet, attendance, what is written on without power, the stocktake's
//! list, the colour card.
use super::class::{Class, ORIGIN};
use super::{AUCKLAND, LOS_ANGELES, is_of_size, pages_are_numbered};
use crate::support::measures::{OUNCE, grams, shows};
use crate::support::pdf::Paper;

fn boxes(paper: &Paper) -> usize {
    paper.fills.iter().filter(|fill| fill.areas.len() == 4 && fill.areas[0][2] < 6.0).count()
}

#[tokio::test]
async fn tonights_sheet_is_one_page_with_each_weavers_frame_next_step_and_cloth() {
    let mut class = Class::new(LOS_ANGELES.0, LOS_ANGELES.1).await;
    class.hand_out(0, "2026-10-21").await;
    let screen = class.staff.get("/tonight").await.is(200);
    for size in ["a4", "letter"] {
        let paper = class.paper(&format!("/tonight.pdf?size={size}")).await;
        is_of_size(&paper, size);
        assert_eq!(paper.pages.len(), 1);
        paper.only("Wednesday 7 October 2026, 18:30, for 4 h: Ebb to Flood");
        paper.only("3 weavers are expected.");
        let table = paper.table(&["Weaver", "Frame", "Next", "Cloth", "Here"]);
        assert_eq!(table.column("Weaver"), ["Ana Reed", "Bo Lind", "Cy Marsh"]);
        assert_eq!(table.column("Frame"), ["K-1", "none", "none"]);
        for (row, rug) in table.rows.iter().zip(&class.rugs) {
            assert!(row[2].starts_with(&format!("{}: cut or tear the strips", rug.name)), "{row:?}");
        }
        // What was promised from the shelf, as it was typed in for the class.
        let pulls: Vec<&str> = table.cell("Ana Reed", "Cloth").split("; ").collect();
        assert_eq!(pulls.len(), 2, "{pulls:?}");
        for (pull, mass, end) in [(pulls[0], 700.0, " of navy from 1"), (pulls[1], 311.0, " of white from 2")]
        {
            let weight =
                pull.strip_prefix("pull ").unwrap().strip_suffix(end).unwrap_or_else(|| panic!("{pull}"));
            shows(pull, weight, mass, grams, OUNCE);
        }
        assert_eq!(table.cell("Cy Marsh", "Cloth"), "enough");
        assert_eq!(boxes(&paper), 3, "a box for each who comes");
        let on_screen = screen.all("article tbody td[data-label=Next]");
        assert_eq!(table.column("Next"), on_screen, "the page says the same");
        assert_eq!(paper.codes[0].says, format!("{ORIGIN}/today"));
    }
}

#[tokio::test]
async fn attendance_has_each_meeting_and_each_weaver_and_no_box_where_nobody_meets() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let page = class.staff.get(&class.term.clone()).await.is(200);
    let off = page.attr("form[action$='/off']", "action");
    class.staff.post(&off, &[]).await.is(303);
    let paper = class.paper(&format!("{}/attendance.pdf?size=letter", class.term)).await;
    // Across the paper. Source: ANSI/ASME Y14.1 (Letter, ANSI A).
    assert!((paper.pages[0][0] - 279.4).abs() < 0.01 && (paper.pages[0][1] - 215.9).abs() < 0.01);
    let screen = class.staff.get(&format!("{}/attendance", class.term)).await.is(200);
    assert_eq!(screen.all("article thead th").len(), 1 + 8, "a term of eight meetings");
    assert_eq!(
        screen.all("article tbody th"),
        ["Ana Reed", "Bo Lind", "Cy Marsh", "to be written", "to be written", "to be written"]
    );
    // Three who are enrolled and three lines to spare, seven meetings that take place.
    assert_eq!(boxes(&paper), 6 * 7);
    assert_eq!(paper.all("–").len(), 6);
    assert!(paper.said().contains("called"), "{}", paper.said());
    for name in ["Ana Reed", "Bo Lind", "Cy Marsh"] {
        assert_eq!(paper.only(name).says, name);
    }
}

#[tokio::test]
async fn sheets_to_write_on_have_the_class_and_room() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    class.hand_out(1, "2026-10-21").await;
    let paper = class.paper(&format!("{}/log-sheet.pdf?size=a4", class.term)).await;
    pages_are_numbered(&paper);
    let screen = class.staff.get(&format!("{}/log-sheet", class.term)).await.is(200);
    let rows = screen.all("article tbody th");
    assert_eq!(rows[0], "Bo Lind: High water", "only what is on a frame is woven");
    assert_eq!(rows.len(), 12, "as many lines as fill a page");
    assert_eq!(paper.pages.len(), 1);
    let letter = class.paper(&format!("{}/log-sheet.pdf?size=letter", class.term)).await;
    assert_eq!(letter.pages.len(), 1);
    paper.only("Bo Lind: High water");
    let all = class.rugs[1].plan()["weft"]["rows"].as_u64().unwrap();
    paper.only(&format!("0 of {all}"));
    let sheet = class.paper("/cloth/weigh-in/sheet.pdf?size=letter").await;
    assert_eq!(sheet.pages.len(), 1, "twelve bundles on a page");
    for line in 1..=12 {
        assert_eq!(sheet.texts.iter().filter(|text| text.says == line.to_string()).count(), 1, "line {line}");
    }
    assert_eq!(sheet.codes[0].says, format!("{ORIGIN}/cloth/weigh-in"));
    assert_eq!(class.paper("/cloth/weigh-in/sheet.pdf?size=a4").await.pages.len(), 1);
}

#[tokio::test]
async fn the_stocktakes_list_goes_along_the_shelf_and_gives_no_weight_away() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    for (n, place) in [(0, "Bay 3"), (2, "Attic")] {
        let path = format!("{}/place", class.bundles[n]);
        class.staff.post(&path, &[("was", ""), ("place", place)]).await.is(303);
    }
    let begun = class.staff.post("/cloth/count", &[("kind", ""), ("family", "")]).await;
    let count = begun.to().split('?').next().unwrap().to_owned();
    let paper = class.paper(&format!("{count}/list.pdf?size=a4")).await;
    is_of_size(&paper, "a4");
    let heads = ["Bundle", "Place", "Colour", "Cloth", "Scale shows", "Basket"];
    let table = paper.table(&heads);
    // The fourth isn't washed, and not counted.
    assert_eq!(table.column("Bundle"), ["3", "1", "2"]);
    assert_eq!(table.column("Place"), ["Attic", "Bay 3", ""]);
    assert_eq!(table.column("Colour"), ["Grey", "Navy", "White"]);
    assert_eq!(table.column("Scale shows"), ["", "", ""]);
    assert!(!paper.said().contains(" lb") && !paper.said().contains(" oz"), "{}", paper.said());
    assert_eq!(boxes(&paper), 3);
    assert_eq!(paper.codes[0].says, format!("{ORIGIN}{count}"));
    // What is counted is on it no more.
    let bundle = class.bundles[2].trim_start_matches("/cloth/").to_owned();
    let typed = [("bundle", bundle.as_str()), ("weight", "1 lb 12 oz"), ("tare", ""), ("found", "yes")];
    class.staff.post(&format!("{count}/line"), &typed).await.is(303);
    let paper = class.paper(&format!("{count}/list.pdf?size=a4")).await;
    assert_eq!(paper.table(&heads).column("Bundle"), ["1", "2"]);
    assert!(paper.reads("2 to count").contains("1 are counted already"), "{}", paper.said());
}

#[tokio::test]
async fn the_colour_card_has_each_colour_of_the_shelf_with_its_strip_and_bundles() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let again = [("colour", "navy"), ("kind", "flannel"), ("weight", "1 lb"), ("washed", "yes")];
    class.staff.post("/cloth/weigh-in", &again).await.is(303);
    let paper = class.paper("/cloth/colours.pdf?size=a4").await;
    is_of_size(&paper, "a4");
    paper.only("4 colours on the shelf");
    let table = paper.table(&["Colour", "Looks", "Family", "As strip", "Bundles"]);
    let found: Vec<(&str, &str)> = table.rows.iter().map(|row| (row[0].as_str(), row[4].as_str())).collect();
    assert_eq!(
        found,
        [("White", "2"), ("Grey", "3"), ("Rust", "4"), ("Navy", "1, 5")],
        "from white round to purple"
    );
    let shelf = class.staff.get("/cloth").await.is(200);
    let strip = |tag: usize| {
        // Newest first.
        let all = shelf.all("tbody td[data-label='As strip']");
        grams(&all[5 - tag])
    };
    shows("white", table.cell("White", "As strip"), strip(2), grams, OUNCE);
    shows("navy", table.cell("Navy", "As strip"), strip(1) + strip(5), grams, 2.0 * OUNCE);
    assert!(table.cell("Rust", "As strip").ends_with(", to be washed first"));
    // How dark each is: bars for navy cover more than those for white. Source: CIELAB lightness of #ffffff is 100 (CIE 15).
    let bars = |name: &str| {
        // Grey's family bears its name, too.
        let y = paper.all(name)[0].y;
        let bars = paper
            .fills
            .iter()
            .filter(|fill| fill.areas.iter().all(|a| a[2] > 10.0 && a[3] < 1.01 && (a[1] - y).abs() < 8.0));
        bars.flat_map(|fill| &fill.areas).map(|a| a[3]).sum::<f64>()
    };
    assert!(
        bars("Navy") > 3.0 && bars("Navy") > bars("Grey") && bars("Grey") > bars("White"),
        "{} {}",
        bars("Navy"),
        bars("White")
    );
    // A weaver sees the same.
    let own = Paper::read(&class.rugs[0].browser.file("/cloth/colours.pdf?size=a4").await);
    assert_eq!(own.said(), paper.said());
}

//! Papers of a rug whose warp is bought yarn, with a fringe of the same: what they say of the yarn, and that no cloth is asked for it.
use super::class::{Class, reckon};
use super::{AUCKLAND, is_of_size};
use crate::support::measures::{INCH, OUNCE, STRIP, grams, mm, shows};

/// The first rug of the class, replanned on 125 m balls of 200 g, 2 mm thick; and what the command says of it.
async fn of_yarn(class: &mut Class) -> (String, serde_json::Value) {
    let path = class.rugs[0].path.clone();
    let page = class.staff.get(&format!("{path}/edit")).await.is(200);
    let (revision, term) = (page.field("revision"), class.term[7..].to_owned());
    let typed = [
        ("name", "Low tide"),
        ("band-1-height", "32 in"),
        ("band-1-first", "white"),
        ("band-1-other", "navy"),
        ("warp_yarn_length", "125 m"),
        ("warp_yarn_mass", "200 g"),
        ("warp_yarn_thickness", "2 mm"),
        ("fringe", "3 in"),
        ("revision", &revision),
        ("term", &term),
    ];
    class.staff.post(&path, &crate::support::forms::rug(&typed)).await.is(303);
    let flags = ["--band", "32 in: white/navy", "--warp-yarn", "125 m, 200 g, 2 mm", "--fringe", "3 in"];
    let frame = ["--span", "33 in", "--width", "18 in", "--nails", "33"];
    (path, reckon(&[&frame[..], &flags].concat()))
}

#[tokio::test]
async fn papers_of_a_warp_of_yarn_ask_yarn_and_no_cloth() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let (path, plan) = of_yarn(&mut class).await;
    let number =
        |at: &str| plan.pointer(at).and_then(serde_json::Value::as_f64).unwrap_or_else(|| panic!("{at}"));
    let (take, mass) = (number("/warp/length_mm/take"), number("/warp/yarn/mass_g/take"));
    // The fringe is in the yarn's weight: 66 strands of 8 in at 1.6 g to the metre are 21 g more than the warp alone.
    let fringe = number("/finishing/fringe_mm/expected") / 1000.0 * 1.6;
    assert!((mass - number("/warp/length_mm/take") / 1000.0 * 1.6 - fringe).abs() < 6.0, "{mass}");
    assert_eq!(number("/cloth/warp_g/take"), 0.0);

    let card = class.paper(&format!("{path}/card.pdf?size=letter")).await;
    is_of_size(&card, "letter");
    assert_eq!(card.pages.len(), 1);
    let (big, _) = card.boxed("Warp yarn");
    shows("yarn to wind", &big, take, mm, STRIP);
    let (balls, joined) = card.boxed("Balls and joins");
    assert_eq!(balls, "1 ball");
    let told = joined.rsplit("take ").next().unwrap();
    shows("yarn to buy", told, mass, grams, OUNCE);
    let said = card.said();
    for words in ["joined in one ball", "for the warp: ", "Join the strips"] {
        assert!(!said.contains(words), "“{words}” on the card of a warp of yarn: {said}");
    }

    let plan_paper = class.paper(&format!("{path}/sheets.pdf?part=warp&size=a4")).await;
    is_of_size(&plan_paper, "a4");
    plan_paper.only("Ana Reed: Low tide, the warp");
    plan_paper.only("Wind the frame");
    let (big, _) = plan_paper.boxed("Warp yarn");
    shows("yarn to wind", &big, take, mm, STRIP);
    let said = plan_paper.said();
    for words in ["Where to cut", "Join the strips", "From the shelf", "the strip at"] {
        assert!(!said.contains(words), "“{words}” on the winding plan of a warp of yarn: {said}");
    }
    let table = plan_paper.tables(&["Strands", "You are at nail", "Of the yarn, about", "Done"]);
    let rows: Vec<Vec<String>> = table.into_iter().flat_map(|table| table.rows).collect();
    assert_eq!(rows.last().unwrap()[0], plan["warp"]["strands"].to_string());
    shows(
        "all of the yarn",
        &rows.last().unwrap()[2],
        number("/warp/length_mm/expected"),
        mm,
        STRIP.max(INCH),
    );
    // The rug's page leads there without a choice of sheets.
    let page = class.staff.get(&path).await.is(200);
    let way = page.attr("#papers a[href*='sheets.pdf?part=warp'][href$='size=a4']", "href");
    class.staff.get(&way).await.is(200);
    assert!(page.text.contains("66 strands of the warp yarn"), "{}", page.text);

    let washing = class.paper(&format!("{path}/care.pdf")).await.said();
    assert!(washing.contains("Warp of bought yarn") && washing.contains("fringed"), "{washing}");
    let label = class.paper(&format!("{path}/exhibition.pdf")).await.said();
    assert!(label.contains("on a warp of bought yarn"), "{label}");
    let tally = class.paper(&format!("{path}/tally.pdf")).await.said();
    assert!(tally.contains(&format!("{} rows", plan["weft"]["rows"])), "{tally}");
    let worked = class.staff.get(&format!("{path}/worked")).await.is(200).text;
    assert!(worked.contains("Yarn for the fringe") && !worked.contains("Fringe cloth"), "{worked}");
}

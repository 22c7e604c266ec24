//! The cards of a rug under way, read back: what is next, how far it is, what runs short, each large enough.
use super::AUCKLAND;
use super::card::steps;
use super::class::Class;

/// A rug under way: the next step stands first and large, no step lies in the past, and what is woven and runs short is said.
/// 24 rows of navy are to come, and of it hardly any is left.
#[tokio::test]
async fn a_card_of_a_rug_under_way_begins_with_what_is_next() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let path = class.rugs[0].path.clone();
    let fresh = class.paper(&format!("{path}/card.pdf?size=a4")).await;
    assert!(!fresh.all("First row. ").is_empty(), "nothing is woven yet");
    assert_eq!(fresh.reads("Next, Wed 14 Oct"), "Next, Wed 14 Oct");
    class.hand_out(0, "2026-11-25").await;
    let log = [("rows", "24"), ("left-1", "3 lb"), ("left-2", "1/2 oz")];
    class.rugs[0].browser.post(&format!("{path}/log"), &log).await.is(303);
    // Two meetings go by without a word.
    class.world.clock.set("2026-10-22T00:00:00Z".parse().unwrap());
    for (card, size) in [("card", "a4"), ("card", "letter"), ("reading", "a4"), ("reading", "letter")] {
        let paper = class.paper(&format!("{path}/{card}.pdf?size={size}")).await;
        let over = paper.only("Next, Wed 28 Oct");
        let next = paper
            .texts
            .iter()
            .filter(|text| text.page == 0 && text.y > over.y)
            .min_by(|a, b| a.y.total_cmp(&b.y));
        let next = next.unwrap();
        assert!(next.says.starts_with("Weave ") && next.bold, "{next:?}");
        assert!((16.0..=18.0).contains(&next.points), "the next step is set in {} points", next.points);
        assert!(!paper.said().contains("First row."), "the first row is woven");
        let said = paper.said().split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(said.contains("Row 24 of about 128: 6 in of 32 in woven."), "{said}");
        assert!(said.contains("Navy will run out, about row "), "{said}");
        assert!(!said.contains("14 Oct") && !said.contains("21 Oct"), "steps lie in the past: {said}");
        if card == "card" {
            let screen = class.staff.get(&format!("{path}/card")).await.is(200);
            assert_eq!(steps(&paper), super::class::steps(&screen));
            assert!(screen.one(".paper-next").contains("Navy will run out, about row "));
            // One step a line, each with its day.
            assert!(
                steps(&paper)
                    .iter()
                    .all(|step| step.matches(" min)").count() + step.matches(" h)").count() <= 1)
            );
        }
    }
}

/// The figures in the boxes, and the rows of the reading card, are read from a metre: capitals of 5.8 mm.
/// Source: ISO 9241-3 and NUREG-0700 (published check 10.22), 20 minutes of arc.
#[tokio::test]
async fn figures_are_read_from_a_metre() {
    let mut class = Class::new(AUCKLAND.0, AUCKLAND.1).await;
    let path = class.rugs[0].path.clone();
    let capitals = |text: &crate::support::pdf::Text| text.points * 25.4 / 72.0 * 1462.0 / 2048.0;
    let card = class.paper(&format!("{path}/card.pdf?size=a4")).await;
    let strips = card.texts.iter().find(|text| text.bold && text.says.ends_with(" strips")).unwrap();
    assert!(capitals(strips) >= 5.8, "{strips:?}");
    let reading = class.paper(&format!("{path}/reading.pdf?size=a4")).await;
    let rows = reading.only("1–48");
    assert!(capitals(rows) >= 5.8, "{rows:?}");
}

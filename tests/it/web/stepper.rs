//! The strand stepper on a rug's page and by itself: crossing by crossing, at the row that is counted, found again.
use super::rugs::planned;
use crate::support::browser::World;

#[tokio::test]
async fn a_rug_is_stepped_through_from_the_row_that_is_counted() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let rug = planned(&mut weaver).await;
    let at = |query: &str| format!("{rug}/stepper{query}");
    let first = weaver.get(&at("")).await.is(200);
    assert_eq!(first.one("[data-step-count]"), "Crossing 1 of 33");
    assert!(first.one("h1").ends_with("behind them."), "{}", first.one("h1"));
    assert_eq!(first.all(".row-words li").len(), 34);
    assert_eq!(first.all(".row-strip li").len(), 12);
    assert!(first.text.contains("Row 1, to the right") && !first.text.contains(" style="));
    // Forward by links alone, to the end of the row and over to the next.
    let mut page = first;
    for made in 2..=33 {
        let next = page.attr("[data-step-next]", "href");
        page = weaver.get(&next).await.is(200);
        assert_eq!(page.one("[data-step-count]"), format!("Crossing {made} of 33"));
        assert!(page.one("h1").contains("goes through its loop"), "{}", page.one("h1"));
    }
    assert!(page.one("h1").contains("round the rod and trade places"));
    let next = weaver.get(&page.attr("[data-step-next]", "href")).await.is(200);
    assert!(next.text.contains("Row 2, to the left"));
    assert_eq!(next.one("[data-step-count]"), "Before the first crossing");
    assert!(next.one("h1").starts_with("Both strands lie ready at the right rod"), "{}", next.one("h1"));
    let one = weaver.get(&next.attr("[data-step-next]", "href")).await.is(200);
    assert!(!one.one("h1").contains("loop") && one.one("h1").contains("strand 65"), "{}", one.one("h1"));
    let back = weaver.get(&one.attr("[data-step-back]", "href")).await.is(200);
    assert_eq!(back.one("[data-step-count]"), "Before the first crossing");
    let before = weaver.get(&back.attr("[data-step-back]", "href")).await.is(200);
    assert_eq!(before.one("[data-step-count]"), "Crossing 33 of 33");
    // Begun at the right rod the first row takes the strand that is left over first.
    let right = weaver.get(&at("?row=1&begin=right")).await.is(200);
    assert!(right.text.contains("Row 1, to the left") && right.one("h1").contains("in front of strand 65"));
    // The row after those that are counted.
    weaver.post(&format!("{rug}/rows"), &[("more", "7"), ("from", "")]).await.is(303);
    assert!(weaver.get(&at("")).await.is(200).text.contains("Row 8, to the left"));
    // The last row takes the strands one aside.
    let last = weaver.get(&at("?row=9999")).await.is(200);
    assert!(last.text.contains("This row takes the warp’s strands aside"), "{}", last.text);
    for odd in ["?row=x&step=-1", "?row=0&step=999", "?unit=77&colour=999999&going=up", "?begin=middle"] {
        weaver.get(&at(odd)).await.is(200);
    }
}

#[tokio::test]
async fn who_lost_the_thread_finds_it_by_the_last_crossing() {
    let world = World::new().await;
    let (_, mut weaver) = world.weaver().await;
    let piece =
        |query: &str| format!("/guide/stepper?nails=5&strands=2&first=%23ffffff&other=%2322305a{query}");
    // By hand: row 2 runs left; its cells are 1 0 1 0 1, so that unit 2 from the left shows the first strand after 4 crossings.
    let found = weaver.get(&piece("&row=1&unit=2&colour=0&going=left")).await.is(200);
    assert!(found.text.contains("Row 2, to the left"), "{}", found.text);
    assert_eq!(found.one("[data-step-count]"), "Crossing 4 of 5");
    assert!(found.one("[role=status]").contains("crossing 4 of row 2"));
    let lost = weaver.get(&piece("&row=1&unit=9&colour=0&going=left")).await.is(200);
    assert!(lost.one("[role=status]").contains("Look again"));
    // Other pieces, and what can't be one.
    let threes = weaver.get("/guide/stepper?nails=4&strands=3&at_rod=keep").await.is(200);
    assert_eq!(threes.all(".row-words li").len(), 4);
    assert!(threes.one(".notice.warn").contains("at the nails 2, 3. Split"));
    assert!(threes.text.contains("value=\"keep\" checked"));
    weaver.get("/guide/stepper?nails=2000&strands=0&first=red").await.is(200);
    assert!(weaver.get("/guide/stepper?nails=2000").await.error("nails").contains("from 3 to 60"));
}

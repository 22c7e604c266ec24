//! The stocktake's pages.
use crate::support::browser::World;

#[tokio::test]
async fn the_shelf_is_counted_blind_and_differences_get_a_reason() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    for weight in ["1000 g", "2000 g", "500 g"] {
        let fields = [("kind", "percale"), ("colour", "navy"), ("weight", weight), ("washed", "yes")];
        browser.post("/cloth/weigh-in", &fields).await.is(303);
    }
    let wrong = browser.post("/cloth/count", &[("kind", "silk")]).await.is(422);
    wrong.error("kind");
    let path = browser.post("/cloth/count", &[("kind", ""), ("family", "")]).await.to().to_owned();
    let page = browser.get(&path).await.is(200);
    assert_eq!(page.one(".tag-number b"), "1");
    let weights = ["1000", "2000", "500", "2 lb", "4 lb", "1 lb 1"];
    let text = page.all("main").join(" ");
    assert!(weights.iter().all(|weight| !text.contains(weight)), "it is blind: {text}");
    let first = page.field("bundle");
    let refused = browser
        .post(&format!("{path}/line"), &[("bundle", &first), ("weight", "1,006 kg"), ("found", "yes")])
        .await
        .is(422);
    assert_eq!(refused.field("weight"), "1,006 kg");
    browser
        .post(&format!("{path}/line"), &[("bundle", &first), ("weight", "900 g"), ("found", "yes")])
        .await
        .is(303);
    let second = browser.get(&path).await.field("bundle");
    // Within what the scale may be off by.
    browser
        .post(&format!("{path}/line"), &[("bundle", &second), ("weight", "2001 g"), ("found", "yes")])
        .await
        .is(303);
    let third = browser.get(&path).await.field("bundle");
    browser.post(&format!("{path}/line"), &[("bundle", &third), ("found", "no")]).await.is(303);
    assert!(browser.get(&path).await.text.contains("All are counted."));

    let close = format!("{path}/close");
    let page = browser.get(&close).await.is(200);
    let rows = page.all("tbody tr");
    assert_eq!(rows.len(), 2, "{rows:?}");
    assert!(rows[1].contains("not found"), "{rows:?}");
    let refused = browser.post(&close, &[("reason-3", "gone")]).await.is(422);
    assert!(refused.error("reason-1").contains("Choose why bundle 1 differs"));
    let reasons = [("reason-1", "taken"), ("reason-3", "gone")];
    assert_eq!(browser.post(&close, &reasons).await.to(), "/cloth/count?said=closed");
    let ledger = browser.get(&format!("/cloth/{first}")).await.is(200);
    assert!(ledger.text.contains("stocktake: taken without a note"), "{}", ledger.text);
    assert!(browser.get("/cloth?q=3&empty=yes").await.text.contains("Bundles"));
    browser.post(&close, &reasons).await.is(409);
}

#[tokio::test]
async fn a_stocktake_counts_only_what_it_is_about() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    for kind in ["percale", "flannel"] {
        let fields = [("kind", kind), ("colour", "navy"), ("weight", "1000 g"), ("washed", "yes")];
        browser.post("/cloth/weigh-in", &fields).await.is(303);
    }
    let path = browser.post("/cloth/count", &[("kind", "flannel")]).await.to().to_owned();
    assert_eq!(browser.get(&path).await.all("tbody th"), ["2"]);
    let other = browser.get("/cloth?q=percale").await.attr("tbody th a", "href");
    let other = other.trim_start_matches("/cloth/").to_owned();
    let line = [("bundle", other.as_str()), ("weight", "900 g"), ("found", "yes")];
    browser.post(&format!("{path}/line"), &line).await.is(409);
    assert_eq!(browser.get("/cloth/count").await.one("td[data-label=Counted]"), "0");
}

#[tokio::test]
async fn where_the_cloth_went_is_drawn_and_adds_up() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    assert!(browser.get("/cloth/went").await.is(200).text.contains("Nothing came in yet"));
    for (weight, source) in [("1000 g", "hotel"), ("500 g", "")] {
        let fields = [
            ("kind", "percale"),
            ("colour", "navy"),
            ("weight", weight),
            ("washed", "yes"),
            ("source", source),
        ];
        browser.post("/cloth/weigh-in", &fields).await.is(303);
    }
    let bundle = browser.get("/cloth?q=hotel").await.attr("tbody th a", "href");
    browser.post(&format!("{bundle}/pull"), &[("pull_weight", "300 g")]).await.is(303);
    let page = browser.get("/cloth/went").await.is(200);
    assert_eq!(page.all("figure svg title"), ["Where the cloth went"]);
    assert_eq!(page.all("tbody")[0].split_whitespace().next(), Some("hotel"));
    let csv = browser.get("/cloth/went.csv").await.is(200).table();
    assert!(csv.contains("all,all,1500,300,0,0,0,1200"), "{}", csv);
    assert!(csv.contains("source,hotel,1000,300,0,0,0,700"), "{}", csv);
    assert!(csv.contains("source,not said,500,0,0,0,0,500"), "{}", csv);
    assert!(csv.contains("term,outside the terms,1500,300,0,0,0,1200"), "{}", csv);
    // The heap goes on: its source stays in the form.
    let done = browser.post(
        "/cloth/weigh-in",
        &[
            ("kind", "percale"),
            ("colour", "navy"),
            ("weight", "5 oz"),
            ("washed", "yes"),
            ("source", "hotel"),
        ],
    );
    let next = done.await.to().to_owned();
    assert_eq!(browser.get(&next).await.field("source"), "hotel");
}

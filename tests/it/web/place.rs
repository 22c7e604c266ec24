//! Where a bundle lies on the shelf.
use super::cloth::{act, typed, weigh};
use crate::support::browser::World;

#[tokio::test]
async fn a_place_said_at_the_scale_stands_wherever_the_bundle_does() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[("place", " Bay 3, left ")]).await;
    let shelf = browser.get("/cloth").await.is(200);
    assert_eq!(shelf.one("td[data-label=Place]"), "Bay 3, left");
    let page = browser.get(&bundle).await.is(200);
    assert!(page.all("dd").contains(&"Bay 3, left".to_owned()), "{:?}", page.all("dd"));
    let table = browser.get("/cloth.csv").await.is(200).text;
    let (head, row) = table.split_once("\r\n").unwrap();
    assert_eq!(
        (head.split(',').any(|name| name == "\"place\""), row.contains("\"Bay 3, left\"")),
        (true, true),
        "{table}"
    );
    // The table taken away comes in again, place and all.
    let sent = browser.post("/cloth/import", &[("list", &table), ("do", "take")]).await;
    assert_eq!(sent.status.as_u16(), 303, "{}", sent.text);
    assert_eq!(browser.get("/cloth").await.all("td[data-label=Place]"), ["Bay 3, left", "Bay 3, left"]);
}

#[tokio::test]
async fn twenty_four_characters_are_the_most() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let most = "ä".repeat(24);
    let bundle = weigh(&mut browser, &[("place", &most)]).await;
    for (path, fields) in
        [("/cloth/weigh-in", typed(&[])), (&format!("{bundle}/place"), vec![("was", &*most)])]
    {
        let long = "ä".repeat(25);
        let fields = [fields.as_slice(), &[("place", long.as_str())]].concat();
        let page = browser.post(path, &fields).await.is(422);
        page.only_error_at("place");
        assert_eq!(page.field("place"), long);
    }
}

#[tokio::test]
async fn a_bundle_that_was_moved_is_found_where_it_lies_now() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[("place", "Attic")]).await;
    weigh(&mut browser, &[("colour", "white")]).await;
    let found = async |browser: &mut crate::support::browser::Browser, words: &str| {
        browser.get(&format!("/cloth?q={words}")).await.is(200).all("td[data-label=Place]").len()
    };
    assert_eq!((found(&mut browser, "attic").await, found(&mut browser, "cellar").await), (1, 0));
    act(&mut browser, &bundle, "place", &[("was", "Attic"), ("place", "Cellar")]).await.is(303);
    assert_eq!((found(&mut browser, "attic").await, found(&mut browser, "cellar").await), (0, 1));
    // Somebody who still thinks it in the attic is told, and what they typed is kept.
    let late = act(&mut browser, &bundle, "place", &[("was", "Attic"), ("place", "Porch")]).await.is(409);
    assert_eq!((late.field("place"), late.field("was")), ("Porch".into(), "Cellar".into()));
    act(&mut browser, &bundle, "place", &[("was", "Cellar"), ("place", "Cellar")]).await.is(422);
    act(&mut browser, &bundle, "place", &[("was", "Cellar"), ("place", "")]).await.is(303);
    assert_eq!((found(&mut browser, "cellar").await, found(&mut browser, "navy").await), (0, 1));
    let (_, mut instructor) = world.instructor().await;
    let record = instructor.get("/record.csv").await.is(200).text;
    assert_eq!(record.matches("put at").count(), 2, "{record}");
}

#[tokio::test]
async fn strips_lie_where_somebody_says() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[("place", "Attic")]).await;
    let cut = act(&mut browser, &bundle, "cut", &[("cut_weight", "1 lb"), ("cut_width", "1.5 in")]).await;
    let strips = cut.to().split('?').next().unwrap().to_owned();
    act(&mut browser, &strips, "place", &[("was", ""), ("place", "Basket 2")]).await.is(303);
    let shelf = browser.get("/cloth?q=strips+basket").await.is(200);
    assert_eq!(shelf.all("td[data-label=Place]"), ["Basket 2"]);
}

#[tokio::test]
async fn the_record_speaks_in_sentences_and_in_the_readers_units() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let bundle = weigh(&mut browser, &[("weight", "2 lb 3 oz"), ("place", "Attic")]).await;
    act(&mut browser, &bundle, "place", &[("was", "Attic"), ("place", "Cellar")]).await.is(303);
    let lines = |page: &crate::support::browser::Page| page.all("tbody tr");
    let record = lines(&browser.get("/record").await);
    assert!(record[0].contains("Ines Probe put bundle 1 at “Cellar”"), "{record:?}");
    assert!(
        record[1].contains("Ines Probe weighed in bundle 1") && record[1].contains("+2 lb 3 oz"),
        "{record:?}"
    );
    assert!(record.iter().all(|line| !line.contains(['{', '}', '_'])), "{record:?}");
    // The same for who reads grams.
    let revision = browser.get("/me").await.field("revision");
    let metric = [("revision", &*revision), ("name", "Ines Probe"), ("units", "metric")];
    browser.post("/me", &metric).await.is(303);
    let record = lines(&browser.get("/record").await);
    assert!(
        record.iter().any(|line| line.contains("weighed in bundle 1") && line.contains("+992 g")),
        "{record:?}"
    );
}

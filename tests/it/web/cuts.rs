//! Cloth cut into strips: a bundle of their own.
use thrumhall::store::RequestKey;

use super::cloth::{act, weigh};
use crate::support::browser::{Page, World};

#[tokio::test]
async fn strips_cut_from_a_bundle_are_a_bundle_of_their_own() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[("weight", "1 kg")]).await;
    let key = RequestKey::new().to_string();
    let fields = [
        ("key", key.as_str()),
        ("cut_weight", "990 g"),
        ("cut_tare", "50 g"),
        ("cut_width", "1 1/2 in"),
        ("cut_note", "two balls"),
        ("cut_rest", "yes"),
    ];
    let lot = act(&mut browser, &bundle, "cut", &fields).await.to().to_owned();
    assert_eq!(
        act(&mut browser, &bundle, "cut", &fields).await.to(),
        lot,
        "a repetition leads to the same strips"
    );
    let page = browser.get(&lot).await.is(200);
    let lot = lot.split('?').next().unwrap().to_owned();
    assert_eq!(page.one("h1"), "2 Navy");
    assert!(
        page.one(".page-head").contains("Strips 1 1/2 in wide, cut from bundle 1."),
        "{}",
        page.one(".page-head")
    );
    assert_eq!(page.one("tbody th"), "cut from bundle 1");
    assert!(page.text.contains("two balls"));
    // 940 g at the kind's 100 to 150 g/m² and 1½ in (38.1 mm) wide: 164.5 to 246.7 m, in yards (0.9144 m) 179.9 to 269.8.
    assert!(
        page.text.contains("179.9 yd to 269.8 yd of strip 1 1/2 in wide"),
        "{}",
        page.all("dd").join("; ")
    );
    assert!(page.all("form[action$=cut]").is_empty(), "strips aren't cut again");
    assert!(page.all("form[action$=state]").is_empty(), "strips cut as washed don't go back");

    let page = browser.get(&bundle).await;
    assert_eq!(page.all("tbody th"), ["weighed in", "cut into bundle 2", "scrap"]);
    assert!(page.one(".lead").starts_with("Nothing left"));
    let shelf = browser.get("/cloth?q=strips").await;
    assert_eq!(shelf.all("#main [data-label=Cloth]"), ["Percale sheet strips 1 1/2 in wide"]);
    assert!(!browser.get("/cloth/sheets").await.text.contains("2: Navy"), "strips are no sheets to cut");

    // Undone from the strips' row, the cloth is back in its bundle; the scrap stays until it is undone itself.
    let page = browser.get(&lot).await;
    let (key, entry) = (page.attr("tbody [name=key]", "value"), page.attr("tbody [name=entry]", "value"));
    act(&mut browser, &lot, "undo", &[("key", &key), ("entry", &entry)]).await.is(303);
    let page = browser.get(&bundle).await;
    assert!(page.all("tbody th")[3].starts_with("reversal of entry 2"), "{:?}", page.all("tbody th"));
    // 940 g are 33.16 oz (international pound, 1959).
    assert!(page.one(".lead").starts_with("2 lb 1 oz left"), "{}", page.one(".lead"));
}

#[tokio::test]
async fn strips_are_reckoned_by_what_was_measured_on_their_bundle() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let sheets = [("sheets", "2"), ("sheet_length", "2 m"), ("sheet_width", "1 m")];
    let bundle = weigh(&mut browser, &[&[("weight", "480 g")], &sheets[..]].concat()).await;
    let fact = |page: &Page| {
        let (names, facts) = (page.all("main dt"), page.all("main dd"));
        facts[names.iter().position(|name| name == "Weight per area").unwrap()].clone()
    };
    let measured = fact(&browser.get(&bundle).await);
    assert!(measured.ends_with("; measured here"), "{measured}");
    let fields = [("cut_weight", "300 g"), ("cut_width", "1.5 in")];
    let lot = act(&mut browser, &bundle, "cut", &fields).await.to().to_owned();
    let page = browser.get(&lot).await;
    assert_eq!(fact(&page), measured.replace("here", "on bundle 1"));
}

#[tokio::test]
async fn a_cut_that_cannot_be_is_refused_at_its_field() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[("weight", "1 kg")]).await;
    let unwashed = weigh(&mut browser, &[("weight", "1 kg"), ("washed", "no")]).await;
    let wrong: &[(&str, &str, &str, &[&str])] = &[
        ("", "1 1/2 in", "cut_weight", &["weight"]),
        ("900", "1 1/2 in", "cut_weight", &["900", "unit"]),
        ("2 kg", "1 1/2 in", "cut_weight", &["2 lb 3 1/2 oz"]),
        ("900 g", "", "cut_width", &["length"]),
        ("900 g", "13 in", "cut_width", &["13 in"]),
    ];
    for &(weight, width, field, values) in wrong {
        let fields = [("cut_weight", weight), ("cut_width", width), ("cut_note", "two balls")];
        let page = act(&mut browser, &bundle, "cut", &fields).await.is(422);
        page.only_error_at(field);
        page.error_names(field, values);
        assert_eq!((page.field("cut_weight"), page.field("cut_note")), (weight.into(), "two balls".into()));
        assert!(
            page.all("details[open] form[action$=cut]").len() == 1,
            "the form that was wrong stands open"
        );
    }
    let fields = [("cut_weight", "900 g"), ("cut_width", "1.5 in")];
    let page = act(&mut browser, &unwashed, "cut", &fields).await.is(422);
    assert!(
        page.text.contains("Only cloth that is washed and ready can be pulled, cut or put back."),
        "{}",
        page.text
    );
    assert_eq!(
        browser.get("/cloth").await.all("#main tbody [data-label=State]").len(),
        2,
        "nothing was kept"
    );

    // Once some of the strips are used, the cut can't be undone from the cloth's side either, and it is said why.
    let lot = act(&mut browser, &bundle, "cut", &fields).await.to().split('?').next().unwrap().to_owned();
    act(&mut browser, &lot, "pull", &[("pull_weight", "100 g")]).await.is(303);
    let page = browser.get(&bundle).await;
    let (key, entry) = (
        page.attr("tbody tr:last-child [name=key]", "value"),
        page.attr("tbody tr:last-child [name=entry]", "value"),
    );
    let page = act(&mut browser, &bundle, "undo", &[("key", &key), ("entry", &entry)]).await.is(422);
    assert!(page.text.contains("Some of the strips are gone: bundle 3 holds"), "{}", page.text);
}

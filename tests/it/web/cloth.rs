//! Weighing in, the shelf, a bundle and what is done with it.
use axum::http::header;
use thrumhall::store::RequestKey;

use crate::support::browser::{Browser, Page, World};

/// What a volunteer types for a washed navy sheet; later pairs win over earlier ones.
pub fn typed<'a>(over: &[(&'a str, &'a str)]) -> Vec<(&'a str, &'a str)> {
    let plain = [("kind", "percale"), ("colour", "navy"), ("weight", "2 lb 3.5 oz"), ("washed", "yes")];
    let mut fields = over.to_vec();
    fields.extend(plain.into_iter().filter(|(name, _)| over.iter().all(|(known, _)| known != name)));
    fields
}

/// Weighs in and answers the address of the bundle.
pub async fn weigh(browser: &mut Browser, over: &[(&str, &str)]) -> String {
    let page = browser.post("/cloth/weigh-in", &typed(over)).await;
    format!("/cloth/{}", page.to().strip_prefix("/cloth/weigh-in?done=").unwrap())
}

pub async fn act(browser: &mut Browser, bundle: &str, what: &str, fields: &[(&str, &str)]) -> Page {
    browser.post(&format!("{bundle}/{what}"), fields).await
}

#[tokio::test]
async fn a_bundle_is_weighed_in_and_the_form_is_ready_for_the_next() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let done = browser
        .post("/cloth/weigh-in", &typed(&[("tare", "8 oz"), ("kind", "flannel"), ("washed", "no")]))
        .await
        .to()
        .to_owned();
    let page = browser.get(&done).await.is(200);
    assert_eq!(page.one(".tag-number b"), "1");
    // 2 lb 3.5 oz with the basket of 8 oz: 1 lb 11.5 oz.
    assert_eq!(page.all(".tag-number p")[1], "Flannel sheet: Navy, 1 lb 11½ oz, not washed");
    assert_eq!(page.attr("[name=kind][checked]", "value"), "flannel");
    assert_eq!(page.attr("[name=washed][checked]", "value"), "no");
    assert_eq!((page.field("tare"), page.field("weight")), ("8 oz".into(), String::new()));
    assert!(page.all("[name=colour][checked]").is_empty());
    assert_eq!(page.one(".section .lead"), "1 bundle, 1 lb 11½ oz.");
    assert_eq!(page.all("tbody tr").len(), 1);
}

#[tokio::test]
async fn every_common_notation_of_a_weight_is_read() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    // 1 lb = 453.59237 g and 1 oz = 28.349523125 g exactly (international pound, 1959).
    for (weight, grams) in [
        ("2 lb 3.5 oz", "1006.408"),
        ("2.22 lb", "1006.975"),
        ("35.5oz", "1006.408"),
        ("1006 g", "1006"),
        ("1.006 kg", "1006"),
    ] {
        weigh(&mut browser, &[("weight", weight)]).await;
        let table = browser.get("/cloth.csv").await.is(200).text;
        let newest = table.lines().nth(1).unwrap();
        assert_eq!(newest.split(',').nth(6), Some(grams), "{weight}: {newest}");
    }
}

#[tokio::test]
async fn wrong_input_at_the_scale_comes_back_at_its_field() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let long = "x".repeat(10_000);
    let wrong: &[(&str, &str, &str, &[&str])] = &[
        ("weight", "0 g", "weight", &["zero"]),
        ("weight", "-2 lb", "weight", &["-2 lb", "zero"]),
        ("weight", "1,006 kg", "weight", &["1.006 kg", "1006 kg"]),
        ("weight", "1006", "weight", &["1006", "unit"]),
        ("weight", "", "weight", &[]),
        ("weight", "２ lb", "weight", &["２ lb", "weight"]),
        ("weight", "9 lb \u{202e}zo", "weight", &["weight"]),
        ("weight", "900 lb", "weight", &["900 lb"]),
        ("weight", &long, "weight", &["80"]),
        ("tare", "3 lb", "weight", &["2 lb 3.5 oz", "3 lb"]),
        ("tare", "a basket", "tare", &["a basket", "weight"]),
        ("kind", "velvet", "kind", &["cloth"]),
        ("kind", "", "kind", &["cloth"]),
        ("colour", "plaid", "colour", &["colour"]),
        ("washed", "maybe", "washed", &["washed"]),
        ("sheets", "0", "sheets", &["0"]),
        ("note", &long, "note", &["10000", "2000"]),
        ("note", "a\u{202e}b", "note", &["character"]),
    ];
    for &(field, value, at, values) in wrong {
        let page = browser.post("/cloth/weigh-in", &typed(&[(field, value)])).await.is(422);
        page.only_error_at(at);
        page.error_names(at, values);
        if !["kind", "colour", "washed"].contains(&field) {
            assert_eq!(page.field(field), value, "what was typed stays");
        }
    }
    // Sheets are counted and measured both ways, or not at all.
    let page = browser.post("/cloth/weigh-in", &typed(&[("sheet_length", "96 in")])).await.is(422);
    assert_eq!(page.wrong_fields(), ["sheets", "sheet_width"]);
    assert_eq!(page.field("sheet_length"), "96 in", "what was typed stays");
    let own = [("colour", "own"), ("own_hex", "#12345g")];
    let page = browser.post("/cloth/weigh-in", &typed(&own)).await.is(422);
    assert!(page.error("own_hex").contains("isn't a colour"));
    assert!(browser.get("/cloth").await.text.contains("The shelf is empty"), "nothing half-written");
}

#[tokio::test]
async fn a_second_submission_adds_nothing_and_leads_to_the_same_tag() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let key = browser.get("/cloth/weigh-in").await.is(200).field("key");
    let fields = typed(&[("key", &key)]);
    let first = browser.post("/cloth/weigh-in", &fields).await.to().to_owned();
    assert_eq!(browser.post("/cloth/weigh-in", &fields).await.to(), first);
    assert_eq!(browser.get("/cloth").await.all("section:first-of-type tbody tr").len(), 1);
}

#[tokio::test]
async fn the_last_entry_is_undone_and_what_was_typed_is_there_again() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let own = [("colour", "own"), ("own_hex", "#b0487c"), ("own_name", "Old rose"), ("tare", "100 g")];
    let done = browser.post("/cloth/weigh-in", &typed(&own)).await.to().to_owned();
    let page = browser.get(&done).await;
    let (key, entry) = (page.attr("#undo [name=key]", "value"), page.attr("#undo [name=entry]", "value"));
    let action = page.attr("#undo", "action");
    let fields = [("key", key.as_str()), ("entry", entry.as_str()), ("back", "weigh-in")];
    let to = browser.post(&action, &fields).await.to().to_owned();
    let page = browser.get(&to).await.is(200);
    assert!(page.one(".notice").starts_with("Undone"));
    assert_eq!(page.attr("[name=colour][checked]", "value"), "own");
    assert_eq!((page.field("own_hex"), page.field("own_name")), ("#b0487c".into(), "Old rose".into()));
    assert_eq!((page.field("weight"), page.field("tare")), ("2 lb 3.5 oz".into(), "100 g".into()));
    assert_eq!(page.one(".section .lead"), "0 bundles, 0 oz.");
    assert_eq!(browser.post(&action, &fields).await.to(), to, "a second press is harmless");
    let other = RequestKey::new().to_string();
    let page = browser.post(&action, &[("key", &other), ("entry", &entry)]).await.is(409);
    assert!(page.one(".error-summary").contains("This entry was undone already"));
}

#[tokio::test]
async fn an_own_colour_without_a_name_gets_the_nearest_one() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[("colour", "own"), ("own_hex", "#23305B")]).await;
    assert_eq!(browser.get(&bundle).await.one("h1"), "1 near navy");
}

#[tokio::test]
async fn a_print_has_a_second_colour_beside_the_main_one() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let own = [("second", "own"), ("second_hex", "#b0487c"), ("second_name", "Old rose")];
    // A browser without scripts sends the grey of the untouched field, and one that was picked without the choice.
    let untouched = [("second", ""), ("second_hex", "#808080"), ("second_name", "")];
    let picked = [("second", ""), ("second_hex", "#fffffe"), ("second_name", "")];
    let mut bundles = Vec::new();
    for (fields, heading) in [
        (&[("second", "white"), ("second_hex", "#808080")][..], "1 Navy and White"),
        (&own, "2 Navy and Old rose"),
        (&untouched, "3 Navy"),
        (&picked, "4 Navy and near white"),
    ] {
        let bundle = weigh(&mut browser, fields).await;
        assert_eq!(browser.get(&bundle).await.one("h1"), heading);
        bundles.push(bundle);
    }
    let page = browser.get("/cloth").await;
    let colours = page.all("section:first-of-type [data-label=Colour]");
    assert_eq!(colours, ["Navy and near white", "Navy", "Navy and Old rose", "Navy and White"]);
    assert_eq!(page.all("section:first-of-type [data-label=Colour] svg path").len(), 3, "both in the swatch");
    let table = browser.get("/cloth.csv?q=rose").await.text;
    assert!(table.lines().nth(1).unwrap().ends_with(",Old rose,#b0487c,,"), "{table}");

    let id = bundles[1].strip_prefix("/cloth/").unwrap();
    let page = browser.get(&format!("/cloth/weigh-in?done={id}&like={id}")).await.is(200);
    assert!(page.one(".tag-number").contains("Percale or muslin sheet: Navy and Old rose,"));
    assert_eq!(page.attr("#second option[selected]", "value"), "own");
    assert_eq!((page.field("second_hex"), page.field("second_name")), ("#b0487c".into(), "Old rose".into()));
    assert_eq!(page.all("tbody [data-label=Colour]")[0], "Navy and near white");
    // The next of the heap has a colour of its own again.
    let page = browser.get(&format!("/cloth/weigh-in?done={id}")).await;
    assert!(page.all("#second option[selected]").is_empty());

    let page = browser.post("/cloth/weigh-in", &typed(&[("second", "plaid")])).await.is(422);
    assert!(page.error("second").contains("Choose a second colour"));
    let wrong = [("second", "own"), ("second_hex", "#12345g"), ("second_name", "Rose")];
    let page = browser.post("/cloth/weigh-in", &typed(&wrong)).await.is(422);
    assert!(page.error("second_hex").contains("isn't a colour"));
    assert_eq!(page.field("second_name"), "Rose");
}

#[tokio::test]
async fn the_shelf_is_found_through_and_taken_away() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    weigh(&mut browser, &[("note", "=from the hotel")]).await;
    weigh(&mut browser, &[("kind", "denim"), ("colour", "mustard"), ("washed", "no"), ("weight", "1 kg")])
        .await;
    let tags = |page: Page| page.all("section:first-of-type tbody th");
    assert_eq!(tags(browser.get("/cloth").await.is(200)), ["2", "1"]);
    assert_eq!(tags(browser.get("/cloth?q=NAVY+sheet").await), ["1"]);
    assert_eq!(tags(browser.get("/cloth?kind=denim").await), ["2"]);
    assert_eq!(tags(browser.get("/cloth?colour=blue&state=ready").await), ["1"]);
    // Words that mean nothing filter nothing, however odd.
    assert_eq!(tags(browser.get("/cloth?kind=velvet&state=%00&page=-9").await), ["2", "1"]);
    let page = browser.get("/cloth?q=%25&kind=denim").await;
    assert_eq!(page.one(".empty h2"), "Nothing fits");
    assert_eq!((page.field("q"), page.attr("#kind option[selected]", "value")), ("%".into(), "denim".into()));
    let page = browser.get("/cloth").await;
    assert_eq!(page.all(".stat b"), ["2 lb 3½ oz", "2 lb 3½ oz", "2"]);

    let table = browser.get("/cloth.csv?colour=blue").await.is(200);
    assert_eq!(table.headers[header::CONTENT_TYPE], "text/csv; charset=utf-8");
    let wanted = "1,percale,Navy,#22305a,blue,ready,1006.408,1006.408,,,2026-10-07T18:00:00-07:00,'=from the hotel,,,,,,";
    assert_eq!(table.text.lines().skip(1).collect::<Vec<_>>(), [wanted]);
}

#[tokio::test]
async fn a_weaver_sees_the_shelf_without_names_or_acts() {
    let world = World::new().await;
    let (_, mut volunteer) = world.volunteer().await;
    let bundle = weigh(&mut volunteer, &[("note", "kept for Ottilie")]).await;
    let (_, mut weaver) = world.weaver().await;
    let page = weaver.get("/cloth").await.is(200);
    assert_eq!(page.all("section:first-of-type tbody th"), ["1"]);
    assert!(!page.text.contains("Ottilie") && !page.text.contains("Viggo"), "{}", page.text);
    assert!(page.all("main a[href^='/cloth/'], main form[method=post]").is_empty());
    assert_eq!(weaver.get("/cloth?q=ottilie").await.one(".empty h2"), "Nothing fits");
    weaver.get(&bundle).await.is(403);
    weaver.get("/cloth.csv").await.is(403);
}

#[tokio::test]
async fn a_long_shelf_is_turned_page_by_page() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    for _ in 0..101 {
        weigh(&mut browser, &[]).await;
    }
    let page = browser.get("/cloth?q=navy").await;
    assert_eq!(page.all("section:first-of-type tbody tr").len(), 100);
    let older = page.attr(".pages a", "href");
    let page = browser.get(&older).await;
    assert_eq!(page.all("section:first-of-type tbody th"), ["1"]);
    assert_eq!(page.attr(".pages a", "href"), "/cloth?q=navy");
    assert_eq!(page.all(".stat b")[2], "101");
}

#[tokio::test]
async fn unwashed_cloth_is_washed_before_it_is_pulled() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[("washed", "no"), ("weight", "1000 g")]).await;
    let page = browser.get(&bundle).await.is(200);
    assert!(page.one(".caution").contains("Naylor and Boase"));
    assert!(!page.text.contains("Pull cloth"));
    let page = act(&mut browser, &bundle, "pull", &[("pull_weight", "100 g")]).await.is(422);
    assert!(page.one(".error-summary").contains("This bundle is not washed. Only washed cloth"));

    let to_the_wash = [("from", "arrived"), ("to", "washing")];
    let to = act(&mut browser, &bundle, "state", &to_the_wash).await.to().to_owned();
    assert_eq!(to, format!("{bundle}?said=state"));
    let page = act(&mut browser, &bundle, "state", &to_the_wash).await.is(409);
    assert!(page.one(".error-summary").contains("it is in the wash now"));
    let page = act(&mut browser, &bundle, "state", &[("from", "washing"), ("to", "clean")]).await.is(422);
    assert!(page.one(".error-summary").contains("Choose the state it goes to."));
    let dry = [("from", "washing"), ("to", "ready"), ("state_weight", "0 g")];
    let page = act(&mut browser, &bundle, "state", &dry).await.is(422);
    assert!(page.error("state_weight").contains("can't be zero"));
    let dry = [("from", "washing"), ("to", "ready"), ("state_weight", "985 g")];
    act(&mut browser, &bundle, "state", &dry).await.is(303);
    act(&mut browser, &bundle, "pull", &[("pull_weight", "100 g")]).await.is(303);
    let back = [("from", "ready"), ("to", "arrived")];
    let page = act(&mut browser, &bundle, "state", &back).await.is(422);
    assert!(page.one(".error-summary").contains("Cloth was pulled or cut from this bundle as washed"));
    let page = browser.get(&bundle).await;
    assert_eq!(page.all("tbody th"), ["weighed in", "wash", "pulled"]);
    let changes = page.all("tbody [data-label=Change]");
    // 15 g of 1000 g went at the wash; 15 g are 0.529 oz (international pound, 1959).
    assert_eq!(changes[1], "−0.53 oz 1.5 % less 985 g");
    assert!(!changes[0].contains('%') && !changes[2].contains('%'), "{changes:?}");
}

#[tokio::test]
async fn wrong_input_at_each_act_comes_back_at_its_field() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[("weight", "1 kg")]).await;
    act(&mut browser, &bundle, "pull", &[("pull_weight", "200 g")]).await.is(303);
    let long = "x".repeat(10_000);
    for (what, prefix) in [("pull", "pull"), ("put-back", "put_back"), ("scrap", "scrap"), ("count", "count")]
    {
        let weight = format!("{prefix}_weight");
        for (value, message) in [
            ("", "No weight is given"),
            ("-1 g", "less than zero"),
            ("1,006 kg", "two ways"),
            ("a lot", "can't be read"),
        ] {
            let page = act(&mut browser, &bundle, what, &[(&weight, value)]).await.is(422);
            assert!(page.error(&weight).contains(message), "{what} {value}: {}", page.error(&weight));
            assert_eq!(page.field(&weight), value);
        }
        let note = format!("{prefix}_note");
        let page = act(&mut browser, &bundle, what, &[(&weight, "10 g"), (&note, &long)]).await.is(422);
        assert!(page.error(&note).contains("2000 are the most"));
        let tare = format!("{prefix}_tare");
        let page = act(&mut browser, &bundle, what, &[(&weight, "10 g"), (&tare, "20 g")]).await.is(422);
        assert!(page.error(&weight).contains("the basket alone weighs 20 g"));
    }
    let page = act(&mut browser, &bundle, "pull", &[("pull_weight", "900 g")]).await.is(422);
    assert_eq!(page.error("pull_weight"), "There is only 1 lb 12 oz of this bundle.");
    let page = act(&mut browser, &bundle, "put-back", &[("put_back_weight", "201 g")]).await.is(422);
    assert!(page.error("put_back_weight").starts_with("Only 7 oz of this bundle is out"));
    let page = act(&mut browser, &bundle, "count", &[("count_weight", "800 g")]).await.is(422);
    assert_eq!(page.error("count_weight"), "The scale and the ledger agree: nothing to correct.");
    act(&mut browser, &bundle, "undo", &[("entry", "the last")]).await.is(422);
    assert_eq!(browser.get(&bundle).await.all("tbody tr").len(), 2, "nothing was written");
}

#[tokio::test]
async fn each_act_is_kept_once_and_can_be_undone() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[("weight", "1 kg")]).await;
    let acts: &[(&str, &[(&str, &str)])] = &[
        ("pull", &[("pull_weight", "350 g"), ("pull_tare", "50 g"), ("pull_note", "the blue rug")]),
        ("put-back", &[("put_back_weight", "120 g")]),
        ("count", &[("count_weight", "800 g")]),
        ("scrap", &[("scrap_weight", "50 g"), ("scrap_note", "stained")]),
        ("scrap", &[("scrap_all", "yes")]),
    ];
    for (what, fields) in acts {
        let key = RequestKey::new().to_string();
        let fields: Vec<_> = [("key", key.as_str())].into_iter().chain(fields.iter().copied()).collect();
        let first = act(&mut browser, &bundle, what, &fields).await.to().to_owned();
        assert_eq!(act(&mut browser, &bundle, what, &fields).await.to(), first);
    }
    let page = browser.get(&bundle).await;
    assert_eq!(page.all("tbody th"), ["weighed in", "pulled", "put back", "count", "scrap", "scrap"]);
    assert!(page.one(".lead").starts_with("Nothing left"));
    assert!(page.text.contains("350 g, basket 50 g") && page.text.contains("the blue rug"));
    // The last scrap is undone from its row.
    let (key, entry) = (
        page.attr("tbody tr:last-child [name=key]", "value"),
        page.attr("tbody tr:last-child [name=entry]", "value"),
    );
    act(&mut browser, &bundle, "undo", &[("key", &key), ("entry", &entry)]).await.is(303);
    let page = browser.get(&bundle).await;
    assert!(page.all("tbody th")[6].starts_with("reversal of entry 6"));
    assert!(page.one(".lead").starts_with("1 lb 10½ oz left"), "{}", page.one(".lead"));
}

#[tokio::test]
async fn a_bundle_that_is_nowhere_is_said_so() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    for id in ["01890000-0000-7000-8000-000000000000", "7", "%F0%9F%A7%B5"] {
        browser.get(&format!("/cloth/{id}")).await.is(404);
        act(&mut browser, &format!("/cloth/{id}"), "pull", &[("pull_weight", "1 g")]).await.is(404);
        act(&mut browser, &format!("/cloth/{id}"), "pull", &[]).await.is(404);
    }
    browser.get("/cloth/weigh-in?done=nowhere&undone=7").await.is(200);
}

//! Weighing in, the shelf, a bundle and what is done with it.
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
    assert_eq!(page.all(".tag-number p")[1], "Flannel sheet: Navy, 1 lb 11 1/2 oz, not washed");
    assert_eq!(page.attr("[name=kind][checked]", "value"), "flannel");
    assert_eq!(page.attr("[name=washed][checked]", "value"), "no");
    assert_eq!((page.field("tare"), page.field("weight")), ("8 oz".into(), String::new()));
    assert!(page.all("[name=colour][checked]").is_empty());
    assert_eq!(page.one(".section .lead"), "1 bundle, 1 lb 11 1/2 oz.");
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
        let table = browser.get("/cloth.csv").await.is(200).table();
        let newest = table.lines().nth(1).unwrap();
        assert_eq!(newest.split(',').nth(6), Some(grams), "{weight}: {newest}");
    }
}

#[tokio::test]
async fn a_number_alone_is_of_its_boxs_unit_and_the_weight_is_confirmed_as_it_was_typed() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    for (pounds, ounces, grams, said) in [
        // In grams by the same definitions as above.
        ("2", "3.5", "1006.408", "2 lb 3.5 oz"),
        ("2 lb 3.5", "", "1006.408", "2 lb 3.5 oz"),
        // Pounds and ounces are taken to a milligram each.
        ("1 lb 12", "", "793.786", "1 lb 12 oz"),
        ("5.5", "", "2494.758", "5.5 lb"),
        ("", "12", "340.194", "12 oz"),
        ("1006 g", "", "1006", "1006 g"),
    ] {
        let fields = typed(&[("weight", pounds), ("weight_oz", ounces)]);
        let done = browser.post("/cloth/weigh-in", &fields).await.to().to_owned();
        let table = browser.get("/cloth.csv").await.is(200).table();
        let newest = table.lines().nth(1).unwrap();
        assert_eq!(newest.split(',').nth(6), Some(grams), "{pounds:?} {ounces:?}: {newest}");
        let under = browser.get(&done).await.all(".tag-number p")[1].clone();
        assert_eq!(under, format!("Percale sheet: Navy, {said}, washed, ready"));
    }
    let fields = typed(&[("weight", "2"), ("weight_oz", "many")]);
    let page = browser.post("/cloth/weigh-in", &fields).await.is(422);
    page.only_error_at("weight");
    assert_eq!((page.field("weight"), page.field("weight_oz")), ("2".into(), "many".into()));
}

#[tokio::test]
async fn what_came_most_often_of_late_is_offered_first() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let first = browser.get("/cloth/weigh-in").await.is(200);
    assert_ne!(first.attr("[name=colour]", "value"), "teal");
    for (kind, colour) in [("terry", "teal"), ("terry", "teal"), ("percale", "rust")] {
        weigh(&mut browser, &[("kind", kind), ("colour", colour)]).await;
    }
    let page = browser.get("/cloth/weigh-in").await;
    assert_eq!(page.attrs("[name=kind]", "value")[..2], ["terry", "percale"]);
    assert_eq!(page.attrs("[name=colour]", "value")[..2], ["teal", "rust"]);
    assert_eq!(page.attrs("[name=kind]", "value").len(), first.attrs("[name=kind]", "value").len());
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
        ("weight", "1006", "weight", &["1006 lb", "200 lb"]),
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
    let sheet = [("sheets", "1"), ("sheet_length", "96 in"), ("sheet_width", "81 in")];
    for (hem, top, at) in
        [("25 in", "", "sheet_hem"), ("1 in", "wide", "sheet_top_hem"), ("", "4 in", "sheet_hem")]
    {
        let hems = [&sheet[..], &[("sheet_hem", hem), ("sheet_top_hem", top)]].concat();
        let page = browser.post("/cloth/weigh-in", &typed(&hems)).await.is(422);
        page.only_error_at(at);
        assert_eq!((page.field("sheet_hem"), page.field("sheet_top_hem")), (hem.to_owned(), top.to_owned()));
    }
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
    let table = browser.get("/cloth.csv?q=rose").await.table();
    assert!(table.lines().nth(1).unwrap().ends_with(",Old rose,#b0487c,,,,,"), "{table}");

    let id = bundles[1].strip_prefix("/cloth/").unwrap();
    let page = browser.get(&format!("/cloth/weigh-in?done={id}&like={id}")).await.is(200);
    assert!(page.one(".tag-number").contains("Percale sheet: Navy and Old rose,"));
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
async fn unwashed_cloth_is_washed_before_it_is_pulled() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[("washed", "no"), ("weight", "1000 g")]).await;
    let page = browser.get(&bundle).await.is(200);
    assert!(page.one(".caution").contains("Naylor and Boase"));
    assert!(!page.text.contains("Pull cloth"));
    let page = act(&mut browser, &bundle, "pull", &[("pull_weight", "100 g")]).await.is(422);
    assert!(page.one(".error-summary").contains("This bundle is not washed. Only cloth that is washed"));

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
async fn what_the_page_rounded_up_may_be_taken_whole_and_no_more() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    // 396.893 g are 14 oz (international pound, 1959); half a gram less is shown as 14 oz, too.
    for what in ["pull", "scrap"] {
        let bundle = weigh(&mut browser, &[("weight", "396.4 g")]).await;
        assert!(browser.get(&bundle).await.text.contains("14 oz"));
        let weight = format!("{what}_weight");
        let page = act(&mut browser, &bundle, what, &[(&weight, "14.5 oz")]).await.is(422);
        assert_eq!(page.error(&weight), "There is only 14 oz of this bundle.");
        act(&mut browser, &bundle, what, &[(&weight, "14 oz")]).await.is(303);
        let page = browser.get(&bundle).await.is(200);
        assert!(page.text.contains("14 oz") && page.all("tbody th").len() == 2, "{}", page.text);
        act(&mut browser, &bundle, what, &[(&weight, "1 oz")]).await.is(422);
    }
    let broken = world.store().read().await.unwrap().broken_invariants().await.unwrap();
    assert_eq!(broken, Vec::<String>::new());
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
        assert!(page.error(&note).contains("at most 2000 are allowed"));
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
    assert!(page.one(".lead").starts_with("1 lb 10 1/2 oz left"), "{}", page.one(".lead"));
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

/// By hand: 91 in of 101½ in of cloth and 78¼ in of 81 across become strip, 86.6 %; by the label it is 96 in of cloth.
#[tokio::test]
async fn hems_say_how_much_of_a_bundle_becomes_strip() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let sheet = [("weight", "689.5 g"), ("sheets", "1"), ("sheet_length", "96 in"), ("sheet_width", "81 in")];
    let hems = [("sheet_hem", "1 in"), ("sheet_top_hem", "4 in")];
    let facts = async |browser: &mut Browser, fields: &[(&str, &str)]| {
        let to = browser.post("/cloth/weigh-in", &typed(fields)).await.to().to_owned();
        let page = browser.get(&format!("/cloth/{}", to.split('=').nth(1).unwrap())).await.is(200);
        (page.all("main dd").join("; "), page)
    };
    let (with, page) = facts(&mut browser, &[&sheet[..], &hems].concat()).await;
    assert!(
        with.contains("hems 1 in and 4 in") && with.contains("87 % becomes strip, by its hems"),
        "{with}"
    );
    // 130 g/m², as ounces to the square yard.
    assert!(with.contains("3.83 oz/yd²") || with.contains("3.8 oz/yd²"), "{with}");
    assert!(page.text.contains("its hems unfolded"), "{}", page.text);
    let (none, _) = facts(&mut browser, &sheet).await;
    assert!(none.contains("94 % becomes strip, usual for any cloth; eight in ten from 85 to 98 %"), "{none}");
    let (label, page) = facts(&mut browser, &[&sheet[..], &[("sheet_size", "label")]].concat()).await;
    assert!(label.contains("81 in, by the label"), "{label}");
    assert!(page.text.contains("a label names the size before hemming"), "{}", page.text);
    let shelf = browser.get("/cloth").await.is(200);
    let strip = shelf.all("#main [data-label='As strip']");
    assert_eq!(strip.len(), 3);
    assert!(strip.iter().all(|strip| strip.starts_with("1 lb")), "{strip:?}");
}

//! A bundle's kind, colour and source corrected.
use super::cloth::{act, weigh};
use crate::support::browser::World;

#[tokio::test]
async fn a_wrong_kind_colour_and_source_are_corrected_under_the_same_number_with_the_strips() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[("source", "hotel")]).await;
    let cut = [("cut_weight", "1 lb"), ("cut_width", "1.5 in")];
    let strips = act(&mut browser, &bundle, "cut", &cut).await.to().replace("?said=cut", "");
    let ledger = browser.get(&bundle).await.all("tbody tr");

    let form = browser.get(&format!("{bundle}/correct")).await.is(200);
    assert_eq!(form.attr("#kind option[selected]", "value"), "percale");
    assert_eq!(form.attr("#colour option[selected]", "value"), "navy");
    let was = form.field("was");
    let fields = [("was", &*was), ("kind", "flannel"), ("colour", "red"), ("source", "neighbours")];
    let to = act(&mut browser, &bundle, "correct", &fields).await.to().to_owned();
    assert_eq!(to, format!("{bundle}?said=kind-corrected"));

    let page = browser.get(&bundle).await.is(200);
    assert_eq!(page.all("tbody tr"), ledger, "the ledger changed");
    let facts = page.all("dd");
    assert!(
        facts.contains(&"Flannel sheet".to_owned()) && facts.contains(&"neighbours".to_owned()),
        "{facts:?}"
    );
    let said = page.one("[aria-labelledby=corrected] .act-text");
    assert!(
        ["percale", "flannel", "Navy", "Red", "hotel", "neighbours"].iter().all(|word| said.contains(word)),
        "{said}"
    );
    // The strips are of the same cloth, and both are found by what they are now.
    assert!(browser.get(&strips).await.is(200).all("dd").contains(&"Flannel sheet".to_owned()));
    let mut found = async |words: &str| {
        browser.get(&format!("/cloth?q={words}")).await.is(200).all("td[data-label=Place]").len()
    };
    assert_eq!(
        (found("flannel").await, found("percale").await, found("red").await, found("navy").await),
        (2, 0, 2, 0)
    );
    assert_eq!(found("strips").await, 1);

    // Corrected on the page of its strips it is the same bundle; the same again is no correction.
    let page = browser.get(&format!("{strips}/correct")).await.is(200);
    let was = page.field("was");
    let again = [("was", &*was), ("kind", "flannel"), ("colour", "red"), ("source", "neighbours")];
    act(&mut browser, &strips, "correct", &again).await.is(422);
}

#[tokio::test]
async fn the_second_to_correct_a_bundle_is_told_and_keeps_what_was_chosen() {
    let world = World::new().await;
    let (_, mut browser) = world.volunteer().await;
    let bundle = weigh(&mut browser, &[]).await;
    let was = browser.get(&format!("{bundle}/correct")).await.field("was");
    let fields = |kind| [("was", was.as_str()), ("kind", kind), ("colour", "navy"), ("source", "")];
    act(&mut browser, &bundle, "correct", &fields("flannel")).await.is(303);
    let late = act(&mut browser, &bundle, "correct", &fields("denim")).await.is(409);
    assert_eq!(late.attr("#kind option[selected]", "value"), "denim");
    assert!(late.field("was").starts_with("flannel"), "{}", late.field("was"));
    let wrong = [("was", was.as_str()), ("kind", "velvet"), ("colour", "navy")];
    act(&mut browser, &bundle, "correct", &wrong).await.is(422).only_error_at("kind");
    // A colour by its look, as at the scale.
    let was = late.field("was");
    let own =
        [("was", &*was), ("kind", "flannel"), ("colour", "own"), ("own_hex", "#123456"), ("own_name", "Ink")];
    act(&mut browser, &bundle, "correct", &own).await.is(303);
    assert!(browser.get(&bundle).await.one("h1").contains("Ink"));
}

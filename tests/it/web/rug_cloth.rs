//! The bundle that a rug's cloth is measured from.
use crate::support::browser::{Browser, World};
use crate::support::loft;

/// Weighs in washed sheets of 66 × 96 in and answers the bundle's id.
pub(super) async fn sheets(
    browser: &mut Browser,
    kind: &str,
    colour: &str,
    count: &str,
    weight: &str,
) -> String {
    let typed = [
        ("kind", kind),
        ("colour", colour),
        ("weight", weight),
        ("washed", "yes"),
        ("sheets", count),
        ("sheet_length", "96 in"),
        ("sheet_width", "66 in"),
        ("sheet_size", "label"),
    ];
    let to = browser.post("/cloth/weigh-in", &typed).await.to().to_owned();
    to.strip_prefix("/cloth/weigh-in?done=").unwrap().to_owned()
}

#[tokio::test]
async fn the_bundle_shows_its_areal_mass_with_its_range() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    // 1600 g over three sheets is 130.5 g/m², 3.85 oz/yd²: see the check of `weighed`.
    let id = sheets(&mut browser, "percale", "white", "3", "1600 g").await;
    let page = browser.get(&format!("/cloth/{id}")).await.is(200);
    let facts = page.all(".facts dd");
    assert!(
        facts.contains(&"3.8 oz/yd², eight in ten from 3.7 to 3.9 oz/yd²; measured here".to_owned()),
        "{facts:?}"
    );
    assert!(page.all("details.worked").iter().any(|how| how.contains("JCGM 100:2008")));
    let slip = sheets(&mut browser, "percale", "white", "300", "1600 g").await;
    let page = browser.get(&format!("/cloth/{slip}")).await.is(200);
    assert!(page.text.contains("usual for the kind. As measured here it makes no sense: "), "{}", page.text);
}

#[tokio::test]
async fn a_rug_is_reckoned_with_the_bundle_it_is_cut_from() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let (wanda, mut weaver) = world.weaver().await;
    let rug = loft::rug(world.store(), wanda, "Tide", &loft::usual("S1"), None).await;
    let heavy = sheets(&mut browser, "percale", "white", "3", "1800 g").await;
    let flannel = sheets(&mut browser, "flannel", "white", "3", "1800 g").await;
    let page = weaver.get(&format!("/rugs/{rug}/cloth")).await.is(200);
    assert_eq!(page.all("#warp option").len(), 2, "none, and the one bundle of the warp's cloth");
    let typed = [("key", page.field("key")), ("warp", flannel), ("weft", String::new())];
    let typed: Vec<(&str, &str)> = typed.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let page = weaver.post(&format!("/rugs/{rug}/cloth"), &typed).await.is(422);
    assert!(page.error("warp").ends_with("the warp of this rug is Percale sheet."), "{}", page.error("warp"));
    let before = weaver.get(&format!("/rugs/{rug}")).await.all(".need");
    let typed = [("warp", heavy.as_str()), ("weft", heavy.as_str())];
    assert_eq!(
        weaver.post(&format!("/rugs/{rug}/cloth"), &typed).await.to(),
        format!("/rugs/{rug}?said=saved")
    );
    let page = weaver.get(&format!("/rugs/{rug}")).await.is(200);
    assert!(
        page.all(".facts dd")
            .contains(&"4.3 oz/yd², eight in ten from 4.2 to 4.4 oz/yd², measured from bundle 1".to_owned())
    );
    assert_ne!(page.all(".need"), before, "the weights follow the cloth");
    let worked = weaver.get(&format!("/rugs/{rug}/worked")).await.is(200);
    assert!(worked.text.contains("measured here; eight in ten between"));
    let page =
        weaver.post(&format!("/rugs/{rug}/cloth"), &[("warp", "nonsense"), ("weft", "")]).await.is(422);
    assert_eq!(page.error("warp"), "Choose a bundle.");
    // Taken back, the kind's usual weight stands again.
    weaver.post(&format!("/rugs/{rug}/cloth"), &[("warp", ""), ("weft", "")]).await.is(303);
    assert_eq!(weaver.get(&format!("/rugs/{rug}")).await.all(".need"), before);
}

#[tokio::test]
async fn of_many_bundles_the_newest_are_offered_and_the_others_found_by_words() {
    let world = World::new().await;
    let (_, mut browser) = world.instructor().await;
    let (wanda, _) = world.weaver().await;
    let rug = loft::rug(world.store(), wanda, "Tide", &loft::usual("S1"), None).await;
    let path = format!("/rugs/{rug}/cloth");
    let first = sheets(&mut browser, "percale", "rust", "3", "1800 g").await;
    assert!(browser.get(&path).await.all("#words").is_empty(), "a short list needs no search");
    for _ in 0..41 {
        sheets(&mut browser, "percale", "white", "3", "1800 g").await;
    }
    let page = browser.get(&path).await.is(200);
    assert_eq!((page.all("#warp option").len(), page.all("#words").len()), (41, 1));
    assert!(!page.attrs("#warp option", "value").contains(&first), "the oldest is beyond what is offered");
    for words in ["1", "rust perc"] {
        let page = browser.get(&format!("{path}?words={}", words.replace(' ', "+"))).await.is(200);
        assert!(page.attrs("#warp option", "value").contains(&first), "{words}");
        assert_eq!(page.attr("#words", "value"), words);
    }
    // What is chosen is offered, whatever is looked for.
    browser.post(&path, &[("warp", &first), ("weft", "")]).await.is(303);
    let page = browser.get(&format!("{path}?words=white")).await.is(200);
    assert_eq!(page.attr("#warp option[selected]", "value"), first);
}

#[tokio::test]
async fn another_weavers_rug_is_as_good_as_none() {
    let world = World::new().await;
    let (wanda, _) = world.weaver().await;
    let rug = loft::rug(world.store(), wanda, "Tide", &loft::usual("S1"), None).await;
    let (_, mut other) = world.enter(thrumhall::store::people::Role::Weaver, "Otto Probe").await;
    other.get(&format!("/rugs/{rug}/cloth")).await.is(404);
    other.get(&format!("/rugs/{rug}/sheets")).await.is(404);
    other.post(&format!("/rugs/{rug}/cloth"), &[("warp", ""), ("weft", "")]).await.is(404);
}

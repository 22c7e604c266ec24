//! Designs from the shelf and rugs from rests: what is asked, what is shown, and the form of *Plan a rug* that they fill.
use thrumhall::store::people::Role;

use super::share_out::bundle;
use crate::support::browser::{Browser, Page, World};
use crate::support::loft;

/// A weaver in a workroom with one size of frame and five bundles.
async fn world() -> (World, Browser) {
    let world = World::new().await;
    let (who, _) = world.instructor().await;
    let (_, weaver) = world.enter(Role::Weaver, "Wanda Probe").await;
    loft::frame(world.store(), who, &loft::usual("S1")).await;
    for (name, rrggbb, pounds, washed) in [
        ("Sea", 0x002b_5f75, 4.0, true),
        ("Sand", 0x00d9_c9a3, 4.0, true),
        ("White", 0x00f8_f7f2, 4.0, true),
        ("Rust", 0x00b2_552a, 0.4, true),
        ("Muddy", 0x0022_8822, 9.0, false),
    ] {
        bundle(&world, who, name, rrggbb, pounds, washed).await;
    }
    (world, weaver)
}

/// The address of the form as the page has it, with these fields over it.
fn asked(page: &Page, path: &str, fields: &[(&str, &str)]) -> String {
    let size = page.attr("#size option", "value");
    let mut query = form_urlencoded::Serializer::new(String::new());
    query.append_pair("size", &size).append_pair("strip_width", "1.5 in").extend_pairs(fields);
    format!("{path}?{}", query.finish())
}

/// The fields of the first design's button.
fn button(page: &Page, within: &str) -> Vec<(String, String)> {
    let first = format!("{within} form[action='/rugs'] input[type=hidden]");
    let names = page.attrs(&first, "name");
    let values = page.attrs(&first, "value");
    let mut fields: Vec<(String, String)> = names.into_iter().zip(values).collect();
    fields.push(("look".to_owned(), "yes".to_owned()));
    fields
}

#[tokio::test]
async fn a_weaver_sees_designs_that_the_shelf_covers_and_plans_one() {
    let (_world, mut weaver) = world().await;
    let page = weaver.get("/rugs/suggest").await.is(200);
    assert!(page.text.contains("Nothing is kept before"), "{}", page.text);
    assert!(!page.text.contains("Green"), "unwashed cloth isn't offered");
    let page = weaver.get(&asked(&page, "/rugs/suggest", &[("build", "#2b5f75")])).await.is(200);
    let designs = page.all("article.design h3").len();
    assert!((2..=5).contains(&designs), "{designs}");
    assert_eq!(page.all("article.design figure.rug svg title").len(), designs);
    for cloth in page.all("article.design dl") {
        assert!(cloth.contains("Warp") && cloth.contains("Sea"), "{cloth}");
        assert!(!cloth.contains("bundle 5"), "Muddy isn't washed: {cloth}");
    }
    // What one likes is kept, and others are shown with it.
    let keep = page.attrs("article.design dd a", "href");
    let kept = weaver.get(&keep[0]).await.is(200);
    assert_eq!(kept.attrs("input[name=build][checked]", "value").len(), 2);
    // A design fills the form of Plan a rug, where it can be planned as it is.
    let fields = button(&page, "article.design:first-child");
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    let form = weaver.post("/rugs", &fields).await.is(200);
    assert_eq!(form.field("name"), page.all("article.design h3")[0]);
    assert_eq!(form.all("#preview figure.rug").len(), 1);
    let planned: Vec<(&str, &str)> = fields.iter().copied().filter(|(name, _)| *name != "look").collect();
    weaver.post("/rugs", &planned).await.is(303);
}

#[tokio::test]
async fn other_designs_are_shown_when_asked_again() {
    let (_world, mut weaver) = world().await;
    let page = weaver.get("/rugs/suggest").await.is(200);
    let page = weaver.get(&asked(&page, "/rugs/suggest", &[])).await.is(200);
    assert_eq!(page.attr("button[name=again]", "value"), "1");
    let others = weaver.get(&asked(&page, "/rugs/suggest", &[("again", "1")])).await.is(200);
    assert_eq!(others.attr("button[name=again]", "value"), "2");
    let pictures = |page: &Page| page.all("article.design figure.rug desc");
    assert_ne!(pictures(&page), pictures(&others));
}

#[tokio::test]
async fn a_question_that_cannot_be_read_comes_back_with_its_errors() {
    let (_world, mut weaver) = world().await;
    let blank = weaver.get("/rugs/suggest").await.is(200);
    for (field, value) in [
        ("colours", "9"),
        ("colours", "many"),
        ("build", "blue"),
        ("avoid", "blue"),
        ("mood", "sad"),
        ("kind", "straw"),
    ] {
        let page = weaver.get(&asked(&blank, "/rugs/suggest", &[(field, value)])).await.is(422);
        assert!(!page.error(field).is_empty(), "{field}");
    }
    weaver.get("/rugs/suggest?size=none&strip_width=1.5+in").await.is(422).only_error_at("size");
    let wide = asked(&blank, "/rugs/suggest", &[]).replace("1.5+in", "20+in");
    weaver.get(&wide).await.is(422).only_error_at("strip_width");
}

#[tokio::test]
async fn what_the_shelf_lacks_is_told() {
    let world = World::new().await;
    let (who, mut me) = world.instructor().await;
    let page = me.get("/rugs/suggest").await.is(200);
    assert!(page.text.contains("There is no frame in use"));
    loft::frame(world.store(), who, &loft::usual("S1")).await;
    let page = me.get("/rugs/suggest").await.is(200);
    let page = me.get(&asked(&page, "/rugs/suggest", &[])).await.is(200);
    assert!(page.text.contains("The weft takes"), "{}", page.text);
    bundle(&world, who, "Sea", 0x002b_5f75, 0.3, true).await;
    let page = me.get(&asked(&page, "/rugs/suggest", &[])).await.is(200);
    assert!(page.text.contains("The warp alone takes"), "{}", page.text);
}

#[tokio::test]
async fn rests_become_bands_and_fill_the_form() {
    let (_world, mut weaver) = world().await;
    let blank = weaver.get("/rugs/rests").await.is(200);
    assert_eq!(blank.attrs("input[name=rest][checked]", "value"), ["4"], "the small one is ticked");
    let take = [("kind", "percale"), ("sure", "take"), ("rest", "4"), ("rest", "1")];
    let page = weaver.get(&asked(&blank, "/rugs/rests", &take)).await.is(200);
    assert_eq!(page.all("tbody tr").len(), 2, "{}", page.text);
    assert!(page.text.contains("Go on with bundle 1."), "{}", page.text);
    let fields = button(&page, "#rug");
    let fields: Vec<(&str, &str)> = fields.iter().map(|(n, v)| (n.as_str(), v.as_str())).collect();
    let form = weaver.post("/rugs", &fields).await.is(200);
    assert_eq!(form.field("name"), "From rests");
    for wrong in [vec![("kind", "percale")], vec![("kind", "percale"), ("rest", "77")]] {
        weaver.get(&asked(&blank, "/rugs/rests", &wrong)).await.is(422).only_error_at("rest");
    }
    weaver
        .get(&asked(&blank, "/rugs/rests", &[("kind", "straw"), ("rest", "4")]))
        .await
        .is(422)
        .only_error_at("kind");
}
